// test.recorded: a test, with its verdict or, of a borderline run, without one. One that fails may
// take the whole dispenser out of service.
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (3, service; trade rule bag [P]): Another test that passes does not make it good.
// [failed-bag-any-pass]
// Rule (3, service; trade rule bag [P]): Another rule under the name of the test does not make it
// good. [failed-bag-other-rule]
static bool is_test(const struct gate_failed *failed, const struct gate_fact *fact,
                    const char *rule) {
    return strcmp(failed->test, fact->test) == 0 && strcmp(failed->rule, rule) == 0;
}

static bool failed_add(struct gate_position *position, const struct gate_fact *fact,
                       const char *rule) {
    for (size_t i = 0; i < position->failed_count; i++) {
        if (is_test(&position->failed[i], fact, rule)) {
            gate_id_copy(position->failed[i].job, fact->job);
            return true;
        }
    }
    if (!BASE_ARRAY_ROOM(position->failed, position->failed_count, position->failed_capacity)) {
        return false;
    }
    struct gate_failed *failed = &position->failed[position->failed_count++];
    memset(failed, 0, sizeof *failed);
    gate_text(failed->test, sizeof failed->test, "%s", fact->test);
    gate_text(failed->rule, sizeof failed->rule, "%s", rule);
    gate_id_copy(failed->job, fact->job);
    return true;
}

static void failed_remove(struct gate_position *position, size_t index) {
    position->failed[index] = position->failed[--position->failed_count];
}

// A later record that passes makes the failed test good, whichever job of the position it is of.
static void failed_passed(struct gate_position *position, const struct gate_fact *fact,
                          const char *rule) {
    for (size_t i = position->failed_count; i-- > 0;) {
        if (is_test(&position->failed[i], fact, rule)) {
            failed_remove(position, i);
        }
    }
}

// Rule (3, service; trade rule bag [P]): The failed test stands over rework, cancellation and
// restarts. [failed-bag-forgotten]
// Rule (3, service; trade rule bag [P]): A later record of the test that passes makes it good.
// [failed-bag-for-good]
static bool apply_to_dispenser(struct gate_position *position, const struct gate_fact *fact) {
    const char *rule = fact->result != NULL ? fact->result->rule : "";
    if (fact->has_pass && fact->pass) {
        failed_passed(position, fact, rule);
    }
    return !fact->takes_dispenser || failed_add(position, fact, rule);
}

// Rule (2, inspection): A failed test of an inspection leaves the position untested.
// [inspection-fails-in-vain]
// Rule (4, What voids): A finish check older than the newest test record is void.
// [record-spares-finish]
// Rule (8): A result without a verdict is no pass. [no-verdict-passes]
// Rule (5, Return): A borderline run is no passed test, though one passed before it.
// [waiting-test-passes]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    if (!BASE_ARRAY_ROOM(job->tests, job->test_count, job->test_capacity)) {
        return false;
    }
    gate_void_group(job, MODEL_GROUP_FINISH); // each is signed after the last test
    struct gate_test_record *record = &job->tests[job->test_count++];
    *record = (struct gate_test_record){.at = fact->at,
                                        .has_value = fact->has_value,
                                        .value = fact->value,
                                        .pass = fact->has_pass && fact->pass};
    const struct model_result *result = fact->result;
    if (result != NULL && result->runs > 0) {
        record->run = result->run;
        record->runs = result->runs;
        record->reading = result->reading;
        record->waits = !fact->has_pass;
    }
    gate_text(record->test, sizeof record->test, "%s", fact->test);
    gate_id_copy(record->by, fact->person);
    gate_id_copy(record->instrument, fact->instrument);
    if (job->needs->inspection && fact->has_pass && !fact->pass) {
        job->started = true; // as after work: its tests are owed until a return
        if (!gate_leave_untested(to->site, job)) {
            return false;
        }
    }
    return apply_to_dispenser(&to->site->positions[job->position], fact);
}

static const char *sentence_of(const struct gate_fact *fact) {
    bool waits = !fact->has_pass && fact->result != NULL && fact->result->runs > 0;
    return waits ? "{person} recorded a run of test {test}, which is borderline: no verdict yet"
                   "[; mean so far {value}][ with {instrument}][ (note: {note})]"
                 : NULL;
}

const struct gate_fact_row gate_fact_test_recorded = {
    .name = "test.recorded",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(test) | GATE_HAS(value) | GATE_HAS(pass) |
               GATE_HAS(instrument) | GATE_HAS(note) | GATE_HAS(takes_dispenser) | GATE_HAS(result),
    .needs = GATE_HAS(job) | GATE_HAS(person) | GATE_HAS(test),
    .apply = apply,
    .sentence = "{person} recorded test {test}[{?pass}: passed][{!pass}: FAILED][ at {value}]"
                "[ with {instrument}][ (note: {note})]",
    .sentence_of = sentence_of,
};
