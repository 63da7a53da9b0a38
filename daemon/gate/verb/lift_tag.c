// lift-tag: the asker's own lock and tag off.
#include <string.h>

#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/tag.h"
#include "gate/verb/case.h"

static bool another_hangs(const struct gate_case *c, uint32_t point) {
    for (size_t i = 0; i < c->site->points[point].tag_count; i++) {
        if (strcmp(c->site->points[point].tags[i].job, c->job->job) == 0) {
            return true;
        }
    }
    return false;
}

// Rule (4, lift-tag; 29 CFR 1910.147(e)(3) [P]): A tag is lifted by who hung it.
// [others-tag-lifted]
// Rule (4, a stop; R12): Where no tag of the job hangs there is nothing to lift, and that is no
// reason to refuse. [lift-of-nothing-refused]
// Rule (4, a stop; R12): Where only another's tag hangs it is tag-not-yours. [lift-anothers-again]
// Rule (4, a stop; R12): But not where the asker's was lifted ahead of the request's turn.
// [lift-done-refused]
// Rule (4, a stop; R12): Nor where the very same request lifted it before.
// [lift-said-again-refused]
static void decide(struct gate_case *c) {
    const char *person = c->person->person;
    uint32_t point = gate_case_point(c, false);
    const struct gate_tag *tag =
        point != MODEL_NONE ? gate_tag_find(c->site, point, c->job->job, person) : NULL;
    if (point != MODEL_NONE && tag == NULL) {
        const struct model_point *model = &c->site->model->points[point];
        c->again = c->idle = c->request->done || c->request->before || !another_hangs(c, point);
        gate_list_put(&c->list, c->again, GATE_SAY_TAG_NOT_YOURS, model->point,
                      GATE_ARGS(.person = person, .point = model->point, .title = model->title));
    }
    if (gate_case_clear(c) && !c->idle) {
        struct gate_fact how = {.by = person};
        gate_tag_lift(c->gate, c->site, point, tag, &how, c->now);
    }
}

// Rule (5, last paragraph): A tag lift is taken also while the journal cannot write.
// [lift-refused-while-down]
const struct gate_verb_row gate_verb_lift_tag = {
    .name = "lift-tag",
    .about = "Lifts the asker's lock and tag of the job.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(point, ID)},
    .who = GATE_WHO_VERB,
    .asker = "who hung it",
    .of_job = true,
    .ends = gate_case_always,
    .recalls = true,
    .ending = true,
    .decide = decide,
};
