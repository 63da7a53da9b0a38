// The spellings of facts.
#include "gate/words.h"

#include <stddef.h>

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

const char *gate_fact_name(enum gate_fact_type type) {
    return model_spelling(fact_names, GATE_FACT_COUNT, (int)type);
}

int gate_fact_of(const char *name) {
    return model_spelled(fact_names, GATE_FACT_COUNT, name);
}
