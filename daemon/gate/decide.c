// Deciding requests: what every verb is asked first, its row and function, and the answer.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/review.h"
#include "gate/text.h"
#include "gate/verb/case.h"

// Runs the verb where its job is known; else that stands alone. So does being of another site,
// ahead of all else: whatever they name, they learn nothing of what there is here.
static void run(struct gate_case *c, const struct gate_verb_row *row) {
    const char *job = c->request->job;
    if (!model_person_of_site(c->person, c->site->model)) {
        gate_list_put(&c->list, false, GATE_SAY_OF_OTHER_SITE, c->person->person,
                      GATE_ARGS(.person = c->person->person));
        return;
    }
    if (job != NULL && !row->opens_job) {
        c->job = gate_job_find(c->site, job);
        if (c->job == NULL) {
            gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_JOB, job, GATE_ARGS(.job = job));
            return;
        }
    }
    if (row->of_job && c->job == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_NO_JOB_NAMED, NULL, NULL);
        return;
    }
    if (row->of_job && !gate_job_stands(c->job)) {
        gate_case_phase(c, GATE_PHASES_STANDING); // of an ended job nothing else is a reason
        return;
    }
    gate_case_row(c, row);
    row->decide(c);
}

// Refusals of the gates are told as events; those of other verbs are kept for the job's story.
static void tell_refusal(struct gate_case *c) {
    enum gate_fact_type own = gate_verb_row(c->request->verb)->refusal;
    enum gate_fact_type type = own != 0 ? own : GATE_FACT_REQUEST_REFUSED;
    if (c->job == NULL || !c->gate->journal_up) {
        return;
    }
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, c->job, type, c->now);
    fact.by = c->person->person;
    fact.verb = gate_verb_name(c->request->verb);
    fact.point = c->request->point;
    fact.check = c->request->check;
    fact.test = c->request->test;
    fact.refusals = c->answer->refusals;
    fact.refusal_count = c->answer->refusal_count;
    gate_emit(c->gate, &fact);
}

static void copy_refusals(struct gate_case *c) {
    for (size_t i = 0; i < c->list.count; i++) {
        (void)gate_answer_add(c->answer, &c->list.items[i].refusal);
    }
}

static void fill_answer(struct gate_case *c) {
    struct gate_answer *answer = c->answer;
    answer->accepted = gate_case_clear(c);
    if (answer->accepted) {
        gate_review(c->gate, c->site, c->now);
    } else {
        copy_refusals(c);
        tell_refusal(c);
    }
    if (c->job != NULL) {
        answer->has_phase = true;
        answer->phase = c->job->phase;
        answer->lockout = c->job->lockout;
    }
}

void gate_decide(struct gate *gate, uint32_t site, const struct gate_request *request,
                 struct gate_time now, struct gate_answer *answer) {
    answer->refusal_count = 0;
    answer->accepted = answer->has_phase = answer->has_result = false;
    answer->at = now;
    gate_id_copy(answer->job, request->job);
    struct gate_case c = {.gate = gate,
                          .site = &gate->sites[site],
                          .request = request,
                          .person = model_person_find(gate->model, request->person),
                          .now = now,
                          .answer = answer,
                          .list = {.unmet_only = true}};
    if (c.person == NULL) {
        gate_list_put(&c.list, false, GATE_SAY_UNKNOWN_ASKER, request->person,
                      GATE_ARGS(.person = request->person));
    } else {
        // Time alone may have changed what the last reading proved: judge the state as it is now.
        gate_tick(gate, now);
        run(&c, gate_verb_row(request->verb));
    }
    fill_answer(&c);
    gate_list_free(&c.list);
}
