// The spellings of the gate's words, one table an enum.
#include "gate/words.h"

#include <stddef.h>
#include <string.h>

static const char *const phase_names[GATE_PHASE_COUNT] = {
    "open", "working", "stopped", "restoring", "testing", "returned", "cancelled",
};
static const char *const lockout_names[GATE_LOCKOUT_COUNT] = {
    "unconfirmed",
    "confirmed",
    "broken",
    "unproven",
};
static const char *const point_state_names[GATE_POINT_STATE_COUNT] = {"unknown", "live",
                                                                      "isolated"};
static const char *const trust_names[GATE_TRUST_COUNT] = {
    "controller-offline", "bad-quality", "silent", "stale",
    "settling",           "disagrees",   "fresh",  "witnessed",
};
static const char *const service_names[GATE_SERVICE_COUNT] = {"out-of-service", "in-service"};
static const char *const cause_names[GATE_CAUSE_COUNT] = {
    NULL, "job", "isolated-with", "isolated", "untested", "unknown",
};
static const char *const alarm_kind_names[GATE_ALARM_KIND_COUNT] = {
    "lockout-broken", "left-live", "link-down", "journal-down",
    "site-contested", "tag-left",  "clock",     "webhook-down",
};
static const char *const alarm_state_names[GATE_ALARM_STATE_COUNT] = {
    "gone",
    "unacknowledged",
    "acknowledged",
    "returned-unacknowledged",
};
static const char *const code_names[GATE_CODE_COUNT] = {
    [GATE_CODE_MALFORMED] = "malformed",
    [GATE_CODE_NOT_ALLOWED] = "not-allowed",
    [GATE_CODE_UNKNOWN_SITE] = "unknown-site",
    [GATE_CODE_UNKNOWN_POSITION] = "unknown-position",
    [GATE_CODE_UNKNOWN_PROCEDURE] = "unknown-procedure",
    [GATE_CODE_UNKNOWN_PERSON] = "unknown-person",
    [GATE_CODE_UNKNOWN_JOB] = "unknown-job",
    [GATE_CODE_UNKNOWN_POINT] = "unknown-point",
    [GATE_CODE_UNKNOWN_CHECK] = "unknown-check",
    [GATE_CODE_UNKNOWN_TEST] = "unknown-test",
    [GATE_CODE_UNKNOWN_ALARM] = "unknown-alarm",
    [GATE_CODE_UNKNOWN_VERB] = "unknown-verb",
    [GATE_CODE_UNKNOWN_INSTRUMENT] = "unknown-instrument",
    [GATE_CODE_ENERGY_UNMAPPED] = "energy-unmapped",
    [GATE_CODE_POSITION_HAS_JOB] = "position-has-job",
    [GATE_CODE_JOB_EXISTS] = "job-exists",
    [GATE_CODE_ID_REUSED] = "id-reused",
    [GATE_CODE_WRONG_PHASE] = "wrong-phase",
    [GATE_CODE_NOT_ASSIGNED] = "not-assigned",
    [GATE_CODE_NOT_IN_CREW] = "not-in-crew",
    [GATE_CODE_CREDENTIAL_MISSING] = "credential-missing",
    [GATE_CODE_CREDENTIAL_EXPIRED] = "credential-expired",
    [GATE_CODE_PART_MISMATCH] = "part-mismatch",
    [GATE_CODE_CHECK_MISSING] = "check-missing",
    [GATE_CODE_CHECK_FAILED] = "check-failed",
    [GATE_CODE_CHECK_VOID] = "check-void",
    [GATE_CODE_CHECK_OUT_OF_SEASON] = "check-out-of-season",
    [GATE_CODE_INSTRUMENT_MISSING] = "instrument-missing",
    [GATE_CODE_INSTRUMENT_OVERDUE] = "instrument-overdue",
    [GATE_CODE_POINT_LIVE] = "point-live",
    [GATE_CODE_POINT_UNKNOWN] = "point-unknown",
    [GATE_CODE_POINT_STALE] = "point-stale",
    [GATE_CODE_POINT_SETTLING] = "point-settling",
    [GATE_CODE_POINT_DISAGREES] = "point-disagrees",
    [GATE_CODE_CONTROLLER_OFFLINE] = "controller-offline",
    [GATE_CODE_LINK_DOWN] = "link-down",
    [GATE_CODE_JOURNAL_DOWN] = "journal-down",
    [GATE_CODE_SITE_CONTESTED] = "site-contested",
    [GATE_CODE_TAG_MISSING] = "tag-missing",
    [GATE_CODE_TAG_NOT_YOURS] = "tag-not-yours",
    [GATE_CODE_TAG_HUNG] = "tag-hung",
    [GATE_CODE_SHARED_TESTING] = "shared-testing",
    [GATE_CODE_SHARED_LOCKED] = "shared-locked",
    [GATE_CODE_ALARM_OPEN] = "alarm-open",
    [GATE_CODE_POINT_NOT_RESTORED] = "point-not-restored",
    [GATE_CODE_TEST_MISSING] = "test-missing",
    [GATE_CODE_TEST_FAILED] = "test-failed",
    [GATE_CODE_ATTESTATION_MISSING] = "attestation-missing",
};
static const char *const verb_names[GATE_VERB_COUNT] = {
    "open-job",          "assign-job",      "join-job",        "leave-job",   "witness-point",
    "hang-tag",          "lift-tag",        "lift-absent-tag", "sign-check",  "start-work",
    "stop-work",         "finish-work",     "begin-test",      "record-test", "rework",
    "set-aside",         "return-position", "hand-over",       "accept-lead", "cancel-job",
    "acknowledge-alarm",
};
static const char *const fact_names[GATE_FACT_COUNT] = {
    [GATE_FACT_JOB_OPENED] = "job.opened",
    [GATE_FACT_JOB_ASSIGNED] = "job.assigned",
    [GATE_FACT_JOB_CANCELLED] = "job.cancelled",
    [GATE_FACT_JOB_RETURNED] = "job.returned",
    [GATE_FACT_LEAD_OFFERED] = "lead.offered",
    [GATE_FACT_JOB_HANDED_OVER] = "job.handed-over",
    [GATE_FACT_CREW_JOINED] = "crew.joined",
    [GATE_FACT_CREW_LEFT] = "crew.left",
    [GATE_FACT_CREW_PROTECTED] = "crew.protected",
    [GATE_FACT_CREW_UNPROTECTED] = "crew.unprotected",
    [GATE_FACT_TAG_HUNG] = "tag.hung",
    [GATE_FACT_TAG_LIFTED] = "tag.lifted",
    [GATE_FACT_CHECK_SIGNED] = "check.signed",
    [GATE_FACT_POINT_WITNESSED] = "point.witnessed",
    [GATE_FACT_POINT_CHANGED] = "point.changed",
    [GATE_FACT_LOCKOUT_CONFIRMED] = "lockout.confirmed",
    [GATE_FACT_LOCKOUT_LOST] = "lockout.lost",
    [GATE_FACT_LOCKOUT_BROKEN] = "lockout.broken",
    [GATE_FACT_WORK_STARTED] = "work.started",
    [GATE_FACT_WORK_REFUSED] = "work.refused",
    [GATE_FACT_WORK_STOPPED] = "work.stopped",
    [GATE_FACT_WORK_FINISHED] = "work.finished",
    [GATE_FACT_WORK_SET_ASIDE] = "work.set-aside",
    [GATE_FACT_WORK_REOPENED] = "work.reopened",
    [GATE_FACT_TEST_BEGUN] = "test.begun",
    [GATE_FACT_TEST_REFUSED] = "test.refused",
    [GATE_FACT_TEST_RECORDED] = "test.recorded",
    [GATE_FACT_RETURN_REFUSED] = "return.refused",
    [GATE_FACT_POSITION_OUT_OF_SERVICE] = "position.out-of-service",
    [GATE_FACT_POSITION_RETURNED] = "position.returned",
    [GATE_FACT_ALARM_RAISED] = "alarm.raised",
    [GATE_FACT_ALARM_ACKNOWLEDGED] = "alarm.acknowledged",
    [GATE_FACT_ALARM_CLEARED] = "alarm.cleared",
    [GATE_FACT_DAEMON_STARTED] = "daemon.started",
    [GATE_FACT_TAG_DISCOUNTED] = "tag.discounted",
    [GATE_FACT_HOLD_BEGUN] = "hold.begun",
    [GATE_FACT_HOLD_ENDED] = "hold.ended",
    [GATE_FACT_REQUEST_REFUSED] = "request.refused",
};

static const char *word(const char *const *names, int count, int value) {
    return value >= 0 && value < count ? names[value] : NULL;
}

static int value_of(const char *const *names, int count, const char *name) {
    for (int i = 0; i < count; i++) {
        if (names[i] != NULL && strcmp(names[i], name) == 0) {
            return i;
        }
    }
    return -1;
}

const char *gate_phase_name(enum gate_phase phase) {
    return word(phase_names, GATE_PHASE_COUNT, (int)phase);
}

const char *gate_lockout_name(enum gate_lockout lockout) {
    return word(lockout_names, GATE_LOCKOUT_COUNT, (int)lockout);
}

const char *gate_point_state_name(enum gate_point_state state) {
    return word(point_state_names, GATE_POINT_STATE_COUNT, (int)state);
}

const char *gate_trust_name(enum gate_trust trust) {
    return word(trust_names, GATE_TRUST_COUNT, (int)trust);
}

const char *gate_service_name(enum gate_service service) {
    return word(service_names, GATE_SERVICE_COUNT, (int)service);
}

const char *gate_cause_name(enum gate_cause cause) {
    return word(cause_names, GATE_CAUSE_COUNT, (int)cause);
}

const char *gate_alarm_kind_name(enum gate_alarm_kind kind) {
    return word(alarm_kind_names, GATE_ALARM_KIND_COUNT, (int)kind);
}

const char *gate_alarm_state_name(enum gate_alarm_state state) {
    return word(alarm_state_names, GATE_ALARM_STATE_COUNT, (int)state);
}

const char *gate_code_name(enum gate_code code) {
    return word(code_names, GATE_CODE_COUNT, (int)code);
}

const char *gate_verb_name(enum gate_verb verb) {
    return word(verb_names, GATE_VERB_COUNT, (int)verb);
}

const char *gate_fact_name(enum gate_fact_type type) {
    return word(fact_names, GATE_FACT_COUNT, (int)type);
}

int gate_phase_of(const char *name) {
    return value_of(phase_names, GATE_PHASE_COUNT, name);
}

int gate_lockout_of(const char *name) {
    return value_of(lockout_names, GATE_LOCKOUT_COUNT, name);
}

int gate_point_state_of(const char *name) {
    return value_of(point_state_names, GATE_POINT_STATE_COUNT, name);
}

int gate_trust_of(const char *name) {
    return value_of(trust_names, GATE_TRUST_COUNT, name);
}

int gate_alarm_kind_of(const char *name) {
    return value_of(alarm_kind_names, GATE_ALARM_KIND_COUNT, name);
}

int gate_alarm_state_of(const char *name) {
    return value_of(alarm_state_names, GATE_ALARM_STATE_COUNT, name);
}

int gate_code_of(const char *name) {
    return value_of(code_names, GATE_CODE_COUNT, name);
}

int gate_verb_of(const char *name) {
    return value_of(verb_names, GATE_VERB_COUNT, name);
}

int gate_fact_of(const char *name) {
    return value_of(fact_names, GATE_FACT_COUNT, name);
}
