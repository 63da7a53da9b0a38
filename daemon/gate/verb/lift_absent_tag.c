// lift-absent-tag: the lock of somebody who is not there (29 CFR 1910.147(e)(3)).
#include "gate/verb/case.h"

static void require_attested(struct gate_case *c, bool attested, const char *what,
                             const char *say) {
    gate_list_require(&c->list, attested, MODEL_CODE_ATTESTATION_MISSING, what, "attested true",
                      "not attested", say);
}

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

static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    const char *who = request->member != NULL ? request->member : request->badge;
    uint32_t point = gate_case_point(c, false);
    require_attested(c, request->not_on_site, "not_on_site",
                     "Verify first that the owner is not on site.");
    require_attested(c, request->contact_tried, "contact_tried",
                     "Make every reasonable effort to reach the owner first.");
    require_attested(c, request->will_be_told, "will_be_told",
                     "The owner must be told before resuming work: attest that.");
    gate_list_require(&c->list, !gate_same(request->member, c->person->person),
                      MODEL_CODE_NOT_ALLOWED, who, "the lock of somebody absent", "your own",
                      "Your own lock you lift yourself.");
    const struct gate_tag *tag = point != MODEL_NONE ? next_absent(c, point) : NULL;
    if (point != MODEL_NONE) {
        gate_list_require(&c->list, tag != NULL, MODEL_CODE_TAG_MISSING, request->point,
                          "a lock of theirs", "none", "No such lock hangs there.");
    }
    struct gate_fact how = {.by = c->person->person, .reason = request->reason, .absent = true};
    for (; gate_case_clear(c) && tag != NULL; tag = next_absent(c, point)) {
        char job[MODEL_ID_SIZE];
        gate_id_copy(job, tag->job);
        gate_tag_lift(c->gate, c->site, point, job, who, &how, c->now);
        leave_with_last_tag(c, gate_job_find(c->site, job), who);
    }
}

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
