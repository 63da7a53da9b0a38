// Rules that hold from a day on: a job keeps those of the instant at which it was opened.
#include <stdlib.h>
#include <string.h>

#include "world.h"

#define DAY_MS (24 * 3600 * 1000LL)

// From tomorrow on the district asks for a `seal` test in place of `leak`, and for less resistance.
static struct world_copy copy;
static struct model_test later_tests[2];
static struct model_requirements later[2];
static const struct model_requirements *later_at_site[2];
static int64_t from[1];
static struct model_rules rules[1];

static struct world *by_day(void) {
    world_copy(&copy);
    copy.procedures[1].district = "north-basin";
    copy.procedures[1].effective = "2026-01-01";
    memcpy(later_tests, copy.tests[1], sizeof later_tests);
    memcpy(later_tests[0].test, "seal", 5);
    later_tests[1].limits.max = 500000;
    memcpy(later, copy.procedures, sizeof later);
    later[1].tests = later_tests;
    later[1].effective = "2027-01-16";
    later_at_site[0] = &later[0];
    later_at_site[1] = &later[1];
    struct world *world = world_new_of(&copy.model);
    from[0] = world->now.wall + DAY_MS;
    rules[0] = (struct model_rules){"2027-01-16", from, later_at_site};
    copy.site.rules = rules;
    copy.site.rule_count = 1;
    return world;
}

static double ohms_of(struct world *world, const char *job) {
    const struct model_test *test = NULL;
    struct model_requirements *tests =
        gate_test_definition(world->gate, 0, job, "continuity", &test);
    double max = test != NULL ? test->limits.max : -1;
    free(tests);
    return max;
}

static void a_job_keeps_the_rules_of_its_opening(void **state) {
    (void)state;
    struct world *world = by_day();
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    world_pass(world, 2 * DAY_MS);
    world_restart(world, 1000); // every requirement is read anew
    assert_true(ohms_of(world, "j-1") == 1000000);
    assert_int_equal(world_job(world, "j-1")->needs->test_count, 2);
    assert_string_equal(world_job(world, "j-1")->needs->district, "north-basin");
    assert_string_equal(world_job(world, "j-1")->needs->effective, "2026-01-01");
    world_free(world);
}

static void a_job_opened_on_the_day_has_the_new_rules(void **state) {
    (void)state;
    struct world *world = by_day();
    world_pass(world, DAY_MS - 1);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(ohms_of(world, "j-1") == 1000000);
    world_pass(world, 1);
    assert_true(world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                       .person = "k-1",
                                                       .job = "j-2",
                                                       .position = "3B",
                                                       .procedure = "spout",
                                                       .kit_family = "k2"}));
    assert_true(ohms_of(world, "j-2") == 500000);
    assert_string_equal(world_job(world, "j-2")->needs->tests[0].test, "seal");
    assert_string_equal(world_job(world, "j-2")->needs->effective, "2027-01-16");
    world_free(world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_job_keeps_the_rules_of_its_opening),
        cmocka_unit_test(a_job_opened_on_the_day_has_the_new_rules),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
