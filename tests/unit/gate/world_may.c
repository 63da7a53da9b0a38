// Every request of the tests against what the gate said that may be asked: what is accepted was
// listed, and what was listed is not refused but for what its own body says.
#include "world.h"

#include "gate/may.h"

#include <string.h>

static bool same(const char *a, const char *b) {
    return a == NULL || (b != NULL && strcmp(a, b) == 0);
}

// Whether the choice is this request's, as far as a choice says.
static bool is_of(const struct gate_choice *choice, const struct gate_request *request) {
    bool self = request->member == NULL || strcmp(request->member, request->person) == 0;
    bool owner = choice->person == NULL ? choice->badge != NULL || self
                                        : same(choice->person, request->member);
    return choice->verb == request->verb && same(choice->point, request->point) &&
           same(choice->check, request->check) && same(choice->sensor, request->sensor) &&
           same(choice->reader, request->reader) && same(choice->alarm, request->alarm) &&
           same(choice->to, request->to) && same(choice->procedure, request->procedure) && owner &&
           same(choice->spill, request->spill) && same(choice->badge, request->badge) &&
           (choice->test[0] == '\0' || same(choice->test, request->test)) &&
           (!choice->has_state || choice->state == request->state);
}

static bool isolates(const struct gate_site *site, uint32_t point, uint32_t position) {
    const struct model_point *model = &site->model->points[point];
    for (size_t i = 0; i < model->isolates_count; i++) {
        if (model->isolates[i] == position) {
            return true;
        }
    }
    return false;
}

// The point that a request is about, or whose sensor or reader; MODEL_NONE: of none.
static uint32_t point_of(const struct gate_site *site, const struct gate_request *request) {
    uint32_t sensor =
        request->sensor != NULL ? model_sensor_find(site->model, request->sensor) : MODEL_NONE;
    const char *id = request->reader != NULL ? request->reader : request->point;
    return sensor != MODEL_NONE ? site->model->sensors[sensor].point
           : id != NULL         ? model_point_find(site->model, id)
                                : MODEL_NONE;
}

// The position that a request without a job is about.
static uint32_t position_of(const struct gate_site *site, const struct gate_request *request) {
    uint32_t point = point_of(site, request);
    if (point != MODEL_NONE) {
        return site->model->points[point].isolates[0];
    }
    uint32_t position = request->position != NULL
                            ? model_position_find(site->model, request->position)
                            : MODEL_NONE;
    return position != MODEL_NONE ? position : 0;
}

// A refusal for what the body says, which a choice leaves open.
static bool is_of_body(enum model_code code) {
    return code == MODEL_CODE_MALFORMED || code == MODEL_CODE_INSTRUMENT_MISSING ||
           code == MODEL_CODE_INSTRUMENT_OVERDUE || code == MODEL_CODE_UNKNOWN_INSTRUMENT ||
           code == MODEL_CODE_PART_MISMATCH || code == MODEL_CODE_JOB_EXISTS ||
           code == MODEL_CODE_UNKNOWN_PERSON || code == MODEL_CODE_NOT_ALLOWED ||
           code == MODEL_CODE_ATTESTATION_MISSING || code == MODEL_CODE_CHECK_OUT_OF_SEASON ||
           code == MODEL_CODE_JOURNAL_DOWN || code == MODEL_CODE_TOO_LATE ||
           code == MODEL_CODE_ALARM_CHANGED || code == MODEL_CODE_NOTE_MISSING ||
           code == MODEL_CODE_READING_NOT_VALID;
}

// The same of a verb of the day around a repair: what its body may name, there may not be.
static bool is_of_days_body(enum gate_verb verb, enum model_code code) {
    return verb > GATE_VERB_ACKNOWLEDGE_ALARM &&
           (code == MODEL_CODE_UNKNOWN_POSITION || code == MODEL_CODE_UNKNOWN_CHECK ||
            code == MODEL_CODE_UNKNOWN_TEST || code == MODEL_CODE_UNKNOWN_ALARM);
}

void world_may_before(struct world *world, const struct gate_request *request,
                      struct world_may *before) {
    const struct gate_site *site = world_site(world);
    const struct model_person *person = model_person_find(world->gate->model, request->person);
    const struct gate_job *job = request->job != NULL && request->verb != GATE_VERB_OPEN_JOB
                                     ? gate_job_find(site, request->job)
                                     : NULL;
    uint32_t point = point_of(site, request);
    uint32_t position = job != NULL ? job->position : position_of(site, request);
    struct gate_may may = {0};
    memset(before, 0, sizeof *before);
    before->told = world->fact_count;
    // A decision first does what time has brought; what may be asked is of the state as it stands,
    // and of the points of the job.
    before->asked = person != NULL && !world->plain &&
                    gate_deadline(world->gate) > world->now.mono &&
                    (point == MODEL_NONE || isolates(site, point, position));
    if (!before->asked) {
        return;
    }
    gate_may(world->gate, 0, job, position, person, world->now, &may);
    assert_false(may.failed);
    for (size_t i = 0; i < may.count; i++) {
        before->listed |= is_of(&may.choices[i], request);
        before->fails |= is_of(&may.choices[i], request) && may.choices[i].fails;
        assert_true(may.verbs[may.choices[i].verb]);
    }
    gate_may_free(&may);
}

struct gate_step world_step(struct world *world, const char *person, const char *job) {
    const struct model_person *who = model_person_find(world->model, person);
    const struct gate_job *of = job != NULL ? world_job(world, job) : NULL;
    struct gate_may may = {0};
    struct gate_step step;
    gate_may(world->gate, 0, of, of != NULL ? of->position : P3A, who, world->now, &may);
    assert_false(may.failed);
    gate_step(world->gate, 0, of, who, world->now, &may, &step);
    gate_may_free(&may);
    return step;
}

void world_may_after(struct world *world, const struct gate_request *request,
                     const struct world_may *before) {
    const struct gate_answer *answer = &world->answer;
    const char *verb = gate_verb_name(request->verb);
    if (!before->asked) {
        return;
    }
    if (answer->accepted && world->fact_count > before->told && !before->listed) {
        fail_msg("%s of %s was accepted and is not said to be possible", verb, request->person);
    }
    for (size_t i = 0; before->listed && i < answer->refusal_count; i++) {
        // Where only a check that fails is taken, nothing is said of one that passes.
        if (!is_of_body(answer->refusals[i].code) && !before->fails &&
            !is_of_days_body(request->verb, answer->refusals[i].code)) {
            fail_msg("%s of %s was said to be possible: %s", verb, request->person,
                     answer->refusals[i].say);
        }
    }
}
