// What several verbs require or do, and what every row asks.
#include "gate/verb/case.h"

#include <string.h>

#include "gate/alarm.h"
#include "gate/credential.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/require.h"
#include "gate/untold.h"

bool gate_case_met(const struct gate_case *c) {
    return c->list.count == 0 && !c->list.failed && !c->gate->broken_memory;
}

bool gate_case_clear(const struct gate_case *c) {
    return !c->asks_only && gate_case_met(c);
}

// Rule (4, the answer; R34): args name the role that is asked for. [arg-role]
void gate_case_roles(struct gate_case *c, unsigned roles, enum gate_say sentence) {
    const char *asker = c->person->person;
    gate_list_put(&c->list, model_person_has(c->person, roles), sentence, asker,
                  GATE_ARGS(.person = asker, .role = model_role_name(roles)));
}

// Rule (4, codes): Who does not lead gets not-assigned. [code-leader-swapped]
// Rule (4, the answer; R34): args name who leads. [arg-leader]
void gate_case_leader(struct gate_case *c) {
    gate_case_roles(c, MODEL_ROLE_TECHNICIAN, GATE_SAY_ROLE_TECHNICIAN);
    bool leads = gate_leads(c->job, c->person->person);
    gate_list_put(&c->list, leads, GATE_SAY_NOT_LEADER, c->job->job,
                  GATE_ARGS(.job = c->job->job, .leader = c->job->leader));
}

// Rule (4, codes): A technician who is not in the crew gets not-in-crew. [code-crew-swapped]
void gate_case_crew(struct gate_case *c) {
    if (gate_member_of(c->job, c->person->person) != NULL) {
        return;
    }
    if (!model_person_has(c->person, MODEL_ROLE_TECHNICIAN)) {
        gate_case_roles(c, 0, GATE_SAY_ROLE_CREW);
        return;
    }
    gate_list_put(&c->list, false, GATE_SAY_NOT_IN_CREW, c->job->job,
                  GATE_ARGS(.person = c->person->person, .job = c->job->job));
}

// One refusal for each list of which a helper holds none today: lapsed or never held, it is the
// same to them.
static void refuse_helper(struct gate_case *c) {
    const struct model_requirements *needs = c->job->needs;
    for (size_t i = 0; i < needs->credential_count; i++) {
        const struct model_credential_choice *choice = &needs->credentials[i];
        gate_list_put(
            &c->list, gate_holds_one(c->site, choice, c->person, c->now), GATE_SAY_HELPER_SIGNS,
            c->person->person,
            GATE_ARGS(.person = c->person->person, .any = choice->any, .any_count = choice->count));
    }
}

// Rule (4, Seasons; R28): A helper signs nothing that the crew signs: credential-missing.
// [helper-signs]
// Rule (4, Seasons; R6): Who leads signs nothing that the crew signs with a credential that ended.
// [leader-signs-unqualified]
void gate_case_qualified(struct gate_case *c) {
    const char *asker = c->person->person;
    gate_case_crew(c);
    if (gate_leads(c->job, asker)) {
        gate_require_credentials(c->site, c->job->needs, c->person, asker, c->now, &c->list);
    } else if (gate_is_helper(c->gate, c->site, c->job, asker, c->now)) {
        refuse_helper(c);
    }
}

// Rule (4, the answer; R34): args say which phase the job is in and which it is for. [arg-phase]
void gate_case_phase(struct gate_case *c, unsigned phases) {
    bool met = (phases >> c->job->phase & 1u) != 0;
    bool any = phases == GATE_PHASES_STANDING;
    gate_list_put(&c->list, met, any ? GATE_SAY_JOB_ENDED : GATE_SAY_WRONG_PHASE, c->job->job,
                  GATE_ARGS(.job = c->job->job, .phase = model_phase_name(c->job->phase),
                            .phases = any ? 0 : phases));
}

// Rule (2, inspection): The tests of an inspection begin in open. [inspection-begins-nowhere]
static unsigned phases_of(const struct gate_verb_row *row, const struct gate_job *job) {
    return row->phases | (job->needs->inspection ? row->inspects : 0);
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

// Rule (5, last paragraph): Everything that permits is refused while the journal cannot write.
// [permit-while-down]
static void require_row(struct gate_case *c, const struct gate_verb_row *row) {
    if (row->who == GATE_WHO_ROLE) {
        gate_case_roles(c, row->roles, GATE_SAY_ROLE);
    }
    if (row->permits && row->gate == NULL) {
        gate_require_journal(c->gate, &c->list);
    }
    if (row->phases != 0 && c->job != NULL) { // which a row with phases always has
        gate_case_phase(c, phases_of(row, c->job));
    }
    require_who(c, row);
    if (row->gate != NULL) {
        row->gate(c->gate, c->site, c->job, c->now, &c->list);
    }
    if (row->require != NULL) {
        row->require(c);
    }
}

// Rule (4, codes): Somebody of another site is not allowed. [another-site]
// Rule (4, codes): Somebody of another site is told nothing of what there is at this one.
// [another-site-learns]
void gate_case_site(struct gate_case *c) {
    gate_list_put(&c->list, model_person_of_site(c->person, c->site->model), GATE_SAY_OF_OTHER_SITE,
                  c->person->person, GATE_ARGS(.person = c->person->person));
}

bool gate_case_ends(const struct gate_case *c, const struct gate_verb_row *row) {
    return row->ends != NULL && row->ends(c);
}

bool gate_case_always(const struct gate_case *c) {
    (void)c;
    return true;
}

// Rule (4, Only the present is permitted; R11): What speaks of no present is taken however late.
// [late-stop-refused]
static bool is_of_present(const struct gate_case *c, const struct gate_verb_row *row) {
    return row->present && !gate_case_ends(c, row) &&
           (row->however_late == NULL || !row->however_late(c));
}

// Rule (4, Only the present is permitted; R11): A request of the present that comes by the broker
// says when it was asked. [undated-taken]
static void require_whole(struct gate_case *c, const struct gate_verb_row *row) {
    gate_list_put(&c->list, !c->request->undated || !is_of_present(c, row), GATE_SAY_FIELD_MISSING,
                  "/asked", NULL);
    if (c->job != NULL && row->fits != NULL) {
        row->fits(c);
    }
}

// Rule (4, Only the present is permitted; R11): A request of the present that waited is refused,
// and nothing of it is done. [late-permits]
static void require_present(struct gate_case *c, const struct gate_verb_row *row) {
    gate_list_put(&c->list, !c->request->waited || !is_of_present(c, row), GATE_SAY_TOO_LATE, NULL,
                  NULL);
}

// Rule (4, lift-absent-tag; R16; 29 CFR 1910.147(e)(3)(iii) [P]): Whose lock was removed is refused
// until they have confirmed to know it. [untold-permitted]
// Rule (4, lift-absent-tag; R16): Who was not told may still stop, lift and say live, and give a
// reading that failed. [untold-may-not-stop]
static void require_told(struct gate_case *c, const struct gate_verb_row *row) {
    bool taken = row->untold || gate_case_ends(c, row);
    const char *point = gate_untold_of(c->site, c->person->person);
    uint32_t index = point != NULL ? model_point_find(c->site->model, point) : MODEL_NONE;
    gate_list_put(
        &c->list, taken || point == NULL, GATE_SAY_NOT_TOLD, point,
        GATE_ARGS(.person = c->person->person, .point = point,
                  .title = index != MODEL_NONE ? c->site->model->points[index].title : point));
}

// What it ends was ended when its job still stood.
static bool was_done(const struct gate_case *c, const struct gate_verb_row *row) {
    return row->of_job && (c->request->done || c->request->before) && !gate_job_stands(c->job);
}

// Rule (4, a stop; R3, R12, R32): A stop, a lift and a reading that failed are taken of a job whose
// return or cancellation is not written: for all the world it stands. [stop-refused-while-ending]
// Rule (4, a stop; R32): A reading that passed is not. [passed-while-ending]
static bool is_ending(const struct gate_case *c, const struct gate_verb_row *row) {
    return row->ending && c->request->ending && gate_case_ends(c, row);
}

// The job named is known, and stands.
// Rule (4, the answer): An ended job stands alone, of a verb too that need not name one.
// [ended-job-beside-others]
// Rule (4, a stop; R12): What was done ahead of its turn, or before, is answered so though the job
// has ended since. [done-of-ended-job]
// Rule (4, a stop; R12): A word of live that names an unknown or ended job is taken without it.
// [live-of-unknown-job-refused, live-of-ended-job]
static void require_job(struct gate_case *c, const struct gate_verb_row *row) {
    const char *job = c->request->job;
    if (!row->of_job && gate_case_ends(c, row)) {
        bool stands = c->job != NULL && gate_job_stands(c->job);
        c->job = stands ? c->job : NULL;
    } else if (job != NULL && !row->opens_job && c->job == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_JOB, job, GATE_ARGS(.job = job));
    } else if (row->of_job && c->job == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_NO_JOB_NAMED, NULL, NULL);
    } else if (c->job != NULL && !gate_job_stands(c->job) && !was_done(c, row) &&
               !is_ending(c, row)) {
        gate_case_phase(c, GATE_PHASES_STANDING);
    }
}

static bool has_reason(const struct gate_case *c) {
    return c->list.count > 0 || c->list.failed;
}

// Rule (4, the answer): What stands alone, in the contract's order: another site, what of the body
// does not fit what it names, too late, not told, an unknown job, an ended one.
// [lone-beside-others]
static bool require_alone(struct gate_case *c, const struct gate_verb_row *row) {
    gate_case_site(c);
    if (has_reason(c)) {
        return false;
    }
    bool named = c->request->job != NULL && !row->opens_job;
    c->job = named ? gate_job_find(c->site, c->request->job) : NULL;
    require_whole(c, row);
    if (!has_reason(c)) {
        require_present(c, row);
    }
    if (!has_reason(c)) {
        require_told(c, row);
    }
    if (!has_reason(c)) {
        require_job(c, row);
    }
    return !has_reason(c);
}

void gate_case_run(struct gate_case *c, const struct gate_verb_row *row) {
    if (!require_alone(c, row)) {
        return;
    }
    if (c->job != NULL && was_done(c, row)) {
        c->again = c->idle = true;
        if (row->done != NULL) {
            row->done(c);
        }
    } else {
        require_row(c, row);
        row->decide(c);
    }
}

// Rule (4, sign-check): The instrument is of the check's kind. [instrument-any-kind]
// Rule (4, sign-check): The instrument is in calibration. [instrument-overdue]
// Rule (4, codes): An instrument out of calibration is instrument-overdue. [code-overdue-swapped]
// Rule (4, the answer; R34): args say which kind of instrument is asked for and which was named.
// [arg-kind]
void gate_case_instrument(struct gate_case *c, const char *kind) {
    const char *id = c->request->instrument;
    const struct model_instrument *instrument =
        id != NULL ? model_instrument_find(c->gate->model, id) : NULL;
    if (id == NULL) {
        gate_list_put(&c->list, kind == NULL, GATE_SAY_INSTRUMENT_MISSING, kind,
                      GATE_ARGS(.kind = kind));
        return;
    }
    if (instrument == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_INSTRUMENT, id,
                      GATE_ARGS(.instrument = id));
        return;
    }
    bool fits = kind == NULL || strcmp(instrument->kind, kind) == 0;
    gate_list_put(&c->list, fits, GATE_SAY_INSTRUMENT_KIND, id,
                  GATE_ARGS(.instrument = id, .kind = kind, .other_kind = instrument->kind));
    bool valid = model_until_valid(&instrument->calibrated_until, c->site->model, c->now.wall);
    gate_list_put(&c->list, valid, GATE_SAY_INSTRUMENT_OVERDUE, id,
                  GATE_ARGS(.instrument = id, .until = instrument->calibrated_until.day));
}

void gate_case_technician(struct gate_case *c, const char *id) {
    const struct model_person *person = model_person_find(c->gate->model, id);
    if (person == NULL) {
        gate_list_put(&c->list, false, GATE_SAY_UNKNOWN_PERSON, id, GATE_ARGS(.person = id));
        return;
    }
    bool fit = model_person_has(person, MODEL_ROLE_TECHNICIAN) &&
               model_person_of_site(person, c->site->model);
    gate_list_put(&c->list, fit, GATE_SAY_NO_TECHNICIAN, id, GATE_ARGS(.person = id));
}

// Rule (4, hang-tag): A tag is hung on a required point of the job. [hang-anywhere]
uint32_t gate_case_point(struct gate_case *c, bool of_job) {
    uint32_t point = model_point_find(c->site->model, c->request->point);
    bool known = point != MODEL_NONE && (!of_job || gate_requires(c->job, point));
    gate_list_put(
        &c->list, known, of_job ? GATE_SAY_POINT_NOT_REQUIRED : GATE_SAY_UNKNOWN_POINT,
        c->request->point,
        GATE_ARGS(.point = c->request->point,
                  .title = point != MODEL_NONE ? c->site->model->points[point].title : NULL,
                  .found = point != MODEL_NONE ? "not required by the job" : NULL));
    return known ? point : MODEL_NONE;
}

// Rule (4, codes; R27): A sensor that there is not is unknown-sensor, the reader of a point that
// there is not unknown-point. [code-sensor-swapped]
uint32_t gate_case_sensor(struct gate_case *c, uint32_t *sensor) {
    const struct gate_request *request = c->request;
    *sensor = MODEL_NONE;
    if (request->sensor == NULL) {
        uint32_t point = model_point_find(c->site->model, request->reader);
        gate_list_put(&c->list, point != MODEL_NONE, GATE_SAY_UNKNOWN_POINT, request->reader,
                      GATE_ARGS(.point = request->reader));
        return point;
    }
    *sensor = model_sensor_find(c->site->model, request->sensor);
    gate_list_put(&c->list, *sensor != MODEL_NONE, GATE_SAY_UNKNOWN_SENSOR, request->sensor, NULL);
    return *sensor != MODEL_NONE ? c->site->model->sensors[*sensor].point : MODEL_NONE;
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
