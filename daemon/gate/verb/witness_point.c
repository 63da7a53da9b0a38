// witness-point: a person's statement about a point that has no sensor.
#include <string.h>

#include "gate/credential.h"
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/point.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/review.h"
#include "gate/verb/case.h"
#include "gate/word.h"

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
    if (!overseer) {
        gate_case_qualified(c);
    }
}

// Whether the asker's word is one of the crew of a job: of isolated, who lacks a credential of it
// is none.
static bool speaks_for(const struct gate_case *c, const struct gate_job *job) {
    const char *person = c->person->person;
    return gate_member_of(job, person) != NULL &&
           (c->request->state == MODEL_POINT_LIVE ||
            gate_holds_credentials(c->gate, c->site, job, person, c->now));
}

// The jobs for which the asker speaks: those that stand, and of live, where none of them requires
// the point, the last that did.
// Rule (1, helper; R28): A helper's word of isolated counts for no job of which they lack a
// credential. [word-of-a-helper]
static size_t jobs_of(const struct gate_case *c, uint32_t point, const char **jobs, size_t room) {
    size_t count = 0;
    for (size_t i = 0; i < c->site->job_count && count < room; i++) {
        const struct gate_job *job = c->site->jobs[i];
        if (gate_job_stands(job) && speaks_for(c, job)) {
            jobs[count++] = job->job;
        }
    }
    const struct gate_job *last = gate_last_to_require(c->site, point);
    if (c->request->state == MODEL_POINT_LIVE && last != NULL && count < room &&
        speaks_for(c, last)) {
        jobs[count++] = last->job;
    }
    return count;
}

// Rule (3, Words; 4, Only the present is permitted): A word of live that waited proves nothing.
// [late-word-proves]
static void emit_statement(struct gate_case *c, uint32_t point, bool beside) {
    const char *jobs[64];
    struct gate_fact fact =
        gate_fact_of_point(c->gate, c->site, point, GATE_FACT_POINT_WITNESSED, c->now);
    fact.job = c->job != NULL ? c->job->job : NULL;
    fact.person = c->person->person;
    fact.has_state = true;
    fact.state = c->request->state;
    fact.has_overseer = true;
    fact.beside = beside;
    fact.waited = c->request->waited;
    if (!fact.waited) {
        fact.jobs = jobs;
        fact.job_count = jobs_of(c, point, jobs, sizeof jobs / sizeof *jobs);
        fact.overseer = model_person_has(c->person, GATE_OVERSEERS);
    }
    gate_emit(c->gate, &fact);
}

// Whether the asker's word of live would prove the point live for anybody.
static bool is_prover(const struct gate_case *c, uint32_t point) {
    if (c->request->waited || gate_distrusts(c->site, point, c->person->person)) {
        return false;
    }
    if (model_person_has(c->person, GATE_OVERSEERS)) {
        return true;
    }
    const struct gate_job *last = gate_last_to_require(c->site, point);
    if (last != NULL) {
        return speaks_for(c, last);
    }
    for (size_t i = 0; i < c->site->job_count; i++) {
        const struct gate_job *job = c->site->jobs[i];
        if (gate_job_stands(job) && gate_requires(job, point) && speaks_for(c, job)) {
            return true;
        }
    }
    return false;
}

// Whether the asker's own word of live stands, by which the point is live.
// Rule (3, Words): One that has aged is said anew, also where another's keeps the point live.
// [live-again-of-an-aged-word]
static bool has_said_so(const struct gate_case *c, uint32_t point) {
    const struct gate_point *state = &c->site->points[point];
    for (size_t i = 0; i < state->live_statement_count; i++) {
        const struct gate_statement *statement = &state->live_statements[i];
        if (strcmp(statement->person, c->person->person) == 0) {
            return state->state == MODEL_POINT_LIVE &&
                   gate_word_stands(c->site, point, statement, c->now);
        }
    }
    return false;
}

// Rule (3, Words; R36): Live said again of a point that is proved live changes nothing; the word of
// a prover renews its age. [live-again-unproves, live-again-not-renewed]
// Rule (4, a stop; R12): Who says live again while their word stands has said it before.
// [live-again-counts]
static void say_live(struct gate_case *c, uint32_t point) {
    bool proved = gate_point_proved_live(c->gate, c->site, point, NULL, c->now);
    bool said = has_said_so(c, point);
    c->again = proved || said;
    bool is_this =
        said && c->request->done; // said ahead of its turn, in which it is asked once more
    c->idle = c->again && (is_this || !is_prover(c, point));
    if (c->idle || c->asks_only) {
        return;
    }
    emit_statement(c, point, c->site->points[point].state == MODEL_POINT_LIVE);
}

// Rule (3, A sensor out of order; R27): Who distrusts the sensor says no isolated in its place.
// [distrust-says-isolated]
static void require_no_distrust(struct gate_case *c, uint32_t point) {
    bool met = !gate_distrusts(c->site, point, c->person->person);
    gate_list_put(&c->list, met, GATE_SAY_DISTRUST_AND_WITNESS, c->site->model->points[point].point,
                  GATE_ARGS(.person = c->person->person));
}

// Rule (4, witness-point): No word stands for a point that has sensors. [word-on-sensors]
static void decide(struct gate_case *c) {
    uint32_t point = gate_case_point(c, false);
    require_witness(c);
    if (point != MODEL_NONE) {
        const struct model_point *model = &c->site->model->points[point];
        gate_list_put(&c->list, gate_speech_of(c->site, point).spoken, GATE_SAY_POINT_HAS_SENSORS,
                      model->point, GATE_ARGS(.point = model->point, .title = model->title));
    }
    if (point != MODEL_NONE && c->request->state == MODEL_POINT_ISOLATED) {
        require_no_distrust(c, point);
    }
    if (!gate_case_met(c)) {
        return;
    }
    if (c->request->state == MODEL_POINT_LIVE) {
        say_live(c, point);
    } else if (!c->asks_only) {
        emit_statement(c, point, false);
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
    .ends = is_word_of_live,
    .decide = decide,
};
