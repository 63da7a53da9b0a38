// job.opened: a job stands on a position, with the requirements of its day.
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/find.h"
#include "gate/lacking.h"
#include "gate/text.h"
#include "gate/used.h"

static bool isolates_energy(const struct model_requirements *needs, const char *energy) {
    for (size_t i = 0; i < needs->isolate_count; i++) {
        if (strcmp(needs->isolate[i], energy) == 0) {
            return true;
        }
    }
    return false;
}

static bool evidence_names(const struct gate_fact *fact, const char *point) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        if (strcmp(fact->evidence[i].point, point) == 0) {
            return true;
        }
    }
    return false;
}

// Every point that isolates the position and whose energy the procedure isolates, by today's
// configuration or by the evidence of the opening.
// Rule (1): The required points are those that isolate the position and whose energy the procedure
// isolates. [required-any-energy]
// Rule (1): A point that the opening required is required still, whatever a later configuration
// says. [required-of-today-only]
static bool set_required(struct gate_site *site, struct gate_job *job,
                         const struct gate_fact *fact) {
    job->required = calloc(site->model->point_count + 1, sizeof *job->required);
    if (job->required == NULL) {
        return false;
    }
    for (uint32_t i = 0; i < site->model->point_count; i++) {
        const struct model_point *point = &site->model->points[i];
        bool today =
            gate_point_isolates(point, job->position) && isolates_energy(job->needs, point->energy);
        if (today || evidence_names(fact, point->point)) {
            job->required[job->required_count++] = i;
        }
    }
    return true;
}

// What the opening asked for and, on that day, today's configuration does: the stricter of each, a
// test for each product where it is asked for so.
// Rule (2, tests; 1, job): Products that the configuration has gained since are tested too.
// [todays-products-forgotten]
// Rule (1): A job's requirements are those of its opening, unless a later configuration is
// stricter. [requirements-of-today]
// Rule (1): A stricter configuration applies to a job that stands. [requirements-of-the-opening]
// Rule (2, limits; R4): A job of an earlier edition stands by today's rules of limits and measures.
// [standing-not-renewed]
// Rule (1; 2, districts): A standing job keeps the rules of the instant at which it was opened,
// whatever day it is now. [rules-of-the-last-day]
static struct model_requirements *needs_of(const struct gate *gate, const struct gate_site *site,
                                           const struct gate_job *job,
                                           const struct gate_fact *fact) {
    const struct model_requirements *today = model_requirements_find(
        gate->model, site->model, fact->requirements->procedure, fact->at.wall);
    struct model_requirements *needs = NULL;
    if (today == NULL) {
        needs = model_requirements_copy(job->opening);
    } else {
        struct model_requirements *here = model_requirements_at(today, site->model, job->position);
        needs = here != NULL ? model_requirements_stricter(job->opening, here) : NULL;
        free(here);
    }
    if (needs != NULL) {
        model_requirements_renew(needs);
    }
    return needs;
}

static bool asks_leave(const struct model_requirements *needs) {
    for (size_t i = 0; i < needs->check_count; i++) {
        if (needs->checks[i].group == MODEL_GROUP_LEAVE) {
            return true;
        }
    }
    return false;
}

// An id that none of the checks has.
static void leave_id(struct model_requirements *needs, char id[MODEL_ID_SIZE]) {
    gate_id_copy(id, "made-safe");
    for (unsigned i = 2; model_check_named(needs, id) != NULL; i++) {
        gate_text(id, MODEL_ID_SIZE, "made-safe-%u", i);
    }
}

// The requirements with more checks. Takes needs. NULL: no memory.
static struct model_requirements *with_checks(struct model_requirements *needs,
                                              const struct model_check *checks, size_t count) {
    struct model_requirements more = *needs;
    struct model_requirements *whole = NULL;
    more.checks = calloc(needs->check_count + count + 1, sizeof *more.checks);
    if (more.checks != NULL) {
        memcpy(more.checks, needs->checks, needs->check_count * sizeof *more.checks);
        for (size_t i = 0; i < count; i++) {
            model_check_insert(&more, &checks[i]);
        }
        whole = model_requirements_copy(&more);
    }
    free(more.checks);
    free(needs);
    return whole;
}

// A job of a time when a procedure need not ask how a repair is left, and whose procedure the
// configuration no longer has: it could be neither set aside nor cancelled. Takes needs.
// Rule (2; R10): A job whose requirements ask nothing before it is left is asked one question.
// [leave-asked-of-nobody]
static struct model_requirements *with_leave(struct model_requirements *needs) {
    if (needs == NULL || needs->inspection || asks_leave(needs)) {
        return needs;
    }
    struct model_check check = {.group = MODEL_GROUP_LEAVE,
                                .ask = "Left safe: capped or removed, and marked out of service"};
    leave_id(needs, check.check);
    return with_checks(needs, &check, 1);
}

// The tests that the position owes are announced in this job. Takes needs.
// Rule (2, notice_h; 3, service): The notice of an owed test is asked for by the next job there.
// [owed-notice-not-asked]
static struct model_requirements *with_notices(struct model_requirements *needs,
                                               struct model_requirements *owed) {
    for (size_t i = 0; needs != NULL && owed != NULL && i < owed->test_count; i++) {
        const struct model_check *check =
            owed->tests[i].notice_ms > 0 ? model_check_named(owed, owed->tests[i].notice) : NULL;
        if (check != NULL && model_check_named(needs, check->check) == NULL) {
            needs = with_checks(needs, check, 1);
        }
    }
    return needs;
}

static struct gate_job *job_new(const struct gate *gate, struct gate_site *site,
                                const struct gate_fact *fact) {
    struct gate_job *job = calloc(1, sizeof *job);
    if (job == NULL) {
        return NULL;
    }
    gate_id_copy(job->job, fact->job);
    gate_id_copy(job->kit_family, fact->kit_family);
    gate_id_copy(job->part, fact->part);
    job->position = model_position_find(site->model, fact->position);
    job->opened = job->since = fact->at;
    job->opening = model_requirements_at(fact->requirements, site->model, job->position);
    job->needs = job->opening != NULL ? with_leave(needs_of(gate, site, job, fact)) : NULL;
    job->needs = with_notices(job->needs, site->positions[job->position].owed);
    if (job->needs != NULL) {
        job->within = calloc(job->needs->check_count + 1, sizeof *job->within);
    }
    if (job->needs == NULL || job->within == NULL || !set_required(site, job, fact)) {
        gate_job_free(job);
        return NULL;
    }
    return job;
}

static bool add(struct gate *gate, struct gate_site *site, const struct gate_fact *fact) {
    struct gate_job *job = job_new(gate, site, fact);
    bool room = BASE_ARRAY_ROOM(site->jobs, site->job_count, site->job_capacity);
    if (job == NULL || !room || !gate_used_add(site, fact->job, job)) {
        gate_job_free(job);
        return false;
    }
    site->jobs[site->job_count++] = job;
    gate_id_copy(job->leader, fact->person);
    return fact->person == NULL || gate_crew_add(job, fact->person, fact->at);
}

// Rule (2): A configuration that lacks the position of a standing job is refused with the job's
// name. [fits-without-position]
static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    return gate_lacking_add(gate, site, fact->job, fact->position, NULL);
}

// The points that the opening required and the configuration no longer has.
static bool lacking_points(struct gate *gate, const struct gate_site *site,
                           const struct gate_fact *fact) {
    for (size_t i = 0; i < fact->evidence_count; i++) {
        const char *point = fact->evidence[i].point;
        if (model_point_find(site->model, point) == MODEL_NONE &&
            !gate_lacking_add(gate, site->model->site, fact->job, point, NULL)) {
            return false;
        }
    }
    return true;
}

// Rule (2): A configuration that lacks a point of a standing job is refused. [fits-without-point]
// Rule (4, open-job): A job is opened once in the journal. [opened-twice]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    if (gate_used_find(to->site, fact->job) != NULL) {
        gate_text(to->what, to->what_size, "job %s is opened twice", fact->job);
        return false;
    }
    if (fact->requirements == NULL) {
        gate_text(to->what, to->what_size, "job %s is opened without its requirements", fact->job);
        return false;
    }
    if (model_position_find(to->site->model, fact->position) == MODEL_NONE) {
        return gate_used_add(to->site, fact->job, NULL) &&
               lacking(to->gate, to->site->model->site, fact);
    }
    return add(to->gate, to->site, fact) && lacking_points(to->gate, to->site, fact);
}

const struct gate_fact_row gate_fact_job_opened = {
    .name = "job.opened",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(procedure) | GATE_HAS(person) | GATE_HAS(by) | GATE_HAS(kit_family) |
               GATE_HAS(part) | GATE_HAS(defect) | GATE_HAS(note) | GATE_HAS(requirements),
    .needs = GATE_HAS(job) | GATE_HAS(position),
    .apply = apply,
    .lacking = lacking,
    .sentence = "{by} opened job {job} on {position} by procedure {procedure}[, led by {person}]"
                "[, kit {kit_family}][, part {part}][: {defect}][ (note: {note})]",
};
