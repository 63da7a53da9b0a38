// The verbs of opening and ending jobs, and of their crew and lead.
#include "gate/internal.h"

#include <stdlib.h>

static void require_technician(struct gate_case *c, const char *id) {
    const struct model_person *person = model_person_find(c->gate->model, id);
    if (person == NULL) {
        gate_list_require(&c->list, false, MODEL_CODE_UNKNOWN_PERSON, id,
                          "a person of the people file", "none", "That person is not known here.");
        return;
    }
    bool fit = model_person_has(person, MODEL_ROLE_TECHNICIAN) &&
               model_person_of_site(person, c->site->model);
    gate_list_require(&c->list, fit, MODEL_CODE_NOT_ALLOWED, id, "a technician of this site",
                      "another role or site", "Only a technician of this site can be in charge.");
}

// --- open-job ---

static void require_position_free(struct gate_case *c, uint32_t position) {
    const struct gate_job *stands = gate_job_on(c->site, position);
    gate_list_require(&c->list, stands == NULL, MODEL_CODE_POSITION_HAS_JOB, c->request->position,
                      "no job on the position", stands != NULL ? stands->job : "none",
                      "Another job stands on this position.");
}

static void require_energies(struct gate_case *c, const struct model_requirements *needs,
                             uint32_t position) {
    const char *energy = gate_unmapped(c->site->model, needs, position);
    gate_list_require(
        &c->list, energy == NULL, MODEL_CODE_ENERGY_UNMAPPED, energy != NULL ? energy : "",
        "a point that isolates this energy", "none",
        "Nothing here is known to isolate an energy of this job: it cannot be opened.");
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
            evidence[fact.evidence_count++] = (struct gate_evidence){
                point->point, c->site->points[model->points[i]].state,
                c->site->points[model->points[i]].trust,
                gate_point_heard(c->gate, c->site, model->points[i], c->now)};
        }
    }
    fact.evidence = evidence;
    gate_emit(c->gate, &fact);
}

void gate_open_job(struct gate_case *c) {
    const struct gate_request *request = c->request;
    uint32_t position = model_position_find(c->site->model, request->position);
    const struct model_requirements *needs =
        model_requirements_find(c->gate->model, c->site->model, request->procedure, c->now.wall);
    gate_list_require(&c->list, gate_used_find(c->site, request->job) == NULL,
                      MODEL_CODE_JOB_EXISTS, request->job, "an id never used", "used before",
                      "This job id was used before: take a new one.");
    gate_list_require(&c->list, position != MODEL_NONE, MODEL_CODE_UNKNOWN_POSITION,
                      request->position, "a position of this site", "none",
                      "There is no such position here.");
    gate_list_require(&c->list, needs != NULL, MODEL_CODE_UNKNOWN_PROCEDURE, request->procedure,
                      "a configured procedure", "none", "There is no such procedure.");
    if (request->technician != NULL) {
        require_technician(c, request->technician);
    }
    if (position != MODEL_NONE) {
        require_position_free(c, position);
    }
    if (position != MODEL_NONE && needs != NULL) {
        require_energies(c, needs, position);
        gate_require_match(c->site, needs, position, request->kit_family, false, &c->list);
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

// --- assign-job, cancel-job ---

void gate_assign_job(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_OPEN);
    require_technician(c, c->request->technician);
    gate_require_no_tags_of_job(c->site, c->job, NULL, &c->list);
    gate_require_match(c->site, c->job->needs, c->job->position, c->request->kit_family, false,
                       &c->list);
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_ASSIGNED, c->now);
    fact.person = c->request->technician;
    fact.by = c->person->person;
    fact.kit_family = c->request->kit_family;
    gate_emit(c->gate, &fact);
    gate_tags_adopt(c->gate, c->site, c->job, c->request->technician, c->now);
}

static void clear_alarm_of(struct gate_case *c) {
    struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = c->job};
    gate_alarm_clear(c->gate, c->site, &about, c->now);
}

void gate_cancel_job(struct gate_case *c) {
    gate_case_phase(c, 1u << MODEL_PHASE_OPEN);
    gate_require_no_tags_of_job(c->site, c->job, NULL, &c->list);
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_CANCELLED, c->now);
    fact.by = c->person->person;
    fact.reason = c->request->reason;
    gate_emit(c->gate, &fact);
    clear_alarm_of(c);
}

// --- join-job, leave-job ---

void gate_join_job(struct gate_case *c) {
    gate_case_phase(c, GATE_PHASES_STANDING);
    gate_require_credentials(c->site, c->job->needs, c->person, c->person->person, c->now,
                             &c->list);
    if (!gate_case_clear(c) || gate_member_of(c->job, c->person->person) != NULL) {
        return; // who is in the crew already stays in it
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CREW_JOINED, c->now);
    fact.person = c->person->person;
    gate_emit(c->gate, &fact);
    gate_tags_adopt(c->gate, c->site, c->job, c->person->person, c->now);
    if (!gate_protected(c->site, c->job, c->person->person)) {
        fact = gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_CREW_UNPROTECTED, c->now);
        fact.person = c->person->person;
        gate_emit(c->gate, &fact);
    }
}

static void emit_left(struct gate_case *c, struct gate_job *job, const char *person) {
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, job, GATE_FACT_CREW_LEFT, c->now);
    fact.person = person;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

void gate_leave_job(struct gate_case *c) {
    const char *asker = c->person->person;
    const char *who = c->request->member != NULL ? c->request->member : asker;
    gate_case_phase(c, GATE_PHASES_STANDING);
    if (strcmp(who, asker) == 0) {
        gate_case_crew(c);
    } else {
        if (!model_person_has(c->person, MODEL_ROLE_SUPERVISOR)) {
            gate_case_leader(c);
        }
        gate_list_require(&c->list, gate_member_of(c->job, who) != NULL, MODEL_CODE_NOT_IN_CREW,
                          who, "one of the crew", "not in it", "That person is not in the crew.");
    }
    gate_list_require(&c->list, !gate_leads(c->job, who), MODEL_CODE_NOT_ALLOWED, who,
                      "somebody who does not lead", "the technician in charge",
                      "Who is in charge cannot leave: hand the lead over first.");
    gate_require_no_tags_of_job(c->site, c->job, who, &c->list);
    if (gate_case_clear(c)) {
        emit_left(c, c->job, who);
    }
}

// --- hand-over, accept-lead (29 CFR 1910.147(f)(4)) ---

void gate_hand_over(struct gate_case *c) {
    gate_case_phase(c, GATE_PHASES_STANDING);
    if (!model_person_has(c->person, MODEL_ROLE_SUPERVISOR)) {
        gate_case_leader(c);
    }
    const char *to = c->request->to;
    bool in_crew = gate_member_of(c->job, to) != NULL;
    gate_list_require(&c->list, in_crew, MODEL_CODE_NOT_IN_CREW, to, "one of the crew", "not in it",
                      "The lead can only be offered to one of the crew.");
    gate_list_require(&c->list, !gate_leads(c->job, to), MODEL_CODE_NOT_ALLOWED, to,
                      "somebody who does not lead", "the technician in charge",
                      "That person is in charge already.");
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_LEAD_OFFERED, c->now);
    fact.to = to;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

// Whether the person signed the check, within limits, since joining, and it still stands.
static bool signed_since_joining(const struct gate_case *c, const char *check) {
    const struct gate_member *member = gate_member_of(c->job, c->person->person);
    for (size_t i = 0; member != NULL && i < c->job->signature_count; i++) {
        const struct gate_signature *signature = &c->job->signatures[i];
        if (strcmp(signature->check, check) == 0 && signature->pass && !signature->void_ &&
            strcmp(signature->by, c->person->person) == 0 &&
            signature->order > member->joined_order) {
            return true;
        }
    }
    return false;
}

static void require_own_verify(struct gate_case *c) {
    for (size_t i = 0; i < c->job->needs->check_count; i++) {
        const struct model_check *check = &c->job->needs->checks[i];
        if (check->group == MODEL_GROUP_VERIFY) {
            gate_list_require(&c->list, signed_since_joining(c, check->check),
                              MODEL_CODE_CHECK_MISSING, check->check, check->ask,
                              "not signed by you since you joined",
                              "Verify it yourself and sign before you take the lead.");
        }
    }
}

void gate_accept_lead(struct gate_case *c) {
    const char *asker = c->person->person;
    bool offered = gate_offer_stands(c->job, c->now) && strcmp(c->job->offered, asker) == 0;
    gate_case_phase(c, GATE_PHASES_STANDING);
    gate_list_require(&c->list, offered, MODEL_CODE_NOT_ALLOWED, c->job->job,
                      "an offer of the lead", "none that stands",
                      "The lead of this job was not offered to you.");
    gate_require_credentials(c->site, c->job->needs, c->person, asker, c->now, &c->list);
    bool working = c->job->phase == MODEL_PHASE_WORKING;
    for (size_t i = 0; i < c->job->required_count; i++) {
        uint32_t point = c->job->required[i];
        if (working || gate_tag_find(c->site, point, c->job->job, c->job->leader) != NULL) {
            gate_require_tag(c->site, c->job, point, asker, &c->list);
        }
    }
    if (working) {
        require_own_verify(c);
    }
    gate_require_uncontested(c->site, &c->list);
    if (!gate_case_clear(c)) {
        return;
    }
    char from[MODEL_ID_SIZE];
    gate_id_copy(from, c->job->leader);
    struct gate_fact fact =
        gate_fact_of_job(c->gate, c->site, c->job, GATE_FACT_JOB_HANDED_OVER, c->now);
    fact.person = from;
    fact.to = asker;
    gate_emit(c->gate, &fact);
}
