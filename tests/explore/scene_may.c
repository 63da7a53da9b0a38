// Which steps of a scene are worth taking in a state, and which an honest crew takes.
#include "scene.h"

static const struct rules_job *job_of(const struct rules *r, const struct step *step) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands && r->jobs[s].number == step->job) {
            return &r->jobs[s];
        }
    }
    return NULL;
}

static bool may_lead(const struct rules_job *job, const struct step *step) {
    unsigned phase = 1u << job->phase;
    unsigned in_work = 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED;
    switch (step->verb) {
    case GATE_VERB_START_WORK:
        return (phase & (1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED)) != 0;
    case GATE_VERB_FINISH_WORK:
        return job->phase == MODEL_PHASE_WORKING;
    case GATE_VERB_SET_ASIDE:
        return (phase & in_work) != 0;
    case GATE_VERB_BEGIN_TEST:
        return job->phase == MODEL_PHASE_RESTORING;
    case GATE_VERB_REWORK:
        return job->phase == MODEL_PHASE_RESTORING || job->phase == MODEL_PHASE_TESTING;
    case GATE_VERB_RECORD_TEST:
    case GATE_VERB_RETURN_POSITION:
        return job->phase == MODEL_PHASE_TESTING;
    default:
        return true;
    }
}

static bool may_sign(const struct rules *r, const struct rules_job *job, const struct step *step) {
    const struct model_check *check = &r->forecourt->procedures[0].checks[step->item];
    bool fails = check->unit != NULL ? !step->ok : (step->how & STEP_NO) != 0;
    bool in_crew = (job->crew >> step->who & 1u) != 0;
    switch (check->group) {
    case MODEL_GROUP_PREPARE:
        return in_crew || fails;
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return fails || (in_crew && job->held);
    case MODEL_GROUP_WORK:
        return in_crew && job->phase == MODEL_PHASE_WORKING;
    case MODEL_GROUP_CLEAR:
    case MODEL_GROUP_LEAVE:
        return job->phase == MODEL_PHASE_OPEN ? check->group == MODEL_GROUP_LEAVE && job->started
                                              : in_crew && (job->phase == MODEL_PHASE_WORKING ||
                                                            job->phase == MODEL_PHASE_STOPPED);
    default:
        return in_crew && job->phase == MODEL_PHASE_TESTING;
    }
}

static bool may_with_job(const struct rules *r, const struct rules_job *job,
                         const struct step *step) {
    unsigned slot = (unsigned)(job - r->jobs);
    bool in_crew = (job->crew >> step->who & 1u) != 0;
    switch (step->verb) {
    case GATE_VERB_ASSIGN_JOB:
    case GATE_VERB_CANCEL_JOB:
        return job->phase == MODEL_PHASE_OPEN && !rules_tagged(r, slot);
    case GATE_VERB_JOIN_JOB:
        return !in_crew;
    case GATE_VERB_SIGN_CHECK:
        return may_sign(r, job, step);
    case GATE_VERB_HANG_TAG:
        return in_crew && rules_reads(r, step->at, slot) == MODEL_POINT_ISOLATED;
    case GATE_VERB_LIFT_TAG:
        return r->points[step->at].tags[step->who][slot].hangs;
    case GATE_VERB_STOP_WORK:
        return true;
    case GATE_VERB_ACCEPT_LEAD:
        return job->offered == step->who;
    case GATE_VERB_HAND_OVER:
        return job->leader != step->to && (job->crew >> step->to & 1u) != 0;
    case GATE_VERB_LEAVE_JOB:
        return step->who == 0 ? (job->crew >> step->to & 1u) != 0 : in_crew;
    case GATE_VERB_WITNESS_POINT:
        return !rules_sensed(r, step->at) && (step->who == 0 || in_crew);
    default:
        return job->leader == step->who && may_lead(job, step);
    }
}

bool scene_may(const struct rules *r, const struct step *step) {
    if (step->kind == STEP_HEAR && step->how == STEP_AGAIN) {
        return r->sensors[step->at].order.at != 0;
    }
    if (step->kind == STEP_HEAR && (step->how & STEP_LAST) != 0) {
        const struct rules_sensor *s = &r->sensors[step->at];
        bool both = s->live_at != 0 && s->live_seq != 0;
        return (step->how & STEP_BARE) != 0 ? both : s->live_at != 0 || s->live_seq != 0;
    }
    if (step->kind == STEP_CLOCK && step->ms < 0) { // not further and further
        return r->newest - r->now.wall <= 1000;
    }
    if (step->kind != STEP_ASK) {
        return true;
    }
    switch (step->verb) {
    case GATE_VERB_OPEN_JOB:
        return (r->used[step->job / 8] >> step->job % 8 & 1u) == 0 && !r->jobs[step->at].stands;
    case GATE_VERB_DISTRUST_SENSOR:
    case GATE_VERB_TRUST_SENSOR:
        return true;
    case GATE_VERB_CONFIRM_TOLD:
        return (r->untold >> step->who & 1u) != 0;
    case GATE_VERB_ACKNOWLEDGE_ALARM:
        return true;
    case GATE_VERB_LIFT_ABSENT_TAG: {
        bool hangs = false;
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            unsigned whose = step->to < RULES_ANYBODY ? step->to : RULES_ANYBODY;
            hangs = hangs || r->points[step->at].tags[whose][s].hangs;
        }
        return hangs;
    }
    default:
        break;
    }
    if (step->verb == GATE_VERB_WITNESS_POINT && step->ok) {
        return !rules_sensed(r, step->at);
    }
    const struct rules_job *job = job_of(r, step);
    return job != NULL && may_with_job(r, job, step);
}

bool scene_honest(const struct step *step) {
    switch (step->kind) {
    case STEP_HEAR:
        return step->item != STEP_BAD && (step->how & (STEP_KEPT | STEP_LAST)) == 0 &&
               step->how != STEP_AGAIN && step->ms == 0 &&
               (step->how != STEP_COUNTED || step->job == 2);
    case STEP_CONTROLLER:
    case STEP_LINK:
    case STEP_UNHEARD:
    case STEP_JOURNAL:
        return step->ok;
    case STEP_SESSION:
    case STEP_CLOCK:
        return false;
    case STEP_CONTESTED:
        return !step->ok;
    case STEP_LOCK:
        return !step->ok;
    case STEP_PASS:
        return step->item == 0;
    case STEP_RESTART:
    case STEP_SUBSCRIBE:
        return false;
    default:
        return true;
    }
}
