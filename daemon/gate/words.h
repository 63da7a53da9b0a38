// The words of the gate: facts, an enum with its one spelling in the contract.
#pragma once

#include "model/words.h"

// What happened. Those before GATE_FACT_PUBLISHED_COUNT are told as events, "forelock." before the
// name; the others are kept in the journal only.
enum gate_fact_type {
    GATE_FACT_JOB_OPENED,
    GATE_FACT_JOB_ASSIGNED,
    GATE_FACT_JOB_CANCELLED,
    GATE_FACT_JOB_RETURNED,
    GATE_FACT_LEAD_OFFERED,
    GATE_FACT_JOB_HANDED_OVER,
    GATE_FACT_CREW_JOINED,
    GATE_FACT_CREW_LEFT,
    GATE_FACT_CREW_PROTECTED,
    GATE_FACT_CREW_UNPROTECTED,
    GATE_FACT_TAG_HUNG,
    GATE_FACT_TAG_LIFTED,
    GATE_FACT_CHECK_SIGNED,
    GATE_FACT_POINT_WITNESSED,
    GATE_FACT_POINT_CHANGED,
    GATE_FACT_LOCKOUT_CONFIRMED,
    GATE_FACT_LOCKOUT_LOST,
    GATE_FACT_LOCKOUT_BROKEN,
    GATE_FACT_WORK_STARTED,
    GATE_FACT_WORK_REFUSED,
    GATE_FACT_WORK_STOPPED,
    GATE_FACT_WORK_FINISHED,
    GATE_FACT_WORK_SET_ASIDE,
    GATE_FACT_WORK_REOPENED,
    GATE_FACT_TEST_BEGUN,
    GATE_FACT_TEST_REFUSED,
    GATE_FACT_TEST_RECORDED,
    GATE_FACT_RETURN_REFUSED,
    GATE_FACT_POSITION_OUT_OF_SERVICE,
    GATE_FACT_POSITION_RETURNED,
    GATE_FACT_ALARM_RAISED,
    GATE_FACT_ALARM_ACKNOWLEDGED,
    GATE_FACT_ALARM_CLEARED,
    GATE_FACT_PUBLISHED_COUNT,
    // The daemon came up: every reading from before it is no evidence any more.
    GATE_FACT_DAEMON_STARTED = GATE_FACT_PUBLISHED_COUNT,
    // A tag stopped counting: its point read live.
    GATE_FACT_TAG_DISCOUNTED,
    // Every required point isolated and tagged by the leader: relieve and verify are in season.
    GATE_FACT_HOLD_BEGUN,
    // No longer so: what was relieved and verified is void.
    GATE_FACT_HOLD_ENDED,
    // A request on a known job that was refused, other than the three gates that have an event.
    GATE_FACT_REQUEST_REFUSED,
    GATE_FACT_COUNT,
};

// Spellings of the contract; NULL for a value out of range.
const char *gate_fact_name(enum gate_fact_type type); // without "forelock."

// The value of a spelling, or -1.
int gate_fact_of(const char *name);
