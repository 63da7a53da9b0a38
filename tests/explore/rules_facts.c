// The facts that the gate tells: what hardware signs by itself is taken from them and held to the
// rules; what changes a lockout or a phase must be so by our own account.
#include "rules.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

// A measure that failed a check answers it again after so long within limits.
#define MEASURE_AGAIN_MS 60000

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

static void require(struct rules *r, bool met, const struct gate_fact *fact, const char *what) {
    if (!met) {
        rules_fail(r, "%s of %s: %s", gate_fact_name(fact->type),
                   fact->job != NULL ? fact->job : "the site", what);
    }
}

// --- Signatures by the hardware ---

// When it was last relieved: nothing measured before that verifies.
static int64_t relieved_at(const struct rules *r, const struct rules_job *job) {
    int64_t newest = 0;
    for (size_t i = 0; i < rules_needs(r, job)->check_count; i++) {
        bool relieve = rules_needs(r, job)->checks[i].group == MODEL_GROUP_RELIEVE;
        if (relieve && job->signed_[i].stands && job->signed_[i].at > newest) {
            newest = job->signed_[i].at;
        }
    }
    return newest;
}

// Passed: every measure of the position was read since the hold began and since it was relieved, is
// of now, within the limits and vouched for; and nobody read otherwise by hand.
static void passed_by_measure(struct rules *r, const struct rules_job *job, size_t check,
                              const struct gate_fact *fact) {
    unsigned slot = (unsigned)(job - r->jobs), count = 0;
    require(r, rules_points_held(r, job) && rules_in_season(r, job, check, job->leader), fact,
            "a measure answered out of season");
    require(r, r->journal, fact, "signed while the journal cannot write");
    require(r, !job->failed_by_hand[check], fact, "a measure overruled a person");
    bool failed = job->signed_[check].stands && !job->signed_[check].pass;
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        const struct rules_measure *word = &r->measures[m];
        if (!rules_measures(r, m, slot)) {
            continue;
        }
        count++;
        bool online = m != 0 || r->controller == GATE_CONTROLLER_ONLINE;
        require(r, rules_measured_now(r, m) && !word->outside && online, fact,
                "a measure that does not say so");
        require(r, word->heard >= job->held_since && word->heard >= relieved_at(r, job), fact,
                "a measure read before its window");
        require(r, !failed || r->now.mono - word->within >= MEASURE_AGAIN_MS, fact,
                "a measure that failed it less than 60 s ago");
    }
    require(r, count > 0, fact, "nothing measures here");
}

static void signed_by_measure(struct rules *r, struct rules_job *job,
                              const struct gate_fact *fact) {
    size_t check = 0, count = rules_needs(r, job)->check_count;
    while (check < count && strcmp(rules_needs(r, job)->checks[check].check, fact->check) != 0) {
        check++;
    }
    bool answers = check < count && rules_needs(r, job)->checks[check].measure != NULL;
    require(r, answers && r->step->kind != STEP_RESTART, fact, "not a measure's to sign");
    if (!answers) {
        return;
    }
    struct rules_mark *mark = &job->signed_[check];
    bool outside = false;
    for (unsigned m = 0; m < FORECOURT_MEASURES; m++) {
        outside |= rules_measures(r, m, (unsigned)(job - r->jobs)) && rules_measured_now(r, m) &&
                   r->measures[m].outside;
    }
    if (fact->pass) {
        passed_by_measure(r, job, check, fact);
        require(r, !(mark->stands && mark->pass), fact, "signed again without need");
    } else {
        require(r, outside && mark->stands && mark->pass, fact, "failed without need");
    }
    rules_sign(r, job, check, RULES_NOBODY, fact->pass);
}

void rules_fact(struct rules *r, const struct gate_fact *fact) {
    struct rules_job *job = rules_job_named(r, fact->job);
    bool refused = fact->type == GATE_FACT_REQUEST_REFUSED ||
                   fact->type == GATE_FACT_WORK_REFUSED || fact->type == GATE_FACT_TEST_REFUSED ||
                   fact->type == GATE_FACT_RETURN_REFUSED;
    r->told_any = r->told_any || !refused;
    if (fact->type == GATE_FACT_CHECK_SIGNED && fact->person == NULL && job != NULL) {
        signed_by_measure(r, job, fact);
        rules_settle(r);
    } else if (fact->type == GATE_FACT_POSITION_RETURNED ||
               fact->type == GATE_FACT_POSITION_OUT_OF_SERVICE) {
        uint32_t position = model_position_find(&r->forecourt->site, fact->position);
        r->positions[position].in_service = fact->type == GATE_FACT_POSITION_RETURNED;
    }
}
