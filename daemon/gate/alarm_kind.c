// The table of alarms (contract, section 3).
#include "gate/alarm_kind.h"

#include "gate/text.h"

#define WHY(code) .has_why = true, .why = MODEL_CODE_##code

// Rule (3, alarms; R17): What threatens a life now is urgent. [alarm-priority-flat]
static const struct gate_alarm_row rows[MODEL_ALARM_KIND_COUNT] = {
    [MODEL_ALARM_LOCKOUT_BROKEN] = {.priority = MODEL_PRIORITY_URGENT,
                                    .told_by = GATE_ALARM_BY_JOB,
                                    .stands = "until proof anew, set-aside, rework or the job's "
                                              "end"},
    [MODEL_ALARM_STOP_CALLED] = {.priority = MODEL_PRIORITY_URGENT,
                                 .seen_by = GATE_ALARM_SEEN_BY_CALLER,
                                 .told_by = GATE_ALARM_BY_JOB,
                                 .asks_note = true,
                                 .happened = true,
                                 .stands = "until it is acknowledged"},
    [MODEL_ALARM_ABSENT_LOCK_REMOVED] = {.priority = MODEL_PRIORITY_HIGH,
                                         WHY(TAG_MISSING),
                                         .seen_by = GATE_ALARM_SEEN_BY_CREW_NOT_BY,
                                         .told_by = GATE_ALARM_BY_JOB | GATE_ALARM_BY_SUBJECT |
                                                    GATE_ALARM_BY_DOER,
                                         .about = GATE_SUBJECT_PERSON,
                                         .happened = true,
                                         .stands = "until it is acknowledged"},
    [MODEL_ALARM_CHECK_IN_OVERDUE] = {.priority = MODEL_PRIORITY_URGENT,
                                      .seen_by = GATE_ALARM_SEEN_BY_OVERSEER,
                                      .told_by = GATE_ALARM_BY_JOB,
                                      .about = GATE_SUBJECT_PERSON,
                                      .asks_note = true,
                                      .stands = "until a check-in, or the phase leaves `working`"},
    [MODEL_ALARM_LEFT_LIVE] = {.priority = MODEL_PRIORITY_HIGH,
                               WHY(POINT_LIVE),
                               .told_by = GATE_ALARM_BY_POINT,
                               .stands = "while a point of a position that was repaired and not "
                                         "tested reads live"},
    [MODEL_ALARM_LINK_DOWN] = {.priority = MODEL_PRIORITY_HIGH,
                               WHY(LINK_DOWN),
                               .told_by = GATE_ALARM_BY_SUBJECT,
                               .about = GATE_SUBJECT_CONNECTION,
                               .stands = "while a connection or a subscription is down"},
    [MODEL_ALARM_JOURNAL_DOWN] = {.priority = MODEL_PRIORITY_HIGH,
                                  WHY(JOURNAL_DOWN),
                                  .about = GATE_SUBJECT_DAEMON,
                                  .stands = "while the journal does not write"},
    [MODEL_ALARM_SITE_CONTESTED] = {.priority = MODEL_PRIORITY_HIGH,
                                    WHY(SITE_CONTESTED),
                                    .about = GATE_SUBJECT_DAEMON,
                                    .stands = "while another daemon claims the site"},
    [MODEL_ALARM_TAG_LEFT] = {.priority = MODEL_PRIORITY_LOW,
                              WHY(TAG_HUNG),
                              .told_by =
                                  GATE_ALARM_BY_JOB | GATE_ALARM_BY_POINT | GATE_ALARM_BY_SUBJECT,
                              .about = GATE_SUBJECT_PERSON,
                              .stands = "while a tag hangs that was hung over 12 h ago"},
    [MODEL_ALARM_CLOCK] = {.priority = MODEL_PRIORITY_LOW,
                           WHY(CLOCK_WRONG),
                           .told_by = GATE_ALARM_BY_SUBJECT,
                           .about = GATE_SUBJECT_SENSOR,
                           .stands = "while a sensor's clock and ours disagree"},
    [MODEL_ALARM_WEBHOOK_DOWN] = {.priority = MODEL_PRIORITY_LOW,
                                  .told_by = GATE_ALARM_BY_SUBJECT,
                                  .about = GATE_SUBJECT_WEBHOOK,
                                  .stands = "while a webhook has taken nothing for too long"},
    [MODEL_ALARM_SPILL_REPORT_DUE] = {.priority = MODEL_PRIORITY_LOW,
                                      .told_by = GATE_ALARM_BY_SUBJECT,
                                      .about = GATE_SUBJECT_SPILL,
                                      .stands = "until a spill over the limit is reported; `high` "
                                                "once that is due"},
};

// Rule (3, alarms; R19): The daemon's own clock is an overseer's to answer for.
// [alarm-clock-as-one]
static const struct gate_alarm_row own_clock = {
    .priority = MODEL_PRIORITY_HIGH,
    WHY(CLOCK_WRONG),
    .seen_by = GATE_ALARM_SEEN_BY_OVERSEER,
    .told_by = GATE_ALARM_BY_SUBJECT,
    .about = GATE_SUBJECT_DAEMON,
    .stands = "while our clock is over 1 s behind the journal's newest time, and 60 s after a step "
              "of over 5 s; where the journal is ahead, with a `note`"};

const struct gate_alarm_row *gate_alarm_row(enum model_alarm_kind kind, const char *subject) {
    if (kind == MODEL_ALARM_CLOCK && gate_same(subject, GATE_SUBJECT_OF_DAEMON)) {
        return &own_clock;
    }
    return &rows[kind];
}
