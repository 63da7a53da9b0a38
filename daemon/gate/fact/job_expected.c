// job.expected: when the position of a job is to be back.
#include "gate/fact/effect.h"
#include "gate/text.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_expected *expected = &to->job->day.expected;
    expected->at = fact->expected;
    expected->moved = fact->moved;
    gate_id_copy(expected->by, fact->by);
    return true;
}

const struct gate_fact_row gate_fact_job_expected = {
    .name = "job.expected",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(expected) | GATE_HAS(moved) | GATE_HAS(note),
    .needs = GATE_HAS(job) | GATE_HAS(expected),
    .apply = apply,
    .sentence = "{by} said when {position} is to be back[: {note}]",
};
