// job.assigned: somebody leads the job; who led it before leaves its crew.
#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (4, assign-job): Who led leaves the crew when the job is assigned anew.
// [assigned-leader-stays]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    if (job->leader[0] != '\0') {
        gate_crew_remove(job, job->leader);
    }
    gate_id_copy(job->leader, fact->person);
    if (fact->kit_family != NULL) {
        gate_id_copy(job->kit_family, fact->kit_family);
    }
    job->offered[0] = '\0';
    return gate_crew_add(job, fact->person, fact->at);
}

const struct gate_fact_row gate_fact_job_assigned = {
    .name = "job.assigned",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person) | GATE_HAS(by) | GATE_HAS(kit_family),
    .needs = GATE_HAS(job) | GATE_HAS(person),
    .apply = apply,
    .sentence = "{by} assigned job {job} to {person}[, kit {kit_family}]",
};
