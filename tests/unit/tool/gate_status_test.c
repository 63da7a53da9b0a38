// The next gate as documents tell it: what the daemon says is missing, where all of it is told.
#include "story.h"

#include <stdio.h>
#include <string.h>

#include "tool/gate_status.h"
#include "tool/tool.h"
#include "wire/tell.h"

static struct documents documents;
static struct tool_gate_status view;

static void take(const char *topic, const char *payload) {
    tool_documents_take(&documents, topic, payload, strlen(payload));
}

static void take_out(struct rig *rig, const char *kind, const char *id) {
    char topic[160];
    assert_false(rig->out.failed);
    snprintf(topic, sizeof topic, "forelock/juniper/%s/%s", kind, id);
    tool_documents_take(&documents, topic, rig->out.data, rig->out.length);
    json_out_reset(&rig->out);
}

static void take_daemon(struct rig *rig, bool online, int64_t at) {
    const struct wire_daemon self = {
        .online = online, .version = "0.1.0", .boot = "boot-1", .since = 1, .at = at};
    json_out_reset(&rig->out);
    assert_true(wire_daemon(&rig->out, rig->model, &self));
    tool_documents_take(&documents, "forelock/daemon/edge-1", rig->out.data, rig->out.length);
    json_out_reset(&rig->out);
}

// Everything as the daemon would have published it.
static void take_all(struct rig *rig) {
    const struct model_site *site = &rig->model->sites[0];
    tool_documents_free(&documents);
    memset(&documents, 0, sizeof documents);
    documents.model = rig->model;
    documents.job = "J-1";
    documents.only_site = MODEL_NONE;
    take_daemon(rig, true, rig->now.wall);
    const struct gate_job *job = gate_job_find(&rig->gate->sites[0], "J-1");
    if (job != NULL) {
        assert_true(wire_job(&rig->out, rig->gate, 0, job, false, rig->now));
        take_out(rig, "job", "J-1");
    }
    for (uint32_t p = 0; p < site->point_count; p++) {
        assert_true(wire_point(&rig->out, rig->gate, 0, p, rig->now, NULL));
        take_out(rig, "point", site->points[p].point);
    }
}

static int look(const struct rig *rig) {
    tool_gate_status_free(&view);
    memset(&view, 0, sizeof view);
    return tool_gate_status_read(&view, &documents, rig->now.wall);
}

// Whether the daemon's list of what is missing has this.
static bool lacks(enum model_code code, const char *subject) {
    for (size_t i = 0; i < view.missing_count; i++) {
        const struct gate_refusal missing = tool_gate_status_missing(&view, i);
        if (missing.code == code && strcmp(missing.subject, subject) == 0) {
            return true;
        }
    }
    return false;
}

static int teardown(void **state) {
    tool_gate_status_free(&view);
    tool_documents_free(&documents);
    memset(&view, 0, sizeof view);
    memset(&documents, 0, sizeof documents);
    return rig_teardown(state);
}

// --- The gates ---

static void start_lacks_what_the_daemon_lists(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_pass(rig, 3000);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_true(lacks(MODEL_CODE_POINT_LIVE, "3-power"));
    assert_true(lacks(MODEL_CODE_TAG_MISSING, "3-premium"));
    assert_true(lacks(MODEL_CODE_CHECK_MISSING, "barricade"));
    assert_true(lacks(MODEL_CODE_CHECK_MISSING, "dark"));
    for (size_t i = 0; i < view.missing_count; i++) {
        const struct gate_refusal missing = tool_gate_status_missing(&view, i);
        if (strcmp(missing.subject, "3-power") == 0 && missing.code == MODEL_CODE_POINT_LIVE) {
            assert_int_equal(missing.age_ms, 3000 + 5); // of its last word
        }
    }
}

static void start_opens(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_DONE);
    assert_int_equal(view.missing_count, 0);
    assert_int_equal(view.required_count, 3);
}

static void finish(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    story_start(rig);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_true(lacks(MODEL_CODE_CHECK_MISSING, "spout-nut"));
    assert_true(lacks(MODEL_CODE_CHECK_MISSING, "people-clear"));
    assert_int_equal(view.missing_count, 8);
}

static void test_gate_wants_no_lock(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    story_start(rig);
    story_finish(rig);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_true(lacks(MODEL_CODE_TAG_HUNG, "3-power"));
    story_lift(rig);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_DONE);
}

static void return_gate(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    story_start(rig);
    story_finish(rig);
    story_lift(rig);
    story_restore(rig);
    story_test(rig);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_true(lacks(MODEL_CODE_CHECK_MISSING, "barricade-removed"));
    story_sign(rig, "t-104", "barricade-removed");
    story_sign(rig, "t-104", "district-notice");
    take_all(rig);
    assert_int_equal(look(rig), TOOL_DONE);
    rig_must(rig, GATE_VERB_RETURN_POSITION, "t-104", (struct gate_request){.job = "J-1"});
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_non_null(strstr(view.say, "returned: it has no next gate"));
}

// --- Documents that are not all of now ---

static void without_a_required_points_document_nothing_is_relied_on(void **state) {
    static const char *const payloads[] = {"no JSON", ""};
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    for (size_t i = 0; i < sizeof payloads / sizeof payloads[0]; i++) {
        take_all(rig);
        take("forelock/juniper/point/3-power", payloads[i]);
        assert_int_equal(look(rig), TOOL_REACH);
        assert_non_null(strstr(view.say, "point 3-power is not told"));
    }
}

static void what_is_missing_the_daemon_says(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    rig_hear(rig, "3-power", MODEL_POINT_LIVE);
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_true(lacks(MODEL_CODE_POINT_LIVE, "3-power"));
}

static void documents_of_others_are_passed_over(void **state) {
    static const char live[] = "{\"state\":\"live\",\"trust\":\"fresh\",\"tags\":[]}";
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    take_all(rig);
    take("forelock/elsewhere/point/3-power", live);
    take("forelock/elsewhere/job/J-1", "{}");
    take("forelock/juniper/job/J-2", "{}");
    take("forelock/juniper/point/3-power/more", live);
    take("forelock/juniper/position/3-power", live);
    take("other/juniper/point/3-power", live);
    take("forelockjuniper/point/3-power", live);
    take("forelock/daemon/edge-2", "{\"state\":\"offline\"}");
    assert_int_equal(look(rig), TOOL_DONE);
}

// --- The daemon ---

static void only_a_daemon_that_is_there_is_relied_on(void **state) {
    struct rig *rig = *state;
    int64_t now = rig->now.wall;
    char say[320];
    take_all(rig);
    assert_true(tool_gate_status_online(&documents, now, say, sizeof say));
    assert_true(tool_gate_status_online(&documents, now + 179999, say, sizeof say));
    assert_false(tool_gate_status_online(&documents, now + 180000, say, sizeof say));
    assert_non_null(strstr(say, "nothing is to be relied on"));
    assert_true(tool_gate_status_online(&documents, now - 179999, say, sizeof say));
    assert_false(tool_gate_status_online(&documents, now - 180000, say, sizeof say));
    assert_non_null(strstr(say, "clock"));
    take_daemon(rig, false, now);
    assert_false(tool_gate_status_online(&documents, now, say, sizeof say));
    assert_non_null(strstr(say, "offline"));
    take("forelock/daemon/edge-1", "{\"state\":\"online\",\"sites\":[\"juniper\"]}");
    assert_false(tool_gate_status_online(&documents, now, say, sizeof say));
    take("forelock/daemon/edge-1", "");
    assert_false(tool_gate_status_online(&documents, now, say, sizeof say));
    assert_non_null(strstr(say, "no document"));
}

static void a_site_that_the_daemon_does_not_serve(void **state) {
    struct rig *rig = *state;
    char payload[160], at[32] = "";
    story_open(rig);
    story_confirm(rig);
    take_all(rig);
    tool_document_text(&documents.daemon, tool_document_root(&documents.daemon), "at", at,
                       sizeof at);
    snprintf(payload, sizeof payload, "{\"state\":\"online\",\"at\":\"%s\",\"sites\":[\"x\"]}", at);
    take("forelock/daemon/edge-1", payload);
    assert_int_equal(look(rig), TOOL_REACH);
    assert_non_null(strstr(view.say, "does not serve"));
}

static void an_unknown_job(void **state) {
    struct rig *rig = *state;
    take_all(rig);
    assert_int_equal(look(rig), TOOL_NO);
    assert_non_null(strstr(view.say, "\"J-1\""));
    story_open(rig);
    take_all(rig);
    take("forelock/juniper/job/J-1", ""); // taken back
    assert_int_equal(look(rig), TOOL_NO);
}

static void a_job_that_cannot_be_read(void **state) {
    static const char *const payloads[] = {
        "[]",
        "{",
        "{}",
        "{\"phase\":\"dreaming\",\"lockout\":\"confirmed\",\"position\":\"3A\","
        "\"procedure\":\"spout-and-boot\",\"missing\":[]}",
        "{\"phase\":\"open\",\"lockout\":\"confirmed\",\"position\":\"9Z\","
        "\"procedure\":\"spout-and-boot\",\"missing\":[]}",
        "{\"phase\":\"open\",\"lockout\":\"confirmed\",\"position\":\"3A\","
        "\"procedure\":\"no-such\",\"missing\":[]}",
        "{\"phase\":\"open\",\"lockout\":\"confirmed\",\"position\":\"3A\","
        "\"procedure\":\"spout-and-boot\"}",
        "{\"phase\":\"open\",\"lockout\":\"confirmed\",\"position\":\"3A\","
        "\"procedure\":\"spout-and-boot\",\"missing\":[{\"code\":\"no-such-code\"}]}",
    };
    struct rig *rig = *state;
    story_open(rig);
    take_all(rig);
    for (size_t i = 0; i < sizeof payloads / sizeof payloads[0]; i++) {
        take("forelock/juniper/job/J-1", payloads[i]);
        assert_int_equal(look(rig), TOOL_REACH);
        assert_non_null(strstr(view.say, "nothing is to be relied on"));
    }
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, rig_setup, teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(start_lacks_what_the_daemon_lists),
        TEST(start_opens),
        TEST(finish),
        TEST(test_gate_wants_no_lock),
        TEST(return_gate),
        TEST(without_a_required_points_document_nothing_is_relied_on),
        TEST(what_is_missing_the_daemon_says),
        TEST(documents_of_others_are_passed_over),
        TEST(only_a_daemon_that_is_there_is_relied_on),
        TEST(a_site_that_the_daemon_does_not_serve),
        TEST(an_unknown_job),
        TEST(a_job_that_cannot_be_read),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
