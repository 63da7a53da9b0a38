// The spellings of the model's words, one table an enum.
#include "model/words.h"

#include <stddef.h>
#include <string.h>

static const char *const phase_names[MODEL_PHASE_COUNT] = {
    "open", "working", "stopped", "restoring", "testing", "returned", "cancelled",
};
static const char *const lockout_names[MODEL_LOCKOUT_COUNT] = {
    "unconfirmed",
    "confirmed",
    "broken",
    "unproven",
};
static const char *const point_state_names[MODEL_POINT_STATE_COUNT] = {"unknown", "live",
                                                                       "isolated"};
static const char *const trust_names[MODEL_TRUST_COUNT] = {
    "controller-offline", "bad-quality", "silent",    "stale", "settling",
    "disagrees",          "fresh",       "witnessed", "kept",
};
static const char *const service_names[MODEL_SERVICE_COUNT] = {"out-of-service", "in-service"};
static const char *const cause_names[MODEL_CAUSE_COUNT] = {
    NULL, "job", "isolated-with", "work-beside", "isolated", "untested", "unknown",
};
static const char *const alarm_kind_names[MODEL_ALARM_KIND_COUNT] = {
    "lockout-broken", "stop-called", "absent-lock-removed", "check-in-overdue",
    "left-live",      "link-down",   "journal-down",        "site-contested",
    "tag-left",       "clock",       "webhook-down",        "spill-report-due",
};
static const char *const priority_names[MODEL_PRIORITY_COUNT] = {"low", "high", "urgent"};
static const char *const alarm_state_names[MODEL_ALARM_STATE_COUNT] = {
    "gone",
    "unacknowledged",
    "acknowledged",
    "returned-unacknowledged",
};
static const char *const code_names[MODEL_CODE_COUNT] = {
    [MODEL_CODE_MALFORMED] = "malformed",
    [MODEL_CODE_NOT_ALLOWED] = "not-allowed",
    [MODEL_CODE_UNKNOWN_SITE] = "unknown-site",
    [MODEL_CODE_UNKNOWN_POSITION] = "unknown-position",
    [MODEL_CODE_UNKNOWN_PROCEDURE] = "unknown-procedure",
    [MODEL_CODE_UNKNOWN_PERSON] = "unknown-person",
    [MODEL_CODE_UNKNOWN_JOB] = "unknown-job",
    [MODEL_CODE_UNKNOWN_POINT] = "unknown-point",
    [MODEL_CODE_UNKNOWN_CHECK] = "unknown-check",
    [MODEL_CODE_UNKNOWN_TEST] = "unknown-test",
    [MODEL_CODE_UNKNOWN_ALARM] = "unknown-alarm",
    [MODEL_CODE_UNKNOWN_VERB] = "unknown-verb",
    [MODEL_CODE_UNKNOWN_INSTRUMENT] = "unknown-instrument",
    [MODEL_CODE_ENERGY_UNMAPPED] = "energy-unmapped",
    [MODEL_CODE_POSITION_HAS_JOB] = "position-has-job",
    [MODEL_CODE_JOB_EXISTS] = "job-exists",
    [MODEL_CODE_ID_REUSED] = "id-reused",
    [MODEL_CODE_WRONG_PHASE] = "wrong-phase",
    [MODEL_CODE_NOT_ASSIGNED] = "not-assigned",
    [MODEL_CODE_NOT_IN_CREW] = "not-in-crew",
    [MODEL_CODE_CREDENTIAL_MISSING] = "credential-missing",
    [MODEL_CODE_CREDENTIAL_EXPIRED] = "credential-expired",
    [MODEL_CODE_PART_MISMATCH] = "part-mismatch",
    [MODEL_CODE_CHECK_MISSING] = "check-missing",
    [MODEL_CODE_CHECK_FAILED] = "check-failed",
    [MODEL_CODE_CHECK_VOID] = "check-void",
    [MODEL_CODE_CHECK_OUT_OF_SEASON] = "check-out-of-season",
    [MODEL_CODE_INSTRUMENT_MISSING] = "instrument-missing",
    [MODEL_CODE_INSTRUMENT_OVERDUE] = "instrument-overdue",
    [MODEL_CODE_POINT_LIVE] = "point-live",
    [MODEL_CODE_POINT_UNKNOWN] = "point-unknown",
    [MODEL_CODE_POINT_STALE] = "point-stale",
    [MODEL_CODE_POINT_SETTLING] = "point-settling",
    [MODEL_CODE_POINT_DISAGREES] = "point-disagrees",
    [MODEL_CODE_CONTROLLER_OFFLINE] = "controller-offline",
    [MODEL_CODE_LINK_DOWN] = "link-down",
    [MODEL_CODE_JOURNAL_DOWN] = "journal-down",
    [MODEL_CODE_SITE_CONTESTED] = "site-contested",
    [MODEL_CODE_TAG_MISSING] = "tag-missing",
    [MODEL_CODE_TAG_NOT_YOURS] = "tag-not-yours",
    [MODEL_CODE_TAG_HUNG] = "tag-hung",
    [MODEL_CODE_SHARED_TESTING] = "shared-testing",
    [MODEL_CODE_SHARED_LOCKED] = "shared-locked",
    [MODEL_CODE_ALARM_OPEN] = "alarm-open",
    [MODEL_CODE_POINT_NOT_RESTORED] = "point-not-restored",
    [MODEL_CODE_TEST_MISSING] = "test-missing",
    [MODEL_CODE_TEST_FAILED] = "test-failed",
    [MODEL_CODE_ATTESTATION_MISSING] = "attestation-missing",
    [MODEL_CODE_TOO_LATE] = "too-late",
    [MODEL_CODE_NOT_TOLD] = "not-told",
    [MODEL_CODE_CLOCK_WRONG] = "clock-wrong",
    [MODEL_CODE_ALARM_CHANGED] = "alarm-changed",
    [MODEL_CODE_NOTE_MISSING] = "note-missing",
    [MODEL_CODE_READING_NOT_VALID] = "reading-not-valid",
    [MODEL_CODE_TAG_BY_READER] = "tag-by-reader",
    [MODEL_CODE_UNKNOWN_SENSOR] = "unknown-sensor",
    [MODEL_CODE_TOO_MANY] = "too-many",
    [MODEL_CODE_FUEL_UNACCOUNTED] = "fuel-unaccounted",
};

const char *model_spelling(const char *const *names, int count, int value) {
    return value >= 0 && value < count ? names[value] : NULL;
}

int model_spelled(const char *const *names, int count, const char *name) {
    for (int i = 0; i < count; i++) {
        if (names[i] != NULL && strcmp(names[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

const char *model_phase_name(enum model_phase phase) {
    return model_spelling(phase_names, MODEL_PHASE_COUNT, (int)phase);
}

const char *model_lockout_name(enum model_lockout lockout) {
    return model_spelling(lockout_names, MODEL_LOCKOUT_COUNT, (int)lockout);
}

const char *model_point_state_name(enum model_point_state state) {
    return model_spelling(point_state_names, MODEL_POINT_STATE_COUNT, (int)state);
}

const char *model_trust_name(enum model_trust trust) {
    return model_spelling(trust_names, MODEL_TRUST_COUNT, (int)trust);
}

const char *model_service_name(enum model_service service) {
    return model_spelling(service_names, MODEL_SERVICE_COUNT, (int)service);
}

const char *model_cause_name(enum model_cause cause) {
    return model_spelling(cause_names, MODEL_CAUSE_COUNT, (int)cause);
}

const char *model_alarm_kind_name(enum model_alarm_kind kind) {
    return model_spelling(alarm_kind_names, MODEL_ALARM_KIND_COUNT, (int)kind);
}

const char *model_alarm_state_name(enum model_alarm_state state) {
    return model_spelling(alarm_state_names, MODEL_ALARM_STATE_COUNT, (int)state);
}

const char *model_priority_name(enum model_alarm_priority priority) {
    return model_spelling(priority_names, MODEL_PRIORITY_COUNT, (int)priority);
}

const char *model_code_name(enum model_code code) {
    return model_spelling(code_names, MODEL_CODE_COUNT, (int)code);
}

int model_phase_of(const char *name) {
    return model_spelled(phase_names, MODEL_PHASE_COUNT, name);
}

int model_lockout_of(const char *name) {
    return model_spelled(lockout_names, MODEL_LOCKOUT_COUNT, name);
}

int model_point_state_of(const char *name) {
    return model_spelled(point_state_names, MODEL_POINT_STATE_COUNT, name);
}

int model_trust_of(const char *name) {
    return model_spelled(trust_names, MODEL_TRUST_COUNT, name);
}

int model_alarm_kind_of(const char *name) {
    return model_spelled(alarm_kind_names, MODEL_ALARM_KIND_COUNT, name);
}

int model_alarm_state_of(const char *name) {
    return model_spelled(alarm_state_names, MODEL_ALARM_STATE_COUNT, name);
}

int model_code_of(const char *name) {
    return model_spelled(code_names, MODEL_CODE_COUNT, name);
}
