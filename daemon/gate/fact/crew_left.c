// crew.left: one less in the crew.
#include <string.h>

#include "gate/fact/effect.h"

// Rule (4, hand-over): An offer ends when its person leaves the crew. [offer-outlives-the-crew]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    gate_crew_remove(job, fact->person);
    if (strcmp(job->offered, fact->person) == 0) {
        job->offered[0] = '\0'; // only one of the crew can take the lead
    }
    return true;
}

const struct gate_fact_row gate_fact_crew_left = {
    .name = "crew.left",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(by),
    .needs = GATE_HAS(job) | GATE_HAS(person),
    .apply = apply,
    .sentence = "{person} left the crew of {job}[ (asked by {by})]",
};
