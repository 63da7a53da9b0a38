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

static bool ask(struct errand *e, enum gate_verb verb, unsigned who) {
    e->step->kind = STEP_ASK;
    e->step->verb = (uint8_t)verb;
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
            const struct rules_word *word = &e->rules->points[point].statements[i];
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
        if (s->word != want || !rules_fresh(e->rules, model->sensors[i])) {
            *e->step = (struct step){.kind = STEP_HEAR,
                                     .at = (uint8_t)model->sensors[i],
                                     .item = live ? STEP_LIVE : STEP_ISOLATED};
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
        const struct rules_mark *mark = &e->job->signed_[i];
        bool aged = group == MODEL_GROUP_PREPARE && e->rules->now.mono - mark->at > check->valid_ms;
        if (check->group == group && !(mark->stands && mark->pass && !aged)) {
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

static bool acknowledge(struct errand *e) {
    const struct gate_site *site = &e->world->gate->sites[0];
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].state != MODEL_ALARM_ACKNOWLEDGED && site->alarms[i].job[0] != '\0') {
            e->step->item = site->alarms[i].kind;
            return ask(e, GATE_VERB_ACKNOWLEDGE_ALARM, OVERSEER);
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
            e->step->kind = STEP_READER;
            e->step->who = (uint8_t)(who < RULES_ANYBODY ? who : STEP_STRANGER);
            return true;
        }
    }
    return false;
}

static bool toward_start(struct errand *e) {
    if (e->job->leader == RULES_NOBODY || (!e->job->kit && !rules_tagged(e->rules, e->slot))) {
        e->step->to = 1;
        e->step->ok = 1;
        return e->job->phase == MODEL_PHASE_OPEN && ask(e, GATE_VERB_ASSIGN_JOB, OVERSEER);
    }
    if (!e->job->kit) {
        return lift(e, e->slot, e->job->number);
    }
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        if ((e->job->required >> p & 1u) != 0 && !rules_isolated(e->rules, p, e->slot)) {
            return say(e, p, false);
        }
    }
    return hang(e) || sign(e, MODEL_GROUP_PREPARE) || sign(e, MODEL_GROUP_RELIEVE) ||
           mend_measures(e) || sign(e, MODEL_GROUP_VERIFY) || acknowledge(e) ||
           ask(e, GATE_VERB_START_WORK, e->job->leader);
}

static bool restore(struct errand *e) {
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        if ((e->job->required >> p & 1u) != 0 && !rules_proved_live(e->rules, p)) {
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
        return sign(&e, MODEL_GROUP_WORK) || sign(&e, MODEL_GROUP_CLEAR) ||
               ask(&e, GATE_VERB_FINISH_WORK, e.job->leader);
    case MODEL_PHASE_RESTORING:
        return lift(&e, e.slot, e.job->number) || lift(&e, RULES_NO_SLOT, 0) ||
               ask(&e, GATE_VERB_BEGIN_TEST, e.job->leader);
    case MODEL_PHASE_TESTING:
        return toward_return(&e);
    default:
        return toward_start(&e);
    }
}
