// alarm.raised, alarm.acknowledged and alarm.cleared: an alarm and the state it has come to.
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/refusal.h"
#include "gate/text.h"

static struct gate_alarm *alarm_new(struct gate_site *site, const char *id) {
    if (!BASE_ARRAY_ROOM(site->alarms, site->alarm_count, site->alarm_capacity)) {
        return NULL;
    }
    struct gate_alarm *alarm = &site->alarms[site->alarm_count++];
    memset(alarm, 0, sizeof *alarm);
    gate_id_copy(alarm->alarm, id);
    site->alarms_raised++;
    return alarm;
}

// Causes of one instant differ by a millisecond: who has seen the first says so by its time.
// Rule (3, alarms; R17): Two raisings of an alarm have two times. [alarm-raised-in-one-instant]
static struct gate_time raised_at(const struct gate_alarm *alarm, struct gate_time at) {
    int64_t ahead = alarm->raised.wall - at.wall;
    if (alarm->count > 0 && ahead >= 0 && ahead < 1000) { // else our clock was set back
        at.wall = alarm->raised.wall + 1;
    }
    return at;
}

// A journal of before told neither how often nor of what.
// Rule (5, After a restart; R17): An alarm of a journal of before counts each time it was raised.
// [alarm-count-of-before]
static void count_raised(struct gate_alarm *alarm, const struct gate_fact *fact) {
    uint32_t count = fact->count != 0 ? fact->count : alarm->count + 1;
    if (count != alarm->count) { // else the same one came back at once
        alarm->raised = raised_at(alarm, fact->at);
        alarm->count = count;
    }
    alarm->came = fact->at;
}

static void take_words(struct gate_alarm *alarm, const struct gate_fact *fact) {
    gate_text(alarm->say, sizeof alarm->say, "%s", fact->say != NULL ? fact->say : "");
    if (fact->args != NULL) {
        alarm->told = *fact->args;
        gate_refusal_own(&alarm->told);
    } else {
        memset(&alarm->told, 0, sizeof alarm->told);
    }
}

// Of what an alarm is, where a journal of before does not say.
static const char *subject_of(const struct gate_fact *fact) {
    const char *told = fact->subject != NULL ? fact->subject : fact->person;
    return told == NULL && fact->kind == MODEL_ALARM_LINK_DOWN ? "durable" : told;
}

static bool apply_raised(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_alarm *alarm = gate_alarm_find(site, fact->alarm);
    if (alarm == NULL) {
        alarm = alarm_new(site, fact->alarm);
    }
    if (alarm == NULL) {
        return false;
    }
    alarm->kind = fact->kind;
    alarm->state = fact->alarm_state;
    count_raised(alarm, fact);
    alarm->has_why = fact->has_why;
    alarm->why = fact->why;
    alarm->position =
        fact->position != NULL ? model_position_find(site->model, fact->position) : MODEL_NONE;
    gate_id_copy(alarm->job, fact->job);
    gate_id_copy(alarm->point, fact->point);
    gate_id_copy(alarm->by, fact->by);
    const char *subject = subject_of(fact);
    gate_text(alarm->subject, sizeof alarm->subject, "%s", subject != NULL ? subject : "");
    take_words(alarm, fact);
    return true;
}

static bool apply_state(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_alarm *alarm = gate_alarm_find(site, fact->alarm);
    if (alarm == NULL) {
        return true;
    }
    alarm->state = fact->alarm_state;
    if (fact->type == GATE_FACT_ALARM_CLEARED) {
        alarm->returned = fact->at;
    }
    if (alarm->state == MODEL_ALARM_GONE) {
        size_t index = (size_t)(alarm - site->alarms);
        memmove(alarm, alarm + 1, (site->alarm_count - index - 1) * sizeof *alarm);
        site->alarm_count--;
    }
    return true;
}

const struct gate_fact_row gate_fact_alarm_raised = {
    .name = "alarm.raised",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(alarm) | GATE_HAS(kind) | GATE_HAS(alarm_state) | GATE_HAS(point) |
               GATE_HAS(person) | GATE_HAS(by) | GATE_HAS(why) | GATE_HAS(count) |
               GATE_HAS(subject) | GATE_HAS(say) | GATE_HAS(args),
    .needs = GATE_HAS(alarm),
    .apply = apply_raised,
    .sentence = "alarm {alarm} ({kind}) was raised[ at {point}][ of {subject}][ ({why})][: {say}]",
};

const struct gate_fact_row gate_fact_alarm_acknowledged = {
    .name = "alarm.acknowledged",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(alarm) | GATE_HAS(kind) | GATE_HAS(alarm_state) | GATE_HAS(point) |
               GATE_HAS(by) | GATE_HAS(note),
    .needs = GATE_HAS(alarm),
    .apply = apply_state,
    .sentence = "{by} acknowledged alarm {alarm}[ ({kind})][: {note}]",
};

const struct gate_fact_row gate_fact_alarm_cleared = {
    .name = "alarm.cleared",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(alarm) | GATE_HAS(kind) | GATE_HAS(alarm_state) | GATE_HAS(point),
    .needs = GATE_HAS(alarm),
    .apply = apply_state,
    .sentence = "alarm {alarm}[ ({kind})] cleared[: {alarm_state}]",
};
