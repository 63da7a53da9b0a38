// Deciding requests: what every verb is asked first, its row and function, and the answer.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/review.h"
#include "gate/text.h"
#include "gate/verb/case.h"

#include <stdlib.h>

// Refusals of the gates are told as events; those of other verbs are kept for the job's story.
static void tell_refusal(struct gate_case *c) {
    enum gate_fact_type own = gate_verb_row(c->request->verb)->refusal;
    enum gate_fact_type type = own != 0 ? own : GATE_FACT_REQUEST_REFUSED;
    if (c->job == NULL || !c->gate->journal_up || c->early) {
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
    answer->again = answer->accepted && c->again;
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

static struct gate_case case_of(struct gate *gate, uint32_t site,
                                const struct gate_request *request, struct gate_time now,
                                struct gate_answer *answer) {
    answer->refusal_count = 0;
    answer->accepted = answer->again = answer->has_phase = false;
    answer->has_result = answer->has_signed = answer->has_spill = false;
    answer->at = now;
    gate_id_copy(answer->job, request->job);
    return (struct gate_case){.gate = gate,
                              .site = &gate->sites[site],
                              .request = request,
                              .person = model_person_find(gate->model, request->person),
                              .now = now,
                              .answer = answer,
                              .list = {.unmet_only = true}};
}

static void require_known(struct gate_case *c) {
    const char *asker = c->request->person;
    gate_list_put(&c->list, c->person != NULL, GATE_SAY_UNKNOWN_ASKER, asker,
                  GATE_ARGS(.person = asker));
}

bool gate_admit(struct gate *gate, uint32_t site, const struct gate_request *request,
                struct gate_time now, struct gate_answer *answer) {
    struct gate_case c = case_of(gate, site, request, now, answer);
    require_known(&c);
    if (c.person != NULL) {
        gate_case_site(&c);
    }
    bool admitted = gate_case_met(&c);
    copy_refusals(&c);
    gate_list_free(&c.list);
    return admitted;
}

bool gate_ends(struct gate *gate, uint32_t site, const struct gate_request *request) {
    struct gate_case c = {.gate = gate, .site = &gate->sites[site], .request = request};
    c.job = request->job != NULL ? gate_job_find(c.site, request->job) : NULL;
    return gate_case_ends(&c, gate_verb_row(request->verb));
}

// Rule (5, Breaking): A request is judged by what time has changed before it. [decide-late]
static void decide(struct gate *gate, uint32_t site, const struct gate_request *request, bool early,
                   struct gate_time now, struct gate_answer *answer) {
    struct gate_case c = case_of(gate, site, request, now, answer);
    c.early = early;
    require_known(&c);
    if (c.person != NULL) {
        // Time alone may have changed what the last reading proved: judge the state as it is now.
        gate_tick(gate, now);
        gate_case_run(&c, gate_verb_row(request->verb));
    }
    fill_answer(&c);
    free(answer->tests);
    answer->tests = c.list.tests; // the answer's refusals borrow its ids
    c.list.tests = NULL;
    gate_list_free(&c.list);
}

void gate_decide(struct gate *gate, uint32_t site, const struct gate_request *request,
                 struct gate_time now, struct gate_answer *answer) {
    decide(gate, site, request, false, now, answer);
}

void gate_decide_early(struct gate *gate, uint32_t site, const struct gate_request *request,
                       struct gate_time now, struct gate_answer *answer) {
    decide(gate, site, request, true, now, answer);
}
