// What people say of a point that no sensor speaks for.
#include "gate/word.h"

#include <string.h>

#include "gate/distrust.h"
#include "gate/find.h"
#include "gate/text.h"

// Rule (3, A sensor out of order; R27): A point left without a sensor is spoken for by two
// witnesses, of isolated and of live alike. [distrust-one-witness, distrust-one-proves]
// Rule (3, A sensor out of order; R27): Their words age by 14400 s. [distrust-word-for-long]
struct gate_speech gate_speech_of(const struct gate_site *site, uint32_t point) {
    const struct model_point *model = &site->model->points[point];
    if (gate_left_without_sensor(site, point)) {
        return (struct gate_speech){.spoken = true,
                                    .witnesses = GATE_DISTRUST_WITNESSES,
                                    .provers = GATE_DISTRUST_WITNESSES,
                                    .valid_ms = GATE_DISTRUST_WORD_MS,
                                    .until = gate_distrust_ends(site, point)};
    }
    return (struct gate_speech){.spoken = model->sensor_count == 0,
                                .witnesses = model->witnesses,
                                .provers = 1,
                                .valid_ms = model->witness_valid_ms,
                                .until = INT64_MAX};
}

int64_t gate_word_ends(const struct gate_site *site, uint32_t point,
                       const struct gate_statement *statement) {
    const struct gate_speech speech = gate_speech_of(site, point);
    int64_t ends = statement->at.mono + speech.valid_ms;
    return ends < speech.until ? ends : speech.until;
}

// Rule (3, Words): A word that proves live ages by witness_valid_s. [word-never-ages]
bool gate_word_stands(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, struct gate_time now) {
    return now.mono <= gate_word_ends(site, point, statement);
}

static bool said_for(const struct gate_statement *statement, const struct gate_job *job) {
    for (size_t i = 0; i < statement->job_count; i++) {
        if (strcmp(statement->jobs[i], job->job) == 0) {
            return true;
        }
    }
    return false;
}

// Said since it was opened, by one who was then of its crew, or by a manager or supervisor.
// Rule (3, Words): For a job only words given since it was opened count. [word-before-the-job]
// Rule (3, Words): For a job only words of its crew of then, of a manager or supervisor, count.
// [word-of-anybody]
// Rule (3, Words): A manager's or supervisor's word counts for every job. [overseer-unheard]
// Rule (3, A sensor out of order; R27): The word of who distrusts the sensor does not stand for it.
// [distrust-and-witness]
bool gate_word_counts(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, const struct gate_job *job) {
    if (gate_distrusts(site, point, statement->person)) {
        return false;
    }
    return job == NULL || (statement->at.mono >= job->opened.mono &&
                           (statement->overseer || said_for(statement, job)));
}

// Whoever said it: live as long as one such word stands.
static struct gate_view live_view(const struct gate_site *site, uint32_t index,
                                  struct gate_view view, struct gate_time now, int64_t *next) {
    const struct gate_point *point = &site->points[index];
    int64_t last = 0;
    for (size_t i = 0; i < point->live_statement_count; i++) {
        const struct gate_statement *statement = &point->live_statements[i];
        int64_t ends = gate_word_ends(site, index, statement);
        view.heard = statement->at.wall > view.heard ? statement->at.wall : view.heard;
        last = ends > last ? ends : last;
    }
    view.trust = MODEL_TRUST_STALE;
    if (now.mono <= last) {
        view.state = MODEL_POINT_LIVE;
        view.trust = MODEL_TRUST_WITNESSED;
        *next = last + 1 < *next ? last + 1 : *next;
    }
    return view;
}

// Rule (3, Words): A word of isolated ages by witness_valid_s. [word-never-ages-in-view]
// Rule (3, Words): As many different people as witnesses says must have said isolated.
// [one-witness-enough]
struct gate_view gate_words_view(const struct gate_site *site, uint32_t index,
                                 const struct gate_job *job, struct gate_time now, int64_t *next) {
    const struct gate_point *point = &site->points[index];
    struct gate_view view = {.state = MODEL_POINT_UNKNOWN,
                             .trust = MODEL_TRUST_SILENT,
                             .witnesses_needed = gate_speech_of(site, index).witnesses};
    if (point->live_statement_count > 0) {
        return live_view(site, index, view, now, next);
    }
    for (size_t i = 0; i < point->statement_count; i++) {
        const struct gate_statement *statement = &point->statements[i];
        if (!gate_word_counts(site, index, statement, job)) {
            continue;
        }
        int64_t ends = gate_word_ends(site, index, statement);
        view.trust = view.witnesses > 0 ? view.trust : MODEL_TRUST_STALE;
        if (view.heard == 0 || statement->at.wall < view.heard) {
            view.heard = statement->at.wall;
        }
        if (now.mono <= ends) {
            *next = ends + 1 < *next ? ends + 1 : *next;
            view.witnesses++;
            view.trust = MODEL_TRUST_SETTLING;
        }
    }
    if (view.witnesses > 0 && view.witnesses >= view.witnesses_needed) {
        view.state = MODEL_POINT_ISOLATED;
        view.trust = MODEL_TRUST_WITNESSED;
    }
    return view;
}

// --- What proves live ---

static bool anybody_requires(const struct gate_site *site, uint32_t point) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i]) && gate_requires(site->jobs[i], point)) {
            return true;
        }
    }
    return false;
}

// Of the jobs that have ended and required the point, the one that was opened last.
static const struct gate_job *last_ended(const struct gate_site *site, uint32_t point) {
    const struct gate_job *last = NULL;
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (!gate_job_stands(job) && gate_requires(job, point) &&
            (last == NULL || job->opened.mono >= last->opened.mono)) {
            last = job;
        }
    }
    return last;
}

const struct gate_job *gate_last_to_require(const struct gate_site *site, uint32_t point) {
    return anybody_requires(site, point) ? NULL : last_ended(site, point);
}

// Rule (3, Words; R36): What a crew proved live for its return stays proved while another job,
// which has isolated nothing, requires the point too. [proof-ends-beside-a-job]
static bool said_for_last(const struct gate_site *site, uint32_t point,
                          const struct gate_statement *statement) {
    const struct gate_job *last = last_ended(site, point);
    return last != NULL && said_for(statement, last);
}

// Rule (3, Words): A point is proved live only by the word of its crew, a manager or a supervisor.
// [live-word-by-anybody-proves]
// Rule (3, Words): For the return of a job the word of its own crew proves live, not that of
// another's. [live-word-of-another-crew]
// Rule (3, Words): Without a standing job, the crew of the last that required a point proves it
// live. [live-word-without-a-job]
bool gate_word_proves(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, const struct gate_job *job) {
    if (gate_distrusts(site, point, statement->person)) {
        return false;
    }
    if (statement->overseer) {
        return true;
    }
    if (job != NULL) {
        return said_for(statement, job);
    }
    for (size_t i = 0; i < statement->job_count; i++) {
        const struct gate_job *of = gate_job_find(site, statement->jobs[i]);
        if (of != NULL && gate_job_stands(of) && gate_requires(of, point)) {
            return true;
        }
    }
    return said_for_last(site, point, statement);
}

unsigned gate_words_proving(const struct gate_site *site, uint32_t point,
                            const struct gate_job *job, struct gate_time now) {
    const struct gate_point *state = &site->points[point];
    unsigned proving = 0;
    for (size_t i = 0; i < state->live_statement_count; i++) {
        const struct gate_statement *statement = &state->live_statements[i];
        proving += gate_word_stands(site, point, statement, now) &&
                   gate_word_proves(site, point, statement, job);
    }
    return proving;
}
