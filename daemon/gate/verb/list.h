// The verbs, in the contract's order (section 4), one line a verb: its name in C, and its row and
// file (gate_verb_start_work of start_work.c).
#pragma once

#define GATE_VERBS(VERB)                                                                           \
    VERB(OPEN_JOB, open_job)                                                                       \
    VERB(ASSIGN_JOB, assign_job)                                                                   \
    VERB(JOIN_JOB, join_job)                                                                       \
    VERB(LEAVE_JOB, leave_job)                                                                     \
    VERB(WITNESS_POINT, witness_point)                                                             \
    VERB(HANG_TAG, hang_tag)                                                                       \
    VERB(LIFT_TAG, lift_tag)                                                                       \
    VERB(LIFT_ABSENT_TAG, lift_absent_tag)                                                         \
    VERB(CONFIRM_TOLD, confirm_told)                                                               \
    VERB(SIGN_CHECK, sign_check)                                                                   \
    VERB(START_WORK, start_work)                                                                   \
    VERB(STOP_WORK, stop_work)                                                                     \
    VERB(CHECK_IN, check_in)                                                                       \
    VERB(DISTRUST_SENSOR, distrust_sensor)                                                         \
    VERB(TRUST_SENSOR, trust_sensor)                                                               \
    VERB(FINISH_WORK, finish_work)                                                                 \
    VERB(BEGIN_TEST, begin_test)                                                                   \
    VERB(RECORD_TEST, record_test)                                                                 \
    VERB(REWORK, rework)                                                                           \
    VERB(SET_ASIDE, set_aside)                                                                     \
    VERB(RETURN_POSITION, return_position)                                                         \
    VERB(HAND_OVER, hand_over)                                                                     \
    VERB(ACCEPT_LEAD, accept_lead)                                                                 \
    VERB(CANCEL_JOB, cancel_job)                                                                   \
    VERB(ACKNOWLEDGE_ALARM, acknowledge_alarm)                                                     \
    VERB(RECORD_FUEL, record_fuel)                                                                 \
    VERB(FIT_PART, fit_part)                                                                       \
    VERB(RECORD_SPILL, record_spill)                                                               \
    VERB(REPORT_SPILL, report_spill)                                                               \
    VERB(REPORT_FAULT, report_fault)                                                               \
    VERB(EXPECT_BACK, expect_back)                                                                 \
    VERB(ATTACH, attach)
