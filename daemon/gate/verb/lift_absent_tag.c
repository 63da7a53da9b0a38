// lift-absent-tag: the lock of somebody who is not there (29 CFR 1910.147(e)(3)).
#include <string.h>

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

// Whether a tag is one of those asked for: the person's or badge's, of the job where one is named.
static bool asked_for(const struct gate_case *c, const struct gate_tag *tag) {
    bool owner = c->request->member != NULL
                     ? strcmp(tag->person, c->request->member) == 0
                     : tag->person[0] == '\0' && strcmp(tag->badge, c->request->badge) == 0;
    return owner && (c->job == NULL || strcmp(tag->job, c->job->job) == 0);
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

// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(i) [P]): An absent owner's tag is lifted only if
// it is attested that the owner is not on site. [absent-not-on-site]
// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(ii) [P]): An absent owner's tag is lifted only if
// it is attested that contact was tried. [absent-contact]
// Rule (4, lift-absent-tag; 29 CFR 1910.147(e)(3)(iii) [P]): An absent owner's tag is lifted only
// if it is attested that the owner will be told. [absent-told]
// Rule (4, lift-absent-tag): Nobody removes their own tag as an absent one's. [absent-own]
// Rule (4, lift-absent-tag): With their last tag gone an absent person leaves the crew.
// [absent-stays-in-crew]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    const char *who = request->member != NULL ? request->member : request->badge;
    uint32_t point = gate_case_point(c, false);
    gate_list_put(&c->list, request->not_on_site, GATE_SAY_ATTEST_NOT_ON_SITE, "not_on_site", NULL);
    gate_list_put(&c->list, request->contact_tried, GATE_SAY_ATTEST_CONTACT_TRIED, "contact_tried",
                  NULL);
    gate_list_put(&c->list, request->will_be_told, GATE_SAY_ATTEST_WILL_BE_TOLD, "will_be_told",
                  NULL);
    gate_list_put(&c->list, !gate_same(request->member, c->person->person), GATE_SAY_TAG_OF_ASKER,
                  who, GATE_ARGS(.person = request->member));
    const struct gate_tag *tag = point != MODEL_NONE ? next_absent(c, point) : NULL;
    if (point != MODEL_NONE) {
        const struct model_point *model = &c->site->model->points[point];
        gate_list_put(&c->list, tag != NULL, GATE_SAY_TAG_MISSING_ABSENT, model->point,
                      GATE_ARGS(.person = request->member, .badge = request->badge,
                                .point = model->point, .title = model->title));
    }
    struct gate_fact how = {.by = c->person->person, .reason = request->reason, .absent = true};
    for (; gate_case_clear(c) && tag != NULL; tag = next_absent(c, point)) {
        char job[MODEL_ID_SIZE];
        gate_id_copy(job, tag->job);
        gate_tag_lift(c->gate, c->site, point, job, who, &how, c->now);
        leave_with_last_tag(c, gate_job_find(c->site, job), who);
    }
}

// Rule (4, lift-absent-tag): Only a supervisor lifts an absent owner's tag. [absent-by-anybody]
// Rule (5, last paragraph): An absent owner's tag ends also while the journal cannot write.
// [absent-refused-while-down]
const struct gate_verb_row gate_verb_lift_absent_tag = {
    .name = "lift-absent-tag",
    .about = "Lifts the lock and tag of somebody absent, not_on_site, contact_tried and "
             "will_be_told attested true (29 CFR 1910.147(e)(3)).",
    .fields = {GATE_MAY(job, ID), GATE_MUST(point, ID), GATE_PERSON, GATE_MAY(badge, NAME),
               GATE_MUST(reason, REASON), GATE_PLAIN(attest, ATTEST, false)},
    .one_of = {"person", "badge", "the tag's owner"},
    .who = GATE_WHO_ROLE,
    .roles = MODEL_ROLE_SUPERVISOR,
    .present = true,
    .ends = true,
    .decide = decide,
};
