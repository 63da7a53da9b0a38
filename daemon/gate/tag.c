// Locks and tags: what follows when one is lifted, and when a loose one becomes a job's.
#include "gate/tag.h"

#include "gate/break.h"
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/lockout.h"
#include "gate/text.h"

// The leader's tag was lifted: while working that breaks the lockout; while stopped too, unless
// every clear and leave check was signed (the order in which one leaves a job half done).
// Rule (5, Breaking): The leader's tag lifted while working breaks the lockout. [tag-lift-unheeded]
// Rule (5, Breaking): Leaving a job half done needs every clear check before the leader's tag is
// lifted. [leaving-without-clear]
// Rule (5, Breaking): Leaving a job half done needs every leave check before the leader's tag is
// lifted. [leaving-without-leave]
// Rule (5, Breaking): The leader's tag lifted after every clear and leave check raises no alarm.
// [leaving-raises]
static void leader_lifted(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          uint32_t point, struct gate_time now) {
    bool leaving = job->phase == MODEL_PHASE_STOPPED &&
                   gate_group_signed(job, MODEL_GROUP_CLEAR, now) &&
                   gate_group_signed(job, MODEL_GROUP_LEAVE, now);
    if (job->phase == MODEL_PHASE_WORKING || (job->phase == MODEL_PHASE_STOPPED && !leaving)) {
        gate_break_by_point(gate, site, job, MODEL_CODE_TAG_MISSING, point, now);
    }
}

// Rule (3, A sensor out of order; R27): While the reader of a point is out of order, tags are hung
// there by request. [distrusted-reader-alone]
bool gate_locks_by_reader(const struct gate_site *site, uint32_t point) {
    return site->model->points[point].locks_by_reader &&
           !gate_is_distrusted(site, point, MODEL_NONE);
}

// Whether the lock of a tag that ends is listed by another tag of its owner there.
static bool is_listed_beside(const struct gate_point *point, const struct gate_tag *tag) {
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *other = &point->tags[i];
        if (other != tag && other->seen && gate_same(other->person, tag->person)) {
            return true;
        }
    }
    return false;
}

// Rule (3, Tags; R14): lift-tag ends the tag alone where the reader saw the lock hung.
// [lift-ends-the-listing]
// Rule (3, Tags; R14): A lock that another tag lists is not listed twice. [listed-twice]
static bool stays_listed(const struct gate_site *site, uint32_t point, const struct gate_tag *tag,
                         const struct gate_fact *how) {
    return tag->seen && !how->reader && !how->absent && !how->seen_off &&
           !is_listed_beside(&site->points[point], tag);
}

void gate_tag_lift(struct gate *gate, struct gate_site *site, uint32_t point,
                   const struct gate_tag *hanging, const struct gate_fact *how,
                   struct gate_time now) {
    const struct gate_tag tag = *hanging; // which is gone once the fact is told
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_LIFTED, now);
    fact.listed = stays_listed(site, point, hanging, how);
    fact.job = tag.job[0] != '\0' ? tag.job : NULL;
    fact.person = tag.person[0] != '\0' ? tag.person : NULL;
    fact.badge = tag.badge[0] != '\0' ? tag.badge : NULL;
    fact.by = how->by;
    fact.reason = how->reason;
    fact.absent = how->absent;
    fact.reader = how->reader;
    fact.seen_off = how->seen_off;
    fact.untold = how->untold && tag.person[0] != '\0';
    gate_emit(gate, &fact);
    struct gate_job *job = gate_job_find(site, tag.job);
    if (job != NULL && gate_leads(job, tag.person)) {
        leader_lifted(gate, site, job, point, now);
    }
}

static bool any_stands(const struct gate_job *job, enum model_group group) {
    for (size_t i = 0; i < job->signature_count; i++) {
        if (job->signatures[i].group == group && !job->signatures[i].void_) {
            return true;
        }
    }
    return false;
}

static bool is_tested(const struct gate_job *job) {
    for (size_t i = 0; i < job->test_count; i++) {
        if (!job->tests[i].void_) {
            return true;
        }
    }
    return any_stands(job, MODEL_GROUP_FINISH);
}

static bool is_on_dispenser(const struct gate_site *site, uint32_t point, uint32_t position) {
    const struct model_point *model = &site->model->points[point];
    for (size_t i = 0; i < model->isolates_count; i++) {
        if (gate_same_dispenser(site, model->isolates[i], position)) {
            return true;
        }
    }
    return false;
}

// Of a required point the fact itself says so; of the dispenser's others, which the first edition
// did not look at, another.
// Rule (4, What voids): A tag or lock of anyone hung on any point of the dispenser voids every
// test. [lock-on-the-other-side]
static void void_tests_beside(struct gate *gate, struct gate_site *site, uint32_t point,
                              struct gate_time now) {
    for (size_t i = 0; point != MODEL_NONE && i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && is_tested(job) && is_on_dispenser(site, point, job->position)) {
            struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_TESTS_VOIDED, now);
            gate_emit(gate, &fact);
        }
    }
}

// Rule (4, What voids; R10): Leave is void when a tag of the job was hung since.
// [hung-spares-leave]
void gate_tag_hang(struct gate *gate, struct gate_site *site, const struct gate_fact *hung) {
    struct gate_job *job = gate_job_find(site, hung->job != NULL ? hung->job : "");
    uint32_t point = model_point_find(site->model, hung->point);
    struct gate_time now = hung->at;
    gate_emit(gate, hung);
    if (job != NULL && any_stands(job, MODEL_GROUP_LEAVE)) {
        struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_LEAVE_VOIDED, now);
        gate_emit(gate, &fact);
    }
    void_tests_beside(gate, site, point, now);
}

// Rule (3, Tags): A lock of nobody's job that becomes a tag of a job counts no more than before.
// [adopt-renews]
void gate_tags_adopt(struct gate *gate, struct gate_site *site, struct gate_job *job,
                     const char *person, struct gate_time now) {
    for (size_t i = 0; i < job->required_count; i++) {
        uint32_t point = job->required[i];
        const struct gate_tag *loose = gate_tag_find(site, point, "", person);
        if (loose == NULL || loose->person[0] == '\0') {
            continue;
        }
        char badge[MODEL_ID_SIZE];
        gate_id_copy(badge, loose->badge);
        struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_TAG_HUNG, now);
        fact.job = job->job;
        fact.person = person;
        fact.badge = badge[0] != '\0' ? badge : NULL;
        fact.reader = fact.adopted = true;
        fact.has_counts = true;
        fact.counts = loose->counts;
        fact.hung = loose->since.wall;
        gate_tag_hang(gate, site, &fact);
    }
}
