// Requests: what one that is accepted does.
#include "rules.h"

#include <string.h>

static unsigned slot_of(const struct rules *r, const struct rules_job *job) {
    return (unsigned)(job - r->jobs);
}

static void void_every(struct rules *r, struct rules_job *job, bool but_leave) {
    for (int group = 0; group < MODEL_GROUP_COUNT; group++) {
        if (group != MODEL_GROUP_LEAVE || !but_leave) {
            rules_void(r, job, (enum model_group)group);
        }
    }
    rules_void_tests(r, job);
}

static void void_leaving(struct rules *r, struct rules_job *job) {
    rules_void(r, job, MODEL_GROUP_CLEAR);
    rules_void(r, job, MODEL_GROUP_LEAVE);
}

// --- Jobs and crews ---

static void join(struct rules *r, struct rules_job *job, unsigned person) {
    job->crew |= 1u << person;
    for (size_t i = 0; i < FORECOURT_CHECKS; i++) {
        job->verified[i][person] = 0;
    }
    rules_adopt_locks(r, job, person);
}

static void part(struct rules_job *job, unsigned person) {
    job->crew &= ~(1u << person);
    job->offered = job->offered == person ? RULES_NOBODY : job->offered;
    for (size_t i = 0; i < FORECOURT_CHECKS; i++) {
        job->verified[i][person] = 0;
    }
}

static void lead(struct rules *r, struct rules_job *job, unsigned person) {
    if (person < r->forecourt->model.person_count) {
        job->leader = (uint8_t)person;
        join(r, job, person);
    }
}

static void open_job(struct rules *r) {
    const struct step *step = r->step;
    struct rules_job *job = &r->jobs[step->at];
    r->used[step->job / 8] |= (uint8_t)(1u << step->job % 8);
    memset(job, 0, sizeof *job);
    job->stands = true;
    job->number = step->job;
    job->procedure = step->item % r->forecourt->model.procedure_count;
    job->opened = job->entered = r->now.mono;
    job->kit = step->ok != 0;
    job->leader = job->offered = job->stopped_by = RULES_NOBODY;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct forecourt_point *point = &r->forecourt->plan->point[p];
        bool energy = point->electrical || r->forecourt->plan->product;
        job->required |= energy && (point->isolates >> step->at & 1u) != 0 ? 1u << p : 0;
    }
    lead(r, job, step->to);
}

static bool covers(const struct rules *r, const struct rules_job *job, unsigned position) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    unsigned own = slot_of(r, job);
    return position == own || (rules_needs(r, job)->takes_dispenser &&
                               plan->dispenser[position] == plan->dispenser[own]);
}

static void end_job(struct rules *r, struct rules_job *job) {
    unsigned slot = slot_of(r, job);
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
            r->points[p].isolated[i].slots &= ~(1u << slot);
            if ((job->required >> p & 1u) != 0) {
                r->points[p].live[i].last = (r->points[p].live[i].slots >> slot & 1u) != 0;
            }
            r->points[p].live[i].slots &= ~(1u << slot);
        }
        if ((job->required >> p & 1u) != 0) {
            r->points[p].last_crew = job->crew;
        }
    }
    job->stands = job->unproven = job->held = job->broken = job->confirmed = false;
}

static void cancel_job(struct rules *r, struct rules_job *job) {
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        r->positions[p].owed |= job->started && covers(r, job, p) ? 1u << job->procedure : 0;
    }
    end_job(r, job);
}

static void return_position(struct rules *r, struct rules_job *job) {
    unsigned own = slot_of(r, job), kept = 0;
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        const struct rules_job *other = &r->jobs[p];
        kept |= p != own && other->stands && other->started && covers(r, other, own) ? 1u << p : 0;
        if (p != own && covers(r, job, p)) {
            r->positions[p].untested &= ~(1u << own);
            r->positions[p].owed = r->positions[p].untested == 0 ? 0 : r->positions[p].owed;
        }
    }
    r->positions[own].untested &= kept;
    r->positions[own].owed = 0;
    r->positions[own].failed = false;
    end_job(r, job);
}

static void assign_job(struct rules *r, struct rules_job *job) {
    if (job->leader != RULES_NOBODY) {
        part(job, job->leader);
    }
    job->offered = RULES_NOBODY;
    job->kit = job->kit || r->step->ok;
    lead(r, job, r->step->to);
}

static void join_job(struct rules *r, struct rules_job *job) {
    if ((job->crew >> r->step->who & 1u) == 0) {
        join(r, job, r->step->who);
        void_leaving(r, job);
    }
}

// --- Locks ---

static void lift_absent(struct rules *r) {
    unsigned whose = r->step->to < r->forecourt->model.person_count ? r->step->to : RULES_ANYBODY;
    if (r->step->ok == 2) { // its owner had lifted it: nothing of a job hangs, and nobody is told
        rules_end_tags(r, r->step->at, whose);
        return;
    }
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        if (!r->points[r->step->at].tags[whose][s].hangs) {
            continue;
        }
        bool last = true;
        for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
            last = last && (p == r->step->at || !r->points[p].tags[whose][s].hangs);
        }
        if (last && job->leader != whose && whose < RULES_ANYBODY) {
            part(job, whose);
        }
        if (job->phase == MODEL_PHASE_WORKING && job->leader != whose) {
            rules_enter(r, job, MODEL_PHASE_STOPPED); // the leader's breaks, by what holds
        }
    }
    rules_end_tags(r, r->step->at, whose);
    r->untold |= whose < RULES_ANYBODY ? 1u << whose : 0;
}

// --- Work ---

static void start_work(struct rules *r, struct rules_job *job) {
    rules_enter(r, job, MODEL_PHASE_WORKING);
    job->started = true;
    job->set_aside = job->reworked = job->paused = false;
    job->checked_in = r->now.mono;
    void_leaving(r, job);
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        r->positions[p].untested |= covers(r, job, p) ? 1u << slot_of(r, job) : 0;
    }
}

static void stop_work(struct rules *r, struct rules_job *job) {
    bool cabinet = job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    bool leads = job->leader == r->step->who;
    bool pause = (r->step->how & STEP_PAUSE) != 0 && leads;
    if (pause &&
        (job->phase == MODEL_PHASE_WORKING || (job->phase == MODEL_PHASE_STOPPED && job->paused))) {
        if (job->phase == MODEL_PHASE_WORKING) {
            rules_enter(r, job, MODEL_PHASE_STOPPED);
            job->paused = true;
        }
        return;
    }
    job->paused = false;
    job->stopped_by = r->step->who;
    job->stop_order = r->order;
    rules_void(r, job, MODEL_GROUP_PREPARE);
    rules_void(r, job, MODEL_GROUP_RELIEVE);
    rules_void(r, job, MODEL_GROUP_VERIFY);
    if (cabinet) {
        void_leaving(r, job);
    }
    if (job->phase == MODEL_PHASE_WORKING) {
        rules_enter(r, job, MODEL_PHASE_STOPPED);
    } else if (job->phase == MODEL_PHASE_TESTING || job->phase == MODEL_PHASE_RESTORING) {
        rules_void_tests(r, job);
        rules_enter(r, job, MODEL_PHASE_RESTORING);
    }
}

static void back_to_open(struct rules *r, struct rules_job *job, bool aside) {
    rules_enter(r, job, MODEL_PHASE_OPEN);
    job->set_aside = aside;
    job->reworked = !aside;
    job->broken = job->paused = false;
    void_every(r, job, aside);
}

static void record_test(struct rules *r, struct rules_job *job) {
    size_t t = r->step->item %
               r->forecourt->procedures[r->forecourt->model.procedure_count - 1].test_count;
    rules_void(r, job, MODEL_GROUP_FINISH);
    job->tests[t] =
        (struct rules_mark){true, r->step->ok != 0, r->now.mono, r->now.mono, ++r->order};
    job->test_failed[t] = !r->step->ok;
    if (t == 0 && r->forecourt->plan->bag) {
        r->positions[slot_of(r, job)].failed = r->step->ok == 0;
    }
}

static void sign_check(struct rules *r, struct rules_job *job) {
    size_t check = r->step->item % rules_needs(r, job)->check_count;
    bool reads = rules_needs(r, job)->checks[check].unit != NULL;
    bool pass = reads ? r->step->ok != 0 : (r->step->how & STEP_NO) == 0;
    if (r->idle) {
        return;
    }
    job->signed_by[check] = r->step->who;
    rules_sign(r, job, check, r->step->who, pass);
    job->failed_by_hand[check] = !pass;
}

static void do_for_job(struct rules *r, struct rules_job *job) {
    const struct step *step = r->step;
    switch (step->verb) {
    case GATE_VERB_ASSIGN_JOB:
        assign_job(r, job);
        break;
    case GATE_VERB_JOIN_JOB:
        join_job(r, job);
        break;
    case GATE_VERB_LEAVE_JOB:
        part(job, step->to < r->forecourt->model.person_count ? step->to : step->who);
        break;
    case GATE_VERB_HANG_TAG:
        rules_hang_tag(r, job, step->at, step->who);
        break;
    case GATE_VERB_LIFT_TAG:
        rules_lift_tag(r, job, step->at, step->who);
        break;
    case GATE_VERB_SIGN_CHECK:
        sign_check(r, job);
        break;
    case GATE_VERB_START_WORK:
        start_work(r, job);
        break;
    case GATE_VERB_STOP_WORK:
        stop_work(r, job);
        break;
    case GATE_VERB_FINISH_WORK:
        rules_enter(r, job, MODEL_PHASE_RESTORING);
        break;
    case GATE_VERB_BEGIN_TEST:
        rules_enter(r, job, MODEL_PHASE_TESTING);
        rules_void_tests(r, job);
        break;
    case GATE_VERB_RECORD_TEST:
        record_test(r, job);
        break;
    case GATE_VERB_REWORK:
    case GATE_VERB_SET_ASIDE:
        back_to_open(r, job, step->verb == GATE_VERB_SET_ASIDE);
        break;
    case GATE_VERB_RETURN_POSITION:
        return_position(r, job);
        break;
    case GATE_VERB_HAND_OVER:
        job->offered = step->to;
        job->offered_at = r->now.mono;
        break;
    case GATE_VERB_ACCEPT_LEAD:
        job->leader = step->who;
        job->offered = RULES_NOBODY;
        break;
    case GATE_VERB_CANCEL_JOB:
        cancel_job(r, job);
        break;
    case GATE_VERB_CHECK_IN:
        job->checked_in = r->now.mono;
        break;
    default:
        break;
    }
}

// At most 12 h from now, for all who say it.
static void distrust(struct rules *r, bool on) {
    const struct step *step = r->step;
    int64_t until = on ? r->now.mono + 12 * 3600000 : 0;
    if ((step->how & STEP_OF_READER) != 0) {
        struct rules_point *point = &r->points[step->at];
        point->distrusted_until = until;
        point->distrusted_by = on ? point->distrusted_by | 1u << step->who : 0;
        if (on) {
            rules_doubt_reader(r, step->at);
        }
    } else if (!on) {
        rules_trust_again(r, step->at);
    } else {
        r->sensors[step->at].distrusted_until = until;
        r->sensors[step->at].distrusted_by |= 1u << step->who;
    }
}

void rules_do(struct rules *r) {
    const struct step *step = r->step;
    struct rules_job *job = NULL;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        job = r->jobs[s].stands && r->jobs[s].number == step->job ? &r->jobs[s] : job;
    }
    switch (step->verb) {
    case GATE_VERB_OPEN_JOB:
        open_job(r);
        break;
    case GATE_VERB_LIFT_ABSENT_TAG:
        lift_absent(r);
        break;
    case GATE_VERB_CONFIRM_TOLD:
        r->untold &= ~(1u << step->who);
        break;
    case GATE_VERB_WITNESS_POINT:
        rules_say(r, step->at, step->who, step->ok, (step->how & STEP_WAITED) != 0);
        break;
    case GATE_VERB_DISTRUST_SENSOR:
    case GATE_VERB_TRUST_SENSOR:
        distrust(r, step->verb == GATE_VERB_DISTRUST_SENSOR);
        break;
    case GATE_VERB_ACKNOWLEDGE_ALARM:
        break;
    default:
        do_for_job(r, job);
        break;
    }
}
