// acknowledge-alarm: somebody has seen it, and where the alarm's row asks for it, says what was
// done.
#include <string.h>

#include "gate/alarm.h"
#include "gate/own_clock.h"
#include "gate/refusal_list.h"
#include "gate/text.h"
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

static void refuse(struct gate_case *c, const struct gate_alarm *alarm, enum gate_say sentence) {
    gate_list_put(&c->list, false, sentence, alarm->alarm,
                  GATE_ARGS(.person = c->person->person, .alarm = alarm->alarm));
}

// Rule (4, acknowledge-alarm): An alarm is acknowledged by the crew, a manager or a supervisor.
// [alarm-acknowledged-by-anybody]
static void require_crew(struct gate_case *c, const struct gate_alarm *alarm, bool overseer) {
    if (!overseer && !of_a_crew(c->site, alarm->job, c->person->person)) {
        bool technician = model_person_has(c->person, MODEL_ROLE_TECHNICIAN);
        refuse(c, alarm,
               technician ? GATE_SAY_ACKNOWLEDGER_NOT_IN_CREW : GATE_SAY_ACKNOWLEDGER_NOT_ALLOWED);
    }
}

// Rule (3, alarms; R3): A called stop is answered for by who called it last, a manager or a
// supervisor. [stop-acknowledged-by-the-crew]
// Rule (3, alarms; R16): A lock that was removed is seen by somebody other than who removed it.
// [removal-acknowledged-by-the-remover]
// Rule (3, alarms): A leader who was not heard of is found by a manager or a supervisor.
// [overdue-acknowledged-by-the-crew]
static void require_acknowledger(struct gate_case *c, const struct gate_alarm *alarm) {
    bool overseer = model_person_has(c->person, GATE_OVERSEERS);
    bool did = gate_same(alarm->by, c->person->person);
    switch (gate_alarm_row(alarm->kind, alarm->subject)->seen_by) {
    case GATE_ALARM_SEEN_BY_CALLER:
        if (!overseer && !did) {
            refuse(c, alarm, GATE_SAY_ACKNOWLEDGER_NOT_CALLER);
        }
        break;
    case GATE_ALARM_SEEN_BY_OVERSEER:
        if (!overseer) {
            refuse(c, alarm, GATE_SAY_ACKNOWLEDGER_NO_OVERSEER);
        }
        break;
    case GATE_ALARM_SEEN_BY_CREW_NOT_BY:
        if (did) {
            refuse(c, alarm, GATE_SAY_ACKNOWLEDGER_DID_IT);
            break;
        }
        // fall through
    case GATE_ALARM_SEEN_BY_CREW:
        require_crew(c, alarm, overseer);
        break;
    }
}

// Rule (4, acknowledge-alarm; R17): Another cause that came meanwhile is not acknowledged with the
// first. [alarm-changed-unseen]
// Rule (4, acknowledge-alarm; R17): Nor with one that was acknowledged before this cause came, and
// is decided after it. [alarm-changed-while-waiting]
static void require_same(struct gate_case *c, const struct gate_alarm *alarm) {
    const struct gate_request *request = c->request;
    bool came_later = request->came != 0 && alarm->raised.mono >= request->came;
    if (request->has_raised ? request->raised != alarm->raised.wall : came_later) {
        refuse(c, alarm, GATE_SAY_ALARM_CHANGED);
    }
}

// Rule (3, alarms; 4, acknowledge-alarm): Where the table asks for it, a note says what was done.
// [alarm-note-unasked]
// Rule (3, alarms; R19): That our clock is right though the journal is ahead is said with a note.
// [clock-right-without-a-word]
static void require_note(struct gate_case *c, const struct gate_alarm *alarm) {
    bool asks = gate_alarm_row(alarm->kind, alarm->subject)->asks_note ||
                gate_own_clock_ahead(c->gate, alarm, c->now);
    if (asks && gate_blank(c->request->note)) {
        refuse(c, alarm, GATE_SAY_ALARM_NOTE_MISSING);
    }
}

// Rule (4, acknowledge-alarm; R11, R17): Who says which raising they saw may say so however late.
// [acknowledgement-late]
static bool names_its_raising(const struct gate_case *c) {
    return c->request->has_raised;
}

// Rule (3, alarms; R19): Acknowledged where the journal is ahead, what is written from then on is
// the newest. [clock-right-unheard]
static void decide(struct gate_case *c) {
    const struct gate_alarm *stands = gate_alarm_find(c->site, c->request->alarm);
    gate_list_put(&c->list, stands != NULL, GATE_SAY_UNKNOWN_ALARM, c->request->alarm,
                  GATE_ARGS(.alarm = c->request->alarm));
    if (stands == NULL) {
        return;
    }
    require_acknowledger(c, stands);
    require_same(c, stands);
    require_note(c, stands);
    bool ahead = gate_own_clock_ahead(c->gate, stands, c->now);
    c->idle = stands->state == MODEL_ALARM_ACKNOWLEDGED && !ahead;
    if (gate_case_clear(c) && !c->idle) {
        const char *note = gate_blank(c->request->note) ? NULL : c->request->note;
        if (ahead) {
            gate_own_clock_right(c->gate, c->now);
        }
        gate_alarm_acknowledge(c->gate, c->site, stands, c->person->person, note, c->now);
    }
}

const struct gate_verb_row gate_verb_acknowledge_alarm = {
    .name = "acknowledge-alarm",
    .about = "Says that an alarm was seen.",
    .fields = {GATE_MUST(alarm, ID), GATE_PLAIN(raised, TIME, false), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_VERB,
    .roles = GATE_OVERSEERS,
    .asker = "as the [table of alarms](alarms.md) says",
    .permits = true,
    .present = true,
    .however_late = names_its_raising,
    .decide = decide,
};
