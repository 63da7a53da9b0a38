// Steps as text, and the requests that they stand for.
#include "step.h"

#include <string.h>

static const char *const kinds[STEP_KIND_COUNT] = {
    "hear",  "measure", "controller", "lock",      "link", "unheard", "session",
    "clock", "journal", "contested",  "subscribe", "pass", "restart", "ask",
};

void step_print(FILE *out, const struct step *s) {
    fprintf(out, "%s %s who=%u to=%u at=%u how=%u ok=%u job=%u item=%u ms=%d\n", kinds[s->kind],
            s->kind == STEP_ASK ? gate_verb_name((enum gate_verb)s->verb) : "-", s->who, s->to,
            s->at, s->how, s->ok, s->job, s->item, s->ms);
}

bool step_scan(const char *line, struct step *s) {
    char kind[16], verb[32];
    unsigned who, to, at, how, ok, job, item;
    int ms;
    if (sscanf(line, "%15s %31s who=%u to=%u at=%u how=%u ok=%u job=%u item=%u ms=%d", kind, verb,
               &who, &to, &at, &how, &ok, &job, &item, &ms) != 10) {
        return false;
    }
    int found = -1;
    for (int k = 0; k < STEP_KIND_COUNT; k++) {
        found = strcmp(kinds[k], kind) == 0 ? k : found;
    }
    int of = found == STEP_ASK ? gate_verb_of(verb) : 0;
    *s = (struct step){.kind = (uint8_t)found,
                       .verb = (uint8_t)of,
                       .who = (uint8_t)who,
                       .to = (uint8_t)to,
                       .at = (uint8_t)at,
                       .how = (uint8_t)how,
                       .ok = (uint8_t)ok,
                       .job = (uint16_t)job,
                       .item = item,
                       .ms = ms};
    return found >= 0 && of >= 0;
}

static const char *person_of(const struct forecourt *f, unsigned person) {
    return person < f->model.person_count ? f->people[person].person : NULL;
}

static bool is_meant(const struct step *s, const struct step_names *names,
                     const struct gate_alarm *alarm) {
    return alarm->kind == (enum model_alarm_kind)s->item &&
           (s->job == STEP_NO_JOB || strcmp(alarm->job, names->job) == 0);
}

// In one order whichever was raised first.
static bool comes_before(const struct gate_alarm *a, const struct gate_alarm *b) {
    bool done = a->state == MODEL_ALARM_ACKNOWLEDGED;
    if (done != (b->state == MODEL_ALARM_ACKNOWLEDGED)) {
        return !done;
    }
    int sign = strcmp(a->subject, b->subject);
    return sign != 0 ? sign < 0 : strcmp(a->point, b->point) < 0;
}

static void name_alarm(const struct step *s, const struct gate_site *site,
                       struct step_names *names) {
    const struct gate_alarm *found = NULL;
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (is_meant(s, names, alarm) && (found == NULL || comes_before(alarm, found))) {
            found = alarm;
        }
    }
    snprintf(names->alarm, sizeof names->alarm, "%s", found != NULL ? found->alarm : "none");
}

static void name_item(const struct forecourt *f, const struct step *s, const struct gate_site *site,
                      struct step_names *names, struct gate_request *r) {
    const struct model_requirements *needs = &f->procedures[f->model.procedure_count - 1];
    switch (s->verb) {
    case GATE_VERB_OPEN_JOB:
        r->procedure = f->procedures[s->item % f->model.procedure_count].procedure;
        break;
    case GATE_VERB_SIGN_CHECK:
        r->check = needs->checks[s->item % needs->check_count].check;
        break;
    case GATE_VERB_RECORD_TEST:
        r->test = needs->tests[s->item % needs->test_count].test;
        names->result = (struct model_result){.rule = "pass-fail", .has_pass = true};
        names->result.pass = s->ok != 0;
        r->result = &names->result;
        break;
    case GATE_VERB_ACKNOWLEDGE_ALARM:
        name_alarm(s, site, names);
        r->alarm = names->alarm;
        break;
    default:
        break;
    }
}

// A check with limits takes a reading: 0.5 of any unit passes, -5 does not.
static void give_reading(const struct forecourt *f, const struct step *s, struct gate_request *r) {
    const struct model_requirements *needs = &f->procedures[0];
    const struct model_check *check = &needs->checks[s->item % needs->check_count];
    if (s->verb == GATE_VERB_SIGN_CHECK && check->unit == NULL) {
        r->has_pass = (s->how & STEP_NO) != 0;
    } else if (s->verb == GATE_VERB_SIGN_CHECK) {
        r->has_value = true;
        r->value = s->ok ? 0.5 : -5;
        r->unit = check->unit;
    }
}

struct gate_request step_request(const struct forecourt *f, const struct step *s,
                                 const struct gate_site *site, struct step_names *names) {
    struct gate_request r = {.verb = (enum gate_verb)s->verb};
    r.pause = (s->how & STEP_PAUSE) != 0;
    r.waited = (s->how & STEP_WAITED) != 0;
    r.note = (s->how & STEP_NOTE) != 0 ? "the nozzle was changed" : NULL;
    memset(names, 0, sizeof *names);
    snprintf(names->job, sizeof names->job, "j%u", s->job);
    snprintf(names->position, sizeof names->position, "P%u", s->at);
    snprintf(names->point, sizeof names->point, "d%u", s->at);
    r.person = person_of(f, s->who);
    r.job = s->job != STEP_NO_JOB ? names->job : NULL;
    r.position = names->position;
    r.point = names->point;
    r.to = r.technician = r.member = person_of(f, s->to);
    if (s->verb == GATE_VERB_OPEN_JOB || s->verb == GATE_VERB_ASSIGN_JOB) {
        r.kit_family = s->ok ? "k2" : NULL;
    }
    if (s->verb == GATE_VERB_DISTRUST_SENSOR || s->verb == GATE_VERB_TRUST_SENSOR) {
        bool reader = (s->how & STEP_OF_READER) != 0;
        snprintf(names->sensor, sizeof names->sensor, "s%u", s->at);
        r.job = NULL;
        r.sensor = reader ? NULL : names->sensor;
        r.reader = reader ? names->point : NULL;
        r.hours = 12;
        r.reason = "it says what is not so";
    }
    if (s->verb == GATE_VERB_STOP_WORK || s->verb == GATE_VERB_REWORK ||
        s->verb == GATE_VERB_SET_ASIDE || s->verb == GATE_VERB_CANCEL_JOB ||
        s->verb == GATE_VERB_LIFT_ABSENT_TAG) {
        r.reason = "because";
    }
    if (s->verb == GATE_VERB_ACKNOWLEDGE_ALARM) {
        r.job = NULL;
    }
    if (s->verb == GATE_VERB_LIFT_ABSENT_TAG) {
        r.job = NULL;
        r.badge = s->to == STEP_STRANGER ? "b-9" : NULL;
        r.not_on_site = r.contact_tried = r.will_be_told = s->ok == 1;
        r.seen_off = s->ok == 2;
    }
    r.has_state = s->verb == GATE_VERB_WITNESS_POINT;
    r.state = s->ok ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    if (r.has_state && s->ok) {
        r.job = NULL;
    }
    name_item(f, s, site, names, &r);
    give_reading(f, s, &r);
    return r;
}
