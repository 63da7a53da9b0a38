// Ways on that depend on whose a lock is, and on who may lead.
#include "gate/step_way.h"

#include "gate/alarm.h"
#include "gate/own_clock.h"

#include <stddef.h>
#include <string.h>

#include "gate/credential.h"
#include "gate/find.h"
#include "gate/text.h"

// An argument of a refusal, by its member; NULL: it has none.
static const char *arg_of(const struct gate_refusal *refusal, size_t offset) {
    for (size_t i = 0; i < GATE_ARG_TEXTS; i++) {
        if (gate_arg_texts[i].offset == offset) {
            return gate_refusal_text(refusal, i);
        }
    }
    return NULL;
}

#define ARG(refusal, member) arg_of(refusal, offsetof(struct gate_args, member))

// Rule (6, next; 4, begin-test): A lock of another job is no step of this one. [step-others-lock]
// Rule (6, next; 3, Tags; R14): Of a lock that its owner lifted and its reader still sees, who has
// seen it off says so. [step-seen-off]
enum gate_verb gate_step_unlock(const struct gate_job *job, const struct gate_refusal *lacking) {
    if (lacking->sentence == GATE_SAY_TAG_SEEN) {
        return GATE_VERB_LIFT_ABSENT_TAG;
    }
    return gate_same(ARG(lacking, job), job->job) ? GATE_VERB_LIFT_TAG : GATE_VERB_COUNT;
}

bool gate_step_unlocks(const struct gate_choice *choice, const char *asker,
                       const struct gate_refusal *lacking) {
    const char *owner = ARG(lacking, person);
    if (!gate_same(choice->point, lacking->subject)) {
        return false;
    }
    return choice->verb == GATE_VERB_LIFT_TAG
               ? gate_same(owner, asker)
               : choice->seen_off && gate_same(owner, choice->person);
}

static bool may_lead(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, const char *person, struct gate_time now) {
    return !gate_leads(job, person) && gate_holds_credentials(gate, site, job, person, now);
}

// Rule (6, next; 4, hand-over): Once work was started a leader who lacks a credential hands the
// lead over to one of the crew who holds it. [step-unqualified-stuck]
// Rule (6, next; 4, join-job): Where nobody in the crew holds it, somebody who does joins first.
// [step-nobody-qualified]
enum gate_verb gate_step_lead(const struct gate *gate, const struct gate_site *site,
                              const struct gate_job *job, struct gate_time now) {
    if (gate_offer_stands(job, now) && may_lead(gate, site, job, job->offered, now)) {
        return GATE_VERB_ACCEPT_LEAD;
    }
    for (size_t i = 0; i < job->crew_count; i++) {
        if (may_lead(gate, site, job, job->crew[i].person, now)) {
            return GATE_VERB_HAND_OVER;
        }
    }
    return GATE_VERB_JOIN_JOB;
}

bool gate_step_leads(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, const struct gate_choice *choice,
                     const char *asker, struct gate_time now) {
    if (choice->verb == GATE_VERB_JOIN_JOB) {
        return may_lead(gate, site, job, asker, now);
    }
    return choice->verb == GATE_VERB_HAND_OVER && choice->to != NULL &&
           may_lead(gate, site, job, choice->to, now);
}

// The most urgent of the job's alarms that is not acknowledged: what keeps the gate closed.
const struct gate_alarm *gate_step_alarm(const struct gate_site *site, const struct gate_job *job) {
    const struct gate_alarm *worst = NULL;
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        bool open = gate_same(alarm->job, job->job) && alarm->state != MODEL_ALARM_ACKNOWLEDGED;
        if (open && (worst == NULL || gate_alarm_priority(alarm) > gate_alarm_priority(worst))) {
            worst = alarm;
        }
    }
    return worst;
}

// The alarm of our own clock, where the journal is ahead of it: an overseer compares the clock, and
// says that it is right. One that was set is right in a minute by itself.
// Rule (6, next; 3, alarms; R19): A clock behind the journal waits for an overseer's word.
// [step-clock-of-nobody]
const struct gate_alarm *gate_step_clock(const struct gate *gate, const struct gate_site *site,
                                         struct gate_time now) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (gate_own_clock_ahead(gate, &site->alarms[i], now)) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

// Rule (6, next; 3, alarms): An alarm that is not the crew's to acknowledge waits for others.
// [step-alarm-of-anybody]
void gate_step_who_sees(const struct gate_alarm *alarm, struct gate_step *step) {
    if (alarm != NULL) {
        enum gate_alarm_seen_by seen_by = gate_alarm_row(alarm->kind, alarm->subject)->seen_by;
        step->choice.alarm = alarm->alarm;
        step->crew =
            seen_by == GATE_ALARM_SEEN_BY_CREW || seen_by == GATE_ALARM_SEEN_BY_CREW_NOT_BY;
    }
}
