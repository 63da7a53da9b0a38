// Signs what the measures answer for a job, and breaks its lockout where they fail a check.
#include "gate/break.h"
#include "gate/emit.h"
#include "gate/measure.h"
#include "gate/review.h"

static void sign(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                 const struct model_check *check, const struct gate_measured *measured, bool pass,
                 struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_CHECK_SIGNED, now);
    fact.check = check->check;
    fact.has_value = true;
    fact.value = measured->worst;
    fact.unit = check->unit;
    fact.note = measured->by->measure;
    fact.has_pass = true;
    fact.pass = pass;
    gate_emit(gate, &fact);
}

// Rule (5, Breaking; 29 CFR 1910.147(d)(5)-(6) [P]): A relieve or verify check that a measure fails
// stops the work in the same turn. [measure-goes-on]
void gate_review_measures(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *check = &job->needs->checks[i];
        struct gate_measured measured;
        enum gate_verdict verdict = gate_measures_verdict(gate, site, job, check, now, &measured);
        if (verdict != GATE_VERDICT_NONE) {
            sign(gate, site, job, check, &measured, verdict == GATE_VERDICT_PASS, now);
        }
        if (verdict == GATE_VERDICT_FAIL) {
            gate_break_by_check(gate, site, job, check, now);
        }
    }
}
