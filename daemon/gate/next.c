// What the next gate requires: that of the verb which has one and may be asked in the job's phase.
#include "gate/gate.h"
#include "gate/require.h"

// Rule (2, inspection): What an inspection that is open comes to next are its tests.
// [inspection-told-to-start]
enum gate_verb gate_next_verb(const struct gate_job *job) {
    for (int verb = 0; job->needs->inspection && verb < GATE_VERB_COUNT; verb++) {
        if ((gate_verb_row(verb)->inspects >> job->phase & 1u) != 0) {
            return (enum gate_verb)verb;
        }
    }
    return gate_verb_next(job->phase);
}

// Rule (3, missing; 5, Start): What a job without a leader lacks for the start is somebody who
// leads. [next-without-leader]
void gate_next(const struct gate *gate, uint32_t site, const struct gate_job *job,
               struct gate_time now, struct gate_list *list) {
    enum gate_verb verb = gate_next_verb(job);
    if (verb == GATE_VERB_COUNT) {
        return;
    }
    if (job->phase == MODEL_PHASE_OPEN || job->phase == MODEL_PHASE_STOPPED) {
        gate_require_leader(job, list);
    }
    gate_verb_row(verb)->gate(gate, &gate->sites[site], job, now, list);
}
