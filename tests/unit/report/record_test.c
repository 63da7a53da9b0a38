// A record from a list of facts.
#include "report/records.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#define T0 1795624634000 // 2026-11-25T16:37:14.000Z
#define NEEDS                                                                                      \
    "\"requirements\":{\"procedure\":\"boot\",\"title\":\"Replace "                                \
    "boot\",\"isolate\":[\"electrical\"],"                                                         \
    "\"prepare\":[{\"check\":\"told\",\"ask\":\"Told\"}],"                                         \
    "\"relieve\":[{\"check\":\"drained\",\"ask\":\"Drained\",\"unit\":\"L\",\"min\":0}],"          \
    "\"verify\":[{\"check\":\"flow\",\"ask\":\"No flow\"}],"                                       \
    "\"work\":[{\"check\":\"nut\",\"ask\":\"Nut\"}],\"clear\":[{\"check\":\"tools\",\"ask\":"      \
    "\"Tools\"}],"                                                                                 \
    "\"finish\":[{\"check\":\"clean\",\"ask\":\"Clean\"}],\"leave\":[{\"check\":\"capped\","       \
    "\"ask\":\"Capped\"}],"                                                                        \
    "\"tests\":[{\"test\":\"leak\",\"rule\":\"pass-fail\",\"title\":\"Leaks\","                    \
    "\"method\":\"M-1\",\"edition\":\"2017\"}]}"
#define POWER                                                                                      \
    "\"evidence\":[{\"point\":\"3-power\",\"state\":\"live\",\"trust\":\"fresh\",\"heard\":null}]"
#define OF "\"job\":\"J-1\",\"position\":\"3A\","

static uint32_t isolates[] = {0, 1}, own_points[] = {0};
static struct model_position positions[2] = {
    {.position = "3A", .dispenser = "3", .title = "Side A", .points = own_points, .point_count = 1},
    {.position = "3B",
     .dispenser = "3",
     .title = "Side B",
     .points = own_points,
     .point_count = 1}};
static struct model_point points[1] = {{.point = "3-power",
                                        .title = "Breaker",
                                        .energy = "electrical",
                                        .isolates = isolates,
                                        .isolates_count = 2}};
static struct model_site sites[1] = {{.site = "juniper",
                                      .title = "Juniper",
                                      .time_zone = "UTC",
                                      .positions = positions,
                                      .position_count = 2,
                                      .points = points,
                                      .point_count = 1}};
static struct model model = {.instance = "edge-1", .sites = sites, .site_count = 1};

struct fact {
    const char *type, *subject, *data;
};

// What the hook kept of each record, which is gone after it.
struct told {
    unsigned count;
    struct report_record last; // its lists are not to be looked into
    char json[32768], text[32768], csv[2048];
    void (*look)(const struct report_record *record);
};

static const struct report_context context = {.now = T0 + 999000,
                                              .version = "1",
                                              .instance = "edge-1",
                                              .head_seq = 99,
                                              .head_hash = (const uint8_t[32]){7}};

static bool on_record(void *user, const struct report_record *record) {
    struct told *told = user;
    struct json_out out = {0};
    told->count++;
    told->last = *record;
    report_record_json(record, &context, &out);
    assert_false(out.failed);
    assert_true(out.length < sizeof told->json);
    memcpy(told->json, out.data, out.length + 1);
    json_out_free(&out);
    FILE *text = fmemopen(told->text, sizeof told->text, "w");
    report_record_text(record, &context, text);
    assert_int_equal(fclose(text), 0);
    FILE *csv = fmemopen(told->csv, sizeof told->csv, "w");
    report_record_csv(record, &context, csv);
    assert_int_equal(fclose(csv), 0);
    if (told->look != NULL) {
        told->look(record);
    }
    return true;
}

static int64_t apart_ms = 1000; // how far one fact is from the next

static void read_all(struct report_records *records, const struct fact *facts, size_t count,
                     struct told *told) {
    uint8_t hash[REPORT_HASH_SIZE] = {0};
    records->model = &model;
    records->site = &sites[0];
    records->created = T0 - 5000;
    records->hook = on_record;
    records->user = told;
    assert_true(report_records_begin(records));
    bool goes_on = true;
    for (size_t i = 0; goes_on && i < count; i++) {
        hash[0] = (uint8_t)(i + 1);
        const struct report_row row = {.seq = (int64_t)i + 1,
                                       .at_ms = T0 + (int64_t)i * apart_ms,
                                       .type = facts[i].type,
                                       .subject = facts[i].subject,
                                       .data = facts[i].data,
                                       .data_length = strlen(facts[i].data),
                                       .hash = hash};
        goes_on = report_records_take(records, &row);
    }
}

static void told_of(const struct fact *facts, size_t count, struct told *told) {
    struct report_records records = {.job = "J-1"};
    read_all(&records, facts, count, told);
    assert_true(report_records_end(&records));
    assert_string_equal(records.what, "");
    report_records_free(&records);
}

#define TOLD(facts, told) told_of(facts, sizeof(facts) / sizeof((facts)[0]), told)

#define OPENED                                                                                     \
    {                                                                                              \
        "job.opened", "3A",                                                                        \
            "{" OF POWER ",\"by\":\"k-1\",\"person\":\"t-1\",\"procedure\":\"boot\",\"part\":\"="  \
            "kit\",\"defect\":\"torn \\\"boot\\\"\\u001b[31m\"," NEEDS "}"                         \
    }
#define OUT                                                                                        \
    { "position.out-of-service", "3A", "{" OF "\"cause\":\"job\"}" }
#define BACK                                                                                       \
    { "position.returned", "3A", "{\"job\":null,\"position\":\"3A\"}" }
#define IN                                                                                         \
    { "position.returned", "3A", "{\"position\":\"3A\"}" }
#define SIGNED(check)                                                                              \
    { "check.signed", "3A", "{" OF "\"person\":\"t-1\",\"check\":\"" check "\",\"pass\":true}" }
#define JOB(type, more)                                                                            \
    { type, "3A", "{" OF "\"by\":\"t-1\"" more "}" }
#define HUNG(person)                                                                               \
    {                                                                                              \
        "tag.hung", "",                                                                            \
            "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"" person "\",\"counts\":true}"    \
    }
#define LIFTED(person)                                                                             \
    {                                                                                              \
        "tag.lifted", "",                                                                          \
            "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"" person "\",\"by\":\"" person    \
            "\"}"                                                                                  \
    }

static struct told told;

static int fresh(void **state) {
    (void)state;
    memset(&told, 0, sizeof told);
    return 0;
}

static void out_and_back(void **state) {
    (void)state;
    static const struct fact facts[] = {
        IN, OPENED, OUT, JOB("job.returned", ",\"phase\":\"returned\""), BACK, OPENED,
    };
    TOLD(facts, &told);
    assert_int_equal(told.count, 1);
    assert_true(told.last.closed);
    assert_int_equal(told.last.out_from - T0, 2000);
    assert_int_equal(told.last.back_at - T0, 4000);
    assert_int_equal(report_out_ms(&told.last, context.now), 2000);
    assert_false(told.last.out_unproved);
    assert_int_equal(told.last.first_seq, 2);
    assert_int_equal(told.last.last_seq, 5);
    assert_int_equal(told.last.last_hash[0], 5);
    assert_non_null(strstr(told.json, "\"last_hash\":\"0500000000"));
    assert_non_null(strstr(told.json, "\"head_hash\":\"0700000000"));
    assert_non_null(strstr(told.json, "\"cause\":\"job\",\"before_job\":false"));
    // A control character does not reach a terminal, nor a formula a spreadsheet.
    assert_null(strchr(told.text, '\x1b'));
    assert_non_null(strstr(told.csv, ",\"'=kit\",\"torn \"\"boot\"\" [31m\","));
    assert_non_null(strstr(told.csv, ",2.000,\"t-1\","));
}

static void out_before_and_never_back(void **state) {
    (void)state;
    static const struct fact unproved[] = {OPENED};
    TOLD(unproved, &told);
    assert_true(told.last.out_unproved);
    assert_int_equal(told.last.out_from - T0, -5000);
    assert_int_equal(report_out_ms(&told.last, T0 + 1000), 6000);
    assert_non_null(strstr(told.text, "NOT FINISHED"));
    assert_non_null(strstr(told.json, "\"result\":\"standing\",\"finished\":false"));
    static const struct fact displaced[] = {
        IN,
        OPENED,
        OUT,
        JOB("job.cancelled", ",\"reason\":\"wrong side\""),
        {"job.opened", "3A", "{\"job\":\"J-2\",\"position\":\"3A\"}"},
        BACK,
    };
    TOLD(displaced, &told);
    assert_int_equal(told.last.last_seq, 4);
    assert_int_equal(told.last.back_at, 0);
    assert_int_equal(report_out_ms(&told.last, context.now), -1);
    assert_non_null(strstr(told.json, "\"next_job\":\"J-2\""));
    assert_non_null(strstr(told.text, "cancelled, 2026-11-25T16:37:17.000Z by t-1: wrong side"));
}

static void look_locks(const struct report_record *record) {
    assert_int_equal(record->tag_count, 3);
    assert_string_equal(record->tags[0].person, "t-1");
    assert_true(record->tags[0].own && record->tags[0].counts);
    assert_int_equal(record->tags[0].hung - T0, 1000);
    assert_int_equal(record->tags[0].discounted - T0, 4000);
    assert_int_equal(record->tags[0].lifted - T0, 5000);
    assert_false(record->tags[1].own);
    assert_int_equal(record->tags[1].lifted, 0);
    assert_true(record->tags[2].absent);
    assert_string_equal(record->tags[2].lifted_by, "s-1");
}

static void locks(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        HUNG("t-1"),
        {"tag.hung", "",
         "{\"job\":\"J-9\",\"point\":\"3-power\",\"person\":\"t-9\",\"counts\":false}"},
        {"tag.hung", "",
         "{\"job\":\"J-9\",\"point\":\"9-power\",\"person\":\"t-9\",\"counts\":true}"},
        {"tag.discounted", "", "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-1\"}"},
        LIFTED("t-1"),
        HUNG("t-2"),
        {"tag.lifted", "",
         "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-2\",\"by\":\"s-1\",\"absent\":true,"
         "\"reason\":\"ill\"}"},
    };
    told.look = look_locks;
    TOLD(facts, &told);
    assert_non_null(strstr(told.text, "verified not on site"));
    assert_non_null(strstr(told.text, "of another job: J-9"));
    assert_non_null(strstr(told.json, "\"absent\":true,\"reason\":\"ill\""));
}

static void a_lock_that_no_longer_counts_says_why(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        HUNG("t-1"),
        {"tag.discounted", "",
         "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-1\",\"why\":\"check-failed\"}"},
        HUNG("t-2"),
        {"tag.discounted", "",
         "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-2\",\"why\":\"link-down\"}"},
        HUNG("t-3"),
        {"tag.discounted", "", "{\"job\":\"J-1\",\"point\":\"3-power\",\"person\":\"t-3\"}"},
    };
    TOLD(facts, &told);
    assert_non_null(strstr(told.text, ": a check found energy"));
    assert_non_null(strstr(told.text, ": what its reader said meanwhile is lost"));
    assert_non_null(strstr(told.text, ": the point read live"));
    assert_non_null(strstr(told.json, "\"discounted_why\":\"check-failed\""));
    assert_non_null(strstr(told.json, "\"discounted_why\":\"point-live\""));
}

// Of the latest signature.
static const char *void_of(const struct report_record *record, const char *check) {
    const struct report_signature *found = NULL;
    for (size_t i = 0; i < record->signature_count; i++) {
        if (strcmp(record->signatures[i].entry.fact->check, check) == 0) {
            found = &record->signatures[i];
        }
    }
    assert_non_null(found);
    return found != NULL ? found->void_.why : NULL;
}

static void look_voids(const struct report_record *record) {
    assert_null(void_of(record, "told"));
    assert_string_equal(void_of(record, "drained"), "lockout-broken");
    assert_string_equal(void_of(record, "flow"), "lockout-broken");
    assert_string_equal(void_of(record, "tools"), "work-went-on");
    assert_int_equal(record->stops, 1); // the break and its stop are one
    assert_int_equal(record->phase_count, 3);
    assert_int_equal(record->phases[2].phase, MODEL_PHASE_STOPPED);
    assert_string_equal(record->alarms[0].acknowledged_by, "t-1");
    assert_int_equal(record->alarms[0].count, 1); // of a journal that did not count
    assert_string_equal(record->alarms[1].note, "dry");
    assert_int_equal(record->alarms[1].count, 2);
    assert_int_equal(record->refusals, 1);
}

static void breaks_voids_and_alarms(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        {"work.refused", "3A",
         "{" OF "\"by\":\"t-1\",\"refusals\":[{\"code\":\"tag-missing\",\"subject\":\"3-power\","
         "\"need\":\"a lock\",\"found\":\"none\",\"age_s\":null,\"say\":\"Hang it.\"}]}"},
        SIGNED("told"),
        SIGNED("drained"),
        SIGNED("flow"),
        JOB("work.started", ",\"phase\":\"working\""),
        SIGNED("tools"),
        SIGNED("nut"),
        {"lockout.broken", "3A",
         "{" OF POWER ",\"point\":\"3-power\",\"why\":\"point-live\",\"lockout\":\"broken\"}"},
        {"work.stopped", "3A", "{" OF "\"phase\":\"stopped\",\"why\":\"point-live\"}"},
        {"alarm.raised", "3A",
         "{" OF "\"alarm\":\"a-1\",\"kind\":\"lockout-broken\",\"point\":\"3-power\",\"why\":"
         "\"point-live\",\"say\":\"Stop.\"}"},
        {"alarm.acknowledged", "3A",
         "{" OF "\"alarm\":\"a-1\",\"by\":\"t-1\",\"kind\":\"lockout-broken\",\"alarm_state\":"
         "\"acknowledged\"}"},
        {"daemon.started", "", "{\"job\":null,\"position\":null,\"version\":\"2\",\"boot\":\"b\"}"},
        {"alarm.raised", "3A",
         "{" OF
         "\"alarm\":\"a-2\",\"kind\":\"stop-called\",\"by\":\"t-1\",\"count\":1,\"say\":\"1\"}"},
        {"alarm.acknowledged", "3A", "{" OF "\"alarm\":\"a-2\",\"by\":\"t-1\",\"note\":\"aired\"}"},
        {"alarm.raised", "3A",
         "{" OF
         "\"alarm\":\"a-2\",\"kind\":\"stop-called\",\"by\":\"t-2\",\"count\":2,\"say\":\"2\"}"},
        {"alarm.acknowledged", "3A", "{" OF "\"alarm\":\"a-2\",\"by\":\"s-1\",\"note\":\"dry\"}"},
    };
    told.look = look_voids;
    TOLD(facts, &told);
    assert_non_null(strstr(told.json, "\"asked\":\"start-work\""));
    assert_non_null(strstr(told.json, "\"restarts\":[{\"seq\":13"));
    assert_non_null(strstr(told.text, "tag-missing 3-power; need: a lock; found: none"));
    assert_non_null(strstr(told.text, "LOCKOUT BROKEN"));
    assert_non_null(strstr(told.text, "stop-called (raised 2 times): 2; "));
    assert_non_null(strstr(told.text, "by s-1: dry"));
    assert_non_null(strstr(told.json, "\"by\":\"t-2\""));
    assert_non_null(strstr(told.json, "\"count\":2"));
    assert_non_null(strstr(told.text, "then 3-power live, fresh, heard never"));
}

#define UNPROTECTED                                                                                \
    { "crew.unprotected", "3A", "{" OF "\"person\":\"t-1\"}" }
#define NOT_PROTECTED "NOT PROTECTED, off the job"

// Locks come off when the work is over, and nobody is said to have been unprotected then.
static void locks_come_off_in_order(void **state) {
    (void)state;
    static const struct fact working[] = {OPENED, JOB("work.started", ",\"phase\":\"working\""),
                                          UNPROTECTED};
    static const struct fact over[] = {OPENED, JOB("work.started", ",\"phase\":\"working\""),
                                       JOB("work.finished", ",\"phase\":\"restoring\""),
                                       UNPROTECTED};
    static const struct fact stopped[] = {OPENED, JOB("work.started", ",\"phase\":\"working\""),
                                          JOB("work.stopped", ",\"phase\":\"stopped\""),
                                          UNPROTECTED};
    static const struct fact left[] = {OPENED,
                                       JOB("work.started", ",\"phase\":\"working\""),
                                       JOB("work.stopped", ",\"phase\":\"stopped\""),
                                       SIGNED("tools"),
                                       SIGNED("capped"),
                                       UNPROTECTED};
    static const struct fact broken[] = {
        OPENED,
        {"lockout.broken", "3A", "{" OF "\"why\":\"point-live\",\"lockout\":\"broken\"}"},
        UNPROTECTED};
    told.look = NULL;
    TOLD(working, &told);
    assert_non_null(strstr(told.text, NOT_PROTECTED));
    assert_null(strstr(told.json, "\"orderly\":true"));
    TOLD(over, &told);
    assert_null(strstr(told.text, NOT_PROTECTED));
    assert_non_null(strstr(told.text, "locks off: t-1"));
    assert_non_null(strstr(told.json, "\"orderly\":true"));
    TOLD(stopped, &told);
    assert_non_null(strstr(told.text, NOT_PROTECTED));
    TOLD(left, &told);
    assert_null(strstr(told.text, NOT_PROTECTED));
    TOLD(broken, &told);
    assert_non_null(strstr(told.text, NOT_PROTECTED));
}

// A stop says by which check it came, what was read and what it was held against.
static void a_stop_tells_its_check(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        {"check.signed", "3A",
         "{" OF
         "\"person\":\"t-1\",\"check\":\"drained\",\"value\":2,\"unit\":\"L\",\"pass\":true}"},
        JOB("work.started", ",\"phase\":\"working\""),
        {"check.signed", "3A",
         "{" OF "\"person\":\"t-1\",\"check\":\"drained\",\"value\":-0.30000000000000004,"
         "\"unit\":\"L\",\"pass\":false}"},
        {"lockout.broken", "3A",
         "{" OF "\"check\":\"drained\",\"why\":\"check-failed\",\"lockout\":\"broken\"}"},
        {"work.stopped", "3A", "{" OF "\"phase\":\"stopped\",\"why\":\"check-failed\"}"},
    };
    apart_ms = 0;
    told.look = NULL;
    TOLD(facts, &told);
    apart_ms = 1000;
    const char *first = strstr(told.text, "LOCKOUT BROKEN");
    const char *line = "by the check drained, Drained: -0.3 L [limit: at least 0 L]";
    assert_non_null(first);
    assert_non_null(strstr(first, line));
    assert_non_null(strstr(strstr(first, "WORK STOPPED"), line));
    assert_non_null(strstr(told.json, "\"check\":\"drained\",\"ask\":\"Drained\",\"value\":-0.3"));
}

#define RECORDED(rule, value, limit, margin, pass)                                                 \
    {                                                                                              \
        "test.recorded", "3A",                                                                     \
            "{" OF "\"person\":\"t-1\",\"test\":\"leak\",\"value\":" value ",\"pass\":" pass       \
            ",\"result\":{\"rule\":\"" rule "\",\"inputs\":{},\"value\":" value                    \
            ",\"limit\":" limit ",\"margin\":" margin ",\"pass\":" pass                            \
            ",\"formula\":\"f\",\"source\":\"s\"}}"                                                \
    }

// The journal keeps a limit as a figure alone. 1.2119... is 2*exp(-500.887/1000) of 40 CFR 63
// subpart CCCCCC Table 1 item 1(h).
static void a_limit_has_its_end_and_its_unit(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("test.begun", ",\"phase\":\"testing\""),
        RECORDED("pressure-decay", "1.25", "1.2119843262424512", "0.03801567375754881", "true"),
        RECORDED("flow-rate", "12", "10", "-2", "false"),
        RECORDED("flow-rate", "10", "10", "0", "true"),
        RECORDED("liquid-removal", "5", "5", "0", "true"),
        RECORDED("continuity", "1122334.4545454545", "{\"min\":null,\"max\":2000000}",
                 "877665.5454545455", "true"),
    };
    told.look = NULL;
    TOLD(facts, &told);
    assert_non_null(
        strstr(told.text, "value 1.25 in WC [limit: at least 1.2120 in WC], margin 0.038"));
    assert_non_null(strstr(told.text, "value 12 gpm [limit: at most 10 gpm], margin -2"));
    assert_non_null(strstr(told.text, "value 10 gpm [limit: at most 10 gpm], margin 0"));
    assert_non_null(strstr(told.text, "[limit: at least 5 ml/gal], margin 0"));
    assert_non_null(
        strstr(told.text, "value 1122334 ohm [limit: at most 2000000 ohm], margin 880000"));
    assert_non_null(
        strstr(told.json, "\"unit\":\"in WC\",\"min\":1.2119843262424512,\"max\":null"));
    assert_non_null(strstr(told.json, "\"unit\":\"gpm\",\"min\":null,\"max\":10"));
}

// As people call what was read, with the unit of the name that was given.
static void readings_have_their_title_and_unit(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("test.begun", ",\"phase\":\"testing\""),
        {"test.recorded", "3A",
         "{" OF "\"person\":\"t-1\",\"test\":\"leak\",\"value\":7.5,\"pass\":true,\"result\":{"
         "\"rule\":\"flow-rate\",\"inputs\":{\"volume_l\":18.9,\"seconds\":40,\"gone\":1},"
         "\"value\":7.5,\"limit\":10,\"margin\":2.5,\"pass\":true,\"formula\":\"f\",\"source\":"
         "\"s\"}}"},
    };
    told.look = NULL;
    TOLD(facts, &told);
    assert_non_null(strstr(
        told.json, "\"readings\":[{\"reading\":\"volume_gal\",\"title\":\"Volume dispensed\","
                   "\"unit\":\"L\",\"value\":18.9},{\"reading\":\"seconds\",\"title\":"
                   "\"Time taken\",\"unit\":\"s\",\"value\":40}]"));
}

static void look_rework(const struct report_record *record) {
    assert_int_equal(record->test_count, 2);
    assert_string_equal(record->tests[0].void_.why, "reworked");
    assert_true(record->tests[0].replaced);
    assert_null(record->tests[1].void_.why);
    assert_int_equal(record->reworks, 1);
    assert_string_equal(record->leader, "t-2");
    assert_int_equal(record->crew_count, 2);
    assert_true(record->crew[1].led);
    assert_string_equal(void_of(record, "clean"), "tested-after");
}

static void tests_rework_and_lead(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("test.begun", ",\"phase\":\"testing\""),
        {"test.recorded", "3A",
         "{" OF "\"person\":\"t-1\",\"test\":\"leak\",\"pass\":false,\"result\":{\"rule\":\"pass-"
         "fail\",\"inputs\":{\"pass\":false},\"value\":null,\"limit\":null,\"margin\":null,"
         "\"pass\":false,\"formula\":\"pass\",\"source\":\"observed\"}}"},
        JOB("work.reopened", ",\"phase\":\"open\",\"reason\":\"drips\""),
        {"crew.joined", "3A", "{" OF "\"person\":\"t-2\"}"},
        {"job.handed-over", "3A", "{" OF "\"person\":\"t-1\",\"to\":\"t-2\",\"by\":\"t-2\"}"},
        JOB("test.begun", ",\"phase\":\"testing\""),
        SIGNED("clean"),
        {"test.recorded", "3A", "{" OF "\"person\":\"t-2\",\"test\":\"leak\",\"pass\":true}"},
    };
    told.look = look_rework;
    TOLD(facts, &told);
    assert_non_null(strstr(told.text, "source: observed"));
    assert_non_null(strstr(told.text, "leak, Leaks, rule pass-fail\n"));
    assert_non_null(strstr(told.text, "method M-1, edition 2017\n"));
    assert_non_null(strstr(told.json, "\"title\":\"Leaks\",\"method\":\"M-1\","));
    assert_non_null(strstr(told.text, "rework, by t-1: drips"));
    assert_non_null(strstr(told.csv, "\"leak passed\""));
}

// Today's rules ask for a check that the opening did not: the gate voids it by its group, and the
// record says so. It listed such a signature as standing while it had voids of its own.
static void look_later_check(const struct report_record *record) {
    assert_null(record->signatures[0].check);
    assert_string_equal(void_of(record, "no-volts"), "lockout-broken");
    assert_null(void_of(record, "told"));
}

static void a_check_of_later_rules_is_void_with_its_group(void **state) {
    (void)state;
    static struct model_check checks[] = {
        {.check = "no-volts", .ask = "No voltage", .group = MODEL_GROUP_VERIFY}};
    static struct model_requirements procedures[] = {
        {.procedure = "boot", .title = "Replace boot", .checks = checks, .check_count = 1}};
    static const struct model_requirements *const rows[] = {procedures};
    static const struct fact facts[] = {
        OPENED,
        SIGNED("no-volts"),
        SIGNED("told"),
        {"lockout.broken", "3A",
         "{" OF "\"point\":\"3-power\",\"why\":\"point-live\",\"lockout\":\"broken\"}"},
    };
    model.procedures = procedures;
    model.procedure_count = 1;
    sites[0].requirements = rows;
    told.look = look_later_check;
    TOLD(facts, &told);
    model.procedure_count = 0;
    assert_int_equal(told.count, 1);
}

static void look_ended(const struct report_record *record) {
    assert_null(record->tests[0].void_.why);
    assert_null(void_of(record, "clean"));
    assert_int_equal(record->tag_count, 1);
}

// A lock hung after the end voids nothing: the gate voids the tests of jobs that stand.
static void a_lock_hung_after_the_end_voids_nothing(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("test.begun", ",\"phase\":\"testing\""),
        {"test.recorded", "3A", "{" OF "\"person\":\"t-1\",\"test\":\"leak\",\"pass\":true}"},
        SIGNED("clean"),
        JOB("job.returned", ",\"phase\":\"returned\""),
        HUNG("t-1"),
    };
    told.look = look_ended;
    TOLD(facts, &told);
    assert_int_equal(told.count, 1);
}

static void look_gone(const struct report_record *record) {
    assert_null(record->position);
    assert_string_equal(record->tests[0].void_.why, "lock-hung");
    assert_string_equal(void_of(record, "meter"), "set-aside");
    assert_int_equal(record->phase, MODEL_PHASE_OPEN);
    assert_int_equal(record->tests[0].void_.seq, 4);
}

// A position and a point that are no longer configured fold as they did, and so does a check that
// nothing asks for any more.
static void what_is_no_longer_configured(void **state) {
    (void)state;
    static const struct fact facts[] = {
        {"job.opened", "9Z",
         "{\"job\":\"J-1\",\"position\":\"9Z\",\"person\":\"t-1\",\"evidence\":[{\"point\":"
         "\"9-power\",\"state\":\"live\",\"trust\":\"fresh\",\"heard\":null}]," NEEDS "}"},
        {"check.signed", "9Z",
         "{\"job\":\"J-1\",\"person\":\"t-1\",\"check\":\"meter\",\"pass\":true}"},
        {"test.recorded", "9Z",
         "{\"job\":\"J-1\",\"person\":\"t-1\",\"test\":\"leak\",\"pass\":true}"},
        {"tag.hung", "",
         "{\"job\":\"J-1\",\"point\":\"9-power\",\"person\":\"t-1\",\"counts\":true}"},
        {"work.set-aside", "9Z", "{\"job\":\"J-1\",\"by\":\"t-1\",\"phase\":\"open\"}"},
    };
    told.look = look_gone;
    TOLD(facts, &told);
    assert_int_equal(told.count, 1);
}

// What a table's line skips changes nothing that the line tells: neither a void nor the phase.
static void look_details(const struct report_record *record) {
    assert_null(void_of(record, "drained"));
    assert_null(void_of(record, "tools"));
    assert_null(record->tests[0].void_.why);
    assert_int_equal(record->phase_count, 2);
    assert_int_equal(record->crew_count, 1);
    assert_int_equal(record->refusals, 0);
    assert_int_equal(record->stops, 0);
}

static void details_void_nothing(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("test.begun", ",\"phase\":\"testing\""),
        SIGNED("drained"),
        SIGNED("tools"),
        {"test.recorded", "3A", "{" OF "\"person\":\"t-1\",\"test\":\"leak\",\"pass\":true}"},
        {"point.changed", "", "{\"point\":\"3-power\",\"state\":\"live\",\"trust\":\"fresh\"}"},
        {"point.witnessed", "",
         "{\"point\":\"3-power\",\"person\":\"t-1\",\"state\":\"isolated\"}"},
        {"crew.protected", "3A", "{" OF "\"person\":\"t-1\"}"},
        {"crew.unprotected", "3A", "{" OF "\"person\":\"t-1\"}"},
        {"lockout.confirmed", "3A", "{" OF "\"lockout\":\"confirmed\"}"},
        {"hold.begun", "3A", "{\"job\":\"J-1\",\"position\":\"3A\"}"},
        {"daemon.started", "", "{\"version\":\"2\",\"boot\":\"b\"}"},
    };
    told.look = look_details;
    TOLD(facts, &told);
    assert_int_equal(told.count, 1);
}

static void a_period(void **state) {
    (void)state;
    static const struct fact facts[] = {
        OPENED,
        JOB("job.cancelled", ""),
        BACK,
        {"job.opened", "3B", "{\"job\":\"J-2\",\"position\":\"3B\"," NEEDS "}"},
    };
    static const struct {
        int64_t from, to;
        unsigned count;
    } cases[] = {{0, 9000, 2}, {-9000, 1, 1}, {1001, 3000, 0}, {1001, 9000, 1}, {1000, 3001, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct report_records records = {.from = T0 + cases[i].from, .to = T0 + cases[i].to};
        told.count = 0;
        read_all(&records, facts, 4, &told);
        assert_true(report_records_end(&records));
        assert_int_equal(told.count, cases[i].count);
        report_records_free(&records);
    }
}

static void what_cannot_be_read(void **state) {
    (void)state;
    static const struct fact bad[][2] = {
        {OPENED, {"work.started", "3A", "{" OF "\"by\":7}"}},
        {OPENED, {"work.started", "3A", "{"}},
        {OPENED, {"work.vanished", "3A", "{}"}},
    };
    for (size_t i = 0; i < 3; i++) {
        struct report_records records = {.job = "J-1"};
        read_all(&records, bad[i], 2, &told);
        assert_true(records.failed);
        assert_non_null(strstr(records.what, "fact 2 (work."));
        assert_false(report_records_end(&records));
        report_records_free(&records);
    }
    assert_int_equal(told.count, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(out_and_back, fresh),
        cmocka_unit_test_setup(out_before_and_never_back, fresh),
        cmocka_unit_test_setup(locks, fresh),
        cmocka_unit_test_setup(a_lock_that_no_longer_counts_says_why, fresh),
        cmocka_unit_test_setup(breaks_voids_and_alarms, fresh),
        cmocka_unit_test_setup(locks_come_off_in_order, fresh),
        cmocka_unit_test_setup(a_stop_tells_its_check, fresh),
        cmocka_unit_test_setup(a_limit_has_its_end_and_its_unit, fresh),
        cmocka_unit_test(readings_have_their_title_and_unit),
        cmocka_unit_test_setup(tests_rework_and_lead, fresh),
        cmocka_unit_test_setup(a_check_of_later_rules_is_void_with_its_group, fresh),
        cmocka_unit_test_setup(a_lock_hung_after_the_end_voids_nothing, fresh),
        cmocka_unit_test_setup(what_is_no_longer_configured, fresh),
        cmocka_unit_test_setup(details_void_nothing, fresh),
        cmocka_unit_test_setup(a_period, fresh),
        cmocka_unit_test_setup(what_cannot_be_read, fresh),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
