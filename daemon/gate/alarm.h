// Raising, clearing and acknowledging alarms. What each kind is stands in alarm_kind.h.
#pragma once

#include "gate/alarm_kind.h"
#include "gate/state.h"

struct gate_alarm_about {
    enum model_alarm_kind kind;
    const struct gate_job *job; // or NULL
    uint32_t position;          // or MODEL_NONE
    uint32_t point;             // or MODEL_NONE
    const char *subject;        // sensor, connection, topic, person, webhook, "daemon"; or NULL
    const char *by;             // who did what it stands for, or NULL
    bool has_why;               // a kind that has a why of its own needs none here
    enum model_code why;
    enum gate_say sentence; // one of alarm_says.h, and what it is made of
    const struct gate_args *args;
    const struct gate_refusal *told; // the same, made already; NULL: it is to be made
};
// Raises an alarm. again: this is a further cause of it (another reason or point, another who did
// it), which raises one that stands anew; else a condition goes on, and one that stands is left as
// it is.
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now);
// Says of one that stands what more is known of the same cause: its count stays. Nothing where none
// stands.
void gate_alarm_reword(struct gate *gate, struct gate_site *site,
                       const struct gate_alarm_about *about, struct gate_time now);
// The condition is gone: acknowledged alarms end, others wait for it. Of about only what tells the
// alarm apart is read (kind, job, point, subject, by).
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now);
// Somebody has seen to it: who may is the verb's to judge. note NULL: none.
void gate_alarm_acknowledge(struct gate *gate, struct gate_site *site,
                            const struct gate_alarm *alarm, const char *by, const char *note,
                            struct gate_time now);
// The alarm that stands about this, or NULL.
struct gate_alarm *gate_alarm_about(const struct gate_site *site,
                                    const struct gate_alarm_about *about);
// How urgent one is, as it was raised last.
enum model_alarm_priority gate_alarm_priority(const struct gate_alarm *alarm);
// The cause that several alarms may share, as `group` tells it: "point/3-power".
void gate_alarm_group(const struct gate_alarm *alarm, char *buffer, size_t size);
#define GATE_GROUP_SIZE (GATE_SUBJECT_SIZE + 16)
