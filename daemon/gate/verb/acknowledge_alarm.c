// acknowledge-alarm: somebody has seen it.
#include <string.h>

#include "gate/alarm.h"
#include "gate/refusal_list.h"
#include "gate/verb/case.h"

static bool of_a_crew(const struct gate_site *site, const char *job, const char *person) {
    for (size_t i = 0; i < site->job_count; i++) {
        bool asked = job[0] == '\0' || strcmp(site->jobs[i]->job, job) == 0;
        if (asked && gate_member_of(site->jobs[i], person) != NULL &&
            (job[0] != '\0' || gate_job_stands(site->jobs[i]))) {
            return true;
        }
    }
    return false;
}

// Rule (4, acknowledge-alarm): An alarm is acknowledged by the crew, a manager or a supervisor.
// [alarm-acknowledged-by-anybody]
static void require_acknowledger(struct gate_case *c, const struct gate_alarm *alarm) {
    if (model_person_has(c->person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR) ||
        of_a_crew(c->site, alarm->job, c->person->person)) {
        return;
    }
    bool technician = model_person_has(c->person, MODEL_ROLE_TECHNICIAN);
    gate_list_put(&c->list, false,
                  technician ? GATE_SAY_ACKNOWLEDGER_NOT_IN_CREW
                             : GATE_SAY_ACKNOWLEDGER_NOT_ALLOWED,
                  alarm->alarm, GATE_ARGS(.person = c->person->person, .alarm = alarm->alarm));
}

static void decide(struct gate_case *c) {
    const struct gate_alarm *stands = gate_alarm_find(c->site, c->request->alarm);
    gate_list_put(&c->list, stands != NULL, GATE_SAY_UNKNOWN_ALARM, c->request->alarm,
                  GATE_ARGS(.alarm = c->request->alarm));
    if (stands != NULL) {
        require_acknowledger(c, stands);
    }
    c->idle = stands != NULL && stands->state == MODEL_ALARM_ACKNOWLEDGED;
    if (!gate_case_clear(c) || stands == NULL || c->idle) {
        return;
    }
    gate_alarm_acknowledge(c->gate, c->site, stands, c->person->person, NULL, c->now);
}

const struct gate_verb_row gate_verb_acknowledge_alarm = {
    .name = "acknowledge-alarm",
    .about = "Says that an alarm was seen.",
    .fields = {GATE_MUST(alarm, ID)},
    .who = GATE_WHO_VERB,
    .roles = GATE_OVERSEERS,
    .asker = "one of the crew, a manager or a supervisor",
    .permits = true,
    .decide = decide,
};
