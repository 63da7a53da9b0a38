// What several verbs require or do, and what every row asks.
#include "gate/verb/case.h"

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

// Whoever has one of the row's roles need be neither leader nor crew.
static void require_who(struct gate_case *c, const struct gate_verb_row *row) {
    if (model_person_has(c->person, row->roles)) {
        return;
    }
    if (row->who == GATE_WHO_LEADER) {
        gate_case_leader(c);
    } else if (row->who == GATE_WHO_CREW) {
        gate_case_crew(c);
    }
}

void gate_case_row(struct gate_case *c, const struct gate_verb_row *row) {
    if (row->who == GATE_WHO_ROLE) {
        gate_case_roles(c, row->roles, "a role that may ask this");
    }
    if (row->permits && row->gate == NULL) {
        gate_require_journal(c->gate, &c->list);
    }
    if (row->phases != 0) {
        gate_case_phase(c, row->phases);
    }
    require_who(c, row);
    if (row->gate != NULL) {
        row->gate(c->gate, c->site, c->job, c->now, &c->list);
    }
    if (row->require != NULL) {
        row->require(c);
    }
}

void gate_case_instrument(struct gate_case *c, const char *kind) {
    const char *id = c->request->instrument;
    const struct model_instrument *instrument =
        id != NULL ? model_instrument_find(c->gate->model, id) : NULL;
    if (id == NULL) {
        gate_list_require(&c->list, kind == NULL, MODEL_CODE_INSTRUMENT_MISSING,
                          kind != NULL ? kind : "", kind != NULL ? kind : "", "none named",
                          "Name the instrument that the reading was taken with.");
        return;
    }
    if (instrument == NULL) {
        gate_list_require(&c->list, false, MODEL_CODE_UNKNOWN_INSTRUMENT, id,
                          "an instrument of the list", "none",
                          "That instrument is not known here.");
        return;
    }
    bool fits = kind == NULL || strcmp(instrument->kind, kind) == 0;
    gate_list_require(&c->list, fits, MODEL_CODE_INSTRUMENT_MISSING, id, kind != NULL ? kind : "",
                      instrument->kind, "That is another kind of instrument.");
    bool valid = model_until_valid(&instrument->calibrated_until, c->site->model, c->now.wall);
    gate_list_require(&c->list, valid, MODEL_CODE_INSTRUMENT_OVERDUE, id, "calibration in date",
                      instrument->calibrated_until.day,
                      "That instrument's calibration is out of date: take another.");
}

void gate_case_technician(struct gate_case *c, const char *id) {
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

uint32_t gate_case_point(struct gate_case *c, bool of_job) {
    uint32_t point = model_point_find(c->site->model, c->request->point);
    bool known = point != MODEL_NONE && (!of_job || gate_requires(c->job, point));
    gate_list_require(&c->list, known, MODEL_CODE_UNKNOWN_POINT, c->request->point,
                      of_job ? "a point that the job requires" : "a point of this site",
                      point != MODEL_NONE ? "not required by the job" : "none",
                      of_job ? "The job does not require that point."
                             : "There is no such point here.");
    return known ? point : MODEL_NONE;
}

struct gate_fact gate_case_fact(struct gate_case *c, enum gate_fact_type type) {
    struct gate_fact fact = gate_fact_of_job(c->gate, c->site, c->job, type, c->now);
    fact.by = c->person->person;
    fact.reason = c->request->reason;
    return fact;
}

bool gate_case_emit(struct gate_case *c, enum gate_fact_type type) {
    if (!gate_case_clear(c)) {
        return false;
    }
    struct gate_fact fact = gate_case_fact(c, type);
    gate_emit(c->gate, &fact);
    return true;
}

void gate_case_clear_broken(struct gate_case *c) {
    struct gate_alarm_about about = {.kind = MODEL_ALARM_LOCKOUT_BROKEN, .job = c->job};
    gate_alarm_clear(c->gate, c->site, &about, c->now);
}
