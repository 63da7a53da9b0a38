// Averaging: where the method says so, a borderline reading neither passes nor fails by itself.
//
// The vapor-to-liquid method averages three runs where the first fails by little (ARB Enforcement
// Advisory 194 on TP-201.5); the procedure says how many runs, and what margin is borderline. A
// first run that passes is a pass. A series is what was recorded of a test since its last verdict,
// in one testing. Once its first run has failed so, a run that passes is one more run and no
// verdict, so that nobody repeats a test until one run happens to pass; a run that fails clearly is
// a verdict at any time.
#include "gate/average.h"

#include <string.h>

#include "gate/measure.h"

// The records of the series so far, and the sum of their readings.
struct series {
    unsigned count;
    double sum;
};

// Rule (4, record-test; TP-201.5 form [M]): A verdict ends a series of runs. [series-over-verdict]
// Rule (4, What voids): Runs of an earlier testing do not count. [series-over-voids]
// Rule (4, What voids): A run whose valid_s has gone by does not count. [series-over-age]
static struct series series_of(const struct gate_job *job, const struct model_test *test,
                               struct gate_time now) {
    struct series series = {0, 0};
    for (size_t i = job->test_count; i-- > 0;) {
        const struct gate_test_record *record = &job->tests[i];
        if (strcmp(record->test, test->test) != 0) {
            continue;
        }
        bool old = test->valid_ms > 0 && now.mono - record->at.mono > test->valid_ms;
        if (record->void_ || old || !record->waits) {
            break; // of another testing, or a verdict
        }
        series.count++;
        series.sum += record->reading;
    }
    return series;
}

// Rule (8, decision): What the instrument makes of a mean is told of the mean.
// [decision-of-one-run]
// Rule (4, record-test; TP-201.5 form [M]): A mean outside the limits fails. [mean-outside-passes]
static void judge_mean(struct model_result *result) {
    result->margin = gate_margin(&result->limits, result->value); // unrounded
    result->pass = model_result_meets(result);
    model_result_decide(result);
}

// Rule (4, record-test; ARB Enforcement Advisory 194 [V]): A first run that passes is a pass,
// however near to its limit. [pass-averaged]
// Rule (4, record-test; ARB Enforcement Advisory 194 [V]): A first run that fails by little neither
// passes nor fails by itself where runs are averaged. [borderline-judged]
// Rule (4, record-test; TP-201.5 form [M]): A margin equal to the borderline is borderline.
// [borderline-limit]
// Rule (4, record-test; TP-201.5 form [M]): A reading just outside the limits is borderline too.
// [borderline-outside]
// Rule (8, test rules): What fails beside the value is no borderline reading. [beside-borderline]
// Rule (4, record-test; TP-201.5 form [M]): As many runs as the method asks for are judged by the
// mean of all of them. [mean-of-last]
// Rule (4, record-test; TP-201.5 form [M]): The mean is judged only after as many runs as the
// method asks for. [mean-too-early]
// Rule (4, record-test; TP-201.5 form [M]): A pass after a borderline run is one more run and no
// verdict. [clear-pass-ends-series]
// Rule (4, record-test; TP-201.5 form [M]): A clear fail between borderline runs is a fail.
// [clear-fail-averaged]
// Rule (4, record-test; TP-201.5 form [M]): Where the method asks for one run a reading is judged
// alone. [one-run-averaged]
struct model_result gate_average(const struct gate_job *job, const struct model_test *test,
                                 const struct model_result *run, struct gate_time now) {
    struct model_result result = *run;
    bool judged = run->has_value && run->has_margin && run->has_pass;
    struct series before = series_of(job, test, now);
    bool borderline = run->margin >= -test->borderline && !run->failed_beside;
    bool verdict = !borderline || (run->pass && before.count == 0);
    if (test->runs < 2 || !judged || verdict) {
        return result;
    }
    result.run = before.count + 1;
    result.runs = test->runs;
    result.reading = run->value;
    result.value = (before.sum + run->value) / result.run;
    if (result.run >= result.runs) {
        judge_mean(&result);
    } else {
        result.has_margin = result.has_pass = result.pass = false; // nobody knows yet
        result.margin = 0;
        model_result_decide(&result); // nor what the instrument makes of it
    }
    return result;
}
