// The daemon's own wall clock; see own_clock.h. Ages are counted on the time that nobody sets, and
// need none of this; days and dates, as of credentials and calibrations, are read off the wall
// clock.
#include "gate/own_clock.h"

#include "gate/alarm_kind.h"
#include "gate/gate.h"
#include "gate/text.h"

// How far the two clocks may come apart within so long before it counts as a step.
#define STEP_MS 5000
#define WITHIN_MS 10000
// How long a step is a reason to look at the clock.
#define STEPPED_FOR_MS 60000

// Rule (3, alarms; R19): A step of over 5 s is noticed, either way. [clock-step-unseen]
// Rule (3, alarms; R19): A step of up to 5 s is borne. [clock-any-step]
// Rule (3, alarms; R19): A clock that drifts is not set. [clock-drift-adds-up]
// Rule (3, alarms; R19): A step that is taken in pieces is one. [clock-step-in-pieces]
void gate_own_clock_look(struct gate *gate, struct gate_time now) {
    struct gate_own_clock *clock = &gate->clock;
    int64_t offset = now.wall - now.mono;
    int64_t moved = offset > clock->offset ? offset - clock->offset : clock->offset - offset;
    bool stepped = clock->looked && moved > STEP_MS;
    if (stepped) {
        clock->stepped = now.mono;
        clock->was_set = true;
    }
    if (stepped || !clock->looked || now.mono - clock->offset_at >= WITHIN_MS) {
        clock->offset = offset;
        clock->offset_at = now.mono;
        clock->looked = true;
    }
}

static bool is_behind(const struct gate_own_clock *clock, struct gate_time now) {
    return now.wall < clock->newest - GATE_CLOCK_BEHIND_MS;
}

static bool was_set(const struct gate_own_clock *clock, struct gate_time now) {
    return clock->was_set && now.mono - clock->stepped < STEPPED_FOR_MS;
}

// Rule (3, alarms; R19): A clock over 1 s behind the journal's newest time may be wrong.
// [clock-behind-unseen]
// Rule (3, alarms; R19): A clock up to 1 s behind is borne. [clock-behind-at-once]
// Rule (3, alarms; R19): A step is looked at for 60 s. [clock-step-forgotten]
enum gate_own_clock_fault gate_own_clock_fault(const struct gate *gate, struct gate_time now) {
    return is_behind(&gate->clock, now) ? GATE_OWN_CLOCK_BEHIND
           : was_set(&gate->clock, now) ? GATE_OWN_CLOCK_SET
                                        : GATE_OWN_CLOCK_RIGHT;
}

static bool is_own(const struct gate_alarm *alarm) {
    return alarm->kind == MODEL_ALARM_CLOCK && gate_same(alarm->subject, GATE_SUBJECT_OF_DAEMON);
}

bool gate_own_clock_ahead(const struct gate *gate, const struct gate_alarm *alarm,
                          struct gate_time now) {
    return is_own(alarm) && is_behind(&gate->clock, now);
}

// Rule (3, alarms; R19): The moment at which the clock is past the journal is waited for.
// [clock-behind-for-ever]
// Rule (3, alarms; R19): The end of the 60 s after a step is waited for. [clock-step-for-ever]
int64_t gate_own_clock_due(const struct gate *gate, struct gate_time now) {
    const struct gate_own_clock *clock = &gate->clock;
    int64_t due = INT64_MAX;
    if (is_behind(clock, now)) {
        due = now.mono + (clock->newest - GATE_CLOCK_BEHIND_MS - now.wall);
    }
    if (was_set(clock, now) && clock->stepped + STEPPED_FOR_MS < due) {
        due = clock->stepped + STEPPED_FOR_MS;
    }
    return due;
}

void gate_own_clock_tell(struct gate *gate, int64_t wall) {
    if (wall > gate->clock.newest) {
        gate->clock.newest = wall;
    }
}

int64_t gate_keep_time(struct gate *gate, struct gate_time now) {
    gate_own_clock_tell(gate, now.wall);
    return gate->clock.newest;
}

void gate_own_clock_right(struct gate *gate, struct gate_time now) {
    gate->clock.newest = now.wall;
}

// The alarm of our own clock at a site, or NULL.
static const struct gate_alarm *alarm_of(const struct gate_site *site) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (is_own(&site->alarms[i])) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

// Rule (3, alarms; 5, After a restart; R19, R38): The 60 s after a step go on over a restart.
// [clock-step-ends-by-restart]
// Rule (3, alarms; 5, After a restart; R19, R38): They are those of the last step, also of one that
// came within 5 s of the one before. [clock-step-of-the-first]
void gate_own_clock_start(struct gate *gate, int64_t newest_wall, struct gate_time now) {
    gate_own_clock_tell(gate, newest_wall);
    gate_own_clock_look(gate, now);
    for (size_t s = 0; s < gate->model->site_count; s++) {
        const struct gate_alarm *alarm = alarm_of(&gate->sites[s]);
        if (alarm != NULL && alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED &&
            now.mono - alarm->came.mono < STEPPED_FOR_MS) {
            gate->clock.was_set = true;
            gate->clock.stepped = alarm->came.mono;
        }
    }
}
