// point.witnessed: somebody looked and said what a point is.
#include <stdlib.h>
#include <string.h>

#include "gate/fact/effect.h"
#include "gate/text.h"

static void word_free(struct gate_word *word) {
    free(word->jobs);
    memset(word, 0, sizeof *word);
}

static bool word_set(struct gate_word *word, const struct gate_fact *fact) {
    char(*jobs)[MODEL_ID_SIZE] = NULL;
    if (fact->job_count > 0) {
        jobs = calloc(fact->job_count, sizeof *jobs);
        if (jobs == NULL) {
            return false;
        }
    }
    for (size_t i = 0; i < fact->job_count; i++) {
        gate_id_copy(jobs[i], fact->jobs[i]);
    }
    word_free(word);
    gate_id_copy(word->person, fact->person);
    word->at = fact->at;
    word->overseer = fact->has_overseer && fact->overseer;
    word->jobs = jobs;
    word->job_count = fact->job_count;
    return true;
}

static void words_end(struct gate_point *point) {
    for (size_t i = 0; i < point->word_count; i++) {
        word_free(&point->words[i]);
    }
    point->word_count = 0;
    point->has_live_word = false;
    word_free(&point->live_word);
}

static bool apply_isolated(struct gate_point *point, const struct gate_fact *fact) {
    point->has_live_word = false;
    word_free(&point->live_word);
    for (size_t i = 0; i < point->word_count; i++) {
        if (gate_same(point->words[i].person, fact->person)) {
            return word_set(&point->words[i], fact);
        }
    }
    struct gate_word *words = realloc(point->words, (point->word_count + 1) * sizeof *words);
    if (words == NULL) {
        return false;
    }
    point->words = words;
    memset(&words[point->word_count], 0, sizeof *words);
    return word_set(&words[point->word_count++], fact);
}

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    if (fact->state == MODEL_POINT_ISOLATED) {
        return apply_isolated(point, fact);
    }
    words_end(point);
    point->has_live_word = true;
    point->last_live = fact->at;
    return word_set(&point->live_word, fact);
}

const struct gate_fact_row gate_fact_point_witnessed = {
    .name = "point.witnessed",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries =
        GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(state) | GATE_HAS(overseer) | GATE_HAS(jobs),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .sentence = "{person} looked and said that {point} is {state}"
                "[{?overseer}, as manager or supervisor]",
};
