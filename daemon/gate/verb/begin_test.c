// begin-test: power and product come back to be tested. Tools, people and devices are away before
// anything is energized for that (29 CFR 1910.147(f)(1)).
#include "gate/require.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    gate_case_emit(c, GATE_FACT_TEST_BEGUN);
}

// Rule (5, Test): A test is begun in restoring. [test-from-working]
const struct gate_verb_row gate_verb_begin_test = {
    .name = "begin-test",
    .about = "Begins the tests, where the test gate holds.",
    .fields = {GATE_MUST(job, ID)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(RESTORING),
    .inspects = GATE_IN(OPEN),
    .permits = true,
    .present = true,
    .gate = gate_require_test,
    .gate_name = "test",
    .refusal = GATE_FACT_TEST_REFUSED,
    .decide = decide,
};
