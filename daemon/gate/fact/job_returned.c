// job.returned: the job is over, and its position is tested after all that was done on it.
#include "gate/fact/effect.h"
#include "gate/lacking.h"
#include "gate/part.h"

// The return ends every work on the position of its job, except that of a job which stands on
// another position and took the cabinet: that one has tests of its own to come.
// Rule (3, service): A return does not end the work of a job elsewhere that took the cabinet and
// stands. [return-ends-others-work]
// Rule (3, service; trade rule bag [P]): The return of its position, with every test passed, ends
// it. [failed-bag-past-return]
static void end_own_work(struct gate_site *site, const struct gate_job *job) {
    struct gate_position *own = &site->positions[job->position];
    size_t kept = 0;
    for (size_t i = 0; i < own->untested_count; i++) {
        const struct gate_job *other = gate_job_on(site, own->untested_from[i]);
        if (other != NULL && other != job && other->started &&
            gate_work_covers(site, other, job->position)) {
            own->untested_from[kept++] = own->untested_from[i];
        }
    }
    own->untested_count = kept;
    gate_owed_clear(own);
    own->failed_count = 0; // every test of it has passed
}

static void untested_remove(struct gate_position *position, uint32_t from) {
    for (size_t i = 0; i < position->untested_count; i++) {
        if (position->untested_from[i] == from) {
            position->untested_from[i] = position->untested_from[--position->untested_count];
        }
    }
    if (position->untested_count == 0) {
        gate_owed_clear(position);
    }
}

// Rule (4, fit-part): What was fitted hangs there from the return on. [part-never-hangs]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_job *job = to->job;
    end_own_work(site, job);
    if (!gate_parts_hang(&site->positions[job->position], job)) {
        return false;
    }
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (p != job->position && gate_work_covers(site, job, p)) {
            untested_remove(&site->positions[p], job->position);
        }
    }
    gate_job_end(site, job, MODEL_PHASE_RETURNED, fact->at);
    return true;
}

static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    gate_lacking_remove(gate, site, fact->job, NULL, NULL);
    return true;
}

const struct gate_fact_row gate_fact_job_returned = {
    .name = "job.returned",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(fuel),
    .needs = GATE_HAS(job),
    .apply = apply,
    .lacking = lacking,
    .sentence = "{by} returned the position: job {job} is over",
};
