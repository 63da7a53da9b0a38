// Words that will soon be over: told once each, while they still may be renewed.
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/review.h"
#include "gate/text.h"
#include "gate/word.h"

// Whether a standing job rests on the word: nobody else has to renew it.
// Rule (3, Words; R25): A word on which no job rests ages untold. [word-ageing-of-no-job]
static bool is_needed(const struct gate_site *site, uint32_t point,
                      const struct gate_statement *statement, bool live) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (gate_job_stands(job) && gate_requires(job, point) &&
            (live ? gate_word_proves(site, point, statement, job)
                  : gate_word_counts(site, point, statement, job))) {
            return true;
        }
    }
    return false;
}

// Rule (3, Words; R25): That a word is ageing is told when the time for that has come.
// [word-ageing-at-its-end]
// Rule (3, Words; R25): That a word is ageing is told once. [word-ageing-repeats]
// Rule (3, Words; R25): The moment at which a word ages is waited for. [word-ageing-not-due]
static void review(struct gate *gate, struct gate_site *site, uint32_t point, bool live, size_t i,
                   struct gate_time now, int64_t *next) {
    struct gate_point *state = &site->points[point];
    const struct gate_statement *statement =
        live ? &state->live_statements[i] : &state->statements[i];
    int64_t ends = gate_word_ends(site, point, statement);
    int64_t due = ends - gate_ageing_left(gate_speech_of(site, point).valid_ms);
    if (statement->warned || now.mono > ends || !is_needed(site, point, statement, live)) {
        return;
    }
    if (now.mono < due) {
        *next = due < *next ? due : *next;
        return;
    }
    char person[MODEL_ID_SIZE];
    gate_id_copy(person, statement->person);
    struct gate_fact fact = gate_fact_of_point(gate, site, point, GATE_FACT_POINT_AGEING, now);
    fact.person = person;
    fact.has_state = true;
    fact.state = live ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    fact.until = now.wall + (ends - now.mono);
    gate_emit(gate, &fact);
}

void gate_review_words(struct gate *gate, struct gate_site *site, struct gate_time now,
                       int64_t *next) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].statement_count; i++) {
            review(gate, site, p, false, i, now, next);
        }
        for (size_t i = 0; i < site->points[p].live_statement_count; i++) {
            review(gate, site, p, true, i, now, next);
        }
    }
}
