// Writes a journal of five years: record_history CONFIGURATION JOBS FACTS
//
// JOBS repairs, one after the other at each site of the configuration, of at least FACTS facts
// each: a refusal, locks, checks, a break, tests, and what a site's points do beside it.
#include "config/config.h"
#include "journal/journal.h"
#include "wire/fact_codec.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIVE_YEARS_MS (5 * 365 * 24 * 3600 * 1000LL)
#define FIRST_MS 1609459200000LL // 2021-01-01T00:00:00Z

struct history {
    const struct model *model;
    struct journal *journal;
    struct json_out out;
    const struct model_site *site;
    const struct model_position *position;
    const struct model_requirements *needs;
    char job[MODEL_ID_SIZE];
    int64_t at;
    struct gate_evidence evidence[8];
    size_t evidence_count;
    int64_t written;
};

static void put(struct history *history, enum gate_fact_type type, struct gate_fact fact) {
    fact.type = type;
    fact.site = history->site->index;
    fact.at = (struct gate_time){history->at, history->at};
    fact.evidence = history->evidence;
    fact.evidence_count = history->evidence_count;
    history->at += 1000;
    json_out_reset(&history->out);
    const char *subject = wire_fact_subject(&fact, history->model);
    if (!wire_fact_encode(&fact, history->model, &history->out)) {
        fprintf(stderr, "a fact cannot be written\n");
        exit(1);
    }
    const struct journal_fact row = {.at_ms = history->at,
                                     .mono_ms = history->at - FIRST_MS,
                                     .site = history->site->site,
                                     .type = gate_fact_name(type),
                                     .subject = subject != NULL ? subject : "",
                                     .data = history->out.data};
    if (journal_append(history->journal, &row, NULL) != JOURNAL_OK) {
        fprintf(stderr, "%s\n", journal_why(history->journal));
        exit(1);
    }
    history->written++;
}

// A fact of the job, with its position.
static struct gate_fact of_job(const struct history *history) {
    return (struct gate_fact){.job = history->job, .position = history->position->position};
}

static void put_plain(struct history *history, enum gate_fact_type type, const char *by) {
    struct gate_fact fact = of_job(history);
    fact.by = by;
    put(history, type, fact);
}

static void put_points(struct history *history, enum model_point_state state) {
    for (size_t i = 0; i < history->evidence_count; i++) {
        history->evidence[i].state = state;
        history->evidence[i].heard = history->at - 400;
        put(history, GATE_FACT_POINT_CHANGED,
            (struct gate_fact){.point = history->evidence[i].point,
                               .has_state = true,
                               .state = state,
                               .has_trust = true,
                               .trust = MODEL_TRUST_FRESH});
    }
}

static void put_tags(struct history *history, enum gate_fact_type type) {
    for (size_t i = 0; i < history->evidence_count; i++) {
        struct gate_fact fact = {.job = history->job,
                                 .point = history->evidence[i].point,
                                 .person = "t-104",
                                 .by = type == GATE_FACT_TAG_LIFTED ? "t-104" : NULL,
                                 .has_counts = type == GATE_FACT_TAG_HUNG,
                                 .counts = true};
        put(history, type, fact);
    }
}

static void put_checks(struct history *history, enum model_group first, enum model_group last) {
    for (size_t i = 0; i < history->needs->check_count; i++) {
        const struct model_check *check = &history->needs->checks[i];
        if (check->group >= first && check->group <= last) {
            struct gate_fact fact = of_job(history);
            fact.person = "t-104";
            fact.check = check->check;
            fact.has_value = check->unit != NULL;
            fact.value = check->limits.has_min ? check->limits.min : check->limits.max;
            fact.unit = check->unit;
            fact.instrument = check->instrument != NULL ? "tw-3" : NULL;
            fact.has_pass = fact.pass = true;
            put(history, GATE_FACT_CHECK_SIGNED, fact);
        }
    }
}

static void put_tests(struct history *history) {
    for (size_t i = 0; i < history->needs->test_count; i++) {
        struct model_result result = {
            .input_count = 1,
            .inputs = {{.name = "pass", .kind = MODEL_READING_FLAG, .flag = true}},
            .has_pass = true,
            .pass = true,
            .formula = "pass",
            .source = "observed by a person; no figure"};
        struct gate_fact fact = of_job(history);
        snprintf(result.rule, sizeof result.rule, "pass-fail");
        fact.person = "t-104";
        fact.test = history->needs->tests[i].test;
        fact.has_pass = fact.pass = true;
        fact.result = &result;
        put(history, GATE_FACT_TEST_RECORDED, fact);
    }
}

static void put_opening(struct history *history) {
    struct gate_fact fact = of_job(history);
    fact.by = "k-1";
    fact.person = "t-104";
    fact.procedure = history->needs->procedure;
    fact.part = "boot kit";
    fact.defect = "torn boot, \"half\" of it";
    fact.requirements = history->needs;
    put(history, GATE_FACT_JOB_OPENED, fact);
    fact = of_job(history);
    fact.has_cause = true;
    fact.cause = MODEL_CAUSE_JOB;
    put(history, GATE_FACT_POSITION_OUT_OF_SERVICE, fact);
}

static void put_refusal(struct history *history) {
    struct gate_refusal refusals[2] = {{.code = MODEL_CODE_TAG_MISSING, .age_ms = -1},
                                       {.code = MODEL_CODE_CHECK_MISSING, .age_ms = -1}};
    struct gate_fact fact = of_job(history);
    for (size_t i = 0; i < 2; i++) {
        snprintf(refusals[i].subject, sizeof refusals[i].subject, "%s", history->evidence[0].point);
        snprintf(refusals[i].need, sizeof refusals[i].need, "a lock and tag of t-104 that counts");
        snprintf(refusals[i].found, sizeof refusals[i].found, "none");
        snprintf(refusals[i].say, sizeof refusals[i].say, "Hang your lock and tag first.");
    }
    fact.by = "t-104";
    fact.refusals = refusals;
    fact.refusal_count = 2;
    put(history, GATE_FACT_WORK_REFUSED, fact);
}

static void put_break(struct history *history) {
    struct gate_fact fact = of_job(history);
    fact.point = history->evidence[0].point;
    fact.has_why = true;
    fact.why = MODEL_CODE_POINT_LIVE;
    fact.has_lockout = true;
    fact.lockout = MODEL_LOCKOUT_BROKEN;
    put(history, GATE_FACT_LOCKOUT_BROKEN, fact);
    fact = of_job(history);
    fact.has_phase = true;
    fact.phase = MODEL_PHASE_STOPPED;
    fact.has_why = true;
    fact.why = MODEL_CODE_POINT_LIVE;
    put(history, GATE_FACT_WORK_STOPPED, fact);
}

static void put_proof(struct history *history) {
    put_points(history, MODEL_POINT_ISOLATED);
    put_tags(history, GATE_FACT_TAG_HUNG);
    put_checks(history, MODEL_GROUP_PREPARE, MODEL_GROUP_VERIFY);
    struct gate_fact fact = of_job(history);
    fact.has_lockout = true;
    fact.lockout = MODEL_LOCKOUT_CONFIRMED;
    put(history, GATE_FACT_LOCKOUT_CONFIRMED, fact);
    put_plain(history, GATE_FACT_WORK_STARTED, "t-104");
}

static void put_job(struct history *history, int64_t facts) {
    int64_t begin = history->written;
    put_opening(history);
    put_refusal(history);
    put_proof(history);
    put_points(history, MODEL_POINT_LIVE);
    put_break(history);
    put_proof(history);
    put_checks(history, MODEL_GROUP_WORK, MODEL_GROUP_CLEAR);
    put_plain(history, GATE_FACT_WORK_FINISHED, "t-104");
    put_tags(history, GATE_FACT_TAG_LIFTED);
    put_points(history, MODEL_POINT_LIVE);
    put_plain(history, GATE_FACT_TEST_BEGUN, "t-104");
    put_tests(history);
    put_checks(history, MODEL_GROUP_FINISH, MODEL_GROUP_FINISH);
    while (history->written - begin < facts - 2) {
        put_points(history, history->written % 2 == 0 ? MODEL_POINT_UNKNOWN : MODEL_POINT_LIVE);
    }
    put_plain(history, GATE_FACT_JOB_RETURNED, "t-104");
    put_plain(history, GATE_FACT_POSITION_RETURNED, NULL);
}

static void stand_on(struct history *history, size_t job) {
    const struct model *model = history->model;
    history->site = &model->sites[job % model->site_count];
    history->position =
        &history->site->positions[job / model->site_count % history->site->position_count];
    history->needs = &model->procedures[0];
    history->evidence_count = 0;
    snprintf(history->job, sizeof history->job, "R-%zu", job);
    for (uint32_t i = 0; i < history->position->point_count && i < 8; i++) {
        history->evidence[history->evidence_count++] = (struct gate_evidence){
            .point = history->site->points[history->position->points[i]].point,
            .state = MODEL_POINT_LIVE,
            .trust = MODEL_TRUST_FRESH};
    }
}

int main(int argc, char **argv) {
    struct config_report report = {0};
    struct model *model = argc == 4 ? config_load(argv[1], &report) : NULL;
    if (model == NULL) {
        config_report_print(&report, stderr);
        fprintf(stderr, "usage: record_history CONFIGURATION JOBS FACTS\n");
        return 2;
    }
    struct journal_error error;
    const struct journal_options options = {.path = model->journal,
                                            .instance = model->instance,
                                            .mode = JOURNAL_READ_WRITE_CREATE,
                                            .check = JOURNAL_CHECK_TAIL,
                                            .created_ms = FIRST_MS};
    struct history history = {.model = model, .journal = journal_open(&options, &error)};
    size_t jobs = strtoul(argv[2], NULL, 10);
    if (history.journal == NULL) {
        fprintf(stderr, "%s\n", error.say);
        return 4;
    }
    for (size_t job = 0; job < jobs; job++) {
        stand_on(&history, job);
        history.at = FIRST_MS + FIVE_YEARS_MS / (int64_t)jobs * (int64_t)job;
        journal_begin(history.journal);
        put_job(&history, strtoll(argv[3], NULL, 10));
        if (journal_commit(history.journal) != JOURNAL_OK) {
            fprintf(stderr, "%s\n", journal_why(history.journal));
            return 4;
        }
    }
    printf("%zu jobs, %lld facts\n", jobs, (long long)history.written);
    journal_close(history.journal);
    json_out_free(&history.out);
    model_free(model);
    return 0;
}
