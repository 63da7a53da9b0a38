// Deciding requests: one table of verbs, what every verb is asked first, and the answer.
#include "gate/internal.h"

struct verb {
    void (*decide)(struct gate_case *c);
    bool of_job;    // names a job, which must be known
    bool permits;   // refused while the journal cannot write
    unsigned roles; // only these may ask; 0: the verb's own rule
};

#define OVERSEERS (MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)
#define OPENERS (MODEL_ROLE_TRACKER | OVERSEERS)

static const struct verb verbs[GATE_VERB_COUNT] = {
    [GATE_VERB_OPEN_JOB] = {gate_open_job, false, true, OPENERS},
    [GATE_VERB_ASSIGN_JOB] = {gate_assign_job, true, true, OPENERS},
    [GATE_VERB_JOIN_JOB] = {gate_join_job, true, true, MODEL_ROLE_TECHNICIAN},
    [GATE_VERB_LEAVE_JOB] = {gate_leave_job, true, true, 0},
    [GATE_VERB_WITNESS_POINT] = {gate_witness_point, false, false, 0},
    [GATE_VERB_HANG_TAG] = {gate_hang_tag, true, true, 0},
    [GATE_VERB_LIFT_TAG] = {gate_lift_tag, true, false, 0},
    [GATE_VERB_LIFT_ABSENT_TAG] = {gate_lift_absent_tag, false, false, MODEL_ROLE_SUPERVISOR},
    [GATE_VERB_SIGN_CHECK] = {gate_sign_check, true, false, 0},
    [GATE_VERB_START_WORK] = {gate_start_work, true, false, 0},
    [GATE_VERB_STOP_WORK] = {gate_stop_work, true, false, 0},
    [GATE_VERB_FINISH_WORK] = {gate_finish_work, true, false, 0},
    [GATE_VERB_BEGIN_TEST] = {gate_begin_test, true, false, 0},
    [GATE_VERB_RECORD_TEST] = {gate_record_test, true, true, 0},
    [GATE_VERB_REWORK] = {gate_rework, true, true, 0},
    [GATE_VERB_SET_ASIDE] = {gate_set_aside, true, true, 0},
    [GATE_VERB_RETURN_POSITION] = {gate_return_position, true, false, 0},
    [GATE_VERB_HAND_OVER] = {gate_hand_over, true, true, 0},
    [GATE_VERB_ACCEPT_LEAD] = {gate_accept_lead, true, true, 0},
    [GATE_VERB_CANCEL_JOB] = {gate_cancel_job, true, true, OPENERS},
    [GATE_VERB_ACKNOWLEDGE_ALARM] = {gate_acknowledge_alarm, false, true, 0},
};

bool gate_case_clear(const struct gate_case *c) {
    return c->list.count == 0 && !c->list.failed && !c->gate->broken_memory;
}

void gate_case_roles(struct gate_case *c, unsigned roles, const char *who) {
    gate_list_require(&c->list, model_person_has(c->person, roles), MODEL_CODE_NOT_ALLOWED,
                      c->person->person, who, "another role", "Your role does not allow this.");
}

void gate_case_leader(struct gate_case *c) {
    bool technician = model_person_has(c->person, MODEL_ROLE_TECHNICIAN);
    gate_list_require(&c->list, technician, MODEL_CODE_NOT_ALLOWED, c->person->person,
                      "a technician", "another role", "Your role does not allow this.");
    bool leads = gate_leads(c->job, c->person->person);
    gate_list_require(&c->list, leads, MODEL_CODE_NOT_ASSIGNED, c->job->job,
                      "the technician in charge",
                      c->job->leader[0] != '\0' ? c->job->leader : "nobody",
                      "Only the technician in charge of this job may do that.");
}

void gate_case_crew(struct gate_case *c) {
    if (gate_member_of(c->job, c->person->person) != NULL) {
        return;
    }
    if (!model_person_has(c->person, MODEL_ROLE_TECHNICIAN)) {
        gate_case_roles(c, 0, "one of the crew");
        return;
    }
    gate_list_require(&c->list, false, MODEL_CODE_NOT_IN_CREW, c->job->job, "one of the crew",
                      "not in it", "Join the job first: you are not in its crew.");
}

static void phases_text(unsigned phases, char *buffer, size_t size) {
    if (phases == GATE_PHASES_STANDING) {
        gate_text(buffer, size, "standing");
        return;
    }
    buffer[0] = '\0';
    for (int phase = 0; phase < MODEL_PHASE_COUNT; phase++) {
        if ((phases >> phase & 1u) != 0) {
            size_t length = strlen(buffer);
            gate_text(buffer + length, size - length, "%s%s", length > 0 ? " or " : "",
                      model_phase_name((enum model_phase)phase));
        }
    }
}

void gate_case_phase(struct gate_case *c, unsigned phases) {
    bool met = (phases >> c->job->phase & 1u) != 0;
    struct gate_refusal *refusal =
        gate_list_add(&c->list, met, MODEL_CODE_WRONG_PHASE, c->job->job);
    if (refusal != NULL) {
        phases_text(phases, refusal->need, sizeof refusal->need);
        gate_text(refusal->found, sizeof refusal->found, "%s", model_phase_name(c->job->phase));
        gate_text(refusal->say, sizeof refusal->say, "The job is %s: this is for one that is %s.",
                  refusal->found, refusal->need);
    }
}

static void refuse_alone(struct gate_case *c, enum model_code code, const char *subject,
                         const char *need, const char *say) {
    gate_list_require(&c->list, false, code, subject, need, "none", say);
}

// Runs the verb where its job is known; else that stands alone. So does being of another site,
// ahead of all else: whatever they name, they learn nothing of what there is here.
static void run(struct gate_case *c, const struct verb *verb) {
    const char *job = c->request->job;
    if (!model_person_of_site(c->person, c->site->model)) {
        gate_list_require(&c->list, false, MODEL_CODE_NOT_ALLOWED, c->person->person,
                          "somebody of this site", "of other sites",
                          "You are not registered for this site.");
        return;
    }
    if (job != NULL && c->request->verb != GATE_VERB_OPEN_JOB) {
        c->job = gate_job_find(c->site, job);
        if (c->job == NULL) {
            refuse_alone(c, MODEL_CODE_UNKNOWN_JOB, job, "a job of this site",
                         "There is no such job here.");
            return;
        }
    }
    if (verb->of_job && c->job == NULL) {
        refuse_alone(c, MODEL_CODE_UNKNOWN_JOB, "", "a job of this site",
                     "Name the job that this is for.");
        return;
    }
    if (verb->of_job && !gate_job_stands(c->job)) {
        gate_case_phase(c, GATE_PHASES_STANDING); // of an ended job nothing else is a reason
        return;
    }
    if (verb->roles != 0) {
        gate_case_roles(c, verb->roles, "a role that may ask this");
    }
    if (verb->permits) {
        gate_require_journal(c->gate, &c->list);
    }
    verb->decide(c);
}

// Refusals of the three gates are told as events; those of other verbs are kept for the job's
// story.
static void tell_refusal(struct gate_case *c) {
    enum gate_fact_type type = c->request->verb == GATE_VERB_START_WORK   ? GATE_FACT_WORK_REFUSED
                               : c->request->verb == GATE_VERB_BEGIN_TEST ? GATE_FACT_TEST_REFUSED
                               : c->request->verb == GATE_VERB_RETURN_POSITION
                                   ? GATE_FACT_RETURN_REFUSED
                                   : GATE_FACT_REQUEST_REFUSED;
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
        const struct gate_refusal *from = &c->list.items[i].refusal;
        if (gate_answer_refuse(c->answer, from->code, from->subject, from->need, from->found,
                               from->say)) {
            c->answer->refusals[c->answer->refusal_count - 1].age_ms = from->age_ms;
        }
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
        refuse_alone(&c, MODEL_CODE_UNKNOWN_PERSON, request->person, "a person of the people file",
                     "You are not known here.");
    } else {
        // Time alone may have changed what the last word proved: judge the state as it is now.
        gate_tick(gate, now);
        run(&c, &verbs[request->verb]);
    }
    fill_answer(&c);
    gate_list_free(&c.list);
}
