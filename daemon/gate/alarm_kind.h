// What each kind of alarm is, whole, as one row: how urgent, why it stands, who may acknowledge it,
// what tells two of it apart. Everything else that speaks of alarms reads the row.
#pragma once

#include <stdbool.h>
#include <stddef.h>

#include "gate/says.h"
#include "model/words.h"

// Who may acknowledge an alarm (contract, section 3). Of an alarm of a job its crew; of one of no
// job, a crew of any job that stands.
enum gate_alarm_seen_by {
    GATE_ALARM_SEEN_BY_CREW,        // the crew, a manager, a supervisor
    GATE_ALARM_SEEN_BY_CREW_NOT_BY, // the same, but not the supervisor who did it
    GATE_ALARM_SEEN_BY_CALLER,      // who did it, a manager, a supervisor
    GATE_ALARM_SEEN_BY_OVERSEER,    // a manager, a supervisor
};

// What tells two alarms of a kind at a site apart, beside the kind.
#define GATE_ALARM_BY_JOB 1u
#define GATE_ALARM_BY_POINT 2u
#define GATE_ALARM_BY_SUBJECT 4u
#define GATE_ALARM_BY_DOER 8u

// What the subject of an alarm is, and so the cause that it shares with others (`group`), where it
// is of no point.
enum gate_alarm_subject {
    GATE_SUBJECT_NONE, // of its job
    GATE_SUBJECT_DAEMON,
    GATE_SUBJECT_SENSOR,
    GATE_SUBJECT_CONNECTION, // or a topic: it has levels
    GATE_SUBJECT_PERSON,     // or an unknown badge
    GATE_SUBJECT_WEBHOOK,
    GATE_SUBJECT_SPILL,
};

struct gate_alarm_row {
    enum model_alarm_priority priority;
    bool has_why; // every alarm of the kind stands for `why`; else for what it is raised with
    enum model_code why;
    enum gate_alarm_seen_by seen_by;
    unsigned told_by; // GATE_ALARM_BY_…
    enum gate_alarm_subject about;
    bool asks_note;     // who acknowledges it says what was done about it
    bool happened;      // it stands for what happened: acknowledged, it is gone
    const char *stands; // while what, a sentence's part for documents
};

// What the daemon itself is called where it is the subject.
#define GATE_SUBJECT_OF_DAEMON "daemon"
#define GATE_SUBJECT_OF_DURABLE "durable" // the connection

// The row of an alarm: of the clock there are two, the daemon's own and a sensor's. subject NULL or
// "": not known.
const struct gate_alarm_row *gate_alarm_row(enum model_alarm_kind kind, const char *subject);
