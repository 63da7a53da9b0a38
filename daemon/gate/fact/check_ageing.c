// check.ageing: what was signed will soon be over, and may be renewed.
#include "gate/fact/effect.h"
#include "gate/text.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    for (size_t i = 0; i < job->signature_count; i++) {
        if (gate_same(job->signatures[i].check, fact->check)) {
            job->signatures[i].warned = true;
        }
    }
    return true;
}

const struct gate_fact_row gate_fact_check_ageing = {
    .name = "check.ageing",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(check) | GATE_HAS(until),
    .needs = GATE_HAS(job) | GATE_HAS(check),
    .apply = apply,
    .sentence = "check {check} of {job}[, signed by {person},] will soon be over: sign it again",
};
