// Alarms with the states of ISA-18.2: raised, acknowledged, returned; acknowledged and returned is
// gone.
#include "gate/alarm.h"

#include "gate/emit.h"
#include "gate/gate.h"
#include "gate/text.h"

// The same cause that comes back sooner is the same raising of the alarm (contract, section 3).
#define AWAY_MS 5000

static const char *point_id(const struct gate_site *site, uint32_t point) {
    return point != MODEL_NONE ? site->model->points[point].point : "";
}

// Rule (3, alarms; R17): Each kind has its own marks by which two of it are told apart.
// [alarm-told-apart-by-kind]
struct gate_alarm *gate_alarm_about(const struct gate_site *site,
                                    const struct gate_alarm_about *about) {
    unsigned marks = gate_alarm_row(about->kind, about->subject)->told_by;
    for (size_t i = 0; i < site->alarm_count; i++) {
        struct gate_alarm *alarm = &site->alarms[i];
        const char *job = about->job != NULL ? about->job->job : "";
        if (alarm->kind == about->kind &&
            ((marks & GATE_ALARM_BY_JOB) == 0 || gate_same(alarm->job, job)) &&
            ((marks & GATE_ALARM_BY_POINT) == 0 ||
             gate_same(alarm->point, point_id(site, about->point))) &&
            ((marks & GATE_ALARM_BY_SUBJECT) == 0 || gate_same(alarm->subject, about->subject)) &&
            ((marks & GATE_ALARM_BY_DOER) == 0 || gate_same(alarm->by, about->by))) {
            return alarm;
        }
    }
    return NULL;
}

// Rule (3, alarms; R17): The same that comes back within 5 s is the same alarm still.
// [alarm-flutter-counts]
static uint32_t next_count(const struct gate_alarm *stands, bool again, struct gate_time now) {
    if (stands == NULL) {
        return 1;
    }
    bool same = !again && now.mono - stands->returned.mono < AWAY_MS;
    return stands->count + (same ? 0 : 1);
}

static struct gate_fact fact_about(struct gate *gate, const struct gate_site *site,
                                   const struct gate_alarm_about *about, struct gate_time now) {
    enum gate_fact_type type = GATE_FACT_ALARM_RAISED;
    return about->job != NULL           ? gate_fact_of_job(gate, site, about->job, type, now)
           : about->point != MODEL_NONE ? gate_fact_of_point(gate, site, about->point, type, now)
                                        : gate_fact_new(gate, site, type, now);
}

// stands: the alarm as it is so far, or NULL.
static void emit_raised(struct gate *gate, struct gate_site *site,
                        const struct gate_alarm_about *about, const struct gate_alarm *stands,
                        uint32_t count, struct gate_time now) {
    const struct gate_alarm_row *row = gate_alarm_row(about->kind, about->subject);
    char id[MODEL_ID_SIZE];
    gate_text(id, sizeof id, "a%llu", (unsigned long long)site->alarms_raised + 1);
    if (stands != NULL) {
        gate_id_copy(id, stands->alarm);
    }
    struct gate_refusal told;
    if (about->told != NULL) {
        told = *about->told;
    } else {
        gate_alarm_say_make(&told, about->sentence, about->args);
    }
    struct gate_fact fact = fact_about(gate, site, about, now);
    fact.alarm = id;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = about->kind;
    fact.alarm_state = MODEL_ALARM_UNACKNOWLEDGED;
    fact.position =
        about->position != MODEL_NONE ? site->model->positions[about->position].position : NULL;
    fact.point = about->point != MODEL_NONE ? point_id(site, about->point) : NULL;
    fact.subject = about->subject;
    fact.person = row->about == GATE_SUBJECT_PERSON ? about->subject : NULL;
    fact.by = about->by;
    fact.has_why = row->has_why || about->has_why;
    fact.why = row->has_why ? row->why : about->why;
    fact.count = count;
    fact.say = told.say;
    fact.args = &told;
    gate_emit(gate, &fact);
}

// Rule (3, alarms): A condition that goes on raises its alarm once. [alarm-repeats]
// Rule (3, alarms; R17): A further cause raises an alarm again, also one that nobody has
// acknowledged. [alarm-further-cause-unheard]
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now) {
    const struct gate_alarm *stands = gate_alarm_about(site, about);
    if (stands == NULL || stands->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED || again) {
        emit_raised(gate, site, about, stands, next_count(stands, again, now), now);
    }
}

void gate_alarm_reword(struct gate *gate, struct gate_site *site,
                       const struct gate_alarm_about *about, struct gate_time now) {
    const struct gate_alarm *stands = gate_alarm_about(site, about);
    if (stands != NULL) {
        emit_raised(gate, site, about, stands, stands->count, now);
    }
}

// A fact of what becomes of an alarm; alarm must outlive it.
static struct gate_fact fact_of(struct gate *gate, const struct gate_site *site,
                                const struct gate_alarm *alarm, enum gate_fact_type type,
                                struct gate_time now) {
    struct gate_fact fact = gate_fact_new(gate, site, type, now);
    fact.alarm = alarm->alarm;
    fact.job = alarm->job[0] != '\0' ? alarm->job : NULL;
    fact.point = alarm->point[0] != '\0' ? alarm->point : NULL;
    fact.position =
        alarm->position != MODEL_NONE ? site->model->positions[alarm->position].position : NULL;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = alarm->kind;
    return fact;
}

// Rule (3, alarms; ISA-18.2 [S]): An alarm that returns unacknowledged waits to be acknowledged.
// [alarm-gone-unseen]
// Rule (3, alarms; ISA-18.2 [S]): Acknowledged and returned is gone. [alarm-never-gone]
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now) {
    const struct gate_alarm *alarm = gate_alarm_about(site, about);
    if (alarm == NULL || alarm->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
        return;
    }
    struct gate_alarm copy = *alarm;
    struct gate_fact fact = fact_of(gate, site, &copy, GATE_FACT_ALARM_CLEARED, now);
    fact.alarm_state = copy.state == MODEL_ALARM_ACKNOWLEDGED ? MODEL_ALARM_GONE
                                                              : MODEL_ALARM_RETURNED_UNACKNOWLEDGED;
    gate_emit(gate, &fact);
}

// Rule (3, alarms; R17): An alarm of what happened is gone once it is acknowledged.
// [alarm-of-what-happened-stays]
void gate_alarm_acknowledge(struct gate *gate, struct gate_site *site,
                            const struct gate_alarm *alarm, const char *by, const char *note,
                            struct gate_time now) {
    struct gate_alarm copy = *alarm;
    bool over = copy.state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED ||
                gate_alarm_row(copy.kind, copy.subject)->happened;
    struct gate_fact fact = fact_of(gate, site, &copy, GATE_FACT_ALARM_ACKNOWLEDGED, now);
    fact.by = by;
    fact.note = note;
    fact.alarm_state = over ? MODEL_ALARM_GONE : MODEL_ALARM_ACKNOWLEDGED;
    gate_emit(gate, &fact);
}

// Rule (4, record-spill): A spill that was to be reported by now is of a higher priority.
// [spill-overdue-low]
enum model_alarm_priority gate_alarm_priority(const struct gate_alarm *alarm) {
    return alarm->told.sentence == GATE_SAY_ALARM_SPILL_OVERDUE
               ? MODEL_PRIORITY_HIGH
               : gate_alarm_row(alarm->kind, alarm->subject)->priority;
}

// Rule (3, alarms; R17): Alarms of one point are one group. [alarm-group-by-alarm]
void gate_alarm_group(const struct gate_alarm *alarm, char *buffer, size_t size) {
    static const char *const of[] = {
        [GATE_SUBJECT_SENSOR] = "sensor", [GATE_SUBJECT_CONNECTION] = "connection",
        [GATE_SUBJECT_PERSON] = "person", [GATE_SUBJECT_WEBHOOK] = "webhook",
        [GATE_SUBJECT_SPILL] = "spill",   [GATE_SUBJECT_DAEMON] = "daemon",
        [GATE_SUBJECT_NONE] = "job",
    };
    enum gate_alarm_subject about = gate_alarm_row(alarm->kind, alarm->subject)->about;
    if (alarm->kind == MODEL_ALARM_LOCKOUT_BROKEN && alarm->why == MODEL_CODE_LINK_DOWN) {
        gate_text(buffer, size, "connection/durable"); // as the alarm of the link itself
    } else if (about == GATE_SUBJECT_DAEMON) {
        gate_text(buffer, size, "daemon");
    } else if (about != GATE_SUBJECT_NONE && alarm->subject[0] != '\0') {
        gate_text(buffer, size, "%s/%s", of[about], alarm->subject);
    } else if (alarm->point[0] != '\0') {
        gate_text(buffer, size, "point/%s", alarm->point);
    } else {
        gate_text(buffer, size, "job/%s", alarm->job);
    }
}
