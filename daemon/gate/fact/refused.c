// work.refused, test.refused, return.refused and request.refused: a request that was refused, told
// as an event where it asked for one of the three gates. It changes nothing.
#include "gate/fact/row.h"

#define CARRIES                                                                                    \
    (GATE_HAS(by) | GATE_HAS(verb) | GATE_HAS(point) | GATE_HAS(check) | GATE_HAS(test) |          \
     GATE_HAS(refusals))

const struct gate_fact_row gate_fact_work_refused = {
    .name = "work.refused",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = CARRIES,
    .needs = GATE_HAS(job),
    .sentence = "{by} asked to start the work on {job} and was refused",
};

const struct gate_fact_row gate_fact_test_refused = {
    .name = "test.refused",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = CARRIES,
    .needs = GATE_HAS(job),
    .sentence = "{by} asked to begin the tests of {job} and was refused",
};

const struct gate_fact_row gate_fact_return_refused = {
    .name = "return.refused",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = CARRIES,
    .needs = GATE_HAS(job),
    .sentence = "{by} asked to return the position and was refused",
};

const struct gate_fact_row gate_fact_request_refused = {
    .name = "request.refused",
    .about = GATE_ABOUT_NOTHING,
    .carries = CARRIES,
    .sentence =
        "{by} asked {verb}[ on {point}][ of check {check}][ of test {test}] and was refused",
};
