// Positions in and out of service.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/point.h"
#include "gate/review.h"
#include "gate/text.h"
#include "gate/word.h"

// Rule (2; 3, service): A procedure that takes the dispenser takes every position of the cabinet
// out. [cabinet-not-taken]
// Rule (3, service; R9): A procedure that takes the site takes every position of it out.
// [site-not-taken]
static bool takes(const struct gate_site *site, const struct gate_job *job, uint32_t position) {
    return job->needs->takes_site ||
           (job->needs->takes_dispenser && gate_same_dispenser(site, job->position, position));
}

// A job elsewhere that holds this position out: it takes the whole cabinet or site, or its tag
// hangs on a point that isolates the position.
// Rule (3, service): A tag of a job holds every position out that its point isolates.
// [service-beside-a-tag]
static const struct gate_job *holder(const struct gate_site *site, uint32_t position) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && takes(site, job, position)) {
            return job;
        }
    }
    const struct model_position *model = &site->model->positions[position];
    for (size_t p = 0; p < model->point_count; p++) {
        const struct gate_point *point = &site->points[model->points[p]];
        for (size_t i = 0; i < point->tag_count; i++) {
            const struct gate_job *job = gate_job_find(site, point->tags[i].job);
            if (job != NULL) {
                return job;
            }
        }
    }
    return NULL;
}

// A job on the same dispenser with cones, an open cabinet or a leak test beside the position.
// Rule (3, service; R9): Nobody fuels beside a job of the dispenser that works, is stopped,
// restores or tests. [service-beside-work]
// Rule (3, service; R9): Nor beside one that is open with a tag of it hanging.
// [service-beside-a-locked-job]
static const struct gate_job *worked_beside(const struct gate_site *site, uint32_t position) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && gate_same_dispenser(site, job->position, position) &&
            (job->phase != MODEL_PHASE_OPEN || gate_tags_hang(site, job->job, NULL))) {
            return job;
        }
    }
    return NULL;
}

// Rule (3, service; 3, Tags; R14): A lock of nobody's job takes the positions of its point out, and
// blocks their way back.
// [service-under-nobodys-lock]
static bool is_isolated(const struct gate_site *site, uint32_t position) {
    const struct model_position *model = &site->model->positions[position];
    for (size_t p = 0; p < model->point_count; p++) {
        const struct gate_point *point = &site->points[model->points[p]];
        if (point->state == MODEL_POINT_ISOLATED || point->tag_count > 0) {
            return true; // a lock of a job was told of before
        }
    }
    return false;
}

// Whether a point speaks for the service of its positions: by a sensor or a statement that stands.
static bool speaks(const struct gate_site *site, uint32_t index, struct gate_time now) {
    const struct gate_point *point = &site->points[index];
    bool stands = false;
    for (size_t i = 0; i < point->live_statement_count; i++) {
        stands |= gate_word_stands(site, index, &point->live_statements[i], now);
    }
    for (size_t i = 0; i < point->statement_count; i++) {
        stands |= gate_word_stands(site, index, &point->statements[i], now);
    }
    return site->model->points[index].sensor_count > 0 || stands;
}

// Every point that isolates it and has a sensor or a standing statement is proved live.
// Rule (3, service): A position comes back when every point that isolates it is live.
// [service-unproved]
// Rule (3, service): A position of which nothing is known stays out. [service-unproved-by-none]
static bool proved_live(const struct gate *gate, const struct gate_site *site, uint32_t position,
                        struct gate_time now) {
    const struct model_position *model = &site->model->positions[position];
    size_t proved = 0;
    for (size_t p = 0; p < model->point_count; p++) {
        uint32_t index = model->points[p];
        bool heard_of = speaks(site, index, now);
        if (heard_of && !gate_point_proved_live(gate, site, index, NULL, now)) {
            return false;
        }
        proved += heard_of;
    }
    return proved > 0;
}

// A test that failed on another position of the dispenser, takes all of it out of service and was
// not passed since; NULL: there is none. Its own position is `untested` until that test passes.
// Rule (3, service; trade rule bag [P]): It keeps only positions of its own dispenser out.
// [failed-bag-everywhere]
static const struct gate_failed *failed_beside(const struct gate_site *site, uint32_t position) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (p != position && site->positions[p].failed_count > 0 &&
            gate_same_dispenser(site, p, position)) {
            return &site->positions[p].failed[0];
        }
    }
    return NULL;
}

// What holds the position out whatever its points prove.
// Rule (3, service): A position on which work was started and not ended by a return is untested and
// out. [untested-forgotten]
// Rule (3, service): A point that reads isolated takes its positions out. [service-under-isolation]
// Rule (3, service): A job takes its position out. [service-with-a-job]
// Rule (3, service; trade rule bag [P]): A failed test that takes the dispenser keeps its other
// positions out of service. [failed-bag-unheeded]
// Rule (3, service; trade rule bag [P]): The job on which the test failed is named.
// [failed-bag-nameless]
static enum model_cause hard_cause(const struct gate_site *site, uint32_t position,
                                   char with[MODEL_ID_SIZE]) {
    with[0] = '\0';
    if (gate_job_on(site, position) != NULL) {
        return MODEL_CAUSE_JOB;
    }
    const struct gate_job *other = holder(site, position);
    if (other != NULL) {
        gate_id_copy(with, other->job);
        return MODEL_CAUSE_ISOLATED_WITH;
    }
    const struct gate_failed *beside = failed_beside(site, position);
    if (beside != NULL) {
        gate_id_copy(with, beside->job);
        return MODEL_CAUSE_ISOLATED_WITH;
    }
    other = worked_beside(site, position);
    if (other != NULL) {
        gate_id_copy(with, other->job);
        return MODEL_CAUSE_WORK_BESIDE;
    }
    if (is_isolated(site, position)) {
        return MODEL_CAUSE_ISOLATED;
    }
    return site->positions[position].untested_count > 0 ? MODEL_CAUSE_UNTESTED : MODEL_CAUSE_NONE;
}

enum model_cause gate_position_cause(const struct gate *gate, const struct gate_site *site,
                                     uint32_t position, char with[MODEL_ID_SIZE]) {
    (void)gate;
    enum model_cause cause = hard_cause(site, position, with);
    bool out = site->positions[position].service == MODEL_SERVICE_OUT;
    return cause == MODEL_CAUSE_NONE && out ? MODEL_CAUSE_UNKNOWN : cause;
}

// Rule (3; 5, last paragraph): No position comes back without link or journal, or at a contested
// site. [service-untrusted]
// Rule (3): A contested site lets no position back. [service-contested]
static void review_position(struct gate *gate, struct gate_site *site, uint32_t position,
                            struct gate_time now) {
    char with[MODEL_ID_SIZE];
    enum model_cause cause = hard_cause(site, position, with);
    bool in = site->positions[position].service == MODEL_SERVICE_IN;
    bool trusted = gate_is_linked(gate, site) && gate->journal_up && !site->contested;
    bool comes_back =
        !in && cause == MODEL_CAUSE_NONE && trusted && proved_live(gate, site, position, now);
    if (!comes_back && !(in && cause != MODEL_CAUSE_NONE)) {
        return;
    }
    const struct gate_job *job = gate_job_on(site, position);
    struct gate_fact fact = gate_fact_new(
        gate, site, comes_back ? GATE_FACT_POSITION_RETURNED : GATE_FACT_POSITION_OUT_OF_SERVICE,
        now);
    fact.position = site->model->positions[position].position;
    fact.job = job != NULL ? job->job : NULL;
    fact.with = with[0] != '\0' ? with : NULL;
    fact.has_cause = !comes_back;
    fact.cause = cause;
    struct gate_evidence evidence[16];
    const struct model_position *model = &site->model->positions[position];
    for (size_t p = 0; p < model->point_count && p < 16; p++) {
        evidence[p] = gate_evidence_of(gate, site, model->points[p], now);
        fact.evidence_count = p + 1;
    }
    fact.evidence = evidence;
    gate_emit(gate, &fact);
}

void gate_review_positions(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        review_position(gate, site, p, now);
    }
}
