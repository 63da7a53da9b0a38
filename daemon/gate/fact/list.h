// The facts: one line each, and from it its number, its name and its row.
//
// A fact is a file of this folder with its row (row.h) and a line here; nothing else names it but
// what decides it and what looks for it.
#pragma once

#include <stdbool.h>

// clang-format off
#define GATE_FACTS(X)                                        \
    /* Told as events: those that a row publishes. */        \
    X(JOB_OPENED, job_opened)                                \
    X(JOB_ASSIGNED, job_assigned)                            \
    X(JOB_CANCELLED, job_cancelled)                          \
    X(JOB_RETURNED, job_returned)                            \
    X(LEAD_OFFERED, lead_offered)                            \
    X(JOB_HANDED_OVER, job_handed_over)                      \
    X(CREW_JOINED, crew_joined)                              \
    X(CREW_LEFT, crew_left)                                  \
    X(CREW_PROTECTED, crew_protected)                        \
    X(CREW_UNPROTECTED, crew_unprotected)                    \
    X(TAG_HUNG, tag_hung)                                    \
    X(TAG_LIFTED, tag_lifted)                                \
    X(CHECK_SIGNED, check_signed)                            \
    X(CHECK_AGEING, check_ageing)                            \
    X(POINT_WITNESSED, point_witnessed)                      \
    X(POINT_CHANGED, point_changed)                          \
    X(POINT_AGEING, point_ageing)                            \
    X(SENSOR_DISTRUSTED, sensor_distrusted)                  \
    X(SENSOR_TRUSTED, sensor_trusted)                        \
    X(TOLD_CONFIRMED, told_confirmed)                        \
    X(LOCKOUT_CONFIRMED, lockout_confirmed)                  \
    X(LOCKOUT_LOST, lockout_lost)                            \
    X(LOCKOUT_BROKEN, lockout_broken)                        \
    X(STOP_CALLED, stop_called)                              \
    X(CHECKED_IN, checked_in)                                \
    X(WORK_STARTED, work_started)                            \
    X(WORK_REFUSED, work_refused)                            \
    X(WORK_STOPPED, work_stopped)                            \
    X(WORK_FINISHED, work_finished)                          \
    X(WORK_SET_ASIDE, work_set_aside)                        \
    X(WORK_REOPENED, work_reopened)                          \
    X(TEST_BEGUN, test_begun)                                \
    X(TEST_REFUSED, test_refused)                            \
    X(TEST_RECORDED, test_recorded)                          \
    X(RETURN_REFUSED, return_refused)                        \
    X(POSITION_OUT_OF_SERVICE, position_out_of_service)      \
    X(POSITION_RETURNED, position_returned)                  \
    X(FUEL_RECORDED, fuel_recorded)                          \
    X(PART_FITTED, part_fitted)                              \
    X(SPILL_RECORDED, spill_recorded)                        \
    X(SPILL_REPORTED, spill_reported)                        \
    X(FAULT_REPORTED, fault_reported)                        \
    X(JOB_EXPECTED, job_expected)                            \
    X(EVIDENCE_ATTACHED, evidence_attached)                  \
    X(ALARM_RAISED, alarm_raised)                            \
    X(ALARM_ACKNOWLEDGED, alarm_acknowledged)                \
    X(ALARM_CLEARED, alarm_cleared)                          \
    /* Kept in the journal only. */                          \
    X(DAEMON_STARTED, daemon_started)                        \
    X(TAG_DISCOUNTED, tag_discounted)                        \
    X(HOLD_BEGUN, hold_begun)                                \
    X(HOLD_ENDED, hold_ended)                                \
    X(STOP_EXPLAINED, stop_explained)                        \
    X(STOP_UPHELD, stop_upheld)                              \
    X(LEAVE_VOIDED, leave_voided)                            \
    X(PART_LISTED, part_listed)                              \
    X(TESTS_VOIDED, tests_voided)                            \
    X(REQUEST_REFUSED, request_refused)
// clang-format on

#define GATE_FACT_NUMBER(NAME, name) GATE_FACT_##NAME,
enum gate_fact_type { GATE_FACTS(GATE_FACT_NUMBER) GATE_FACT_COUNT };
#undef GATE_FACT_NUMBER

// The contract's spelling, without "forelock."; NULL for a value out of range.
const char *gate_fact_name(enum gate_fact_type type);
// The fact of a spelling, or -1.
int gate_fact_of(const char *name);
// Whether a fact is told as an event; false also for a value out of range, such as -1.
bool gate_fact_published(int type);
