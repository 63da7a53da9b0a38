// The honest crew: isolates, hangs, signs, works, lifts, restores, tests, returns.
//
// It reads the account of the rules, not the gate, and never asks for what it knows to be refused.
#include "honest.h"

#include <string.h>

#define OVERSEER 0 // m-1 of a forecourt with one overseer

struct errand {
    const struct world *world;
    const struct rules *rules;
    const struct rules_job *job;
    unsigned slot;
    struct step *step;
};

// Whoever has to be told first that a lock of theirs was removed says so.
static bool ask(struct errand *e, enum gate_verb verb, unsigned who) {
    bool untold = who < FORECOURT_PEOPLE && (e->rules->untold >> who & 1u) != 0;
    e->step->kind = STEP_ASK;
    e->step->verb = (uint8_t)(untold ? GATE_VERB_CONFIRM_TOLD : verb);
    e->step->who = (uint8_t)who;
    e->step->job = (uint16_t)e->job->number;
    return true;
}

static bool pass(struct errand *e, int ms) {
    *e->step = (struct step){.kind = STEP_PASS, .ms = ms};
    return true;
}

// Makes a point say what is wanted.
static bool say(struct errand *e, unsigned point, bool live) {
    const struct model_point *model = &e->rules->forecourt->points[point];
    if (model->sensor_count == 0) {
        unsigned who = e->job->leader;
        for (unsigned i = 0; i < FORECOURT_PEOPLE && !live; i++) {
            const struct rules_word *word = &e->rules->points[point].isolated[i];
            bool may = i == OVERSEER || (e->job->crew >> i & 1u) != 0;
            who = may && !(word->said && word->at == e->rules->now.mono) ? i : who;
        }
        e->step->at = (uint8_t)point;
        e->step->ok = live;
        return ask(e, GATE_VERB_WITNESS_POINT, who);
    }
    if (!rules_online(e->rules, point)) {
        *e->step = (struct step){.kind = STEP_CONTROLLER, .ok = 1};
        return true;
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        const struct rules_sensor *s = &e->rules->sensors[model->sensors[i]];
        uint8_t want = live ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
        if (!rules_trusted(e->rules, model->sensors[i])) { // it was mended
            e->step->at = (uint8_t)model->sensors[i];
            return ask(e, GATE_VERB_TRUST_SENSOR, OVERSEER);
        }
        if (s->word != want || s->kept || !rules_fresh(e->rules, model->sensors[i])) {
            *e->step = (struct step){.kind = STEP_HEAR,
                                     .at = (uint8_t)model->sensors[i],
                                     .item = live ? STEP_LIVE : STEP_ISOLATED};
            e->step->how = s->order.at != 0 ? STEP_DATED : 0;
            e->step->how |= s->order.numbered ? STEP_COUNTED : 0;
            e->step->job = s->order.numbered ? 2 : 0;
            return true;
        }
    }
    return pass(e, model->settle_ms);
}

// Where hardware measures, and where a failed test takes the dispenser out, people find faults too.
static bool goes_well(const struct errand *e) {
    const struct forecourt_plan *plan = e->rules->forecourt->plan;
    return !(plan->bag || plan->measured) || e->rules->order % 5 != 0;
}

static bool sign(struct errand *e, enum model_group group) {
    const struct model_requirements *needs = &e->rules->forecourt->procedures[e->job->procedure];
    for (size_t i = 0; i < needs->check_count; i++) {
        const struct model_check *check = &needs->checks[i];
        if (check->group == group && !rules_check_stands(e->rules, e->job, i)) {
            e->step->item = (uint32_t)i;
            e->step->ok = check->measure == NULL || goes_well(e);
            return ask(e, GATE_VERB_SIGN_CHECK, check->by != 0 ? OVERSEER : e->job->leader);
        }
    }
    return false;
}

// What is measured outside its limits is relieved: the crew does not sign against it.
static bool mend_measures(struct errand *e) {
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        if (rules_measures(e->rules, m, e->slot) && rules_measured_now(e->rules, m) &&
            e->rules->measures[m].outside) {
            *e->step = (struct step){.kind = STEP_MEASURE, .at = (uint8_t)m, .item = STEP_ISOLATED};
            return true;
        }
    }
    return false;
}

// Every alarm of the job is seen to, with a word of what was done; who removed a lock is not the
// one to say that it was seen.
static bool acknowledge(struct errand *e) {
    const struct gate_site *site = &e->world->gate->sites[0];
    char id[16];
    snprintf(id, sizeof id, "j%u", e->job->number);
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (alarm->state != MODEL_ALARM_ACKNOWLEDGED && strcmp(alarm->job, id) == 0) {
            bool absent = alarm->kind == MODEL_ALARM_ABSENT_LOCK_REMOVED;
            e->step->item = alarm->kind;
            e->step->how = STEP_NOTE;
            return ask(e, GATE_VERB_ACKNOWLEDGE_ALARM, absent ? e->job->leader : OVERSEER);
        }
    }
    return false;
}

static bool hang(struct errand *e) {
    for (unsigned who = 0; who < FORECOURT_PEOPLE; who++) {
        for (unsigned p = 0; (e->job->crew >> who & 1u) && p < FORECOURT_POINTS; p++) {
            const struct rules_tag *tag = &e->rules->points[p].tags[who][e->slot];
            if ((e->job->required >> p & 1u) != 0 && !tag->counts) {
                e->step->at = (uint8_t)p;
                return ask(e, GATE_VERB_HANG_TAG, who);
            }
        }
    }
    return false;
}

static bool lift(struct errand *e, unsigned slot, unsigned number) {
    for (unsigned p = 0; p < e->rules->forecourt->plan->points; p++) {
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            if (!e->rules->points[p].tags[who][slot].hangs) {
                continue;
            }
            e->step->at = (uint8_t)p;
            if (who < RULES_ANYBODY && slot != RULES_NO_SLOT) {
                ask(e, GATE_VERB_LIFT_TAG, who);
                e->step->job = (uint16_t)number;
                return true;
            }
            e->step->kind = STEP_LOCK;
            e->step->who = (uint8_t)(who < RULES_ANYBODY ? who : STEP_STRANGER);
            return true;
        }
    }
    return false;
}

// What people said of a point is said again before it ends.
static bool renew(struct errand *e) {
    for (unsigned p = 0; p < e->rules->forecourt->plan->points; p++) {
        bool spoken = (e->job->required >> p & 1u) != 0 && !rules_sensed(e->rules, p);
        for (unsigned who = 0; spoken && who < FORECOURT_PEOPLE; who++) {
            const struct rules_word *word = &e->rules->points[p].isolated[who];
            bool may = who == OVERSEER || (e->job->crew >> who & 1u) != 0;
            if (may && word->said &&
                e->rules->now.mono - word->at > e->rules->forecourt->plan->valid_ms / 2) {
                e->step->at = (uint8_t)p;
                return ask(e, GATE_VERB_WITNESS_POINT, who);
            }
        }
    }
    return false;
}

static bool isolate(struct errand *e) {
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        if ((e->job->required >> p & 1u) != 0 && !rules_isolated(e->rules, p, e->slot)) {
            return say(e, p, false);
        }
    }
    return false;
}

// Somebody who holds the credentials leads, and names the kit.
static bool find_leader(struct errand *e) {
    bool fit =
        e->job->leader != RULES_NOBODY && rules_qualified(e->rules, e->job->leader) && e->job->kit;
    if (fit || e->job->phase != MODEL_PHASE_OPEN) {
        return false;
    }
    if (lift(e, e->slot, e->job->number)) {
        return true;
    }
    e->step->to = 1;
    e->step->ok = 1;
    return ask(e, GATE_VERB_ASSIGN_JOB, OVERSEER);
}

static bool toward_start(struct errand *e) {
    return find_leader(e) || isolate(e) || renew(e) || hang(e) || sign(e, MODEL_GROUP_PREPARE) ||
           sign(e, MODEL_GROUP_RELIEVE) || mend_measures(e) || sign(e, MODEL_GROUP_VERIFY) ||
           acknowledge(e) || ask(e, GATE_VERB_START_WORK, e->job->leader);
}

// --- Leaving a repair half done ---

static bool is_left(const struct errand *e) {
    return e->job->number % 7 == 3;
}

static bool leave(struct errand *e) {
    if (e->job->phase != MODEL_PHASE_OPEN) {
        return sign(e, MODEL_GROUP_CLEAR) || sign(e, MODEL_GROUP_LEAVE) || acknowledge(e) ||
               ask(e, GATE_VERB_SET_ASIDE, e->job->leader);
    }
    if (!rules_group_stands(e->rules, e->job, MODEL_GROUP_LEAVE)) {
        return find_leader(e) || isolate(e) || hang(e) || sign(e, MODEL_GROUP_LEAVE);
    }
    return lift(e, e->slot, e->job->number) || acknowledge(e) ||
           ask(e, GATE_VERB_CANCEL_JOB, OVERSEER);
}

static bool work(struct errand *e) {
    int64_t often = e->rules->forecourt->plan->check_in_ms / 2;
    if (often > 0 && e->rules->now.mono - e->job->checked_in > often) {
        return ask(e, GATE_VERB_CHECK_IN, e->job->leader);
    }
    return renew(e) || acknowledge(e) || (is_left(e) && leave(e)) || sign(e, MODEL_GROUP_WORK) ||
           sign(e, MODEL_GROUP_CLEAR) || ask(e, GATE_VERB_FINISH_WORK, e->job->leader);
}

static bool restore(struct errand *e) {
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        if ((e->job->required >> p & 1u) != 0 && !rules_proved_live(e->rules, p, e->slot)) {
            return say(e, p, true);
        }
    }
    return false;
}

static bool record(struct errand *e) {
    for (size_t t = 0; t < FORECOURT_TESTS; t++) {
        unsigned owed = e->rules->positions[e->slot].owed | 1u << e->job->procedure;
        bool asked = t == 0 || (owed & 2u) != 0;
        if (asked && !(e->job->tests[t].stands && e->job->tests[t].pass)) {
            e->step->item = (uint32_t)t;
            e->step->ok = goes_well(e);
            e->step->how = STEP_NOTE; // of what was changed
            return ask(e, GATE_VERB_RECORD_TEST, e->job->leader);
        }
    }
    return false;
}

static bool toward_return(struct errand *e) {
    return lift(e, e->slot, e->job->number) || restore(e) || record(e) ||
           sign(e, MODEL_GROUP_FINISH) || acknowledge(e) ||
           ask(e, GATE_VERB_RETURN_POSITION, e->job->leader);
}

// Nobody tests where another lock hangs, or where others work: those finish first.
static bool clear_beside(struct errand *e, unsigned number) {
    for (unsigned s = 0; s < e->rules->forecourt->plan->positions; s++) {
        const struct rules_job *other = &e->rules->jobs[s];
        if (s == e->slot || !other->stands || !rules_shares(e->rules, e->slot, s)) {
            continue;
        }
        if (other->phase == MODEL_PHASE_WORKING || other->phase == MODEL_PHASE_STOPPED) {
            return honest_step(e->world, s, number, e->step);
        }
        if (lift(e, s, other->number)) {
            return true;
        }
    }
    return false;
}

bool honest_step(const struct world *world, unsigned position, unsigned number, struct step *step) {
    struct errand e = {world, &world->rules, &world->rules.jobs[position], position, step};
    memset(step, 0, sizeof *step);
    if (!e.job->stands) {
        *step = (struct step){.kind = STEP_ASK,
                              .verb = GATE_VERB_OPEN_JOB,
                              .to = (uint8_t)(1 + number % 2),
                              .at = (uint8_t)position,
                              .ok = 1,
                              .job = (uint16_t)number,
                              .item = number % 3 == 0};
        return true;
    }
    switch (e.job->phase) {
    case MODEL_PHASE_WORKING:
        return work(&e);
    case MODEL_PHASE_RESTORING:
        return lift(&e, e.slot, e.job->number) || lift(&e, RULES_NO_SLOT, 0) ||
               clear_beside(&e, number) || sign(&e, MODEL_GROUP_PREPARE) || acknowledge(&e) ||
               ask(&e, GATE_VERB_BEGIN_TEST, e.job->leader);
    case MODEL_PHASE_TESTING:
        return toward_return(&e);
    case MODEL_PHASE_STOPPED:
        return is_left(&e) ? leave(&e) : toward_start(&e);
    default:
        return is_left(&e) && e.job->started ? leave(&e) : toward_start(&e);
    }
}
