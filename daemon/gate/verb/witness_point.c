// witness-point: a person's statement about a point that has no sensor.
#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/review.h"
#include "gate/verb/case.h"

// A statement of isolated is for a job, by its crew, a manager or a supervisor; of live, by
// anybody.
// Rule (4, witness-point): Isolated is said by the crew, a manager or a supervisor.
// [anybody-says-isolated]
// Rule (5, last paragraph): A word of isolated is refused while the journal cannot write.
// [isolated-while-down]
static void require_witness(struct gate_case *c) {
    bool overseer = model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR);
    if (c->request->state != MODEL_POINT_ISOLATED) {
        return;
    }
    gate_require_journal(c->gate, &c->list);
    if (c->job == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_NO_JOB_OF_WORD, NULL, NULL);
        return;
    }
    gate_case_phase(c, GATE_PHASES_STANDING);
    if (!overseer) {
        gate_case_qualified(c);
    }
}

static void emit_statement(struct gate_case *c, uint32_t point) {
    const char *person = c->person->person;
    struct gate_fact fact =
        gate_fact_of_point(c->gate, c->site, point, GATE_FACT_POINT_WITNESSED, c->now);
    const char *jobs[64];
    for (size_t i = 0; i < c->site->job_count && fact.job_count < 64; i++) {
        const struct gate_job *job = c->site->jobs[i];
        if (gate_job_stands(job) && gate_member_of(job, person) != NULL) {
            jobs[fact.job_count++] = job->job;
        }
    }
    fact.jobs = jobs;
    fact.job = c->job != NULL ? c->job->job : NULL;
    fact.person = person;
    fact.has_state = true;
    fact.state = c->request->state;
    fact.has_overseer = true;
    fact.overseer = model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR);
    gate_emit(c->gate, &fact);
}

// Rule (4, witness-point): No word stands for a point that has sensors. [word-on-sensors]
// Rule (5, Breaking): Live said again in stopped raises the alarm again. [live-again-unheeded]
static void decide(struct gate_case *c) {
    uint32_t point = gate_case_point(c, false);
    require_witness(c);
    if (point != MODEL_NONE) {
        const struct model_point *model = &c->site->model->points[point];
        gate_list_put(&c->list, model->sensor_count == 0, GATE_SAY_POINT_HAS_SENSORS, model->point,
                      GATE_ARGS(.point = model->point, .title = model->title));
    }
    if (!gate_case_clear(c)) {
        return;
    }
    emit_statement(c, point);
    if (c->request->state == MODEL_POINT_LIVE && c->site->points[point].state == MODEL_POINT_LIVE) {
        // Said live again: what hung since is no safer than before.
        gate_said_live(c->gate, c->site, point, 0, true, c->now);
    }
}

// Rule (4, witness-point; R11): A word of live is taken however late. [late-word-refused]
static bool is_word_of_live(const struct gate_case *c) {
    return c->request->state == MODEL_POINT_LIVE;
}

const struct gate_verb_row gate_verb_witness_point = {
    .name = "witness-point",
    .about = "Says what a point without sensors is.",
    .fields = {GATE_MAY(job, ID), GATE_MUST(point, ID), GATE_PLAIN(state, STATE, true)},
    .who = GATE_WHO_VERB,
    .roles = GATE_OVERSEERS,
    .asker = "isolated: one of the crew, a manager or a supervisor, for a job; live: anybody of "
             "the site",
    .present = true,
    .ends = true,
    .however_late = is_word_of_live,
    .decide = decide,
};
