// The words of what a site and its jobs can be: phases, lockout, points, alarms, refusals, each an
// enum with its one spelling in the contract.
#pragma once

enum model_phase {
    MODEL_PHASE_OPEN,
    MODEL_PHASE_WORKING,
    MODEL_PHASE_STOPPED,
    MODEL_PHASE_RESTORING,
    MODEL_PHASE_TESTING,
    MODEL_PHASE_RETURNED,
    MODEL_PHASE_CANCELLED,
    MODEL_PHASE_COUNT,
};

enum model_lockout {
    MODEL_LOCKOUT_UNCONFIRMED,
    MODEL_LOCKOUT_CONFIRMED,
    MODEL_LOCKOUT_BROKEN,
    MODEL_LOCKOUT_UNPROVEN,
    MODEL_LOCKOUT_COUNT,
};

enum model_point_state {
    MODEL_POINT_UNKNOWN,
    MODEL_POINT_LIVE,
    MODEL_POINT_ISOLATED,
    MODEL_POINT_STATE_COUNT,
};

enum model_trust {
    MODEL_TRUST_CONTROLLER_OFFLINE,
    MODEL_TRUST_BAD_QUALITY,
    MODEL_TRUST_SILENT,
    MODEL_TRUST_STALE,
    MODEL_TRUST_SETTLING,
    MODEL_TRUST_DISAGREES,
    MODEL_TRUST_FRESH,
    MODEL_TRUST_WITNESSED,
    MODEL_TRUST_KEPT, // live by what the broker kept alone
    MODEL_TRUST_COUNT,
};

enum model_service {
    MODEL_SERVICE_OUT,
    MODEL_SERVICE_IN,
    MODEL_SERVICE_COUNT,
};

enum model_cause {
    MODEL_CAUSE_NONE,
    MODEL_CAUSE_JOB,
    MODEL_CAUSE_ISOLATED_WITH,
    MODEL_CAUSE_WORK_BESIDE,
    MODEL_CAUSE_ISOLATED,
    MODEL_CAUSE_UNTESTED,
    MODEL_CAUSE_UNKNOWN,
    MODEL_CAUSE_COUNT,
};

enum model_alarm_kind {
    MODEL_ALARM_LOCKOUT_BROKEN,
    MODEL_ALARM_STOP_CALLED,
    MODEL_ALARM_ABSENT_LOCK_REMOVED,
    MODEL_ALARM_CHECK_IN_OVERDUE,
    MODEL_ALARM_LEFT_LIVE,
    MODEL_ALARM_LINK_DOWN,
    MODEL_ALARM_JOURNAL_DOWN,
    MODEL_ALARM_SITE_CONTESTED,
    MODEL_ALARM_TAG_LEFT,
    MODEL_ALARM_CLOCK,
    MODEL_ALARM_WEBHOOK_DOWN,
    MODEL_ALARM_SPILL_REPORT_DUE,
    MODEL_ALARM_KIND_COUNT,
};

// ISA-18.2 states. Acknowledged and returned is gone.
enum model_alarm_state {
    MODEL_ALARM_GONE,
    MODEL_ALARM_UNACKNOWLEDGED,
    MODEL_ALARM_ACKNOWLEDGED,
    MODEL_ALARM_RETURNED_UNACKNOWLEDGED,
    MODEL_ALARM_STATE_COUNT,
};

enum model_alarm_priority {
    MODEL_PRIORITY_LOW,
    MODEL_PRIORITY_HIGH,
    MODEL_PRIORITY_URGENT,
    MODEL_PRIORITY_COUNT,
};

enum model_code {
    MODEL_CODE_MALFORMED,
    MODEL_CODE_NOT_ALLOWED,
    MODEL_CODE_UNKNOWN_SITE,
    MODEL_CODE_UNKNOWN_POSITION,
    MODEL_CODE_UNKNOWN_PROCEDURE,
    MODEL_CODE_UNKNOWN_PERSON,
    MODEL_CODE_UNKNOWN_JOB,
    MODEL_CODE_UNKNOWN_POINT,
    MODEL_CODE_UNKNOWN_CHECK,
    MODEL_CODE_UNKNOWN_TEST,
    MODEL_CODE_UNKNOWN_ALARM,
    MODEL_CODE_UNKNOWN_VERB,
    MODEL_CODE_UNKNOWN_INSTRUMENT,
    MODEL_CODE_ENERGY_UNMAPPED,
    MODEL_CODE_POSITION_HAS_JOB,
    MODEL_CODE_JOB_EXISTS,
    MODEL_CODE_ID_REUSED,
    MODEL_CODE_WRONG_PHASE,
    MODEL_CODE_NOT_ASSIGNED,
    MODEL_CODE_NOT_IN_CREW,
    MODEL_CODE_CREDENTIAL_MISSING,
    MODEL_CODE_CREDENTIAL_EXPIRED,
    MODEL_CODE_PART_MISMATCH,
    MODEL_CODE_CHECK_MISSING,
    MODEL_CODE_CHECK_FAILED,
    MODEL_CODE_CHECK_VOID,
    MODEL_CODE_CHECK_OUT_OF_SEASON,
    MODEL_CODE_INSTRUMENT_MISSING,
    MODEL_CODE_INSTRUMENT_OVERDUE,
    MODEL_CODE_POINT_LIVE,
    MODEL_CODE_POINT_UNKNOWN,
    MODEL_CODE_POINT_STALE,
    MODEL_CODE_POINT_SETTLING,
    MODEL_CODE_POINT_DISAGREES,
    MODEL_CODE_CONTROLLER_OFFLINE,
    MODEL_CODE_LINK_DOWN,
    MODEL_CODE_JOURNAL_DOWN,
    MODEL_CODE_SITE_CONTESTED,
    MODEL_CODE_TAG_MISSING,
    MODEL_CODE_TAG_NOT_YOURS,
    MODEL_CODE_TAG_HUNG,
    MODEL_CODE_SHARED_TESTING,
    MODEL_CODE_SHARED_LOCKED,
    MODEL_CODE_ALARM_OPEN,
    MODEL_CODE_POINT_NOT_RESTORED,
    MODEL_CODE_TEST_MISSING,
    MODEL_CODE_TEST_FAILED,
    MODEL_CODE_ATTESTATION_MISSING,
    MODEL_CODE_TOO_LATE,
    MODEL_CODE_NOT_TOLD,
    MODEL_CODE_CLOCK_WRONG,
    MODEL_CODE_ALARM_CHANGED,
    MODEL_CODE_NOTE_MISSING,
    MODEL_CODE_READING_NOT_VALID,
    MODEL_CODE_TAG_BY_READER,
    MODEL_CODE_UNKNOWN_SENSOR,
    MODEL_CODE_TOO_MANY,
    MODEL_CODE_FUEL_UNACCOUNTED,
    MODEL_CODE_COUNT,
};

// Spellings of the contract; NULL for a value out of range.
const char *model_phase_name(enum model_phase phase);
const char *model_lockout_name(enum model_lockout lockout);
const char *model_point_state_name(enum model_point_state state);
const char *model_trust_name(enum model_trust trust);
const char *model_service_name(enum model_service service);
const char *model_cause_name(enum model_cause cause); // NULL for none
const char *model_alarm_kind_name(enum model_alarm_kind kind);
const char *model_alarm_state_name(enum model_alarm_state state); // "gone" is never told outside
const char *model_priority_name(enum model_alarm_priority priority);
const char *model_code_name(enum model_code code);

// The value of a spelling, or -1.
int model_phase_of(const char *name);
int model_lockout_of(const char *name);
int model_point_state_of(const char *name);
int model_trust_of(const char *name);
int model_alarm_kind_of(const char *name);
int model_alarm_state_of(const char *name);
int model_code_of(const char *name);

// A value's spelling in a table of spellings; NULL for a value out of range.
const char *model_spelling(const char *const *names, int count, int value);
// The place of a spelling in such a table, or -1.
int model_spelled(const char *const *names, int count, const char *name);
