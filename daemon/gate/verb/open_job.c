// open-job: a repair begins; its position goes out of service.
#include <stdlib.h>
#include <string.h>

#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/tag.h"
#include "gate/used.h"
#include "gate/verb/case.h"

// Rule (4, open-job): A job is opened where none stands on the position. [open-on-a-job]
static void require_position_free(struct gate_case *c, uint32_t position) {
    const struct gate_job *stands = gate_job_on(c->site, position);
    gate_list_put(
        &c->list, stands == NULL, GATE_SAY_POSITION_HAS_JOB, c->request->position,
        GATE_ARGS(.with = stands != NULL ? stands->job : NULL, .position = c->request->position));
}

// Rule (2; 29 CFR 1910.147(d)(3) [P]): A job is not opened where an energy has no point.
// [open-unmapped]
// Rule (4, the answer; R34): args name the energy. [arg-energy]
// Rule (2, inspection): An inspection isolates nothing, which hinders no opening of it.
// [inspection-unmapped]
static void require_energies(struct gate_case *c, const struct model_requirements *needs,
                             uint32_t position) {
    const char *energy = needs->inspection ? NULL : gate_unmapped(c->site->model, needs, position);
    gate_list_put(&c->list, energy == NULL, GATE_SAY_ENERGY_UNMAPPED_OPEN, energy,
                  GATE_ARGS(.energy = energy));
}

static void emit_opened(struct gate_case *c, const struct model_requirements *needs,
                        uint32_t position) {
    const struct gate_request *request = c->request;
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_JOB_OPENED, c->now);
    fact.job = request->job;
    fact.position = c->site->model->positions[position].position;
    fact.procedure = needs->procedure;
    fact.person = request->technician;
    fact.by = c->person->person;
    fact.kit_family = request->kit_family;
    fact.part = request->part;
    fact.defect = request->defect;
    fact.note = request->note;
    fact.requirements = needs;
    // The evidence names the points that the opening requires, so that no later configuration can
    // require fewer.
    struct gate_evidence evidence[64];
    const struct model_position *model = &c->site->model->positions[position];
    for (size_t i = 0; i < model->point_count && fact.evidence_count < 64; i++) {
        const struct model_point *point = &c->site->model->points[model->points[i]];
        bool required = false;
        for (size_t e = 0; e < needs->isolate_count && !required; e++) {
            required = strcmp(needs->isolate[e], point->energy) == 0;
        }
        if (required) {
            evidence[fact.evidence_count++] =
                gate_evidence_of(c->gate, c->site, model->points[i], c->now);
        }
    }
    fact.evidence = evidence;
    gate_emit(c->gate, &fact);
}

// Rule (2, tests): A test that is one for each product is asked for every product of the position.
// [products-not-asked]
// Rule (4, open-job): A job's id was never used. [open-with-a-used-id]
// Rule (2, districts): A job is opened by the rules that are in effect at that instant.
// [rules-of-the-first-day]
// Rule (4, the answer; R34): args name what is not known. [arg-procedure]
static void decide(struct gate_case *c) {
    const struct gate_request *request = c->request;
    uint32_t position = model_position_find(c->site->model, request->position);
    const struct model_requirements *needs =
        model_requirements_find(c->gate->model, c->site->model, request->procedure, c->now.wall);
    gate_list_put(&c->list, gate_used_find(c->site, request->job) == NULL, GATE_SAY_JOB_EXISTS,
                  request->job, GATE_ARGS(.job = request->job));
    gate_list_put(&c->list, position != MODEL_NONE, GATE_SAY_UNKNOWN_POSITION, request->position,
                  GATE_ARGS(.position = request->position));
    gate_list_put(&c->list, needs != NULL, GATE_SAY_UNKNOWN_PROCEDURE, request->procedure,
                  GATE_ARGS(.procedure = request->procedure));
    if (request->technician != NULL) {
        gate_case_technician(c, request->technician);
    }
    if (position != MODEL_NONE) {
        require_position_free(c, position);
    }
    if (position != MODEL_NONE && needs != NULL) {
        require_energies(c, needs, position);
        const struct gate_kit kit = {request->kit_family, request->part};
        gate_require_match(c->site, needs, position, &kit, false, &c->list);
    }
    if (!gate_case_clear(c) || needs == NULL) {
        return;
    }
    struct model_requirements *here = model_requirements_at(needs, c->site->model, position);
    if (here == NULL) {
        c->list.failed = true;
        return;
    }
    emit_opened(c, here, position);
    free(here);
    c->job = gate_job_find(c->site, request->job);
    if (c->job != NULL && request->technician != NULL) {
        gate_tags_adopt(c->gate, c->site, c->job, request->technician, c->now);
    }
}

const struct gate_verb_row gate_verb_open_job = {
    .name = "open-job",
    .about = "Opens a job on a position; the position goes out of service.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(position, ID), GATE_MUST(procedure, ID),
               GATE_MAY(technician, ID), GATE_MAY(kit_family, NAME), GATE_MAY(part, NAME),
               GATE_MAY(defect, NOTE), GATE_MAY(note, NOTE),
               // The tracker's own number and data are taken, and not kept yet.
               GATE_MAY(external, NOTE), GATE_PLAIN(data, OBJECT, false)},
    .who = GATE_WHO_ROLE,
    .roles = GATE_OPENERS,
    .opens_job = true,
    .permits = true,
    .decide = decide,
};
