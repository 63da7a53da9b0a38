// What the next gate requires: that of the verb which has one and may be asked in the job's phase.
#include "gate/gate.h"
#include "gate/require.h"

// Rule (3, missing; 5, Start): What a job without a leader lacks for the start is somebody who
// leads. [next-without-leader]
void gate_next(const struct gate *gate, uint32_t site, const struct gate_job *job,
               struct gate_time now, struct gate_list *list) {
    enum gate_verb verb = gate_verb_next(job->phase);
    if (verb == GATE_VERB_COUNT) {
        return;
    }
    if (verb == GATE_VERB_START_WORK) {
        gate_require_leader(job, list);
    }
    gate_verb_row(verb)->gate(gate, &gate->sites[site], job, now, list);
}
