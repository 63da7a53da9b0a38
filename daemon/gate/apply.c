// Applying facts: the one thing that changes folded state, live and on replay alike.
//
// No rule is decided here; each function does what its fact says and what follows from it without
// any condition of time or hearing. Voids that a fact always brings (the contract, section 4, "What
// voids") are such.
#include "gate/apply.h"

#include <stdlib.h>

// --- Voids ---

static void void_group(struct gate_job *job, enum model_group group) {
    for (size_t i = 0; i < job->signature_count; i++) {
        if (job->signatures[i].group == group) {
            job->signatures[i].void_ = true;
        }
    }
}

static void void_tests(struct gate_job *job) {
    for (size_t i = 0; i < job->test_count; i++) {
        job->tests[i].void_ = true;
    }
    void_group(job, MODEL_GROUP_FINISH);
}

static void void_leaving(struct gate_job *job) {
    void_group(job, MODEL_GROUP_CLEAR);
    void_group(job, MODEL_GROUP_LEAVE);
}

// Back in `open`: nothing that was signed or tested stands.
static void void_everything(struct gate_job *job) {
    for (int group = 0; group < MODEL_GROUP_COUNT; group++) {
        void_group(job, (enum model_group)group);
    }
    void_tests(job);
}

// A relieve check signed while working counts for the next start: then it voids the verify checks
// older than itself.
static void void_verify_before_relieve(struct gate_job *job) {
    uint64_t newest = 0;
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *signature = &job->signatures[i];
        if (signature->group == MODEL_GROUP_RELIEVE && !signature->void_) {
            newest = signature->order;
        }
    }
    for (size_t i = 0; i < job->signature_count; i++) {
        struct gate_signature *signature = &job->signatures[i];
        if (signature->group == MODEL_GROUP_VERIFY && signature->order < newest) {
            signature->void_ = true;
        }
    }
}

// --- Crew ---

static bool crew_add(struct gate_job *job, const char *person, struct gate_time at) {
    if (gate_member_of(job, person) != NULL) {
        return true;
    }
    struct gate_member *crew = realloc(job->crew, (job->crew_count + 1) * sizeof *crew);
    if (crew == NULL) {
        return false;
    }
    job->crew = crew;
    crew[job->crew_count] = (struct gate_member){.joined = at, .joined_order = job->order};
    gate_id_copy(crew[job->crew_count].person, person);
    job->crew_count++;
    return true;
}

static void crew_remove(struct gate_job *job, const char *person) {
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, person) == 0) {
            memmove(&job->crew[i], &job->crew[i + 1],
                    (job->crew_count - i - 1) * sizeof *job->crew);
            job->crew_count--;
            return;
        }
    }
}

static bool crew_protect(struct gate_job *job, const char *person, bool protected) {
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, person) == 0) {
            job->crew[i].protected = protected;
        }
    }
    return true;
}

// --- Phases ---

static void enter(struct gate_job *job, enum model_phase phase, struct gate_time at) {
    job->phase = phase;
    job->since = at;
    job->offered[0] = '\0'; // an offer ends with a change of phase
}

static bool untested_add(struct gate_position *position, uint32_t from) {
    for (size_t i = 0; i < position->untested_count; i++) {
        if (position->untested_from[i] == from) {
            return true;
        }
    }
    uint32_t *grown =
        realloc(position->untested_from, (position->untested_count + 1) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    position->untested_from = grown;
    grown[position->untested_count++] = from;
    return true;
}

static void owed_clear(struct gate_position *position) {
    free(position->owed);
    position->owed = NULL;
    position->owed_by[0] = '\0';
}

static void untested_remove(struct gate_position *position, uint32_t from) {
    for (size_t i = 0; i < position->untested_count; i++) {
        if (position->untested_from[i] == from) {
            position->untested_from[i] = position->untested_from[--position->untested_count];
        }
    }
    if (position->untested_count == 0) {
        owed_clear(position);
    }
}

// Whether the work of a job is work on a position: on its own, and by a procedure that takes the
// dispenser on every one of the cabinet.
static bool covers(const struct gate_site *site, const struct gate_job *job, uint32_t position) {
    return position == job->position ||
           (job->needs->takes_dispenser && gate_same_dispenser(site, job->position, position));
}

static bool apply_work_started(struct gate_site *site, struct gate_job *job,
                               const struct gate_fact *fact) {
    enter(job, MODEL_PHASE_WORKING, fact->at);
    job->started = true;
    job->set_aside = false;
    void_leaving(job);
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (covers(site, job, p) && !untested_add(&site->positions[p], job->position)) {
            return false;
        }
    }
    return true;
}

static bool owe(struct gate_position *position, const struct gate_job *job) {
    struct model_requirements *owed = position->owed != NULL
                                          ? model_requirements_stricter(position->owed, job->needs)
                                          : model_requirements_copy(job->needs);
    if (owed == NULL) {
        return false;
    }
    free(position->owed);
    position->owed = owed;
    gate_id_copy(position->owed_by, job->job);
    return true;
}

static void end_job(struct gate_job *job, enum model_phase phase, struct gate_time at) {
    enter(job, phase, at);
    job->ended = at;
    job->lockout = MODEL_LOCKOUT_UNCONFIRMED;
    job->hold = GATE_HOLD_NONE;
}

// Ended jobs leave memory after their documents' time; their ids stay used.
static void forget(struct gate_site *site, struct gate_time now) {
    size_t kept = 0;
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        if (!gate_job_stands(job) && now.line - job->ended.line > GATE_KEEP_ENDED_MS) {
            gate_used_add(site, job->job, NULL);
            gate_job_free(job);
        } else {
            site->jobs[kept++] = job;
        }
    }
    site->job_count = kept;
}

static bool apply_cancelled(struct gate_site *site, struct gate_job *job,
                            const struct gate_fact *fact) {
    for (uint32_t p = 0; job->started && p < site->model->position_count; p++) {
        if (covers(site, job, p) && !owe(&site->positions[p], job)) {
            return false;
        }
    }
    end_job(job, MODEL_PHASE_CANCELLED, fact->at);
    forget(site, fact->at);
    return true;
}

// The return ends every work on the position of its job, except that of a job which stands on
// another position and took the cabinet: that one has tests of its own to come.
static void end_own_work(struct gate_site *site, const struct gate_job *job) {
    struct gate_position *own = &site->positions[job->position];
    size_t kept = 0;
    for (size_t i = 0; i < own->untested_count; i++) {
        const struct gate_job *other = gate_job_on(site, own->untested_from[i]);
        if (other != NULL && other != job && other->started && covers(site, other, job->position)) {
            own->untested_from[kept++] = own->untested_from[i];
        }
    }
    own->untested_count = kept;
    owed_clear(own);
    own->failed_count = 0; // every test of it has passed
}

static bool apply_returned(struct gate_site *site, struct gate_job *job,
                           const struct gate_fact *fact) {
    end_own_work(site, job);
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        if (p != job->position && covers(site, job, p)) {
            untested_remove(&site->positions[p], job->position);
        }
    }
    end_job(job, MODEL_PHASE_RETURNED, fact->at);
    forget(site, fact->at);
    return true;
}

static bool apply_stopped(struct gate_job *job, const struct gate_fact *fact) {
    if (fact->phase == MODEL_PHASE_STOPPED) {
        void_verify_before_relieve(job);
    } else {
        void_tests(job);
    }
    enter(job, fact->phase, fact->at);
    return true;
}

static bool apply_back_to_open(struct gate_job *job, const struct gate_fact *fact) {
    bool aside = fact->type == GATE_FACT_WORK_SET_ASIDE;
    enter(job, MODEL_PHASE_OPEN, fact->at);
    job->set_aside = aside;
    job->rework += aside ? 0 : 1;
    job->lockout = MODEL_LOCKOUT_UNCONFIRMED;
    void_everything(job);
    return true;
}

// --- Signatures and tests ---

static bool apply_signed(struct gate_job *job, const struct gate_fact *fact) {
    const struct model_check *check = gate_check_of(job, fact->check);
    struct gate_signature *signatures =
        realloc(job->signatures, (job->signature_count + 1) * sizeof *signatures);
    if (signatures == NULL) {
        return false;
    }
    job->signatures = signatures;
    enum model_group group = check != NULL ? check->group : MODEL_GROUP_COUNT;
    if (group == MODEL_GROUP_WORK) {
        void_leaving(job);
    } else if (group == MODEL_GROUP_RELIEVE && job->phase != MODEL_PHASE_WORKING) {
        void_group(job, MODEL_GROUP_VERIFY);
    }
    struct gate_signature *signature = &signatures[job->signature_count++];
    *signature = (struct gate_signature){.at = fact->at,
                                         .order = job->order,
                                         .group = group,
                                         .pass = fact->has_pass && fact->pass,
                                         .has_value = fact->has_value,
                                         .value = fact->value};
    gate_id_copy(signature->check, fact->check);
    gate_id_copy(signature->by, fact->person);
    gate_id_copy(signature->instrument, fact->instrument);
    gate_text(signature->unit, sizeof signature->unit, "%s", fact->unit != NULL ? fact->unit : "");
    return true;
}

static void failed_remove(struct gate_position *position, size_t index) {
    position->failed[index] = position->failed[--position->failed_count];
}

static bool failed_add(struct gate_position *position, const struct gate_fact *fact,
                       const char *rule) {
    for (size_t i = 0; i < position->failed_count; i++) {
        if (strcmp(position->failed[i].test, fact->test) == 0 &&
            strcmp(position->failed[i].rule, rule) == 0) {
            gate_id_copy(position->failed[i].job, fact->job);
            return true;
        }
    }
    struct gate_failed *grown =
        realloc(position->failed, (position->failed_count + 1) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    position->failed = grown;
    struct gate_failed *failed = &grown[position->failed_count++];
    memset(failed, 0, sizeof *failed);
    gate_text(failed->test, sizeof failed->test, "%s", fact->test);
    gate_text(failed->rule, sizeof failed->rule, "%s", rule);
    gate_id_copy(failed->job, fact->job);
    return true;
}

// A later record that passes makes the failed test good, whichever job of the position it is of.
static void failed_passed(struct gate_position *position, const struct gate_fact *fact,
                          const char *rule) {
    for (size_t i = position->failed_count; i-- > 0;) {
        if (strcmp(position->failed[i].test, fact->test) == 0 &&
            strcmp(position->failed[i].rule, rule) == 0) {
            failed_remove(position, i);
        }
    }
}

static bool apply_to_dispenser(struct gate_position *position, const struct gate_fact *fact) {
    const char *rule = fact->result != NULL ? fact->result->rule : "";
    if (fact->has_pass && fact->pass) {
        failed_passed(position, fact, rule);
    }
    return !fact->takes_dispenser || failed_add(position, fact, rule);
}

static bool apply_recorded(struct gate_site *site, struct gate_job *job,
                           const struct gate_fact *fact) {
    struct gate_test_record *tests = realloc(job->tests, (job->test_count + 1) * sizeof *tests);
    if (tests == NULL) {
        return false;
    }
    job->tests = tests;
    void_group(job, MODEL_GROUP_FINISH); // each is signed after the last test
    struct gate_test_record *record = &tests[job->test_count++];
    *record = (struct gate_test_record){.at = fact->at,
                                        .has_value = fact->has_value,
                                        .value = fact->value,
                                        .pass = fact->has_pass && fact->pass};
    const struct model_result *result = fact->result;
    if (result != NULL && result->runs > 0) {
        record->run = result->run;
        record->runs = result->runs;
        record->reading = result->reading;
        record->waits = !fact->has_pass;
    }
    gate_text(record->test, sizeof record->test, "%s", fact->test);
    gate_id_copy(record->by, fact->person);
    gate_id_copy(record->instrument, fact->instrument);
    return apply_to_dispenser(&site->positions[job->position], fact);
}

// --- Jobs ---

static bool apply_opened(struct gate *gate, struct gate_site *site, const struct gate_fact *fact) {
    struct gate_job *job = gate_job_new(gate, site, fact);
    struct gate_job **jobs = realloc(site->jobs, (site->job_count + 1) * sizeof(struct gate_job *));
    if (jobs != NULL) {
        site->jobs = jobs;
    }
    if (job == NULL || jobs == NULL || !gate_used_add(site, fact->job, job)) {
        gate_job_free(job);
        return false;
    }
    site->jobs[site->job_count++] = job;
    gate_id_copy(job->leader, fact->person);
    return fact->person == NULL || crew_add(job, fact->person, fact->at);
}

static bool apply_assigned(struct gate_job *job, const struct gate_fact *fact) {
    if (job->leader[0] != '\0') {
        crew_remove(job, job->leader);
    }
    gate_id_copy(job->leader, fact->person);
    if (fact->kit_family != NULL) {
        gate_id_copy(job->kit_family, fact->kit_family);
    }
    job->offered[0] = '\0';
    return crew_add(job, fact->person, fact->at);
}

static bool apply_offered(struct gate_job *job, const struct gate_fact *fact) {
    gate_id_copy(job->offered, fact->to);
    job->offered_at = fact->at;
    return true;
}

static bool apply_handed_over(struct gate_job *job, const struct gate_fact *fact) {
    gate_id_copy(job->leader, fact->to);
    job->offered[0] = '\0';
    return true;
}

static bool apply_joined(struct gate_job *job, const struct gate_fact *fact) {
    void_leaving(job);
    return crew_add(job, fact->person, fact->at);
}

static bool apply_left(struct gate_job *job, const struct gate_fact *fact) {
    crew_remove(job, fact->person);
    if (strcmp(job->offered, fact->person) == 0) {
        job->offered[0] = '\0'; // only one of the crew can take the lead
    }
    return true;
}

static bool apply_lockout(struct gate_job *job, const struct gate_fact *fact) {
    job->lockout = fact->lockout;
    if (fact->lockout == MODEL_LOCKOUT_BROKEN) {
        void_group(job, MODEL_GROUP_RELIEVE);
        void_group(job, MODEL_GROUP_VERIFY);
    }
    return true;
}

static bool apply_hold(struct gate_job *job, const struct gate_fact *fact) {
    bool begun = fact->type == GATE_FACT_HOLD_BEGUN;
    if (!begun) {
        void_group(job, MODEL_GROUP_RELIEVE);
        void_group(job, MODEL_GROUP_VERIFY);
    }
    job->hold = begun ? GATE_HOLD_HELD : GATE_HOLD_NONE;
    if (begun) {
        job->hold_since = fact->at;
    }
    return true;
}

static bool apply_test_begun(struct gate_job *job, const struct gate_fact *fact) {
    void_tests(job);
    enter(job, MODEL_PHASE_TESTING, fact->at);
    return true;
}

bool gate_apply_job(struct gate_site *site, struct gate_job *job, const struct gate_fact *fact) {
    job->order++;
    switch (fact->type) {
    case GATE_FACT_JOB_ASSIGNED:
        return apply_assigned(job, fact);
    case GATE_FACT_JOB_CANCELLED:
        return apply_cancelled(site, job, fact);
    case GATE_FACT_JOB_RETURNED:
        return apply_returned(site, job, fact);
    case GATE_FACT_LEAD_OFFERED:
        return apply_offered(job, fact);
    case GATE_FACT_JOB_HANDED_OVER:
        return apply_handed_over(job, fact);
    case GATE_FACT_CREW_JOINED:
        return apply_joined(job, fact);
    case GATE_FACT_CREW_LEFT:
        return apply_left(job, fact);
    case GATE_FACT_CREW_PROTECTED:
        return crew_protect(job, fact->person, true);
    case GATE_FACT_CREW_UNPROTECTED:
        return crew_protect(job, fact->person, false);
    case GATE_FACT_CHECK_SIGNED:
        return apply_signed(job, fact);
    case GATE_FACT_LOCKOUT_CONFIRMED:
    case GATE_FACT_LOCKOUT_LOST:
    case GATE_FACT_LOCKOUT_BROKEN:
        return apply_lockout(job, fact);
    case GATE_FACT_HOLD_BEGUN:
    case GATE_FACT_HOLD_ENDED:
        return apply_hold(job, fact);
    case GATE_FACT_WORK_STARTED:
        return apply_work_started(site, job, fact);
    case GATE_FACT_WORK_STOPPED:
        return apply_stopped(job, fact);
    case GATE_FACT_WORK_FINISHED:
        enter(job, MODEL_PHASE_RESTORING, fact->at);
        return true;
    case GATE_FACT_WORK_SET_ASIDE:
    case GATE_FACT_WORK_REOPENED:
        return apply_back_to_open(job, fact);
    case GATE_FACT_TEST_BEGUN:
        return apply_test_begun(job, fact);
    case GATE_FACT_TEST_RECORDED:
        return apply_recorded(site, job, fact);
    default: // refusals change nothing
        return true;
    }
}

bool gate_apply_opened(struct gate *gate, struct gate_site *site, const struct gate_fact *fact) {
    return apply_opened(gate, site, fact);
}

void gate_void_tests_under(struct gate_site *site, uint32_t point) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i]) && gate_requires(site->jobs[i], point)) {
            void_tests(site->jobs[i]);
        }
    }
}
