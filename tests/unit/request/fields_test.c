// Requests: every verb's fields and every limit.
#include "asking.h"

#include <stdio.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// --- The table ---

static void every_verb_takes_its_fields(void **state) {
    struct bench *bench = *state;
    const struct gate_request *gate =
        good(bench, "open-job",
             "{\"id\":\"r 1\",\"job\":\"J-1\",\"position\":\"3A\",\"procedure\":\"spout\","
             "\"technician\":\"t-1\",\"kit_family\":\"k2\",\"part\":\"P/1\",\"defect\":\"drips\","
             "\"note\":\"\\u00e9\"}");
    assert_string_equal(gate->id, "r 1");
    assert_string_equal(gate->job, "J-1");
    assert_string_equal(gate->position, "3A");
    assert_string_equal(gate->procedure, "spout");
    assert_string_equal(gate->technician, "t-1");
    assert_string_equal(gate->kit_family, "k2");
    assert_string_equal(gate->part, "P/1");
    assert_string_equal(gate->defect, "drips");
    assert_string_equal(gate->note, "\xc3\xa9");
    assert_string_equal(bench->answer.job, "J-1");
    gate = good(bench, "assign-job", "{\"job\":\"J\",\"technician\":\"t-2\",\"kit_family\":\"k\"}");
    assert_string_equal(gate->technician, "t-2");
    assert_null(gate->id);
    assert_null(gate->note); // nothing stays from the request before
    gate = good(bench, "leave-job", "{\"job\":\"J\",\"person\":\"t-3\"}");
    assert_string_equal(gate->member, "t-3");
    assert_null(gate->person);
    gate = good(bench, "witness-point", "{\"point\":\"3A-line\",\"state\":\"live\"}");
    assert_true(gate->has_state);
    assert_int_equal(gate->state, MODEL_POINT_LIVE);
    assert_null(gate->job);
    assert_string_equal(bench->answer.job, "");
    gate = good(bench, "witness-point",
                "{\"job\":\"J\",\"point\":\"3A-line\",\"state\":\"isolated\"}");
    assert_int_equal(gate->state, MODEL_POINT_ISOLATED);
    gate = good(bench, "sign-check",
                "{\"job\":\"J\",\"check\":\"nut\",\"value\":45.5,\"unit\":\"N.m\","
                "\"instrument\":\"tw-3\",\"note\":\"\"}");
    assert_true(gate->has_value && gate->value == 45.5);
    assert_string_equal(gate->check, "nut");
    assert_string_equal(gate->unit, "N.m");
    assert_string_equal(gate->instrument, "tw-3");
    gate = good(bench, "hand-over", "{\"job\":\"J\",\"to\":\"t-2\"}");
    assert_string_equal(gate->to, "t-2");
    gate = good(bench, "acknowledge-alarm", "{\"alarm\":\"a-1\"}");
    assert_string_equal(gate->alarm, "a-1");
    assert_false(gate->has_raised);
    gate = good(bench, "acknowledge-alarm",
                "{\"alarm\":\"a-1\",\"raised\":\"2026-11-25T16:37:14.123Z\",\"note\":\"aired\"}");
    assert_true(gate->has_raised && gate->raised == 1795624634123);
    assert_string_equal(gate->note, "aired");
    assert_string_equal(
        bad(bench, "acknowledge-alarm", "{\"alarm\":\"a-1\",\"raised\":\"today\"}", "/raised")->say,
        "The field raised must be an RFC 3339 time.");
}

static void the_day_around_a_repair(void **state) {
    struct bench *bench = *state;
    const char *digest = "0123456789abcdefABCDEF0123456789abcdef0123456789abcdef0123456789";
    char body[4096];
    const struct gate_request *gate =
        good(bench, "expect-back", "{\"job\":\"J\",\"at\":\"2026-11-25T16:37:14.123Z\"}");
    assert_true(gate->back == 1795624634123);
    bad(bench, "expect-back", "{\"job\":\"J\",\"at\":\"tomorrow\"}", "/at");
    bad(bench, "expect-back", "{\"job\":\"J\"}", "/at");
    bad(bench, "report-fault", "{\"position\":\"3A\",\"text\":\" \"}", "/text");
    gate = good(bench, "record-fuel",
                "{\"job\":\"J\",\"product\":\"p\",\"unit\":\"L\",\"drawn\":-1.5,"
                "\"totalizer_after\":12}");
    assert_true(gate->drawn.given && gate->drawn.value == -1.5);
    assert_true(gate->totalizer_after.given && gate->totalizer_after.value == 12);
    assert_false(gate->kept.given || gate->totalizer_before.given);
    bad(bench, "record-fuel",
        "{\"job\":\"J\",\"product\":\"p\",\"unit\":\"gal\",\"totalizer_after\":-1}",
        "/totalizer_after");
    bad(bench, "record-fuel", "{\"job\":\"J\",\"product\":\"p\",\"unit\":\"pt\"}", "/unit");
    gate = good(bench, "fit-part", "{\"job\":\"J\",\"part\":\"boot\",\"due\":\"2031-05-31\"}");
    assert_string_equal(gate->due, "2031-05-31");
    bad(bench, "fit-part", "{\"job\":\"J\",\"part\":\"boot\",\"due\":\"2031-13-01\"}", "/due");
    bad(bench, "fit-part", "{\"job\":\"J\",\"part\":\"boot\",\"due\":\"2031-05-31T\"}", "/due");
    static const char *const links[] = {"https://files.example/a?b=1",
                                        "HTTP://x",
                                        "http://",
                                        "javascript:alert(1)",
                                        "https://a b",
                                        "ftp://x",
                                        ""};
    for (size_t i = 0; i < COUNT(links); i++) {
        snprintf(body, sizeof body,
                 "{\"job\":\"J\",\"url\":\"%s\",\"sha256\":\"%s\",\"title\":\"t\"}", links[i],
                 digest);
        if (i == 0) {
            assert_string_equal(good(bench, "attach", body)->url, links[i]);
        } else {
            bad(bench, "attach", body, "/url");
        }
    }
    snprintf(body, sizeof body,
             "{\"job\":\"J\",\"url\":\"https://x\",\"sha256\":\"%sg\",\"title\":\"t\"}",
             digest + 1);
    bad(bench, "attach", body, "/sha256");
    snprintf(body, sizeof body,
             "{\"job\":\"J\",\"url\":\"https://x\",\"sha256\":\"%s\",\"title\":\"t\"}", digest + 1);
    bad(bench, "attach", body, "/sha256");
}

static void verbs_of_a_job_alone(void **state) {
    static const char *const verbs[] = {"join-job",  "start-work",      "finish-work", "begin-test",
                                        "leave-job", "return-position", "accept-lead"};
    for (size_t i = 0; i < COUNT(verbs); i++) {
        assert_string_equal(good(*state, verbs[i], "{\"job\":\"J-1\"}")->job, "J-1");
        assert_string_equal(bad(*state, verbs[i], "{}", "/job")->say, "The field job is missing.");
    }
    for (const char *const *verb = (const char *const[]){"hang-tag", "lift-tag", NULL};
         *verb != NULL; verb++) {
        assert_string_equal(good(*state, *verb, "{\"job\":\"J\",\"point\":\"p\"}")->point, "p");
        bad(*state, *verb, "{\"job\":\"J\"}", "/point");
    }
}

static void every_verb_is_in_the_table(void **state) {
    (void)state;
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        const struct gate_verb_row *row = gate_verb_row((enum gate_verb)verb);
        assert_true(row->fields[0].name != NULL || !row->of_job);
        assert_null(row->fields[GATE_FIELDS_MAX - 1].name); // there is room for the end
        for (const struct gate_field *field = row->fields; field->name != NULL; field++) {
            assert_true(field->kind < GATE_FIELD_NUMBER ? field->offset > 0 : field->offset == 0);
        }
    }
}

static void an_unknown_verb_stands_alone(void **state) {
    struct bench *bench = *state;
    static const char *const verbs[] = {"open-door", "Open-Job", "open-job ", "", "\xff\xfe"};
    for (size_t i = 0; i < COUNT(verbs); i++) {
        assert_false(ask(bench, verbs[i], "no JSON"));
        assert_int_equal(bench->answer.refusal_count, 1);
        assert_int_equal(bench->answer.refusals[0].code, MODEL_CODE_UNKNOWN_VERB);
    }
    assert_string_equal(bench->answer.refusals[0].subject, ""); // no text is repeated as text
    assert_false(ask(bench, "open-door", "{}"));
    assert_string_equal(bench->answer.refusals[0].subject, "open-door");
}

static void a_field_that_no_request_has_is_refused(void **state) {
    struct bench *bench = *state;
    bad(bench, "rework", "{\"job\":\"J\",\"reason\":\"r\",\"reson\":\"x\"}", "/reson");
    assert_non_null(strstr(bench->answer.refusals[0].say, " reson; its nearest is reason."));
    bad(bench, "start-work", "{\"job\":\"J\",\"jop\":[{}]}", "/jop");
    assert_string_equal(bench->answer.refusals[0].need, "job");
    bad(bench, "start-work", "{\"job\":\"J\",\"much-longer-than-any-name-that-a-request-has\":1}",
        "/much-longer-than-any-name-that-a-request-has");
    assert_string_equal(bench->answer.refusals[0].need, "another field");
    bad(bench, "lift-absent-tag",
        "{\"point\":\"p\",\"person\":\"x\",\"reason\":\"r\",\"attest\":{\"seen_of\":true}}",
        "/attest/seen_of");
    assert_string_equal(bench->answer.refusals[0].need, "seen_off");
}

static void of_very_many_unknown_fields_some_are_told(void **state) {
    struct bench *bench = *state;
    char body[4096] = "{\"job\":\"J\"";
    for (int i = 0; i < 200; i++) {
        snprintf(body + strlen(body), sizeof body - strlen(body), ",\"f%d\":1", i);
    }
    snprintf(body + strlen(body), sizeof body - strlen(body), "}");
    assert_false(ask(bench, "start-work", body));
    assert_int_equal(bench->answer.refusal_count, 16);
}

static void null_is_absent(void **state) {
    const struct gate_request *gate =
        good(*state, "start-work", "{\"job\":\"J\",\"person\":null,\"reason\":null,\"id\":null}");
    assert_null(gate->id);
    assert_null(gate->member);
    assert_null(gate->reason);
    bad(*state, "start-work", "{\"job\":null}", "/job");
    gate = good(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":null}");
    assert_false(gate->has_value);
}

// --- Limits ---

static void ids_follow_the_rule(void **state) {
    static const char *const wrong[] = {"\"\"",    "\"-a\"",   "\".a\"",       "\"a b\"",
                                        "\"a/b\"", "\"a\\n\"", "\"\xc3\xa9\"", "7",
                                        "true",    "[]",       "{\"a\":1}",    "\"a\\u0000\""};
    char body[256];
    for (size_t i = 0; i < COUNT(wrong); i++) {
        snprintf(body, sizeof body, "{\"job\":%s}", wrong[i]);
        bad(*state, "start-work", body, "/job");
        assert_string_equal(((struct bench *)*state)->answer.job, "");
    }
    assert_int_equal(strlen(good(*state, "leave-job", body_with("person", "a", 64, ""))->member),
                     64);
    bad(*state, "leave-job", body_with("person", "a", 65, ""), "/person");
}

static void texts_have_their_lengths(void **state) {
    static const struct {
        const char *verb, *name, *character, *rest;
        size_t most;
    } limits[] = {
        {"open-job", "note", "a", ",\"position\":\"3A\",\"procedure\":\"p\"", 500},
        {"open-job", "note", "\xf0\x9f\x94\x92", ",\"position\":\"3A\",\"procedure\":\"p\"", 500},
        {"open-job", "defect", "\xc3\xa9", ",\"position\":\"3A\",\"procedure\":\"p\"", 500},
        {"open-job", "part", "a", ",\"position\":\"3A\",\"procedure\":\"p\"", 64},
        {"open-job", "kit_family", "\xc3\xa9", ",\"position\":\"3A\",\"procedure\":\"p\"", 32},
        {"rework", "reason", "\xe2\x82\xac", "", 500},
        {"sign-check", "unit", "u", ",\"check\":\"c\"", 31},
        {"start-work", "id", "\xf0\x9f\x94\x92", "", 64},
    };
    char pointer[32];
    for (size_t i = 0; i < COUNT(limits); i++) {
        good(*state, limits[i].verb,
             body_with(limits[i].name, limits[i].character, limits[i].most, limits[i].rest));
        snprintf(pointer, sizeof pointer, "/%s", limits[i].name);
        bad(*state, limits[i].verb,
            body_with(limits[i].name, limits[i].character, limits[i].most + 1, limits[i].rest),
            pointer);
    }
    bad(*state, "start-work", body_with("id", "a", 0, ""), "/id");
    bad(*state, "start-work", "{\"job\":\"J\",\"id\":17}", "/id");
}

static void a_reason_says_something(void **state) {
    static const char *const verbs[] = {"rework", "set-aside", "cancel-job"};
    static const char *const blanks[] = {"", " ", "\\t\\n", "\\u00a0\\u3000", "\\u200b\\ufeff"};
    for (size_t i = 0; i < COUNT(verbs); i++) {
        bad(*state, verbs[i], "{\"job\":\"J\"}", "/reason");
        for (size_t b = 0; b < COUNT(blanks); b++) {
            bad(*state, verbs[i], body_with("reason", blanks[b], 1, ""), "/reason");
        }
        assert_string_equal(good(*state, verbs[i], body_with("reason", " rain", 1, ""))->reason,
                            " rain");
    }
}

static void what_the_tracker_calls_its_own_is_taken(void **state) {
    static char body[9000];
    snprintf(body, sizeof body,
             "{\"job\":\"J\",\"position\":\"3A\",\"procedure\":\"p\",\"external\":\"W/O 17 #3\","
             "\"data\":{\"a\":[{\"b\":null}],\"pad\":\"%8150d\"}}",
             7);
    assert_string_equal(good(*state, "open-job", body)->external, "W/O 17 #3");
    snprintf(
        body, sizeof body,
        "{\"job\":\"J\",\"position\":\"3A\",\"procedure\":\"p\",\"data\":{\"pad\":\"%8190d\"}}", 7);
    bad(*state, "open-job", body, "/data");
    bad(*state, "open-job", "{\"job\":\"J\",\"position\":\"3A\",\"procedure\":\"p\",\"data\":[1]}",
        "/data");
}

// --- What ends or stops ---

static const struct gate_request *in_part(struct bench *bench, const char *verb, const char *body) {
    assert_int_equal(wire_request_decode(&bench->request, verb, body, strlen(body), &bench->answer),
                     WIRE_REQUEST_IN_PART);
    assert_true(bench->answer.refusal_count > 0); // of one that turns out to stop nothing
    return &bench->request.gate;
}

static void a_stop_says_its_job_and_may_say_more(void **state) {
    const struct gate_request *gate = good(*state, "stop-work", "{\"job\":\"J\"}");
    assert_null(gate->reason);
    assert_false(gate->pause);
    gate = good(*state, "stop-work", "{\"job\":\"J\",\"pause\":true,\"reason\":\"lunch\"}");
    assert_true(gate->pause);
    assert_string_equal(gate->reason, "lunch");
    assert_false(good(*state, "stop-work", "{\"job\":\"J\",\"pause\":false}")->pause);
    bad(*state, "stop-work", "{}", "/job");
    bad(*state, "stop-work", "{\"job\":7}", "/job");
    bad(*state, "stop-work", "[]", "");
    bad(*state, "lift-tag", "{\"job\":\"J\",\"point\":7}", "/point");
    bad(*state, "witness-point", "{\"point\":\"p\",\"state\":\"hot\"}", "/state");
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"no check\"}", "/check");
}

static void what_is_wrong_beside_it_is_left_out(void **state) {
    const struct gate_request *gate =
        in_part(*state, "stop-work", "{\"job\":\"J\",\"id\":5,\"reason\":[],\"pause\":\"yes\"}");
    assert_string_equal(gate->job, "J");
    assert_null(gate->id);
    assert_null(gate->reason);
    assert_false(gate->pause);
    assert_null(in_part(*state, "stop-work", "{\"job\":\"J\",\"reason\":\"  \"}")->reason);
    gate = in_part(*state, "witness-point", "{\"job\":5,\"point\":\"p\",\"state\":\"live\"}");
    assert_null(gate->job);
    assert_int_equal(gate->state, MODEL_POINT_LIVE);
    gate = in_part(*state, "sign-check",
                   "{\"job\":\"J\",\"check\":\"c\",\"value\":240,\"unit\":\"V\",\"note\":5}");
    assert_true(gate->has_value && gate->value == 240);
    assert_null(gate->note);
}

static void a_stop_that_is_no_json_is_read_as_far_as_it_goes(void **state) {
    const struct gate_request *gate =
        in_part(*state, "stop-work", "{\"job\":\"J\",\"reason\":\"fuel\ton caf\xe9 floor\"}");
    assert_string_equal(gate->job, "J");
    assert_string_equal(gate->reason, "fuel\ton caf\xef\xbf\xbd floor");
    gate = in_part(*state, "witness-point",
                   "{\"point\":\"p\",\"state\":\"live\",\"note\":\"\\ud800\"}");
    assert_int_equal(gate->state, MODEL_POINT_LIVE);
    gate = in_part(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":false,}");
    assert_true(gate->has_pass && !gate->pass);
    static const char *const units[] = {"V\xe9", "V\t", "\\ud800", "V\\u0007"};
    for (size_t i = 0; i < COUNT(units); i++) {
        char body[96];
        snprintf(body, sizeof body, "{\"job\":\"J\",\"check\":\"c\",\"value\":240,\"unit\":\"%s\"}",
                 units[i]);
        gate = in_part(*state, "sign-check", body);
        assert_true(gate->has_value && gate->value == 240 && gate->unit == NULL);
    }
    struct bench *bench = *state;
    assert_false(ask(bench, "stop-work", "{\"reason\":\"\t\",\"job\":\"J9\",\"job\":\"J1\"}"));
    assert_false(ask(bench, "stop-work", "job=J"));
    bad(*state, "start-work", "{\"job\":\"J\",\"note\":\"\t\"}", "/note");
}

static void a_reason_that_is_too_long_is_cut(void **state) {
    const struct gate_request *gate =
        in_part(*state, "stop-work", body_with("reason", "\xe2\x82\xac", 501, ""));
    assert_int_equal(strlen(gate->reason), 1500);
    assert_memory_equal(gate->reason + 1497, "\xe2\x82\xac", 4);
    char body[128];
    snprintf(body, sizeof body, "{\"job\":\"%065d\"}", 7);
    bad(*state, "stop-work", body, "/job");
}

static void what_stops_nothing_is_taken_whole_or_not(void **state) {
    bad(*state, "start-work", "{\"job\":\"J\",\"id\":5}", "/id");
    bad(*state, "rework", body_with("reason", "a", 501, ""), "/reason");
}

// Such a request is no pass; that what can be read of it fails is for the gate to say.
static void what_is_no_number_is_read_as_far_as_it_can_be(void **state) {
    const struct gate_request *gate = &((struct bench *)*state)->request.gate;
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":\"-45.5\"}", "/value");
    assert_true(gate->has_value && gate->value == -45.5 && !gate->has_other);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":[3,\"x\",-1,\"7\",2]}",
        "/value");
    assert_true(gate->has_value && gate->has_other && gate->value == -1 && gate->other == 7);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":[3]}", "/value");
    assert_true(gate->has_value && gate->value == 3 && !gate->has_other);
}

static void a_verdict_that_is_twofold_says_that_it_fails(void **state) {
    const struct gate_request *gate = &((struct bench *)*state)->request.gate;
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":[true,false]}", "/pass");
    assert_true(gate->has_pass && !gate->pass);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":[true]}", "/pass");
    assert_false(gate->has_pass);
}

static void a_verdict_of_a_wrong_kind_may_mean_no(void **state) {
    const struct gate_request *gate = &((struct bench *)*state)->request.gate;
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":\"False\"}", "/pass");
    assert_true(gate->has_pass && !gate->pass);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":0}", "/pass");
    assert_true(gate->has_pass && !gate->pass);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":\"true\"}", "/pass");
    assert_false(gate->has_pass);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":1}", "/pass");
    assert_false(gate->has_pass);
}

static void a_value_is_a_number(void **state) {
    static const char *const wrong[] = {"\"low\"", "true", "[]", "{}", "\"0,5\"", "\"\""};
    char body[256];
    for (size_t i = 0; i < COUNT(wrong); i++) {
        snprintf(body, sizeof body, "{\"job\":\"J\",\"check\":\"c\",\"value\":%s}", wrong[i]);
        bad(*state, "sign-check", body, "/value");
        assert_false(((struct bench *)*state)->request.gate.has_value);
    }
    assert_string_equal(
        bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":\"45\"}", "/value")
            ->found,
        "\"45\"");
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":1e999}", "/value");
    assert_true(
        good(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"value\":-0.5e1}")->value ==
        -5);
}

static void hours_are_some_and_at_most_twelve(void **state) {
    static const char *const wrong[] = {"0", "-1", "12.5", "\"2\"", "true", "1e9"};
    char body[128];
    for (size_t i = 0; i < COUNT(wrong); i++) {
        snprintf(body, sizeof body, "{\"sensor\":\"s\",\"reason\":\"r\",\"hours\":%s}", wrong[i]);
        bad(*state, "distrust-sensor", body, "/hours");
    }
    const struct gate_request *gate =
        good(*state, "distrust-sensor", "{\"reader\":\"3-power\",\"reason\":\"r\",\"hours\":12}");
    assert_true(gate->hours == 12);
    assert_string_equal(gate->reader, "3-power");
    assert_null(gate->sensor);
    bad(*state, "distrust-sensor", "{\"sensor\":\"s\",\"reason\":\"r\"}", "/hours");
    bad(*state, "distrust-sensor", "{\"reason\":\"r\",\"hours\":1}", "/sensor");
    bad(*state, "trust-sensor", "{\"sensor\":\"s\",\"reader\":\"p\"}", "/reader");
}

static void a_state_is_one_of_two(void **state) {
    static const char *const wrong[] = {"\"unknown\"", "\"Live\"", "\"closed\"", "1", "null"};
    char body[256];
    for (size_t i = 0; i < COUNT(wrong); i++) {
        snprintf(body, sizeof body, "{\"point\":\"p\",\"state\":%s}", wrong[i]);
        bad(*state, "witness-point", body, "/state");
        assert_false(((struct bench *)*state)->request.gate.has_state);
        assert_int_equal(((struct bench *)*state)->request.gate.state, MODEL_POINT_UNKNOWN);
    }
}

static void a_verdict_is_true_or_false(void **state) {
    const struct gate_request *gate =
        good(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":false}");
    assert_true(gate->has_pass && !gate->pass);
    gate = good(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":true}");
    assert_true(gate->has_pass && gate->pass);
    gate = good(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":null}");
    assert_false(gate->has_pass);
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":\"no\"}", "/pass");
    bad(*state, "sign-check", "{\"job\":\"J\",\"check\":\"c\",\"pass\":0}", "/pass");
}

static void an_absent_tag_has_one_owner(void **state) {
    const struct gate_request *gate = good(
        *state, "lift-absent-tag",
        "{\"point\":\"p\",\"person\":\"t-1\",\"reason\":\"ill\",\"attest\":{\"not_on_site\":true,"
        "\"contact_tried\":true,\"will_be_told\":true,\"more\":null}}");
    assert_true(gate->not_on_site && gate->contact_tried && gate->will_be_told);
    assert_string_equal(gate->member, "t-1");
    gate = good(*state, "lift-absent-tag",
                "{\"point\":\"p\",\"badge\":\"04 51\",\"person\":null,\"reason\":\"ill\","
                "\"attest\":{\"not_on_site\":true,\"contact_tried\":false,\"will_be_told\":null}}");
    assert_string_equal(gate->badge, "04 51");
    assert_null(gate->member);
    assert_true(gate->not_on_site && !gate->contact_tried && !gate->will_be_told);
    gate =
        good(*state, "lift-absent-tag", "{\"point\":\"p\",\"badge\":\"0451\",\"reason\":\"ill\"}");
    assert_false(gate->not_on_site || gate->contact_tried || gate->will_be_told);
    bad(*state, "lift-absent-tag", "{\"point\":\"p\",\"reason\":\"ill\"}", "/person");
    bad(*state, "lift-absent-tag",
        "{\"point\":\"p\",\"person\":\"t\",\"badge\":\"b\",\"reason\":\"ill\"}", "/badge");
    bad(*state, "lift-absent-tag",
        "{\"point\":\"p\",\"person\":\"t\",\"reason\":\"ill\",\"attest\":true}", "/attest");
    bad(*state, "lift-absent-tag",
        "{\"point\":\"p\",\"person\":\"t\",\"reason\":\"ill\",\"attest\":{\"will_be_told\":\"yes\"}"
        "}",
        "/attest/will_be_told");
}

// --- Readings ---

#define RECORD(readings) "{\"job\":\"J\",\"test\":\"leak\",\"readings\":" readings "}"

static void readings_are_kept(void **state) {
    struct bench *bench = *state;
    good(
        bench, "record-test",
        RECORD("{\"ohms\":12.5,\"pass\":true,\"wet\":false,\"system\":\"balance\",\"none\":null}"));
    const struct model_reading *readings = bench->request.readings;
    assert_int_equal(bench->request.reading_count, 4);
    assert_string_equal(readings[0].name, "ohms");
    assert_int_equal(readings[0].kind, MODEL_READING_NUMBER);
    assert_true(readings[0].number == 12.5);
    assert_int_equal(readings[1].kind, MODEL_READING_FLAG);
    assert_true(readings[1].flag && !readings[2].flag);
    assert_int_equal(readings[3].kind, MODEL_READING_TEXT);
    assert_string_equal(readings[3].text, "balance");
    good(bench, "record-test", RECORD("{}"));
    assert_int_equal(bench->request.reading_count, 0);
    bad(bench, "start-work", "{\"job\":\"J\",\"readings\":{\"a\":1}}", "/readings");
    assert_int_equal(bench->request.reading_count, 0);
}

static void readings_that_are_none(void **state) {
    bad(*state, "record-test", "{\"job\":\"J\",\"test\":\"leak\"}", "/readings");
    bad(*state, "record-test", RECORD("[1]"), "/readings");
    bad(*state, "record-test", RECORD("{\"a\":[1]}"), "/readings/a");
    bad(*state, "record-test", RECORD("{\"a/b~\":{}}"), "/readings/a~1b~0");
    bad(*state, "record-test", RECORD("{\"\":1}"), "/readings/");
    bad(*state, "record-test", RECORD("{\"a\":\"0123456789012345678901234567890 2\"}"),
        "/readings/a");
    bad(*state, "record-test", RECORD("{\"a12345678901234567890123456789012\":1}"),
        "/readings/a12345678901234567890123456789012");
    good(*state, "record-test",
         RECORD("{\"a\":1,\"b\":1,\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1,\"h\":1}"));
    bad(*state, "record-test",
        RECORD("{\"a\":1,\"b\":1,\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1,\"h\":1,\"i\":1}"),
        "/readings/i");
}

static void an_owed_test_has_two_ids(void **state) {
    char body[512], left[65], right[65];
    memset(left, 'a', sizeof left);
    memset(right, 'b', sizeof right);
    left[64] = right[64] = '\0';
    snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"%s.%s\",\"readings\":{}}", left, right);
    assert_int_equal(strlen(good(*state, "record-test", body)->test), 129);
    // And one of those that are one for each product a third.
    snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"%s.%s.p\",\"readings\":{}}", left,
             right);
    assert_int_equal(strlen(good(*state, "record-test", body)->test), 131);
    snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"%s.%sb\",\"readings\":{}}", left, right);
    bad(*state, "record-test", body, "/test");
    snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"%s%s\",\"readings\":{}}", left, right);
    bad(*state, "record-test", body, "/test");
    snprintf(body, sizeof body, "{\"job\":\"J\",\"test\":\"%s.\",\"readings\":{}}", left);
    bad(*state, "record-test", body, "/test");
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(every_verb_takes_its_fields),
        TEST(the_day_around_a_repair),
        TEST(verbs_of_a_job_alone),
        TEST(every_verb_is_in_the_table),
        TEST(an_unknown_verb_stands_alone),
        TEST(a_field_that_no_request_has_is_refused),
        TEST(of_very_many_unknown_fields_some_are_told),
        TEST(null_is_absent),
        TEST(ids_follow_the_rule),
        TEST(texts_have_their_lengths),
        TEST(a_reason_says_something),
        TEST(what_the_tracker_calls_its_own_is_taken),
        TEST(a_stop_says_its_job_and_may_say_more),
        TEST(what_is_wrong_beside_it_is_left_out),
        TEST(a_reason_that_is_too_long_is_cut),
        TEST(a_stop_that_is_no_json_is_read_as_far_as_it_goes),
        TEST(what_stops_nothing_is_taken_whole_or_not),
        TEST(a_value_is_a_number),
        TEST(what_is_no_number_is_read_as_far_as_it_can_be),
        TEST(a_verdict_that_is_twofold_says_that_it_fails),
        TEST(a_verdict_of_a_wrong_kind_may_mean_no),
        TEST(hours_are_some_and_at_most_twelve),
        TEST(a_state_is_one_of_two),
        TEST(a_verdict_is_true_or_false),
        TEST(an_absent_tag_has_one_owner),
        TEST(readings_are_kept),
        TEST(readings_that_are_none),
        TEST(an_owed_test_has_two_ids),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
