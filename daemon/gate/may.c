// What may be asked: bodies are made up for every verb, and its own functions say whether they
// hold.
#include "gate/may.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/alarm_kind.h"
#include "gate/find.h"
#include "gate/fuel.h"
#include "gate/own_clock.h"
#include "gate/refusal_list.h"
#include "gate/verb/case.h"

// One person's asking about one job or position.
struct asking {
    struct gate gate; // a shallow copy: a case that only asks emits nothing
    struct gate_case c;
    struct gate_request request;
    struct gate_choice choice;
    struct gate_may *may;
    const struct gate_verb_row *row;
    const struct gate_job *job; // or NULL
    uint32_t position;
};

static bool takes(const struct asking *asking, const char *name) {
    for (const struct gate_field *field = asking->row->fields; field->name != NULL; field++) {
        if (strcmp(field->name, name) == 0) {
            return true;
        }
    }
    return false;
}

// Whether a verb is always about what a field names: one that may name it is not.
static bool is_about(const struct asking *asking, const char *name) {
    const char *const *one_of = asking->row->one_of;
    if (one_of[0] != NULL && strcmp(one_of[0], name) == 0) {
        return true;
    }
    for (const struct gate_field *field = asking->row->fields; field->name != NULL; field++) {
        if (field->required && strcmp(field->name, name) == 0) {
            return true;
        }
    }
    return false;
}

// Whether the request as it stands would be accepted and change something. If so, it is a choice.
// Rule (6, may): What would change nothing is not listed as what may be asked. [may-idle]
static bool try(struct asking *asking) {
    struct gate_may *may = asking->may;
    asking->c.list.count = 0;
    asking->c.list.failed = asking->c.idle = asking->c.again = false;
    asking->c.job = NULL;
    gate_case_run(&asking->c, asking->row);
    may->failed |= asking->c.list.failed;
    if (!gate_case_met(&asking->c) || asking->c.idle) {
        return false;
    }
    may->verbs[asking->request.verb] = true;
    if (!BASE_ARRAY_ROOM(may->choices, may->count, may->capacity)) {
        may->failed = true;
        return true;
    }
    may->choices[may->count++] = asking->choice;
    return true;
}

static const char *instrument_of(const struct asking *asking, const char *kind) {
    const struct model *model = asking->gate.model;
    for (size_t i = 0; kind != NULL && i < model->instrument_count; i++) {
        const struct model_instrument *instrument = &model->instruments[i];
        if (strcmp(instrument->kind, kind) == 0 &&
            model_until_valid(&instrument->calibrated_until, asking->c.site->model,
                              asking->c.now.wall)) {
            return instrument->instrument;
        }
    }
    return NULL;
}

// --- What a verb is about ---

static bool is_near(const struct asking *asking, uint32_t point) {
    const struct model_point *model = &asking->c.site->model->points[point];
    return gate_point_isolates(model, asking->position) ||
           (asking->job != NULL && gate_requires(asking->job, point));
}

// Rule (6, may): A word of live and one of isolated are two ways to ask. [may-no-states]
static void try_states(struct asking *asking) {
    for (int i = 0; i < 2; i++) {
        asking->request.state = i == 0 ? MODEL_POINT_ISOLATED : MODEL_POINT_LIVE;
        asking->choice.state = asking->request.state;
        asking->request.has_state = asking->choice.has_state = true;
        try(asking);
    }
}

// Of a lock that its owner lifted it takes less than of one that hangs.
static void attest(struct asking *asking, bool lifted) {
    asking->choice.seen_off = asking->request.seen_off = lifted;
    asking->request.not_on_site = asking->request.contact_tried = asking->request.will_be_told =
        !lifted;
}

// The locks of others on a point, each by its owner.
static void try_owners(struct asking *asking, const struct gate_point *point) {
    for (size_t i = 0; i < point->tag_count; i++) {
        const struct gate_tag *tag = &point->tags[i];
        bool known = tag->person[0] != '\0';
        asking->request.job = tag->job[0] != '\0' ? tag->job : NULL;
        asking->request.member = asking->choice.person = known ? tag->person : NULL;
        asking->request.badge = asking->choice.badge = known ? NULL : tag->badge;
        attest(asking, tag->lifted);
        try(asking);
    }
    attest(asking, false);
    asking->choice.seen_off = false;
}

static void try_points(struct asking *asking) {
    const struct gate_site *site = asking->c.site;
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        if (!is_near(asking, p)) {
            continue;
        }
        asking->request.point = asking->choice.point = site->model->points[p].point;
        if (takes(asking, "state")) {
            try_states(asking);
        } else if (takes(asking, "badge")) {
            try_owners(asking, &site->points[p]);
        } else {
            try(asking);
        }
    }
}

// The sensors of the points here, and their readers.
static void try_sensors(struct asking *asking) {
    const struct model_site *site = asking->c.site->model;
    for (uint32_t p = 0; p < site->point_count; p++) {
        if (!is_near(asking, p)) {
            continue;
        }
        asking->request.reader = asking->choice.reader = NULL;
        for (uint32_t i = 0; i < site->points[p].sensor_count; i++) {
            asking->request.sensor = asking->choice.sensor =
                site->sensors[site->points[p].sensors[i]].sensor;
            try(asking);
        }
        asking->request.sensor = asking->choice.sensor = NULL;
        asking->request.reader = asking->choice.reader = site->points[p].point;
        try(asking);
    }
}

// Rule (6, may; R10): A choice says where leaving a repair without locks asks how it was made safe.
// [may-leave-note-unsaid]
static bool try_noted(struct asking *asking, const struct model_check *check) {
    const char *note = asking->request.note;
    asking->choice.note = false;
    bool leaves = check->group == MODEL_GROUP_LEAVE || check->group == MODEL_GROUP_CLEAR;
    if (leaves && !check->note) {
        asking->request.note = NULL;
        bool plain = try(asking);
        asking->request.note = note;
        if (plain) {
            return true;
        }
        asking->choice.note = true;
    }
    bool noted = try(asking);
    asking->choice.note = false;
    return noted;
}

// As one that holds; where that would be refused, as one that does not, which says so.
// Rule (6, may; 5, Breaking): A verb is listed if some body of it would be accepted: of a check,
// also a failed reading. [may-only-good-readings]
// Rule (6, may; R32): A check that may be signed as failed alone is listed so.
// [may-failed-as-passed]
static void try_readings(struct asking *asking, const struct model_check *check) {
    const struct model_limits *limits = &check->limits;
    struct gate_request *request = &asking->request;
    request->unit = check->unit;
    request->has_value = check->unit != NULL || limits->has_min || limits->has_max;
    request->value = limits->has_min ? limits->min : limits->has_max ? limits->max : 0;
    request->has_pass = false;
    asking->choice.fails = false;
    if (!try_noted(asking, check)) {
        request->has_pass = asking->choice.fails = true;
        request->pass = false;
        try(asking);
    }
}

static void try_checks(struct asking *asking) {
    const struct model_requirements *needs = asking->job->needs;
    for (size_t i = 0; i < needs->check_count; i++) {
        const struct model_check *check = &needs->checks[i];
        asking->request.check = asking->choice.check = check->check;
        asking->request.instrument = instrument_of(asking, check->instrument);
        try_readings(asking, check);
    }
}

// Rule (6, may; R22): A choice says where a test that passes asks for a note.
// [may-retest-note-unsaid]
static void try_tests(struct asking *asking) {
    struct model_requirements *tests = gate_tests_of(asking->c.site, asking->job);
    asking->may->failed |= tests == NULL;
    for (size_t i = 0; tests != NULL && i < tests->test_count; i++) {
        asking->request.test = tests->tests[i].test;
        asking->request.instrument = instrument_of(asking, tests->tests[i].instrument);
        memcpy(asking->choice.test, tests->tests[i].test, sizeof asking->choice.test);
        asking->choice.note = gate_test_failed_last(asking->job, tests->tests[i].test);
        try(asking);
    }
    free(tests);
}

// Rule (6, may; 3, alarms): A choice says where a note is asked. [may-note-unsaid]
static void try_alarms(struct asking *asking) {
    const struct gate_site *site = asking->c.site;
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        asking->request.alarm = asking->choice.alarm = alarm->alarm;
        asking->choice.note = gate_alarm_row(alarm->kind, alarm->subject)->asks_note ||
                              gate_own_clock_ahead(&asking->gate, alarm, asking->c.now);
        try(asking);
    }
}

// Others of the crew, as whom the lead is offered to or who leaves.
static void try_crew(struct asking *asking, const char **requested, const char **chosen) {
    for (size_t i = 0; asking->job != NULL && i < asking->job->crew_count; i++) {
        const char *person = asking->job->crew[i].person;
        if (strcmp(person, asking->request.person) != 0) {
            *requested = *chosen = person;
            try(asking);
        }
    }
}

// Whoever could be put in charge: one is enough.
static void try_technicians(struct asking *asking) {
    const struct model *model = asking->gate.model;
    for (size_t i = 0; i < model->person_count; i++) {
        asking->request.technician = model->people[i].person;
        if (try(asking)) {
            return;
        }
    }
}

static void try_procedures(struct asking *asking) {
    const struct model *model = asking->gate.model;
    asking->request.job = ""; // no id that was used
    for (size_t i = 0; i < model->procedure_count; i++) {
        asking->request.procedure = asking->choice.procedure = model->procedures[i].procedure;
        try(asking);
    }
}

static void try_spills(struct asking *asking) {
    const struct gate_site *site = asking->c.site;
    asking->request.reference = "a reference";
    for (size_t i = 0; i < site->spill_count; i++) {
        asking->request.spill = asking->choice.spill = site->spills[i].spill;
        try(asking);
    }
}

static void try_verb(struct asking *asking) {
    if (asking->row->opens_job) {
        try_procedures(asking);
    } else if (is_about(asking, "sensor")) {
        try_sensors(asking);
    } else if (is_about(asking, "point")) {
        try_points(asking);
    } else if (is_about(asking, "check")) {
        try_checks(asking);
    } else if (is_about(asking, "test")) {
        try_tests(asking);
    } else if (is_about(asking, "alarm")) {
        try_alarms(asking);
    } else if (is_about(asking, "spill")) {
        try_spills(asking);
    } else if (is_about(asking, "technician")) {
        try_technicians(asking);
    } else if (is_about(asking, "to")) {
        try_crew(asking, &asking->request.to, &asking->choice.to);
    } else {
        try(asking);
        if (takes(asking, "person")) {
            try_crew(asking, &asking->request.member, &asking->choice.person);
        }
    }
}

// Rule (6, may): Asking what may be asked changes nothing. [may-decides]
void gate_may(const struct gate *gate, uint32_t site, const struct gate_job *job, uint32_t position,
              const struct model_person *person, struct gate_time now, struct gate_may *may) {
    static const struct model_result result;
    const char *product = gate_fuel_product(&gate->sites[site], position);
    struct gate_answer answer = {0};
    struct asking asking = {.gate = *gate, .may = may, .job = job, .position = position};
    asking.c = (struct gate_case){.gate = &asking.gate,
                                  .site = &gate->sites[site],
                                  .request = &asking.request,
                                  .person = person,
                                  .now = now,
                                  .answer = &answer,
                                  .list = {.unmet_only = true},
                                  .asks_only = true};
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        asking.row = gate_verb_row((enum gate_verb)verb);
        if (asking.row->of_job && (job == NULL || !gate_job_stands(job))) {
            continue;
        }
        asking.choice = (struct gate_choice){.verb = (enum gate_verb)verb};
        asking.request =
            (struct gate_request){.verb = (enum gate_verb)verb,
                                  .person = person->person,
                                  .job = job != NULL ? job->job : NULL,
                                  .position = asking.c.site->model->positions[position].position,
                                  .note = "a note",
                                  .reason = "a reason",
                                  .hours = 1,
                                  .back = now.wall + 3600000,
                                  .not_on_site = true,
                                  .contact_tried = true,
                                  .will_be_told = true,
                                  .result = &result,
                                  .product = product != NULL ? product : "fuel",
                                  .unit = "gal",
                                  .drawn = {.given = true}};
        try_verb(&asking);
    }
    gate_list_free(&asking.c.list);
}

void gate_may_free(struct gate_may *may) {
    free(may->choices);
    memset(may, 0, sizeof *may);
}
