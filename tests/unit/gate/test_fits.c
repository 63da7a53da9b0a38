// Whether a configuration still has what the journal knows to stand.
#include <string.h>

#include "gate/find.h"
#include "world.h"
#include "world_journal.h"

static void assert_lacks(struct world *world, const struct world_copy *copy, const char *job,
                         const char *lacking) {
    char what[256];
    if (world_fits(world, &copy->model, what)) {
        fail_msg("a configuration without %s fits", lacking);
    }
    assert_non_null(strstr(what, job));
    assert_non_null(strstr(what, lacking));
}

static void assert_fits(struct world *world, const struct world_copy *copy) {
    char what[256];
    if (!world_fits(world, &copy->model, what)) {
        fail_msg("%s", what);
    }
}

WORLD_TEST(the_position_of_a_standing_job) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_position_4a(&copy);
    assert_fits(world, &copy);
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_lacks(world, &copy, "j-4", "4A");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-4"));
    assert_fits(world, &copy);
}

WORLD_TEST(a_point_that_a_standing_job_requires) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_valve_4(&copy);
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_lacks(world, &copy, "j-4", "4-valve");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-4"));
    assert_fits(world, &copy);
}

WORLD_TEST(the_leader_of_a_standing_job) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_person(&copy, "t-2");
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    assert_lacks(world, &copy, "j-4", "t-2");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-4"));
    assert_fits(world, &copy);
}

static void no_fact(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

static void count_lines(void *user, const char *what) {
    size_t *count = user;
    *count += strstr(what, "j-4") != NULL;
}

WORLD_TEST(everything_that_is_lacking_is_told) {
    struct world_copy copy;
    size_t count = 0;
    world_copy(&copy);
    world_copy_drop_valve_4(&copy);
    world_copy_drop_person(&copy, "t-2");
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    struct gate *gate = gate_new(&copy.model, no_fact, NULL);
    world_journal_fold(gate);
    assert_int_equal(gate_each_misfit(gate, count_lines, &count), 2);
    assert_int_equal(count, 2);
    gate_free(gate);
}

WORLD_TEST(the_point_of_a_hanging_tag) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_valve_4(&copy);
    world_reader(world, VALVE4, "t-2", true);
    assert_lacks(world, &copy, "t-2", "4-valve");
    world_reader(world, VALVE4, "t-2", false);
    assert_fits(world, &copy);
}

WORLD_TEST(a_tag_that_was_adopted_and_lifted_is_lacking_no_more) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_valve_4(&copy);
    world_reader(world, VALVE4, "t-2", true);
    assert_true(world_open(world, "j-4", "4A", "t-2"));
    world_reader(world, VALVE4, "t-2", false);
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-4"));
    assert_fits(world, &copy);
}

WORLD_TEST(the_person_of_a_hanging_tag) {
    struct world_copy copy;
    world_copy(&copy);
    world_copy_drop_person(&copy, "t-2");
    world_to_tagged(world, "j-1");
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_fits(world, &copy);
    assert_true(world_tag(world, "t-2", "j-1", POWER3));
    assert_lacks(world, &copy, "j-1", "t-2");
}

WORLD_TEST(the_procedure_of_owed_tests) {
    struct world_copy copy;
    world_copy(&copy);
    copy.model.procedure_count = 1; // cabinet alone
    world_to_working(world, "j-1");
    assert_fits(world, &copy); // the job keeps the requirements of its opening
    world_sign_clear(world, "t-1", "j-1");
    assert_true(world_sign(world, "t-1", "j-1", "made-safe"));
    assert_true(world_verb(world, GATE_VERB_SET_ASIDE, "t-1", "j-1"));
    world_lift_all(world, "t-1", "j-1");
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-1"));
    assert_lacks(world, &copy, "j-1", "spout");
}

WORLD_TEST(a_looser_configuration_changes_no_standing_job) {
    static struct world_copy copy;
    world_copy(&copy);
    copy.checks[1][4].limits.max = 50; // no-voltage
    world_to_tagged(world, "j-1");
    world_restart_with(world, &copy.model, 1000);
    world_controller(world, true);
    world_isolate(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 2, "V"));
    assert_false(gate_signature_of(world_job(world, "j-1"), "no-voltage")->pass);
}

WORLD_TEST(a_stricter_one_does) {
    static struct world_copy copy;
    world_copy(&copy);
    copy.checks[1][4].limits.max = 0.5;
    world_to_tagged(world, "j-1");
    world_restart_with(world, &copy.model, 1000);
    world_controller(world, true);
    world_isolate(world);
    assert_true(world_sign_value(world, "t-1", "j-1", "no-voltage", 0.6, "V"));
    assert_false(gate_signature_of(world_job(world, "j-1"), "no-voltage")->pass);
}

// A point that the opening required is required still, whatever its configuration says now.
WORLD_TEST(a_point_of_the_opening_stays_required) {
    static struct world_copy copy;
    world_copy(&copy);
    copy.points[LINE3A].energy = "water";
    world_to_tagged(world, "j-1");
    world_restart_with(world, &copy.model, 1000);
    assert_true(gate_requires(world_job(world, "j-1"), LINE3A));
}

// --- Facts that do not fit ---

static bool applies(struct gate *gate, struct gate_fact fact) {
    char what[256];
    return gate_apply(gate, &fact, what, sizeof what);
}

static void broken_facts_are_refused(void **state) {
    (void)state;
    struct gate *gate = gate_new(world_model(), no_fact, NULL);
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_JOB_OPENED, .job = "j-1"}));
    assert_false(applies(
        gate, (struct gate_fact){.type = GATE_FACT_JOB_OPENED, .job = "j-1", .position = "3A"}));
    struct gate_fact opened = {.type = GATE_FACT_JOB_OPENED,
                               .job = "j-1",
                               .position = "3A",
                               .requirements = world_model()->sites[0].requirements[1]};
    assert_true(applies(gate, opened));
    assert_false(applies(gate, opened)); // twice
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_TAG_HUNG, .point = "3-power"}));
    assert_false(applies(
        gate, (struct gate_fact){.type = GATE_FACT_CHECK_SIGNED, .job = "j-1", .person = "t-1"}));
    assert_false(applies(
        gate, (struct gate_fact){.type = GATE_FACT_TEST_RECORDED, .job = "j-1", .person = "t-1"}));
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_LEAD_OFFERED, .job = "j-1"}));
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_CREW_JOINED, .job = "j-1"}));
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_WORK_STARTED}));
    assert_false(applies(gate, (struct gate_fact){.type = GATE_FACT_ALARM_RAISED}));
    gate_free(gate);
}

static void a_job_of_a_site_that_is_gone(void **state) {
    (void)state;
    struct gate *gate = gate_new(world_model(), no_fact, NULL);
    char what[256];
    struct gate_fact opened = {.type = GATE_FACT_JOB_OPENED,
                               .site = MODEL_NONE,
                               .missing_site = "cedar",
                               .job = "j-7",
                               .position = "1A",
                               .requirements = world_model()->sites[0].requirements[1]};
    assert_true(applies(gate, opened));
    assert_false(gate_fits(gate, what, sizeof what));
    assert_non_null(strstr(what, "j-7"));
    assert_non_null(strstr(what, "cedar"));
    struct gate_fact returned = opened;
    returned.type = GATE_FACT_JOB_RETURNED;
    assert_true(applies(gate, returned));
    assert_true(gate_fits(gate, what, sizeof what));
    gate_free(gate);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(the_position_of_a_standing_job),
        cmocka_unit_test(a_point_that_a_standing_job_requires),
        cmocka_unit_test(the_leader_of_a_standing_job),
        cmocka_unit_test(everything_that_is_lacking_is_told),
        cmocka_unit_test(the_point_of_a_hanging_tag),
        cmocka_unit_test(a_tag_that_was_adopted_and_lifted_is_lacking_no_more),
        cmocka_unit_test(the_person_of_a_hanging_tag),
        cmocka_unit_test(the_procedure_of_owed_tests),
        cmocka_unit_test(a_looser_configuration_changes_no_standing_job),
        cmocka_unit_test(a_stricter_one_does),
        cmocka_unit_test(a_point_of_the_opening_stays_required),
        cmocka_unit_test(broken_facts_are_refused),
        cmocka_unit_test(a_job_of_a_site_that_is_gone),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
