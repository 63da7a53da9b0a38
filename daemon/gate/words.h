// The words of the gate: phases, lockout, points, alarms, refusals, verbs and facts, each an enum
// with its one spelling in the contract.
#pragma once

enum gate_phase {
    GATE_PHASE_OPEN,
    GATE_PHASE_WORKING,
    GATE_PHASE_STOPPED,
    GATE_PHASE_RESTORING,
    GATE_PHASE_TESTING,
    GATE_PHASE_RETURNED,
    GATE_PHASE_CANCELLED,
    GATE_PHASE_COUNT,
};

enum gate_lockout {
    GATE_LOCKOUT_UNCONFIRMED,
    GATE_LOCKOUT_CONFIRMED,
    GATE_LOCKOUT_BROKEN,
    GATE_LOCKOUT_UNPROVEN,
    GATE_LOCKOUT_COUNT,
};

enum gate_point_state {
    GATE_POINT_UNKNOWN,
    GATE_POINT_LIVE,
    GATE_POINT_ISOLATED,
    GATE_POINT_STATE_COUNT,
};

enum gate_trust {
    GATE_TRUST_CONTROLLER_OFFLINE,
    GATE_TRUST_BAD_QUALITY,
    GATE_TRUST_SILENT,
    GATE_TRUST_STALE,
    GATE_TRUST_SETTLING,
    GATE_TRUST_DISAGREES,
    GATE_TRUST_FRESH,
    GATE_TRUST_WITNESSED,
    GATE_TRUST_COUNT,
};

enum gate_service {
    GATE_SERVICE_OUT,
    GATE_SERVICE_IN,
    GATE_SERVICE_COUNT,
};

enum gate_cause {
    GATE_CAUSE_NONE,
    GATE_CAUSE_JOB,
    GATE_CAUSE_ISOLATED_WITH,
    GATE_CAUSE_ISOLATED,
    GATE_CAUSE_UNTESTED,
    GATE_CAUSE_UNKNOWN,
    GATE_CAUSE_COUNT,
};

enum gate_alarm_kind {
    GATE_ALARM_LOCKOUT_BROKEN,
    GATE_ALARM_LEFT_LIVE,
    GATE_ALARM_LINK_DOWN,
    GATE_ALARM_JOURNAL_DOWN,
    GATE_ALARM_SITE_CONTESTED,
    GATE_ALARM_TAG_LEFT,
    GATE_ALARM_CLOCK,
    GATE_ALARM_WEBHOOK_DOWN,
    GATE_ALARM_KIND_COUNT,
};

// ISA-18.2 states. Acknowledged and returned is gone.
enum gate_alarm_state {
    GATE_ALARM_GONE,
    GATE_ALARM_UNACKNOWLEDGED,
    GATE_ALARM_ACKNOWLEDGED,
    GATE_ALARM_RETURNED_UNACKNOWLEDGED,
    GATE_ALARM_STATE_COUNT,
};

enum gate_code {
    GATE_CODE_MALFORMED,
    GATE_CODE_NOT_ALLOWED,
    GATE_CODE_UNKNOWN_SITE,
    GATE_CODE_UNKNOWN_POSITION,
    GATE_CODE_UNKNOWN_PROCEDURE,
    GATE_CODE_UNKNOWN_PERSON,
    GATE_CODE_UNKNOWN_JOB,
    GATE_CODE_UNKNOWN_POINT,
    GATE_CODE_UNKNOWN_CHECK,
    GATE_CODE_UNKNOWN_TEST,
    GATE_CODE_UNKNOWN_ALARM,
    GATE_CODE_UNKNOWN_VERB,
    GATE_CODE_UNKNOWN_INSTRUMENT,
    GATE_CODE_ENERGY_UNMAPPED,
    GATE_CODE_POSITION_HAS_JOB,
    GATE_CODE_JOB_EXISTS,
    GATE_CODE_ID_REUSED,
    GATE_CODE_WRONG_PHASE,
    GATE_CODE_NOT_ASSIGNED,
    GATE_CODE_NOT_IN_CREW,
    GATE_CODE_CREDENTIAL_MISSING,
    GATE_CODE_CREDENTIAL_EXPIRED,
    GATE_CODE_PART_MISMATCH,
    GATE_CODE_CHECK_MISSING,
    GATE_CODE_CHECK_FAILED,
    GATE_CODE_CHECK_VOID,
    GATE_CODE_CHECK_OUT_OF_SEASON,
    GATE_CODE_INSTRUMENT_MISSING,
    GATE_CODE_INSTRUMENT_OVERDUE,
    GATE_CODE_POINT_LIVE,
    GATE_CODE_POINT_UNKNOWN,
    GATE_CODE_POINT_STALE,
    GATE_CODE_POINT_SETTLING,
    GATE_CODE_POINT_DISAGREES,
    GATE_CODE_CONTROLLER_OFFLINE,
    GATE_CODE_LINK_DOWN,
    GATE_CODE_JOURNAL_DOWN,
    GATE_CODE_SITE_CONTESTED,
    GATE_CODE_TAG_MISSING,
    GATE_CODE_TAG_NOT_YOURS,
    GATE_CODE_TAG_HUNG,
    GATE_CODE_SHARED_TESTING,
    GATE_CODE_SHARED_LOCKED,
    GATE_CODE_ALARM_OPEN,
    GATE_CODE_POINT_NOT_RESTORED,
    GATE_CODE_TEST_MISSING,
    GATE_CODE_TEST_FAILED,
    GATE_CODE_ATTESTATION_MISSING,
    GATE_CODE_COUNT,
};

// The verbs, in the contract's order (section 4).
enum gate_verb {
    GATE_VERB_OPEN_JOB,
    GATE_VERB_ASSIGN_JOB,
    GATE_VERB_JOIN_JOB,
    GATE_VERB_LEAVE_JOB,
    GATE_VERB_WITNESS_POINT,
    GATE_VERB_HANG_TAG,
    GATE_VERB_LIFT_TAG,
    GATE_VERB_LIFT_ABSENT_TAG,
    GATE_VERB_SIGN_CHECK,
    GATE_VERB_START_WORK,
    GATE_VERB_STOP_WORK,
    GATE_VERB_FINISH_WORK,
    GATE_VERB_BEGIN_TEST,
    GATE_VERB_RECORD_TEST,
    GATE_VERB_REWORK,
    GATE_VERB_SET_ASIDE,
    GATE_VERB_RETURN_POSITION,
    GATE_VERB_HAND_OVER,
    GATE_VERB_ACCEPT_LEAD,
    GATE_VERB_CANCEL_JOB,
    GATE_VERB_ACKNOWLEDGE_ALARM,
    GATE_VERB_COUNT,
};

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
const char *gate_phase_name(enum gate_phase phase);
const char *gate_lockout_name(enum gate_lockout lockout);
const char *gate_point_state_name(enum gate_point_state state);
const char *gate_trust_name(enum gate_trust trust);
const char *gate_service_name(enum gate_service service);
const char *gate_cause_name(enum gate_cause cause); // NULL for none
const char *gate_alarm_kind_name(enum gate_alarm_kind kind);
const char *gate_alarm_state_name(enum gate_alarm_state state); // "gone" is never told outside
const char *gate_code_name(enum gate_code code);
const char *gate_verb_name(enum gate_verb verb);
const char *gate_fact_name(enum gate_fact_type type); // without "forelock."

// The value of a spelling, or -1.
int gate_phase_of(const char *name);
int gate_lockout_of(const char *name);
int gate_point_state_of(const char *name);
int gate_trust_of(const char *name);
int gate_alarm_kind_of(const char *name);
int gate_alarm_state_of(const char *name);
int gate_code_of(const char *name);
int gate_verb_of(const char *name);
int gate_fact_of(const char *name);
