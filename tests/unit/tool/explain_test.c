// `explain`: the story of a job.
#include "story.h"

#include <string.h>

static struct rig_run run;

static void the_story_up_to_a_break(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    assert_false(rig_ask(rig, GATE_VERB_START_WORK, "t-104", (struct gate_request){.job = "J-1"}));
    story_confirm(rig);
    story_start(rig);
    rig_hear(rig, "3-power", MODEL_POINT_LIVE);
    rig_tool(rig, &run, "explain J-1 -c CONFIG");
    assert_int_equal(run.status, 0);
    rig_in_order(run.out,
                 (const char *const[]){
                     "Job J-1 on 3A, site juniper",
                     "tracker-1 opened job J-1 on 3A by procedure spout-and-boot, led by t-104",
                     "asked to start the work on J-1 and was refused",
                     "(check-missing barricade; need: ",
                     "(point-live 3-power; need: ",
                     "known then: 3-power live, fresh, heard 0.0 s before",
                     "3-premium unknown, silent, never heard",
                     "3-power became isolated (fresh)",
                     "t-104 looked and said that 3-premium is isolated",
                     "t-104 hung lock and tag on 3-power",
                     "t-104 is protected",
                     "m-301 signed check site-told",
                     "t-104 signed check line-pressure: 0.25 psi with gauge-4",
                     "the lockout of J-1 is confirmed",
                     "t-104 started the work on J-1",
                     "the lockout of J-1 was BROKEN at 3-power (point-live)",
                     "the work on J-1 was stopped",
                     "(lockout-broken) was raised",
                     "Now: job J-1 is stopped, its lockout broken, led by t-104.",
                     "It waits for the start of work, which lacks:",
                     "(tag-missing 3-power;",
                     "(check-void drained;",
                     "(alarm-open J-1;",
                     "no safety-rated function",
                     NULL});
    assert_null(strchr(run.out, 0x1b)); // the note's
}

static void the_story_to_its_end(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_confirm(rig);
    story_start(rig);
    story_finish(rig);
    story_lift(rig);
    story_restore(rig);
    story_test(rig);
    story_sign(rig, "t-104", "barricade-removed");
    story_sign(rig, "t-104", "district-notice");
    rig_must(rig, GATE_VERB_RETURN_POSITION, "t-104", (struct gate_request){.job = "J-1"});
    rig_tool(rig, &run, "explain J-1 -c CONFIG");
    assert_int_equal(run.status, 0);
    rig_in_order(
        run.out,
        (const char *const[]){
            "finished the work", "lock and tag of t-104 on 3-power was lifted",
            "t-104 began the tests of J-1", "recorded test continuity: passed at 1200 with meg-1",
            "worked: range, min <= value <= max: ; value 1200, at most 500000, margin "
            "498800; source: limit from configuration",
            "recorded test decay: passed at 1.9", "limit 1.5", "t-104 returned the position",
            "Now: job J-1 is returned", "waits for nothing", NULL});
}

// Another job's facts are not this one's; a restart and the points it needs are.
static void what_belongs_to_a_job(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_must(
        rig, GATE_VERB_OPEN_JOB, "tracker-1",
        (struct gate_request){
            .job = "J-2", .position = "4A", .procedure = "spout-and-boot", .technician = "t-104"});
    rig_hear(rig, "4-power", MODEL_POINT_LIVE);
    rig_restart(rig);
    rig_tool(rig, &run, "explain J-1 -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "the daemon started (version 0.1.0)"));
    assert_null(strstr(run.out, "J-2"));
    assert_null(strstr(run.out, "4-power"));
    rig_tool(rig, &run, "explain J-2 -c CONFIG");
    assert_int_equal(run.status, 0);
    rig_in_order(run.out, (const char *const[]){"opened job J-2", "4-power became live",
                                                "the daemon started", "Now: job J-2 is open",
                                                "part-mismatch", NULL});
    assert_null(strstr(run.out, "J-1"));
}

// A lock for a job that shares the point is that job's.
static void a_shared_point(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_must(
        rig, GATE_VERB_OPEN_JOB, "tracker-1",
        (struct gate_request){
            .job = "J-2", .position = "3B", .procedure = "spout-and-boot", .technician = "t-104"});
    for (int i = 0; i < 4; i++) {
        rig_hear(rig, "3-power", MODEL_POINT_ISOLATED);
        rig_pass(rig, 1000);
    }
    rig_must(rig, GATE_VERB_HANG_TAG, "t-104",
             (struct gate_request){.job = "J-2", .point = "3-power"});
    rig_tool(rig, &run, "explain J-1 -c CONFIG");
    assert_non_null(strstr(run.out, "3-power became isolated (fresh)"));
    assert_null(strstr(run.out, "hung lock and tag"));
    rig_tool(rig, &run, "explain J-2 -c CONFIG");
    assert_non_null(strstr(run.out, "t-104 hung lock and tag on 3-power"));
}

static void the_json_is_an_array(void **state) {
    struct rig *rig = *state;
    struct json_tape tape = {0};
    int64_t seq = 0;
    story_open(rig);
    rig_tool(rig, &run, "explain J-1 -c CONFIG --json");
    assert_int_equal(run.status, 0);
    assert_true(json_scan(&tape, run.out, strlen(run.out), &json_config_limits, NULL));
    assert_int_equal(json_root(&tape)->kind, JSON_ARRAY);
    assert_true(json_equals(&tape, json_at_from(&tape, json_root(&tape), "/0/type"),
                            "forelock.job.opened"));
    assert_true(json_integer(&tape, json_at_from(&tape, json_root(&tape), "/0/seq"), &seq));
    assert_true(seq > 1);
    assert_true(
        json_equals(&tape, json_at_from(&tape, json_root(&tape), "/0/data/technician"), "t-104") ||
        json_equals(&tape, json_at_from(&tape, json_root(&tape), "/0/data/person"), "t-104"));
    assert_non_null(strstr(run.out, "\"type\":\"now\""));
    assert_non_null(strstr(run.out, "\"phase\":\"open\",\"lockout\":\"unconfirmed\""));
    assert_non_null(strstr(run.out, "\"code\":\"check-missing\",\"subject\":\"barricade\""));
    json_tape_free(&tape);
}

static void an_unknown_job(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_tool(rig, &run, "explain J-77 -c CONFIG");
    assert_int_equal(run.status, 1);
    assert_string_equal(run.out, "");
    assert_non_null(strstr(run.err, "no job \"J-77\" was ever opened"));
    rig_tool(rig, &run, "explain J-1 --site elsewhere -c CONFIG");
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.err, "elsewhere"));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, rig_setup, rig_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(the_story_up_to_a_break), TEST(the_story_to_its_end), TEST(what_belongs_to_a_job),
        TEST(a_shared_point),          TEST(the_json_is_an_array), TEST(an_unknown_job),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
