// The facts: each must be one that the rules allow at that moment, and then changes the account.
#include "rules_facts.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

void rules_fail(struct rules *r, const char *format, ...) {
    if (r->wrong[0] != '\0') {
        return; // the first one is the reason, what follows is often its wake
    }
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(r->wrong, sizeof r->wrong, format, arguments);
    va_end(arguments);
}

struct rules_job *rules_job_named(struct rules *r, const char *job) {
    if (job == NULL || job[0] != 'j') {
        return NULL;
    }
    unsigned number = (unsigned)strtoul(job + 1, NULL, 10);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands && r->jobs[s].number == number) {
            return &r->jobs[s];
        }
    }
    return NULL;
}

unsigned rules_person(const struct rules *r, const char *person) {
    for (unsigned i = 0; person != NULL && i < r->forecourt->model.person_count; i++) {
        if (strcmp(r->forecourt->people[i].person, person) == 0) {
            return i;
        }
    }
    return RULES_NOBODY;
}

void rules_require(struct rules *r, bool met, const struct gate_fact *fact, const char *what) {
    if (!met) {
        rules_fail(r, "%s of %s: %s", gate_fact_name(fact->type),
                   fact->job != NULL     ? fact->job
                   : fact->point != NULL ? fact->point
                                         : "the site",
                   what);
    }
}

// The step is a request of this verb, for this job.
static void require_asked(struct rules *r, const struct gate_fact *fact, enum gate_verb verb,
                          const struct rules_job *job) {
    // What stops is taken also when the journal cannot write; nothing else is.
    bool may = r->journal || verb == GATE_VERB_STOP_WORK;
    bool asked = r->step->kind == STEP_ASK && r->step->verb == verb && may;
    rules_require(r, asked && (job == NULL || job->number == r->step->job), fact,
                  "nobody asked for it");
}

static void require_leader(struct rules *r, const struct gate_fact *fact,
                           const struct rules_job *job) {
    rules_require(r, job->leader == r->step->who, fact, "the asker does not lead");
}

static void void_every(struct rules *r, struct rules_job *job) {
    for (int group = 0; group < MODEL_GROUP_COUNT; group++) {
        rules_void(r, job, (enum model_group)group);
    }
    rules_void_tests(r, job);
}

static void enter(struct rules_job *job, enum model_phase phase) {
    job->phase = phase;
    job->offered = RULES_NOBODY;
}

// --- Jobs and crews ---

static void opened(struct rules *r, const struct gate_fact *fact) {
    unsigned slot = model_position_find(&r->forecourt->site, fact->position);
    unsigned number = (unsigned)strtoul(fact->job + 1, NULL, 10) % RULES_JOBS_MAX;
    struct rules_job *job = &r->jobs[slot];
    require_asked(r, fact, GATE_VERB_OPEN_JOB, NULL);
    rules_require(r, rules_has_role(r, r->step->who, OVERSEERS | MODEL_ROLE_TRACKER), fact,
                  "another role");
    rules_require(r, !job->stands, fact, "a job stands on the position");
    rules_require(r, (r->used[number / 8] >> number % 8 & 1u) == 0, fact, "the id was used before");
    r->used[number / 8] |= (uint8_t)(1u << number % 8);
    memset(job, 0, sizeof *job);
    job->stands = true;
    job->number = number;
    job->procedure = strcmp(fact->procedure, "whole") == 0;
    job->opened = r->now.mono;
    job->kit = fact->kit_family != NULL;
    job->offered = RULES_NOBODY;
    job->leader = (uint8_t)rules_person(r, fact->person);
    job->crew = job->leader != RULES_NOBODY ? 1u << job->leader : 0;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct forecourt_point *point = &r->forecourt->plan->point[p];
        bool energy = point->electrical || r->forecourt->plan->product;
        job->required |= energy && (point->isolates >> slot & 1u) != 0 ? 1u << p : 0;
    }
}

static void end_job(struct rules *r, struct rules_job *job) {
    unsigned slot = rules_slot_of(r, job);
    rules_require(r, !rules_tagged(r, slot), &(struct gate_fact){.type = GATE_FACT_JOB_RETURNED},
                  "its tags still hang");
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
            r->points[p].statements[i].slots &= ~(1u << slot);
        }
    }
    job->stands = job->unproven = job->held = false;
}

static bool covers(const struct rules *r, const struct rules_job *job, unsigned position) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    unsigned own = rules_slot_of(r, job);
    return position == own || (rules_needs_of(r, job)->takes_dispenser &&
                               plan->dispenser[position] == plan->dispenser[own]);
}

static void cancelled(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    require_asked(r, fact, GATE_VERB_CANCEL_JOB, job);
    rules_require(r, job->phase == MODEL_PHASE_OPEN, fact, "not open");
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        r->positions[p].owed |= job->started && covers(r, job, p) ? 1u << job->procedure : 0;
    }
    end_job(r, job);
}

static void returned(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    unsigned own = rules_slot_of(r, job), kept = 0;
    require_asked(r, fact, GATE_VERB_RETURN_POSITION, job);
    require_leader(r, fact, job);
    rules_require(r, job->phase == MODEL_PHASE_TESTING, fact, "not testing");
    const char *lacks = rules_return_lacks(r, job, NULL);
    rules_require(r, lacks == NULL, fact, lacks);
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

static void assigned(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    require_asked(r, fact, GATE_VERB_ASSIGN_JOB, job);
    rules_require(r, job->phase == MODEL_PHASE_OPEN && !rules_tagged(r, rules_slot_of(r, job)),
                  fact, "not open, or tags hang");
    if (job->leader != RULES_NOBODY) {
        job->crew &= ~(1u << job->leader);
        for (size_t i = 0; i < FORECOURT_CHECKS; i++) {
            job->verified[i][job->leader] = 0;
        }
    }
    job->leader = (uint8_t)rules_person(r, fact->person);
    job->crew |= 1u << job->leader;
    job->offered = RULES_NOBODY;
    job->kit = job->kit || fact->kit_family != NULL;
}

static void crew(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    unsigned person = rules_person(r, fact->person);
    bool joined = fact->type == GATE_FACT_CREW_JOINED;
    for (size_t i = 0; i < FORECOURT_CHECKS; i++) {
        job->verified[i][person] = 0;
    }
    if (joined) {
        require_asked(r, fact, GATE_VERB_JOIN_JOB, job);
        rules_require(r, rules_has_role(r, person, MODEL_ROLE_TECHNICIAN), fact,
                      "not a technician");
        job->crew |= 1u << person;
        rules_void_leaving(r, job);
        return;
    }
    rules_require(r, job->leader != person, fact, "the leader left");
    for (unsigned p = 0; p < FORECOURT_POINTS; p++) {
        rules_require(r, !r->points[p].tags[person][rules_slot_of(r, job)].hangs, fact,
                      "their tag hangs");
    }
    job->crew &= ~(1u << person);
    job->offered = job->offered == person ? RULES_NOBODY : job->offered;
}

static void lead(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    unsigned to = rules_person(r, fact->to);
    if (fact->type == GATE_FACT_LEAD_OFFERED) {
        require_asked(r, fact, GATE_VERB_HAND_OVER, job);
        rules_require(r, (job->crew >> to & 1u) != 0 && job->leader != to, fact, "not of the crew");
        job->offered = (uint8_t)to;
        job->offered_at = r->now.mono;
        return;
    }
    require_asked(r, fact, GATE_VERB_ACCEPT_LEAD, job);
    const char *lacks = rules_accept_lacks(r, job, to);
    rules_require(r, lacks == NULL, fact, lacks);
    job->leader = (uint8_t)to;
    job->offered = RULES_NOBODY;
}

// --- Work ---

static void work_started(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    require_asked(r, fact, GATE_VERB_START_WORK, job);
    require_leader(r, fact, job);
    rules_require(r, job->phase == MODEL_PHASE_OPEN || job->phase == MODEL_PHASE_STOPPED, fact,
                  "wrong phase");
    const char *lacks = rules_start_lacks(r, job);
    rules_require(r, lacks == NULL, fact, lacks);
    enter(job, MODEL_PHASE_WORKING);
    job->started = true;
    job->set_aside = false;
    rules_void_leaving(r, job);
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        r->positions[p].untested |= covers(r, job, p) ? 1u << rules_slot_of(r, job) : 0;
    }
}

// A relieve check signed while working counts for the next start: it voids the verify checks before
// it.
static void void_older_verify(struct rules *r, struct rules_job *job) {
    unsigned newest = 0;
    for (size_t i = 0; i < rules_needs_of(r, job)->check_count; i++) {
        bool relieve = rules_needs_of(r, job)->checks[i].group == MODEL_GROUP_RELIEVE;
        if (relieve && job->signed_[i].stands && job->signed_[i].order > newest) {
            newest = job->signed_[i].order;
        }
    }
    for (size_t i = 0; i < rules_needs_of(r, job)->check_count; i++) {
        if (rules_needs_of(r, job)->checks[i].group != MODEL_GROUP_VERIFY) {
            continue;
        }
        job->signed_[i].stands = job->signed_[i].stands && job->signed_[i].order > newest;
        for (unsigned p = 0; p < FORECOURT_PEOPLE; p++) {
            job->verified[i][p] = job->verified[i][p] > newest ? job->verified[i][p] : 0;
        }
    }
}

static void stopped(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    if (fact->phase == MODEL_PHASE_STOPPED) {
        rules_require(r, job->phase == MODEL_PHASE_WORKING, fact, "not working");
        void_older_verify(r, job);
    } else {
        require_asked(r, fact, GATE_VERB_STOP_WORK, job);
        rules_void_tests(r, job);
    }
    enter(job, fact->phase);
}

static void finished(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    require_asked(r, fact, GATE_VERB_FINISH_WORK, job);
    require_leader(r, fact, job);
    rules_require(r, job->phase == MODEL_PHASE_WORKING, fact, "not working");
    const char *lacks = rules_finish_lacks(r, job);
    rules_require(r, lacks == NULL, fact, lacks);
    enter(job, MODEL_PHASE_RESTORING);
}

static void back_to_open(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    bool aside = fact->type == GATE_FACT_WORK_SET_ASIDE;
    require_asked(r, fact, aside ? GATE_VERB_SET_ASIDE : GATE_VERB_REWORK, job);
    require_leader(r, fact, job);
    if (aside) {
        rules_require(r, job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED,
                      fact, "wrong phase");
        rules_require(r,
                      rules_group_stands(r, job, MODEL_GROUP_CLEAR) &&
                          rules_group_stands(r, job, MODEL_GROUP_LEAVE) && !r->contested,
                      fact, "a check that stands");
    } else {
        rules_require(r, job->phase == MODEL_PHASE_RESTORING || job->phase == MODEL_PHASE_TESTING,
                      fact, "wrong phase");
    }
    enter(job, MODEL_PHASE_OPEN);
    job->set_aside = aside;
    void_every(r, job);
}

static void test_begun(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    require_asked(r, fact, GATE_VERB_BEGIN_TEST, job);
    require_leader(r, fact, job);
    rules_require(r, job->phase == MODEL_PHASE_RESTORING, fact, "not restoring");
    const char *lacks = rules_test_lacks(r, job);
    rules_require(r, lacks == NULL, fact, lacks);
    enter(job, MODEL_PHASE_TESTING);
    rules_void_tests(r, job);
}

static void test_recorded(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    const struct model_requirements *all = &r->forecourt->procedures[1];
    require_asked(r, fact, GATE_VERB_RECORD_TEST, job);
    require_leader(r, fact, job);
    rules_require(r, job->phase == MODEL_PHASE_TESTING, fact, "not testing");
    rules_void(r, job, MODEL_GROUP_FINISH);
    for (size_t t = 0; t < all->test_count; t++) {
        if (strcmp(all->tests[t].test, fact->test) != 0) {
            continue;
        }
        for (unsigned p = 0; all->tests[t].powered && p < r->forecourt->plan->points; p++) {
            bool live = (job->required >> p & 1u) == 0 || rules_proved_live(r, p);
            rules_require(r, live, fact, "a powered test without power");
        }
        job->tests[t] = (struct rules_mark){true, r->step->ok != 0, r->now.mono, ++r->order};
        if (t == 0 && r->forecourt->plan->bag) {
            r->positions[rules_slot_of(r, job)].failed = r->step->ok == 0;
        }
    }
}

bool rules_failed(const struct rules *r, unsigned position) {
    const unsigned *dispenser = r->forecourt->plan->dispenser;
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        if (r->positions[p].failed && dispenser[p] == dispenser[position]) {
            return true;
        }
    }
    return false;
}

// --- Every fact ---

static void confirmed(struct rules *r, const struct rules_job *job, const struct gate_fact *fact) {
    rules_require(r, job->held && !job->unproven, fact, "the hold does not hold");
    rules_require(r,
                  rules_group_stands(r, job, MODEL_GROUP_RELIEVE) &&
                      rules_group_stands(r, job, MODEL_GROUP_VERIFY),
                  fact, "a check that stands");
}

static void job_fact(struct rules *r, struct rules_job *job, const struct gate_fact *fact) {
    switch (fact->type) {
    case GATE_FACT_JOB_ASSIGNED:
        assigned(r, job, fact);
        break;
    case GATE_FACT_JOB_CANCELLED:
        cancelled(r, job, fact);
        break;
    case GATE_FACT_JOB_RETURNED:
        returned(r, job, fact);
        break;
    case GATE_FACT_LEAD_OFFERED:
    case GATE_FACT_JOB_HANDED_OVER:
        lead(r, job, fact);
        break;
    case GATE_FACT_CREW_JOINED:
    case GATE_FACT_CREW_LEFT:
        crew(r, job, fact);
        break;
    case GATE_FACT_CHECK_SIGNED:
        rules_signed_check(r, job, fact);
        break;
    case GATE_FACT_LOCKOUT_CONFIRMED:
        confirmed(r, job, fact);
        break;
    case GATE_FACT_LOCKOUT_BROKEN:
        job->unproven = false; // what is broken is proved anew, not heard again
        rules_void(r, job, MODEL_GROUP_RELIEVE);
        rules_void(r, job, MODEL_GROUP_VERIFY);
        break;
    case GATE_FACT_WORK_STARTED:
        work_started(r, job, fact);
        break;
    case GATE_FACT_WORK_STOPPED:
        stopped(r, job, fact);
        break;
    case GATE_FACT_WORK_FINISHED:
        finished(r, job, fact);
        break;
    case GATE_FACT_WORK_SET_ASIDE:
    case GATE_FACT_WORK_REOPENED:
        back_to_open(r, job, fact);
        break;
    case GATE_FACT_TEST_BEGUN:
        test_begun(r, job, fact);
        break;
    case GATE_FACT_TEST_RECORDED:
        test_recorded(r, job, fact);
        break;
    default:
        break;
    }
}

void rules_fact(struct rules *r, const struct gate_fact *fact) {
    struct rules_job *job = rules_job_named(r, fact->job);
    bool refused = fact->type == GATE_FACT_REQUEST_REFUSED ||
                   fact->type == GATE_FACT_WORK_REFUSED || fact->type == GATE_FACT_TEST_REFUSED ||
                   fact->type == GATE_FACT_RETURN_REFUSED;
    r->told_any = r->told_any || !refused;
    switch (fact->type) {
    case GATE_FACT_JOB_OPENED:
        opened(r, fact);
        rules_settle(r);
        return;
    case GATE_FACT_TAG_HUNG:
        rules_tag_hung(r, job, fact);
        rules_settle(r);
        return;
    case GATE_FACT_TAG_LIFTED:
        rules_tag_lifted(r, job, fact);
        return;
    case GATE_FACT_POINT_WITNESSED:
        rules_witnessed(r, fact);
        return;
    case GATE_FACT_POSITION_RETURNED:
        rules_back_in_service(r, fact);
        r->positions[model_position_find(&r->forecourt->site, fact->position)].in_service = true;
        return;
    case GATE_FACT_POSITION_OUT_OF_SERVICE:
        r->positions[model_position_find(&r->forecourt->site, fact->position)].in_service = false;
        return;
    default:
        break;
    }
    if (job != NULL && !refused) {
        job_fact(r, job, fact);
        rules_settle(r);
    }
}
