// The account before and after each step, and the invariants of the design.
#include "rules.h"

#include <string.h>

void rules_new(struct rules *r, const struct forecourt *forecourt, struct gate_time now) {
    memset(r, 0, sizeof *r);
    r->forecourt = forecourt;
    r->now = now;
    r->journal = r->up[GATE_DURABLE] = r->up[GATE_LIVE] = true;
    r->newest = now.wall;
}

// --- Before ---

static void come_up(struct rules *r) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        bool live = r->points[p].reads == MODEL_POINT_LIVE && rules_sensed(r, p);
        r->points[p].left_live = live ? r->now.mono : r->points[p].left_live;
    }
    r->controller = GATE_CONTROLLER_NEVER;
    r->contested = false;
    r->journal = true;
    r->unheard = false;
    r->outage = r->outage != 0 ? r->outage : r->now.mono - r->step->ms;
    r->up[GATE_DURABLE] = r->up[GATE_LIVE] = false;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct model_point *model = &r->forecourt->points[p];
        int64_t oldest = INT64_MAX;
        for (unsigned i = 0; i < model->sensor_count; i++) {
            int64_t heard = r->sensors[model->sensors[i]].heard;
            bool older = rules_trusted(r, model->sensors[i]) && heard < oldest;
            oldest = older ? heard : oldest;
        }
        if (oldest != 0 && oldest != INT64_MAX) { // else what the journal kept from before stands
            r->points[p].heard_before = oldest;
        }
        r->points[p].spoke = false;
        memset(r->points[p].events, 0, sizeof r->points[p].events);
        memset(r->points[p].event_heard, 0, sizeof r->points[p].event_heard);
    }
    for (unsigned i = 0; i < FORECOURT_SENSORS; i++) {
        struct rules_sensor *s = &r->sensors[i];
        *s = (struct rules_sensor){.distrusted_by = s->distrusted_by,
                                   .distrusted_until = s->distrusted_until};
    }
    memset(r->measures, 0, sizeof r->measures);
    // Where our clock tells of no time that fits what was written, nothing vouches for what was
    // held.
    int64_t behind = r->newest - r->now.wall;
    // Whether it was set is not written, but that it was wrong is.
    r->stepped = r->wrong_since > r->stepped ? r->wrong_since : r->stepped;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        job->unproven = job->held;
        bool gap = behind > 1000 || -behind > rules_least_age(r, job);
        if (job->stands && job->confirmed && gap) {
            rules_break(r, job, RULES_UNKNOWN, 0);
        } else if (job->stands && gap) {
            job->held = job->unproven = false; // what is signed of it is void
        }
    }
    rules_settle(r); // until the connections are up they are down, and that since before
    if (r->step->item == 0) {
        r->up[GATE_DURABLE] = r->up[GATE_LIVE] = true;
        r->outage = 0;
    }
}

static void take_input(struct rules *r, const struct step *step, const struct gate *gate) {
    switch (step->kind) {
    case STEP_HEAR:
        rules_hear(r, step);
        break;
    case STEP_MEASURE:
        rules_hear_measure(r, step);
        break;
    case STEP_CONTROLLER:
        rules_hear_controller(r, step->ok);
        break;
    case STEP_LOCK:
        rules_read_lock(r, step);
        break;
    case STEP_LINK:
        r->up[step->at] = step->ok;
        if (step->at == GATE_DURABLE) {
            r->outage = step->ok ? 0 : r->now.mono;
        }
        break;
    case STEP_UNHEARD:
        r->unheard = !step->ok;
        break;
    case STEP_SESSION:
        for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
            rules_doubt_reader(r, p); // what readers said meanwhile is lost
        }
        break;
    case STEP_CLOCK:
        r->stepped = step->ms > 5000 || step->ms < -5000 ? r->now.mono : r->stepped;
        break;
    case STEP_JOURNAL:
        r->journal = step->ok;
        break;
    case STEP_CONTESTED:
        r->contested = step->ok;
        break;
    case STEP_SUBSCRIBE:
        for (unsigned i = 0; i < FORECOURT_SENSORS; i++) {
            r->sensors[i].itself = false;
        }
        break;
    case STEP_RESTART:
        come_up(r);
        break;
    case STEP_ASK:
        rules_ask(r, gate);
        if (r->lacks == NULL && !r->undecided) {
            rules_do(r);
        }
        break;
    default:
        break;
    }
}

void rules_before(struct rules *r, const struct step *step, const struct gate *gate,
                  struct gate_time now) {
    r->step = step;
    r->told_any = r->undecided = r->idle = false;
    r->lacks = NULL;
    r->lone = -1;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        job->before = job->phase;
        job->lockout_before = rules_lockout(job);
        job->held_before = job->held;
        job->must_raise = job->may_raise = false;
        r->positions[s].was_in = r->positions[s].in_service;
    }
    r->now = now;
    if (step->kind != STEP_RESTART) {
        rules_settle(r); // what time alone has ended comes before the input
    }
    take_input(r, step, gate);
    rules_settle(r);
}

// --- The invariants ---

static const struct gate_alarm *broken_alarm(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (alarm->kind == MODEL_ALARM_LOCKOUT_BROKEN && strcmp(alarm->job, job) == 0) {
            return alarm;
        }
    }
    return NULL;
}

// 1, 7: working only over what is proved, or unproven after a restart and not overdue.
static void assert_working(struct rules *r, const struct gate_job *gate,
                           const struct rules_job *job) {
    if (gate->phase != MODEL_PHASE_WORKING) {
        return;
    }
    bool signed_ = rules_group_stands(r, job, MODEL_GROUP_RELIEVE) &&
                   rules_group_stands(r, job, MODEL_GROUP_VERIFY);
    if (!job->held || !signed_ || gate->leader[0] == '\0') {
        rules_fail(r, "invariant 1: %s is working over a lockout that does not hold", gate->job);
    }
    enum model_lockout due = job->unproven ? MODEL_LOCKOUT_UNPROVEN : MODEL_LOCKOUT_CONFIRMED;
    if (gate->lockout != due) {
        rules_fail(r, "invariant 1: %s is working with lockout %s", gate->job,
                   model_lockout_name(gate->lockout));
    }
}

// A fresh measure outside its limits leaves no passing signature of what it answers, and so nobody
// working.
static void assert_measured(struct rules *r, unsigned slot) {
    const struct rules_job *job = &r->jobs[slot];
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        bool outside =
            rules_measures(r, m, slot) && rules_measured_now(r, m) && r->measures[m].outside;
        for (size_t i = 0; outside && i < rules_needs(r, job)->check_count; i++) {
            if (rules_needs(r, job)->checks[i].measure != NULL && rules_check_stands(r, job, i)) {
                rules_fail(r, "j%u stands signed though m%u is outside", job->number, m);
            }
        }
        if (outside && job->phase == MODEL_PHASE_WORKING) {
            rules_fail(r, "invariant 1: j%u is working though m%u is outside", job->number, m);
        }
    }
}

// 2: what breaks raises the alarm in the same turn, and nothing else does.
static void assert_break(struct rules *r, const struct gate_site *site, const struct gate_job *gate,
                         const struct rules_job *job) {
    const struct gate_alarm *alarm = broken_alarm(site, gate->job);
    bool active = alarm != NULL && alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED;
    if (job->broken != active) {
        rules_fail(r, "invariant 2: %s %s broken, and the alarm %s", gate->job,
                   job->broken ? "is" : "is not", active ? "stands" : "does not stand");
    }
    if (job->must_raise && active && alarm->state != MODEL_ALARM_UNACKNOWLEDGED) {
        rules_fail(r, "invariant 2: %s was broken and no alarm was raised", gate->job);
    }
}

// 3: under test, nobody works on what is shared.
static void assert_testing(struct rules *r, unsigned slot) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (s != slot && r->jobs[s].stands && r->jobs[s].phase == MODEL_PHASE_WORKING &&
            r->jobs[slot].phase == MODEL_PHASE_TESTING && rules_shares(r, slot, s)) {
            rules_fail(r, "invariant 3: P%u is under test while P%u is worked on", slot, s);
        }
    }
}

// 4: in service only where nothing holds it out; and out only as long as something does.
static void assert_position(struct rules *r, unsigned p, bool was_in) {
    bool in = r->positions[p].in_service;
    if (in && rules_held_out(r, p)) {
        rules_fail(r, "invariant 4: P%u is in service and something holds it out", p);
    }
    if (in && !was_in && !rules_may_return(r, p)) {
        rules_fail(r, "invariant 4: P%u came back and not every point is proved live", p);
    }
    if (!in && rules_may_return(r, p)) {
        rules_fail(r, "P%u stays out of service and nothing holds it", p);
    }
    if (!in && was_in && !rules_held_out(r, p)) {
        rules_fail(r, "P%u went out of service and nothing holds it", p);
    }
}

// --- After ---

static const char *refused_as(const struct gate_answer *answer) {
    static char codes[200];
    size_t used = 0;
    codes[0] = '\0';
    for (size_t i = 0; i < answer->refusal_count && used < sizeof codes - 40; i++) {
        used += (size_t)snprintf(codes + used, sizeof codes - used, "%s%s", i > 0 ? ", " : "",
                                 model_code_name(answer->refusals[i].code));
    }
    return codes;
}

// 12 and what may open, opens: the answer is what our own table says.
static void assert_answer(struct rules *r, const struct gate_answer *answer) {
    const char *verb = gate_verb_name((enum gate_verb)r->step->verb);
    if (r->undecided) {
        if (answer->accepted) {
            rules_do(r);
        }
    } else if (answer->accepted && r->lacks != NULL) {
        rules_fail(r, "%s was accepted and lacks %s", verb, r->lacks);
    } else if (!answer->accepted && r->lacks == NULL) {
        rules_fail(r, "%s was refused and nothing lacks: %s", verb, refused_as(answer));
    }
    if (!answer->accepted && r->told_any) {
        rules_fail(r, "a refused request changed something");
    }
    if (!answer->accepted && r->lone >= 0 &&
        (answer->refusal_count != 1 || (int)answer->refusals[0].code != r->lone)) {
        rules_fail(r, "%s is to be refused as %s alone, not as %s", verb,
                   model_code_name((enum model_code)r->lone), refused_as(answer));
    }
}

// Since when our clock is wrong; that it stands behind is another reason than that it was set.
static void note_clock(struct rules *r) {
    bool behind = r->newest - r->now.wall > 1000;
    if (rules_clock_right(r)) {
        r->wrong_since = 0;
    } else if (r->wrong_since < r->stepped || r->wrong_since == 0 ||
               (behind && !r->wrong_behind)) { // set once more is told once more
        r->wrong_since = r->now.mono;
        r->wrong_behind = behind;
    }
}

bool rules_after(struct rules *r, const struct gate *gate, const struct gate_answer *answer) {
    const struct gate_site *site = &gate->sites[0];
    if (answer != NULL) {
        assert_answer(r, answer);
    }
    rules_settle(r);
    rules_compare(r, gate);
    if (r->told_any || r->step->kind == STEP_PASS || r->step->kind == STEP_RESTART) {
        r->newest = r->now.wall > r->newest ? r->now.wall : r->newest;
    }
    note_clock(r);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct gate_job *job = gate_job_on(site, s);
        if (job != NULL && r->jobs[s].stands) {
            assert_working(r, job, &r->jobs[s]);
            assert_break(r, site, job, &r->jobs[s]);
            assert_testing(r, s);
            assert_measured(r, s);
        }
        assert_position(r, s, r->positions[s].was_in);
    }
    if (gate->broken_memory) {
        rules_fail(r, "the gate says that it ran out of memory");
    }
    return r->wrong[0] == '\0';
}
