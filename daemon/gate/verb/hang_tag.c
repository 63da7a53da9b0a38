// hang-tag: the asker's own lock and tag on a point that reads isolated.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/point.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/tag.h"
#include "gate/verb/case.h"

// Rule (4, hang-tag; 29 CFR 1910.147(d)(3)-(4) [P]): A tag is hung only on a point that reads
// isolated now. [hang-on-anything]
static void require_reads_isolated(struct gate_case *c, uint32_t point) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(c->gate, c->site, c->job, point, c->now, &next);
    bool met = view.state == MODEL_POINT_ISOLATED;
    const struct model_point *model = &c->site->model->points[point];
    struct gate_args args = gate_point_args(model, &view);
    struct gate_refusal *refusal =
        gate_list_put(&c->list, met, GATE_SAY_POINT_ISOLATE_FIRST, model->point, &args);
    if (refusal != NULL) {
        refusal->code = met ? MODEL_CODE_POINT_UNKNOWN : gate_view_code(&view);
        refusal->age_ms = view.heard != 0 ? c->now.wall - view.heard : -1;
    }
}

// Rule (2; 4, hang-tag; R14): Where the locks are the reader's alone no tag is hung by request.
// [hang-beside-the-reader]
static void require_no_reader(struct gate_case *c, uint32_t point) {
    const struct model_point *model = &c->site->model->points[point];
    gate_list_put(&c->list, !gate_locks_by_reader(c->site, point), GATE_SAY_TAG_BY_READER,
                  model->point, GATE_ARGS(.point = model->point, .title = model->title));
}

static void decide(struct gate_case *c) {
    uint32_t point = gate_case_point(c, true);
    if (point != MODEL_NONE) {
        require_no_reader(c, point);
        require_reads_isolated(c, point);
    }
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_fact_of_point(c->gate, c->site, point, GATE_FACT_TAG_HUNG, c->now);
    fact.job = c->job->job;
    fact.person = c->person->person;
    fact.has_counts = fact.counts = true;
    // A lock that its reader still sees from before is this one.
    fact.adopted = gate_tag_find(c->site, point, "", c->person->person) != NULL;
    gate_tag_hang(c->gate, c->site, &fact);
}

// Rule (4, hang-tag): A tag is hung by one of the crew. [hang-by-anybody]
const struct gate_verb_row gate_verb_hang_tag = {
    .name = "hang-tag",
    .about = "Hangs the asker's lock and tag on a required point that reads isolated.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(point, ID)},
    .who = GATE_WHO_CREW,
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
