// lift-absent-tag: the lock of somebody who is not there (29 CFR 1910.147(e)(3)).
#include <string.h>

#include "gate/alarm.h"
#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/tag.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// Rule (4, lift-absent-tag): An absent person with another tag hanging stays in the crew.
// [absent-leaves-too-soon]
// Rule (4, lift-absent-tag): Who leads stays in the crew though the last tag is lifted.
// [absent-leader-leaves]
static void leave_with_last_tag(struct gate_case *c, struct gate_job *job, const char *who) {
    if (job == NULL || gate_leads(job, who) || gate_member_of(job, who) == NULL ||
        gate_tags_hang(c->site, job->job, who)) {
        return;
    }
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, job, GATE_FACT_CREW_LEFT, c->now);
    fact.person = who;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

static bool is_owners(const struct gate_case *c, const struct gate_tag *tag) {
    return c->request->member != NULL
               ? strcmp(tag->person, c->request->member) == 0
               : tag->person[0] == '\0' && strcmp(tag->badge, c->request->badge) == 0;
}

// Whether a tag is one of those asked for: the person's or badge's, of the job where one is named.
static bool asked_for(const struct gate_case *c, const struct gate_tag *tag) {
    return is_owners(c, tag) && (c->job == NULL || strcmp(tag->job, c->job->job) == 0);
}

static const struct gate_tag *next_absent(const struct gate_case *c, uint32_t point) {
    const struct gate_point *state = &c->site->points[point];
    for (size_t i = 0; i < state->tag_count; i++) {
        if (asked_for(c, &state->tags[i])) {
            return &state->tags[i];
        }
    }
    return NULL;
}

// What hangs there of the owner, whatever job is named.
enum hanging {
    HANGING_NONE,
    HANGING_LISTED, // alone what the reader still sees of locks that their owner has lifted
    HANGING_TAG,
};

// Rule (4, the answer): What must be attested is said of the lock that hangs there, also where it
// is of another job than was named. [absent-job-misleads]
static enum hanging what_hangs(const struct gate_case *c, uint32_t point) {
    const struct gate_point *state = &c->site->points[point];
    bool of_job = next_absent(c, point) != NULL;
    enum hanging hangs = HANGING_NONE;
    for (size_t i = 0; i < state->tag_count; i++) {
        const struct gate_tag *tag = &state->tags[i];
        if (of_job ? asked_for(c, tag) : is_owners(c, tag)) {
            bool listed = tag->lifted && hangs != HANGING_TAG;
            hangs = listed ? HANGING_LISTED : HANGING_TAG;
        }
    }
    return hangs;
}

// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(i) [P]): An absent owner's tag is lifted only if
// it is attested that the owner is not on site. [absent-not-on-site]
// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(ii) [P]): An absent owner's tag is lifted only if
// it is attested that contact was tried. [absent-contact]
// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(iii) [P]): An absent owner's tag is lifted only
// if it is attested that the owner will be told. [absent-told]
// Rule (3, Tags; R14): A lock that its owner lifted is taken off the list by who has seen it off.
// [seen-off-unasked]
// Rule (3, Tags; R14): Seeing a lock off lifts no tag that hangs. [seen-off-lifts-a-tag]
// Rule (3, Tags; R14): Of nothing that hangs there nothing more is asked than to see that.
// [seen-off-of-nothing]
static void require_attested(struct gate_case *c, enum hanging hangs) {
    const struct gate_request *request = c->request;
    bool listing = hangs == HANGING_LISTED;
    if (hangs != HANGING_TAG && request->seen_off) {
        return;
    }
    if (listing && !request->not_on_site && !request->contact_tried && !request->will_be_told) {
        gate_list_put(&c->list, false, GATE_SAY_ATTEST_SEEN_OFF, "seen_off", NULL);
        return;
    }
    gate_list_put(&c->list, request->not_on_site, GATE_SAY_ATTEST_NOT_ON_SITE, "not_on_site", NULL);
    gate_list_put(&c->list, request->contact_tried, GATE_SAY_ATTEST_CONTACT_TRIED, "contact_tried",
                  NULL);
    gate_list_put(&c->list, request->will_be_told, GATE_SAY_ATTEST_WILL_BE_TOLD, "will_be_told",
                  NULL);
}

// Rule (4, lift-absent-tag; R16): In every phase the removal of an absent owner's lock is an alarm,
// of no job too. [absent-unheard]
static void raise_removed(struct gate_case *c, struct gate_job *job, uint32_t point) {
    const struct model_point *model = &c->site->model->points[point];
    const struct gate_request *request = c->request;
    struct gate_args args = {.by = c->person->person,
                             .person = request->member,
                             .badge = request->badge,
                             .point = model->point,
                             .title = model->title};
    uint32_t alone = model->isolates_count == 1 ? model->isolates[0] : MODEL_NONE;
    struct gate_alarm_about about = {
        .kind = MODEL_ALARM_ABSENT_LOCK_REMOVED,
        .job = job,
        .position = job != NULL ? job->position : alone,
        .point = point,
        .subject = request->member != NULL ? request->member : request->badge,
        .by = c->person->person,
        .sentence =
            request->member != NULL ? GATE_SAY_ALARM_LOCK_REMOVED : GATE_SAY_ALARM_BADGE_REMOVED,
        .args = &args};
    gate_alarm_raise(c->gate, c->site, &about, true, c->now);
}

// Rule (4, lift-absent-tag; R16): While working the removal of an absent owner's lock stops the
// work; the lockout breaks only where it was the leader's. [absent-work-goes-on]
static void stop_work(struct gate_case *c, struct gate_job *job, uint32_t point, const char *who) {
    if (job != NULL && job->phase == MODEL_PHASE_WORKING) { // the leader's broke and stopped it
        char say[240];
        gate_text(say, sizeof say, "The lock of %s on %s was removed. Stop, and look who is there.",
                  who, c->site->model->points[point].title);
        gate_stop_work(c->gate, c->site, job, MODEL_CODE_TAG_MISSING, say, c->now);
    }
}

static void remove_one(struct gate_case *c, uint32_t point, const struct gate_tag *tag,
                       const struct gate_fact *how) {
    const struct gate_request *request = c->request;
    const char *who = request->member != NULL ? request->member : request->badge;
    char id[MODEL_ID_SIZE];
    gate_id_copy(id, tag->job);
    gate_tag_lift(c->gate, c->site, point, tag, how, c->now);
    if (how->absent) {
        struct gate_job *job = gate_job_find(c->site, id);
        stop_work(c, job, point, who);
        leave_with_last_tag(c, job, who);
        raise_removed(c, job, point);
    }
}

// Rule (4, the answer): Of a lock that hangs there for another job, or for none, it is said so.
// [absent-of-another-job-is-none]
static void require_hanging(struct gate_case *c, uint32_t point, bool met, enum hanging hangs) {
    const struct model_point *model = &c->site->model->points[point];
    const struct gate_request *request = c->request;
    bool elsewhere = !met && hangs != HANGING_NONE;
    gate_list_put(&c->list, met,
                  elsewhere ? GATE_SAY_TAG_MISSING_OF_JOB : GATE_SAY_TAG_MISSING_ABSENT,
                  model->point,
                  GATE_ARGS(.person = request->member, .badge = request->badge,
                            .job = elsewhere ? c->job->job : NULL, .point = model->point,
                            .title = model->title));
}

// Rule (4, lift-absent-tag): Nobody removes their own tag as an absent one's. [absent-own]
// Rule (4, lift-absent-tag): With their last tag gone an absent person leaves the crew.
// [absent-stays-in-crew]
// Rule (3, Tags; R14): Seeing a lock off is no removal: nobody is to be told. [seen-off-untold]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    uint32_t point = gate_case_point(c, false);
    enum hanging hangs = point != MODEL_NONE ? what_hangs(c, point) : HANGING_TAG;
    require_attested(c, hangs);
    gate_list_put(&c->list, !gate_same(request->member, c->person->person), GATE_SAY_TAG_OF_ASKER,
                  request->member, GATE_ARGS(.person = request->member));
    const struct gate_tag *tag = point != MODEL_NONE ? next_absent(c, point) : NULL;
    if (point != MODEL_NONE) {
        require_hanging(c, point, tag != NULL, hangs);
    }
    bool seen_off = hangs == HANGING_LISTED && request->seen_off;
    struct gate_fact how = {.by = c->person->person,
                            .reason = request->reason,
                            .absent = !seen_off,
                            .seen_off = seen_off,
                            .untold = !seen_off};
    for (; gate_case_clear(c) && tag != NULL; tag = next_absent(c, point)) {
        remove_one(c, point, tag, &how);
    }
}

// Rule (4, lift-absent-tag): Only a supervisor lifts an absent owner's tag. [absent-by-anybody]
// Rule (5, last paragraph): An absent owner's tag ends also while the journal cannot write.
// [absent-refused-while-down]
const struct gate_verb_row gate_verb_lift_absent_tag = {
    .name = "lift-absent-tag",
    .about = "Lifts the lock and tag of somebody absent, not_on_site, contact_tried and "
             "will_be_told attested true (29 CFR 1910.147(e)(3)); or, seen_off attested true, "
             "ends the listing of a lock that its owner lifted and its reader still sees.",
    .fields = {GATE_MAY(job, ID), GATE_MUST(point, ID), GATE_PERSON, GATE_MAY(badge, NAME),
               GATE_MUST(reason, REASON), GATE_PLAIN(attest, ATTEST, false)},
    .one_of = {"person", "badge", "the tag's owner"},
    .who = GATE_WHO_ROLE,
    .roles = MODEL_ROLE_SUPERVISOR,
    .present = true,
    .decide = decide,
};
