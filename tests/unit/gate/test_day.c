// The day around a repair: what is told beside the gates, and opens none of them.
#include "gate/fuel.h"
#include "gate/may.h"
#include "gate/part.h"
#include "world.h"
#include "world_journal.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static bool fault(struct world *world, const char *person, const char *position) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_REPORT_FAULT,
                                                  .person = person,
                                                  .position = position,
                                                  .text = "the nozzle drips"});
}

static bool expect_at(struct world *world, const char *person, int64_t at) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_EXPECT_BACK,
                                                  .person = person,
                                                  .job = "j-1",
                                                  .back = world->now.wall + at});
}

static bool offer(struct world *world, const char *to, const char *note) {
    return world_ask(
        world,
        (struct gate_request){
            .verb = GATE_VERB_HAND_OVER, .person = "t-1", .job = "j-1", .to = to, .note = note});
}

// One attachment, told from others by a number.
static struct gate_request attachment(const char *person, unsigned number) {
    static char url[64];
    snprintf(url, sizeof url, "https://files.example/%u", number);
    return (struct gate_request){.verb = GATE_VERB_ATTACH,
                                 .person = person,
                                 .job = "j-1",
                                 .url = url,
                                 .sha256 = "b1946ac92492d2347c6235b4d2611184",
                                 .title = "Picture"};
}

static const struct gate_day *day_of(struct world *world) {
    return &world_job(world, "j-1")->day;
}

// Which of the day's verbs a person is told that they may ask, in their order.
static void assert_may(struct world *world, const char *person, const char *job,
                       const char *expected) {
    struct gate_may may = {0};
    const struct gate_job *of = job != NULL ? world_job(world, job) : NULL;
    char verbs[512] = "";
    gate_may(world->gate, 0, of, P3A, model_person_find(world->model, person), world->now, &may);
    assert_false(may.failed);
    for (int verb = GATE_VERB_ACKNOWLEDGE_ALARM + 1; verb < GATE_VERB_COUNT; verb++) {
        if (may.verbs[verb]) {
            size_t length = strlen(verbs);
            snprintf(verbs + length, sizeof verbs - length, "%s%s", length > 0 ? " " : "",
                     gate_verb_name((enum gate_verb)verb));
        }
    }
    gate_may_free(&may);
    assert_string_equal(verbs, expected);
}

// --- Faults ---

WORLD_TEST(anybody_of_the_site_reports_a_fault) {
    const char *const people[] = {"t-1", "s-1", "m-1", "k-1", "v-1"};
    for (size_t i = 0; i < sizeof people / sizeof *people; i++) {
        assert_accepted(world, fault(world, people[i], "3A"));
    }
    assert_int_equal(world_times_told(world, GATE_FACT_FAULT_REPORTED), 5);
    assert_string_equal(world_fact(world, GATE_FACT_FAULT_REPORTED)->position, "3A");
    assert_refused(world, fault(world, "v-1", "9Z"), MODEL_CODE_UNKNOWN_POSITION);
    assert_may(world, "v-1", NULL, "record-spill report-fault");
}

// --- Fuel ---

static struct gate_request fuel_of(const char *unit) {
    return (struct gate_request){.verb = GATE_VERB_RECORD_FUEL,
                                 .person = "t-1",
                                 .job = "j-1",
                                 .product = "regular",
                                 .unit = unit};
}

// What is recorded by the leader of j-1; absent where it is 0.
static bool fuel(struct world *world, double drawn, double returned, double kept) {
    struct gate_request request = fuel_of("gal");
    request.drawn = (struct gate_volume){drawn != 0, drawn};
    request.returned = (struct gate_volume){returned != 0, returned};
    request.kept = (struct gate_volume){kept != 0, kept};
    request.tank = "1";
    return world_ask(world, request);
}

static bool give_back(struct world *world) {
    return world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", "j-1");
}

// A job on 3A, tested, that lacks nothing for its return.
static void to_return(struct world *world) {
    world_to_testing(world, "j-1");
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
}

static void assert_sum(struct world *world, double drawn, double rest, bool accounted) {
    const struct gate_fuel *ledger = gate_fuel_find(world_job(world, "j-1"), "regular");
    assert_non_null(ledger);
    const struct gate_fuel_sum sum = gate_fuel_sum(ledger);
    assert_true(fabs(sum.drawn - drawn) < 1e-9);
    assert_true(fabs(sum.unaccounted - rest) < 1e-9);
    assert_int_equal(sum.accounted, accounted);
}

WORLD_TEST(fuel_is_accounted_for_before_the_return) {
    to_return(world);
    assert_accepted(world, fuel(world, 5, 3, 0));
    assert_refused(world, give_back(world), MODEL_CODE_FUEL_UNACCOUNTED);
    const struct gate_refusal *refusal = &world->answer.refusals[0];
    assert_string_equal(refusal->subject, "regular");
    assert_string_equal(refusal->say,
                        "2 gal of regular is not accounted for: record what was returned or kept.");
    assert_string_equal(refusal->need, "drawn, returned and kept regular equal within 0.02597 gal");
    struct gate_step step = world_step(world, "t-1", "j-1");
    assert_true(step.has_verb && step.mine);
    assert_int_equal(step.choice.verb, GATE_VERB_RECORD_FUEL);
    assert_accepted(world, fuel(world, 0, 0, 2));
    assert_sum(world, 5, 0, true);
    assert_accepted(world, give_back(world));
    const struct gate_fact *told = world_journal_last(GATE_FACT_JOB_RETURNED);
    assert_int_equal(told->fuel_count, 1);
    assert_string_equal(told->fuel[0].product, "regular");
    assert_string_equal(told->fuel[0].sum.unit, "gal");
    assert_true(told->fuel[0].sum.drawn == 5 && told->fuel[0].sum.returned == 3);
    assert_true(told->fuel[0].sum.kept == 2 && told->fuel[0].sum.accounted);
}

// Nothing is told of fuel where none was recorded.
WORLD_TEST(a_return_without_fuel_tells_none) {
    to_return(world);
    assert_accepted(world, give_back(world));
    assert_int_equal(world_journal_last(GATE_FACT_JOB_RETURNED)->fuel_count, 0);
}

// 6 in3 of the 231 in a gallon, at 5 gal: 0.025974 gal.
WORLD_TEST(a_meter_may_err_by_its_tolerance) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fuel(world, 5, 4.975, 0));
    assert_sum(world, 5, 0.025, true);
    assert_accepted(world, fuel(world, 0, 0.0505, 0));
    assert_sum(world, 5, -0.0255, true);
    assert_accepted(world, fuel(world, 0, 0.001, 0));
    assert_sum(world, 5, -0.0265, false);
}

WORLD_TEST(more_returned_than_drawn_is_not_accounted_for) {
    to_return(world);
    assert_accepted(world, fuel(world, 5, 5, 1));
    assert_refused(world, give_back(world), MODEL_CODE_FUEL_UNACCOUNTED);
    assert_string_equal(world->answer.refusals[0].found, "1 gal too much");
}

WORLD_TEST(what_was_recorded_wrongly_is_taken_back_with_a_note) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    struct gate_request back = fuel_of("gal");
    back.drawn = (struct gate_volume){true, -45};
    assert_accepted(world, fuel(world, 50, 0, 0));
    assert_refused(world, world_ask(world, back), MODEL_CODE_NOTE_MISSING);
    back.note = "typed 50 for 5";
    assert_accepted(world, world_ask(world, back));
    assert_sum(world, 5, 5, false);
    assert_refused(world, world_ask(world, back), MODEL_CODE_MALFORMED);
    assert_string_equal(world->answer.refusals[0].subject, "/drawn");
}

WORLD_TEST(liters_are_converted_into_the_unit_of_the_ledger) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fuel(world, 5, 0, 0));
    struct gate_request liters = fuel_of("L");
    liters.returned = (struct gate_volume){true, 18.92705892};
    assert_accepted(world, world_ask(world, liters));
    assert_sum(world, 5, 0, true);
}

WORLD_TEST(a_totalizer_says_what_was_drawn_and_runs_forwards) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    struct gate_request read = fuel_of("gal");
    read.totalizer_before = (struct gate_volume){true, 120000.5};
    read.totalizer_after = (struct gate_volume){true, 120005.5};
    assert_accepted(world, world_ask(world, read));
    assert_sum(world, 5, 5, false);
    read.totalizer_before.given = false;
    read.totalizer_after.value = 119999;
    assert_refused(world, world_ask(world, read), MODEL_CODE_MALFORMED);
    read.totalizer_after.given = false;
    assert_refused(world, world_ask(world, read), MODEL_CODE_MALFORMED);
}

WORLD_TEST(fuel_is_recorded_by_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    struct gate_request request = fuel_of("gal");
    request.drawn = (struct gate_volume){true, 1};
    request.person = "t-2";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_IN_CREW);
    request.person = "m-1";
    assert_refused(world, world_ask(world, request), MODEL_CODE_NOT_ALLOWED);
}

WORLD_TEST(fuel_is_of_a_product_of_the_dispenser) {
    static struct world_copy copy;
    static const char *products[] = {"regular"};
    world_copy(&copy);
    copy.positions[P3B].products = products;
    copy.positions[P3B].product_count = 1;
    world_restart_with(world, &copy.model, 1000);
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, fuel(world, 1, 0, 0));
    struct gate_request request = fuel_of("gal");
    request.drawn = (struct gate_volume){true, 1};
    request.product = "milk";
    assert_refused(world, world_ask(world, request), MODEL_CODE_MALFORMED);
    assert_string_equal(world->answer.refusals[0].subject, "/product");
}

// --- Parts ---

static bool fit(struct world *world, const char *person, const char *job, const char *part,
                const char *family) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_FIT_PART,
                                                  .person = person,
                                                  .job = job,
                                                  .part = part,
                                                  .family = family,
                                                  .serial = "S-1",
                                                  .due = "2031-05-31"});
}

static const struct gate_part *hangs(struct world *world, const char *part) {
    struct gate_position *position = &world_site(world)->positions[P3A];
    return gate_part_find(position->hangs, position->hang_count, part);
}

// A job on 3A that fitted a part, returned.
static void fitted_by(struct world *world, const char *job, const char *part, const char *family) {
    world_to_testing(world, job);
    assert_accepted(world, fit(world, "t-1", job, part, family));
    assert_true(world_test(world, "t-1", job, "leak", true));
    assert_true(world_test(world, "t-1", job, "continuity", true));
    assert_true(world_sign(world, "t-1", job, "barricade-removed"));
    assert_accepted(world, world_verb(world, GATE_VERB_RETURN_POSITION, "t-1", job));
}

WORLD_TEST(what_is_fitted_hangs_from_the_return_on) {
    world_to_testing(world, "j-1");
    assert_accepted(world, fit(world, "t-1", "j-1", "boot", "b1"));
    assert_accepted(world, fit(world, "t-1", "j-1", "hose", NULL));
    assert_accepted(world, fit(world, "t-1", "j-1", "boot", "b2")); // the first was torn
    assert_null(hangs(world, "boot"));
    assert_true(world_test(world, "t-1", "j-1", "leak", true));
    assert_true(world_test(world, "t-1", "j-1", "continuity", true));
    assert_true(world_sign(world, "t-1", "j-1", "barricade-removed"));
    assert_accepted(world, give_back(world));
    assert_non_null(hangs(world, "hose"));
    assert_non_null(hangs(world, "boot"));
    assert_string_equal(hangs(world, "boot")->family, "b2");
    assert_string_equal(hangs(world, "boot")->job, "j-1");
    assert_string_equal(hangs(world, "boot")->due, "2031-05-31");
    assert_int_equal(world_site(world)->positions[P3A].hang_count, 2);
}

WORLD_TEST(a_part_is_fitted_by_the_crew) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_refused(world, fit(world, "t-2", "j-1", "boot", NULL), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, fit(world, "m-1", "j-1", "boot", NULL), MODEL_CODE_NOT_ALLOWED);
}

static bool open_with(struct world *world, const char *job, const char *kit, const char *part) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                  .person = "k-1",
                                                  .job = job,
                                                  .position = "3A",
                                                  .procedure = "spout",
                                                  .kit_family = kit,
                                                  .part = part});
}

WORLD_TEST(a_kit_is_judged_by_the_nozzle_that_hangs) {
    fitted_by(world, "j-1", "nozzle", "k7");
    assert_refused(world, open_with(world, "j-2", "k2", NULL), MODEL_CODE_PART_MISMATCH);
    assert_accepted(world, open_with(world, "j-2", "k7", NULL));
}

WORLD_TEST(a_kit_is_judged_by_the_part_that_it_is_for) {
    fitted_by(world, "j-1", "boot", "k8");
    assert_accepted(world, open_with(world, "j-2", "k2", NULL)); // of the configured nozzle
    assert_true(world_verb(world, GATE_VERB_CANCEL_JOB, "k-1", "j-2"));
    assert_refused(world, open_with(world, "j-3", "k2", "boot"), MODEL_CODE_PART_MISMATCH);
    assert_accepted(world, open_with(world, "j-3", "k8", "boot"));
}

#define DAY_MS (24 * 3600 * 1000LL)

WORLD_TEST(a_third_boot_in_90_days_is_counted) {
    const struct gate_position *position = &world_site(world)->positions[P3A];
    fitted_by(world, "j-1", "boot", NULL);
    world_pass(world, 50 * DAY_MS);
    fitted_by(world, "j-2", "boot", NULL);
    assert_int_equal(gate_part_times(position, "boot"), 2);
    world_pass(world, 39 * DAY_MS);
    fitted_by(world, "j-3", "boot", NULL);
    assert_int_equal(gate_part_times(position, "boot"), 3);
    assert_int_equal(gate_part_times(position, "hose"), 0);
    world_pass(world, 2 * DAY_MS); // the first is over 90 days old then
    fitted_by(world, "j-4", "boot", NULL);
    assert_int_equal(gate_part_times(position, "boot"), 3);
    assert_int_equal(position->fitting_count, 3);
}

// As an import wrote it, before the daemon came up.
WORLD_TEST(a_list_of_before_says_what_hangs_and_is_no_fitting) {
    struct gate_position *position = &world_site(world)->positions[P3A];
    const struct gate_fact listed = {.type = GATE_FACT_PART_LISTED,
                                     .at = world->now,
                                     .by = "m-1",
                                     .position = "3A",
                                     .part = "hose",
                                     .serial = "S-9",
                                     .fitted = 1000};
    char what[256];
    world_journal_add(&listed);
    assert_true(gate_apply(world->gate, &listed, what, sizeof what));
    assert_non_null(hangs(world, "hose"));
    assert_true(hangs(world, "hose")->fitted.wall == 1000);
    assert_string_equal(hangs(world, "hose")->job, "");
    assert_int_equal(position->fitting_count, 0);
}

// --- When it is back ---

WORLD_TEST(the_time_it_is_back_is_moved_and_counted) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_int_equal(day_of(world)->expected.at, 0);
    assert_accepted(world, expect_at(world, "t-1", 1000));
    assert_int_equal(day_of(world)->expected.moved, 0);
    assert_accepted(world, expect_at(world, "m-1", 1000)); // the same again moves nothing
    assert_string_equal(day_of(world)->expected.by, "t-1");
    assert_int_equal(world_times_told(world, GATE_FACT_JOB_EXPECTED), 1);
    assert_accepted(world, expect_at(world, "m-1", 2000));
    assert_accepted(world, expect_at(world, "s-1", 3000));
    assert_int_equal(day_of(world)->expected.at, world->now.wall + 3000);
    assert_int_equal(day_of(world)->expected.moved, 2);
    assert_string_equal(day_of(world)->expected.by, "s-1");
    assert_refused(world, expect_at(world, "t-2", 4000), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, expect_at(world, "t-1", 0), MODEL_CODE_MALFORMED);
    assert_refused(world, expect_at(world, "v-1", 4000), MODEL_CODE_NOT_ALLOWED);
}

// --- The shift note ---

WORLD_TEST(who_takes_the_lead_signs_the_shift_note) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_accepted(world, offer(world, "t-2", "the boot is half seated"));
    assert_string_equal(day_of(world)->shift.note, "the boot is half seated");
    assert_string_equal(day_of(world)->shift.by, "t-1");
    assert_string_equal(day_of(world)->shift.signed_by, "");
    assert_accepted(world, world_verb(world, GATE_VERB_ACCEPT_LEAD, "t-2", "j-1"));
    assert_string_equal(day_of(world)->shift.signed_by, "t-2");
}

WORLD_TEST(a_shift_note_goes_with_its_offer) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_true(world_verb(world, GATE_VERB_JOIN_JOB, "t-2", "j-1"));
    assert_accepted(world, offer(world, "t-2", "first"));
    assert_accepted(world, offer(world, "t-2", "second"));
    assert_string_equal(day_of(world)->shift.note, "second");
    assert_accepted(world, offer(world, "t-2", "  "));
    assert_null(day_of(world)->shift.note);
    assert_accepted(world, world_verb(world, GATE_VERB_ACCEPT_LEAD, "t-2", "j-1"));
    assert_string_equal(day_of(world)->shift.signed_by, "");
}

// --- Evidence ---

WORLD_TEST(evidence_is_of_the_job_or_of_what_there_is) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    assert_accepted(world, world_ask(world, attachment("t-1", 1)));
    struct gate_request request = attachment("m-1", 2);
    request.check = "barricade";
    request.test = "leak";
    assert_accepted(world, world_ask(world, request));
    const struct gate_attachment *second = &day_of(world)->attachments[1];
    assert_string_equal(second->check, "barricade");
    assert_string_equal(second->test, "leak");
    assert_string_equal(second->by, "m-1");
    assert_string_equal(second->url, "https://files.example/2");
    request.check = "no-such";
    request.test = "no-such";
    request.alarm = "a99";
    assert_refused(world, world_ask(world, request), MODEL_CODE_UNKNOWN_CHECK,
                   MODEL_CODE_UNKNOWN_TEST, MODEL_CODE_UNKNOWN_ALARM);
    assert_refused(world, world_ask(world, attachment("t-2", 3)), MODEL_CODE_NOT_IN_CREW);
    assert_refused(world, world_ask(world, attachment("v-1", 3)), MODEL_CODE_NOT_ALLOWED);
    assert_may(world, "v-1", "j-1", "record-spill report-fault");
    assert_may(world, "t-1", "j-1",
               "record-fuel fit-part record-spill report-fault expect-back attach");
}

WORLD_TEST(evidence_of_an_alarm_that_stands) {
    world_to_confirmed(world, "j-1");
    world_hear(world, S_POWER3, MODEL_POINT_LIVE);
    struct gate_request request = attachment("t-1", 1);
    request.alarm = world_alarm(world, MODEL_ALARM_LOCKOUT_BROKEN)->alarm;
    assert_accepted(world, world_ask(world, request));
    assert_int_equal(day_of(world)->attachment_count, 1);
}

WORLD_TEST(a_job_takes_sixteen_pieces_of_evidence) {
    assert_true(world_open(world, "j-1", "3A", "t-1"));
    for (unsigned i = 0; i < 16; i++) {
        assert_accepted(world, world_ask(world, attachment("t-1", i)));
    }
    assert_refused(world, world_ask(world, attachment("t-1", 16)), MODEL_CODE_TOO_MANY);
    // The very same again adds nothing.
    assert_accepted(world, world_ask(world, attachment("t-1", 3)));
    assert_int_equal(day_of(world)->attachment_count, 16);
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(anybody_of_the_site_reports_a_fault),
        cmocka_unit_test(fuel_is_accounted_for_before_the_return),
        cmocka_unit_test(a_return_without_fuel_tells_none),
        cmocka_unit_test(a_meter_may_err_by_its_tolerance),
        cmocka_unit_test(more_returned_than_drawn_is_not_accounted_for),
        cmocka_unit_test(what_was_recorded_wrongly_is_taken_back_with_a_note),
        cmocka_unit_test(liters_are_converted_into_the_unit_of_the_ledger),
        cmocka_unit_test(a_totalizer_says_what_was_drawn_and_runs_forwards),
        cmocka_unit_test(fuel_is_recorded_by_the_crew),
        cmocka_unit_test(fuel_is_of_a_product_of_the_dispenser),
        cmocka_unit_test(what_is_fitted_hangs_from_the_return_on),
        cmocka_unit_test(a_part_is_fitted_by_the_crew),
        cmocka_unit_test(a_kit_is_judged_by_the_nozzle_that_hangs),
        cmocka_unit_test(a_kit_is_judged_by_the_part_that_it_is_for),
        cmocka_unit_test(a_third_boot_in_90_days_is_counted),
        cmocka_unit_test(a_list_of_before_says_what_hangs_and_is_no_fitting),
        cmocka_unit_test(the_time_it_is_back_is_moved_and_counted),
        cmocka_unit_test(who_takes_the_lead_signs_the_shift_note),
        cmocka_unit_test(a_shift_note_goes_with_its_offer),
        cmocka_unit_test(evidence_is_of_the_job_or_of_what_there_is),
        cmocka_unit_test(evidence_of_an_alarm_that_stands),
        cmocka_unit_test(a_job_takes_sixteen_pieces_of_evidence),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
