// Locks: tags of people on points, and what readers saw (contract, section 3 "Tags").
#include "rules.h"

#include <string.h>

static unsigned slot_of(const struct rules *r, const struct rules_job *job) {
    return (unsigned)(job - r->jobs);
}

bool rules_protected(const struct rules *r, const struct rules_job *job, unsigned person) {
    if (person >= FORECOURT_PEOPLE || job->required == 0) {
        return false;
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !r->points[p].tags[person][slot_of(r, job)].counts) {
            return false;
        }
    }
    return true;
}

bool rules_tagged(const struct rules *r, unsigned slot) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            if (r->points[p].tags[who][slot].hangs) {
                return true;
            }
        }
    }
    return false;
}

bool rules_hangs_here(const struct rules *r, uint32_t point, unsigned person) {
    for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
        if (r->points[point].tags[person][s].hangs) {
            return true;
        }
    }
    return false;
}

// Somebody hung a lock: what was tested in that dispenser before it is void.
static void void_tests_at(struct rules *r, uint32_t point) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    for (unsigned s = 0; s < plan->positions; s++) {
        bool here = r->jobs[s].stands && (r->jobs[s].required >> point & 1u) != 0;
        for (unsigned p = 0; r->jobs[s].stands && p < plan->positions; p++) {
            bool cabinet = plan->dispenser[p] == plan->dispenser[s];
            here = here || (cabinet && (plan->point[point].isolates >> p & 1u) != 0);
        }
        if (here) {
            rules_void_tests(r, &r->jobs[s]);
        }
    }
}

// Clear and leave say that everybody is out and the position is made safe; a lock hung since says
// otherwise of the latter.
static void hang(struct rules *r, uint32_t point, unsigned who, unsigned slot,
                 struct rules_tag tag) {
    r->points[point].tags[who][slot] = tag;
    if (slot != RULES_NO_SLOT) {
        rules_void(r, &r->jobs[slot], MODEL_GROUP_LEAVE);
    }
    void_tests_at(r, point);
}

// A lock of theirs that was listed still is this one.
void rules_hang_tag(struct rules *r, struct rules_job *job, uint32_t point, unsigned who) {
    bool seen = r->points[point].tags[who][RULES_NO_SLOT].seen ||
                r->points[point].tags[who][slot_of(r, job)].seen;
    r->points[point].tags[who][RULES_NO_SLOT] = (struct rules_tag){0};
    hang(r, point, who, slot_of(r, job),
         (struct rules_tag){.hangs = true, .counts = true, .seen = seen, .hung = r->now.mono});
}

// The leader's, where people may be in the cabinet, breaks the lockout; but who signed every clear
// and leave check first leaves a stopped job half done as they should.
static void end_tag(struct rules *r, uint32_t point, unsigned who, unsigned slot) {
    struct rules_tag *tag = &r->points[point].tags[who][slot];
    struct rules_job *job = slot != RULES_NO_SLOT ? &r->jobs[slot] : NULL;
    bool leads = tag->hangs && job != NULL && job->leader == who;
    *tag = (struct rules_tag){0};
    if (leads &&
        (job->phase == MODEL_PHASE_WORKING ||
         (job->phase == MODEL_PHASE_STOPPED && !(rules_group_stands(r, job, MODEL_GROUP_CLEAR) &&
                                                 rules_group_stands(r, job, MODEL_GROUP_LEAVE))))) {
        rules_break(r, job, RULES_TAG, point);
    }
}

void rules_lift_tag(struct rules *r, struct rules_job *job, uint32_t point, unsigned who) {
    bool listed = r->points[point].tags[who][slot_of(r, job)].seen;
    end_tag(r, point, who, slot_of(r, job));
    for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
        const struct rules_tag *other = &r->points[point].tags[who][s];
        listed = listed && !(other->hangs && other->seen);
    }
    if (listed) {
        // Its reader sees the lock still: it is listed, and blocks.
        r->points[point].tags[who][RULES_NO_SLOT] = (struct rules_tag){
            .hangs = true, .reader = true, .seen = true, .lifted = true, .hung = r->now.mono};
    }
}

void rules_end_tags(struct rules *r, uint32_t point, unsigned who) {
    for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
        end_tag(r, point, who, s);
    }
    r->points[point].seen[who] = false;
}

// A lock that hung for nobody's job becomes a tag of the job whose crew its owner joins.
void rules_adopt_locks(struct rules *r, struct rules_job *job, unsigned who) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        struct rules_tag *loose = &r->points[p].tags[who][RULES_NO_SLOT];
        if ((job->required >> p & 1u) != 0 && loose->hangs) {
            r->points[p].tags[who][slot_of(r, job)] = *loose;
            rules_void(r, job, MODEL_GROUP_LEAVE);
            *loose = (struct rules_tag){0};
        }
    }
}

// --- Readers ---

// newer: than what the reader said before; good: and of now.
static void read_hung(struct rules *r, uint32_t point, unsigned who, bool newer, bool good,
                      int64_t at) {
    struct rules_point *p = &r->points[point];
    int64_t wall = r->now.wall - (r->now.mono - at);
    bool of_a_job = false, since_live = at == r->now.mono || wall > p->last_live;
    p->seen[who] = true;
    for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
        const struct rules_job *job = s < RULES_NO_SLOT ? &r->jobs[s] : NULL;
        bool his = job != NULL
                       ? who < RULES_ANYBODY && job->stands && (job->crew >> who & 1u) != 0 &&
                             (job->required >> point & 1u) != 0
                       : !of_a_job;
        of_a_job = of_a_job || his;
        struct rules_tag *tag = &p->tags[who][s];
        bool isolated = rules_reads(r, point, s) == MODEL_POINT_ISOLATED && since_live;
        bool anew = (good && isolated) || (tag->lifted && newer);
        if (!his || (tag->hangs && tag->seen && !anew)) {
            continue; // seen already: it changes no tag that hangs
        }
        // Neither does one that says nothing of now, but that the reader sees a lock.
        struct rules_tag hung = {
            .hangs = true, .counts = good && isolated, .reader = true, .seen = true, .hung = at};
        hung.counts = hung.counts || (tag->hangs && tag->counts);
        hung.hung = tag->hangs && !(good && isolated) ? tag->hung : at;
        hang(r, point, who, s, hung);
    }
    if (of_a_job && who < RULES_ANYBODY) {
        bool other = false;
        for (unsigned s = 0; s < RULES_NO_SLOT; s++) {
            other = other || p->tags[who][s].hangs;
        }
        if (other) {
            p->tags[who][RULES_NO_SLOT] = (struct rules_tag){0};
        }
    }
}

void rules_read_lock(struct rules *r, const struct step *step) {
    unsigned who = step->who < RULES_ANYBODY ? step->who : RULES_ANYBODY;
    struct rules_point *p = &r->points[step->at];
    struct rules_order *newest = &p->events[who];
    int64_t at = (step->how & STEP_DATED) != 0 ? r->now.wall - step->ms : 0;
    int64_t max_age = r->forecourt->plan->max_age_ms;
    int64_t counts = r->now.mono - (step->ms > 0 ? step->ms : 0);
    bool old = p->event_heard[who] == 0 || r->now.mono - p->event_heard[who] > max_age;
    bool newer = rules_order_of(newest, old, at, step->job) > 0;
    if (newer) {
        rules_order_note(newest, at, step->job);
        p->event_heard[who] = counts;
    }
    if (!step->ok) {
        rules_end_tags(r, step->at, who);
        return;
    }
    bool waited = (step->how & STEP_WAITED) != 0 || r->points[step->at].distrusted_until != 0;
    read_hung(r, step->at, who, newer, newer && !waited && r->now.mono - counts <= max_age, counts);
}

// What a reader said is not known to be so: its tags count no longer until they are hung again, and
// work that counted on one stops.
void rules_doubt_reader(struct rules *r, uint32_t point) {
    for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            struct rules_tag *tag = &r->points[point].tags[who][s];
            if (tag->counts && tag->reader && s < RULES_NO_SLOT &&
                r->jobs[s].phase == MODEL_PHASE_WORKING) {
                rules_break(r, &r->jobs[s], RULES_TAG, point);
            }
            tag->counts = tag->counts && !tag->reader;
        }
    }
}
