// Requests: whether one is to be accepted, by the table of section 4. Each function names what is
// lacking, or NULL.
#include "rules.h"

#include <string.h>

#define OVERSEERS (MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)
#define PHASE(name) (1u << MODEL_PHASE_##name)

static bool has_role(const struct rules *r, unsigned person, unsigned roles) {
    return person < r->forecourt->model.person_count &&
           (r->forecourt->people[person].roles & roles) != 0;
}

static bool in_crew(const struct rules_job *job, unsigned person) {
    return person < FORECOURT_PEOPLE && (job->crew >> person & 1u) != 0;
}

static const struct rules_job *job_asked(const struct rules *r) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands && r->jobs[s].number == r->step->job) {
            return &r->jobs[s];
        }
    }
    return NULL;
}

static unsigned slot_of(const struct rules *r, const struct rules_job *job) {
    return (unsigned)(job - r->jobs);
}

static const char *phase(const struct rules_job *job, unsigned phases) {
    return (phases >> job->phase & 1u) != 0 ? NULL : "the phase";
}

// --- What a check says ---

// Of a job that is ended too: every procedure has the same checks.
static const struct model_check *check_asked(const struct rules *r) {
    const struct model_requirements *needs = &r->forecourt->procedures[0];
    return &needs->checks[r->step->item % needs->check_count];
}

// A check without a reading is answered no by "pass": false.
static bool check_passes(const struct rules *r) {
    bool no = check_asked(r)->unit != NULL ? r->step->ok == 0 : (r->step->how & STEP_NO) != 0;
    return !no;
}

static bool ends_by_failing(const struct rules *r) {
    enum model_group group = check_asked(r)->group;
    return !check_passes(r) && (group == MODEL_GROUP_PREPARE || group == MODEL_GROUP_RELIEVE ||
                                group == MODEL_GROUP_VERIFY);
}

// What ends or stops is never refused for lateness, for the journal, or because its asker was not
// told of a lock removed.
static bool ends(const struct rules *r) {
    switch (r->step->verb) {
    case GATE_VERB_STOP_WORK:
    case GATE_VERB_LIFT_TAG:
        return true;
    case GATE_VERB_WITNESS_POINT:
        return r->step->ok != 0;
    case GATE_VERB_SIGN_CHECK:
        // Of a job that never was nobody knows what its check asks.
        return (r->used[r->step->job / 8] >> r->step->job % 8 & 1u) != 0 && ends_by_failing(r);
    default:
        return false;
    }
}

static bool of_the_present(enum gate_verb verb) {
    switch (verb) {
    case GATE_VERB_OPEN_JOB:
    case GATE_VERB_ASSIGN_JOB:
    case GATE_VERB_LIFT_TAG:
    case GATE_VERB_STOP_WORK:
    case GATE_VERB_HAND_OVER:
        return false;
    default:
        return true;
    }
}

// --- Verb by verb ---

static const char *open_job(const struct rules *r) {
    const struct step *step = r->step;
    bool used = (r->used[step->job / 8] >> step->job % 8 & 1u) != 0;
    if (!has_role(r, step->who, OVERSEERS | MODEL_ROLE_TRACKER)) {
        return "a role";
    }
    if (step->to < r->forecourt->model.person_count &&
        !has_role(r, step->to, MODEL_ROLE_TECHNICIAN)) {
        return "a technician";
    }
    return used || step->at >= r->forecourt->plan->positions || r->jobs[step->at].stands
               ? "a free position and id"
               : NULL;
}

static const char *assign_job(const struct rules *r, const struct rules_job *job) {
    if (!has_role(r, r->step->who, OVERSEERS | MODEL_ROLE_TRACKER)) {
        return "a role";
    }
    if (!has_role(r, r->step->to, MODEL_ROLE_TECHNICIAN)) {
        return "a technician";
    }
    return rules_tagged(r, slot_of(r, job)) ? "no tag of the job" : phase(job, PHASE(OPEN));
}

static bool hangs_own(const struct rules *r, const struct rules_job *job, unsigned person) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if (r->points[p].tags[person][slot_of(r, job)].hangs) {
            return true;
        }
    }
    return false;
}

static const char *leave_job(const struct rules *r, const struct rules_job *job) {
    unsigned who = r->step->who;
    unsigned leaves = r->step->to < r->forecourt->model.person_count ? r->step->to : who;
    bool may = leaves == who ? in_crew(job, who)
                             : job->leader == who || has_role(r, who, MODEL_ROLE_SUPERVISOR);
    if (!may || !in_crew(job, leaves) || job->leader == leaves) {
        return "one of the crew who does not lead";
    }
    return hangs_own(r, job, leaves) ? "no tag of theirs" : NULL;
}

// Among the crew of those who sign and speak are those who hold the credentials today.
static bool in_hands(const struct rules *r, const struct rules_job *job, unsigned person) {
    return in_crew(job, person) && rules_qualified(r, person);
}

static const char *witness(const struct rules *r, const struct rules_job *job) {
    if (rules_sensed(r, r->step->at)) {
        return "a point without sensors";
    }
    if (r->step->ok) {
        return NULL;
    }
    bool may = has_role(r, r->step->who, OVERSEERS) || in_hands(r, job, r->step->who);
    may = may && (rules_distrusters(r, r->step->at) >> r->step->who & 1u) == 0;
    return may ? NULL : "one of the crew, a manager or a supervisor";
}

static const char *hang_tag(const struct rules *r, const struct rules_job *job) {
    uint32_t point = r->step->at;
    if (!in_crew(job, r->step->who)) {
        return "one of the crew";
    }
    bool by_reader =
        r->forecourt->plan->point[point].by_reader && r->points[point].distrusted_until == 0;
    if (by_reader) {
        return "its reader";
    }
    bool isolated = (job->required >> point & 1u) != 0 &&
                    rules_reads(r, point, slot_of(r, job)) == MODEL_POINT_ISOLATED;
    return isolated ? NULL : "a required point that reads isolated";
}

// What finds nothing to end is answered all the same, but where another's hangs.
static const char *lift_tag(struct rules *r, const struct rules_job *job) {
    unsigned who = r->step->who;
    if (r->points[r->step->at].tags[who][slot_of(r, job)].hangs) {
        return NULL;
    }
    for (unsigned other = 0; other <= RULES_ANYBODY; other++) {
        if (r->points[r->step->at].tags[other][slot_of(r, job)].hangs) {
            return "a tag of theirs";
        }
        r->undecided = r->undecided || rules_hangs_here(r, r->step->at, other);
    }
    return NULL;
}

static const char *lift_absent(const struct rules *r) {
    const struct step *step = r->step;
    unsigned whose = step->to < r->forecourt->model.person_count ? step->to : RULES_ANYBODY;
    if (!has_role(r, step->who, MODEL_ROLE_SUPERVISOR) || step->to == step->who) {
        return "another supervisor";
    }
    bool hangs = false, lifted = true;
    for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
        const struct rules_tag *tag = &r->points[step->at].tags[whose][s];
        hangs = hangs || tag->hangs;
        lifted = lifted && (!tag->hangs || tag->lifted);
    }
    bool attested = step->ok == 1 || (step->ok == 2 && lifted);
    return !hangs ? "a tag" : attested ? NULL : "the attestation";
}

static bool broken_unseen(const struct rules_job *job, const struct gate *gate) {
    char id[16];
    snprintf(id, sizeof id, "j%u", job->number);
    for (size_t i = 0; i < gate->sites[0].alarm_count; i++) {
        const struct gate_alarm *alarm = &gate->sites[0].alarms[i];
        if (alarm->kind == MODEL_ALARM_LOCKOUT_BROKEN && strcmp(alarm->job, id) == 0) {
            return alarm->state == MODEL_ALARM_UNACKNOWLEDGED;
        }
    }
    return false;
}

// A failure said again counts once while its effect stands: the same person's, nothing signed
// since, what it broke not acknowledged, and no lock trusted again.
static bool failed_already(const struct rules *r, const struct rules_job *job, size_t check,
                           const struct gate *gate) {
    const struct rules_mark *mark = &job->signed_[check];
    bool same = mark->order == job->newest_order && mark->order != 0 && !mark->pass &&
                job->signed_by[check] == r->step->who;
    bool trusted = false;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            trusted = trusted || r->points[p].tags[who][slot_of(r, job)].counts;
        }
    }
    trusted = trusted && rules_needs(r, job)->checks[check].group == MODEL_GROUP_VERIFY;
    return same && !trusted && (broken_unseen(job, gate) || !rules_failure_breaks(r, job, check));
}

static const char *sign_check(struct rules *r, const struct rules_job *job,
                              const struct gate *gate) {
    const struct model_check *check = check_asked(r);
    size_t i = r->step->item % rules_needs(r, job)->check_count;
    unsigned who = r->step->who;
    if (ends_by_failing(r)) {
        // Whether it is taken from somebody who is neither of the crew nor an overseer is left
        // open.
        r->undecided = !in_crew(job, who) && !has_role(r, who, OVERSEERS | check->by);
        r->idle = failed_already(r, job, i, gate);
        return NULL;
    }
    bool may = check->by != 0 ? has_role(r, who, check->by) : in_hands(r, job, who);
    bool safe = check->group == MODEL_GROUP_LEAVE && rules_made_safe(r, job, who, &r->undecided);
    if (safe || r->undecided) {
        return NULL;
    }
    if (!may) {
        return "a signer";
    }
    // Whether what was broken for an outage holds anew while it lasts is left open.
    bool energy = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY;
    r->undecided = energy && r->outage != 0 && job->cut == r->outage;
    return rules_in_season(r, job, i, who) ? NULL : "its season";
}

static const char *record_test(const struct rules *r, const struct rules_job *job) {
    const struct model_requirements *all = &r->forecourt->procedures[1];
    size_t t = r->step->item %
               r->forecourt->procedures[r->forecourt->model.procedure_count - 1].test_count;
    unsigned owed = r->positions[slot_of(r, job)].owed | 1u << job->procedure;
    if (t > 0 && (owed & 2u) == 0) {
        return "a test of the job";
    }
    for (unsigned p = 0; all->tests[t].powered && p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !rules_proved_live(r, p, slot_of(r, job))) {
            return "power";
        }
    }
    bool noted = (r->step->how & STEP_NOTE) != 0;
    return r->step->ok && job->test_failed[t] && !noted ? "a note of what was changed"
                                                        : phase(job, PHASE(TESTING));
}

static const char *set_aside(const struct rules *r, const struct rules_job *job,
                             const struct gate *gate) {
    if (phase(job, PHASE(WORKING) | PHASE(STOPPED)) != NULL) {
        return "the phase";
    }
    if (!rules_group_stands(r, job, MODEL_GROUP_CLEAR) ||
        !rules_group_stands(r, job, MODEL_GROUP_LEAVE)) {
        return "a check that stands";
    }
    return rules_alarm_unseen(job, gate) ? "an alarm acknowledged"
           : r->contested                ? "the site"
                                         : NULL;
}

static const char *cancel_job(const struct rules *r, const struct rules_job *job,
                              const struct gate *gate) {
    if (!has_role(r, r->step->who, OVERSEERS | MODEL_ROLE_TRACKER)) {
        return "a role";
    }
    if (phase(job, PHASE(OPEN)) != NULL || rules_tagged(r, slot_of(r, job))) {
        return "an open job without tags";
    }
    if (job->started && !rules_group_stands(r, job, MODEL_GROUP_LEAVE)) {
        return "a check that stands";
    }
    return rules_alarm_unseen(job, gate) ? "an alarm acknowledged" : NULL;
}

static const char *hand_over(const struct rules *r, const struct rules_job *job) {
    unsigned who = r->step->who, to = r->step->to;
    bool may = job->leader == who || has_role(r, who, MODEL_ROLE_SUPERVISOR);
    return may && in_crew(job, to) && job->leader != to ? NULL : "one of the crew";
}

// What the leader alone may do.
static const char *led(const struct rules *r, const struct rules_job *job,
                       const struct gate *gate) {
    if (job->leader != r->step->who) {
        return "the leader";
    }
    switch (r->step->verb) {
    case GATE_VERB_START_WORK:
        return phase(job, PHASE(OPEN) | PHASE(STOPPED)) != NULL ? "the phase"
                                                                : rules_start_lacks(r, job, gate);
    case GATE_VERB_FINISH_WORK:
        return phase(job, PHASE(WORKING)) != NULL ? "the phase" : rules_finish_lacks(r, job);
    case GATE_VERB_BEGIN_TEST:
        return phase(job, PHASE(RESTORING)) != NULL ? "the phase" : rules_test_lacks(r, job, gate);
    case GATE_VERB_RECORD_TEST:
        return record_test(r, job);
    case GATE_VERB_REWORK:
        return phase(job, PHASE(RESTORING) | PHASE(TESTING));
    case GATE_VERB_SET_ASIDE:
        return set_aside(r, job, gate);
    case GATE_VERB_RETURN_POSITION:
        return phase(job, PHASE(TESTING)) != NULL ? "the phase" : rules_return_lacks(r, job, gate);
    default:
        return NULL; // check-in: the job stands
    }
}

static const char *of_job(struct rules *r, const struct rules_job *job, const struct gate *gate) {
    switch (r->step->verb) {
    case GATE_VERB_ASSIGN_JOB:
        return assign_job(r, job);
    case GATE_VERB_JOIN_JOB:
        return has_role(r, r->step->who, MODEL_ROLE_TECHNICIAN) ? NULL : "a technician";
    case GATE_VERB_LEAVE_JOB:
        return leave_job(r, job);
    case GATE_VERB_WITNESS_POINT:
        return witness(r, job);
    case GATE_VERB_HANG_TAG:
        return hang_tag(r, job);
    case GATE_VERB_LIFT_TAG:
        return lift_tag(r, job);
    case GATE_VERB_SIGN_CHECK:
        return sign_check(r, job, gate);
    case GATE_VERB_STOP_WORK:
        return NULL;
    case GATE_VERB_HAND_OVER:
        return hand_over(r, job);
    case GATE_VERB_ACCEPT_LEAD:
        return rules_accept_lacks(r, job, r->step->who);
    case GATE_VERB_CANCEL_JOB:
        return cancel_job(r, job, gate);
    default:
        return led(r, job, gate);
    }
}

// --- Out of order ---

// A supervisor who is of no crew that requires the point, of a sensor that does not say live now.
static const char *distrust(struct rules *r) {
    const struct step *step = r->step;
    bool reader = (step->how & STEP_OF_READER) != 0;
    if (!reader && step->at >= r->forecourt->site.sensor_count) {
        return "a sensor";
    }
    uint32_t point = reader ? step->at : r->forecourt->sensors[step->at].point;
    if (!has_role(r, step->who, MODEL_ROLE_SUPERVISOR)) {
        return "a role";
    }
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        const struct rules_job *job = &r->jobs[s];
        if (job->stands && in_crew(job, step->who) && (job->required >> point & 1u) != 0) {
            return "somebody of no such crew";
        }
    }
    bool distrusted = reader ? r->points[point].distrusted_until != 0 : !rules_trusted(r, step->at);
    if (step->verb == GATE_VERB_TRUST_SENSOR) {
        r->undecided = !distrusted;
        return NULL;
    }
    // A late live was said now as well.
    const struct rules_sensor *sensor = &r->sensors[step->at];
    bool late = sensor->contradicted != 0 &&
                r->now.mono - sensor->contradicted <= r->forecourt->plan->max_age_ms;
    bool live = !reader && (late || (rules_fresh(r, step->at) && sensor->word == MODEL_POINT_LIVE));
    return live ? "a sensor that does not say live" : NULL;
}

// --- Any request ---

// Refusals that stand alone, in their order; -1: none.
static int alone(const struct rules *r, const struct rules_job *job, bool of_a_job) {
    bool ending = ends(r);
    if (r->step->who >= r->forecourt->model.person_count) {
        return MODEL_CODE_UNKNOWN_PERSON;
    }
    if ((r->step->how & STEP_WAITED) != 0 && !ending &&
        of_the_present((enum gate_verb)r->step->verb)) {
        return MODEL_CODE_TOO_LATE;
    }
    if ((r->untold >> r->step->who & 1u) != 0 && !ending &&
        r->step->verb != GATE_VERB_CONFIRM_TOLD) {
        return MODEL_CODE_NOT_TOLD;
    }
    if (!of_a_job || job != NULL) {
        return -1;
    }
    bool used = (r->used[r->step->job / 8] >> r->step->job % 8 & 1u) != 0;
    return used ? MODEL_CODE_WRONG_PHASE : MODEL_CODE_UNKNOWN_JOB;
}

void rules_ask(struct rules *r, const struct gate *gate) {
    const struct step *step = r->step;
    const struct rules_job *job = job_asked(r);
    bool word = step->verb == GATE_VERB_WITNESS_POINT && step->ok;
    bool of_a_job =
        step->verb != GATE_VERB_OPEN_JOB && step->verb != GATE_VERB_LIFT_ABSENT_TAG &&
        step->verb != GATE_VERB_ACKNOWLEDGE_ALARM && step->verb != GATE_VERB_CONFIRM_TOLD &&
        step->verb != GATE_VERB_DISTRUST_SENSOR && step->verb != GATE_VERB_TRUST_SENSOR && !word;
    r->undecided = step->verb == GATE_VERB_ACKNOWLEDGE_ALARM;
    r->lone = alone(r, job, of_a_job);
    if (r->lone >= 0) {
        r->lacks = model_code_name((enum model_code)r->lone);
    } else if (!r->journal && !ends(r) && step->verb != GATE_VERB_LIFT_ABSENT_TAG) {
        r->lacks = "the journal";
    } else if (step->verb == GATE_VERB_OPEN_JOB) {
        r->lacks = open_job(r);
    } else if (step->verb == GATE_VERB_LIFT_ABSENT_TAG) {
        r->lacks = lift_absent(r);
    } else if (step->verb == GATE_VERB_CONFIRM_TOLD) {
        r->lacks = (r->untold >> step->who & 1u) != 0 ? NULL : "a lock removed";
    } else if (step->verb == GATE_VERB_DISTRUST_SENSOR || step->verb == GATE_VERB_TRUST_SENSOR) {
        r->lacks = distrust(r);
    } else if (word) {
        r->lacks = witness(r, NULL);
    } else if (of_a_job) {
        r->lacks = of_job(r, job, gate);
    } else {
        r->lacks = NULL;
    }
}
