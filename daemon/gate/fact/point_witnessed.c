// point.witnessed: somebody looked and said what a point is.
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/text.h"

static void statement_free(struct gate_statement *statement) {
    free(statement->jobs);
    memset(statement, 0, sizeof *statement);
}

// Without memory for its jobs it is set all the same, and counts for none: live must not be lost.
static bool statement_set(struct gate_statement *statement, const struct gate_fact *fact) {
    char(*jobs)[MODEL_ID_SIZE] = NULL;
    if (fact->job_count > 0) {
        jobs = calloc(fact->job_count, sizeof *jobs);
    }
    bool whole = jobs != NULL || fact->job_count == 0;
    for (size_t i = 0; jobs != NULL && i < fact->job_count; i++) {
        gate_id_copy(jobs[i], fact->jobs[i]);
    }
    statement_free(statement);
    gate_id_copy(statement->person, fact->person);
    statement->at = fact->at;
    statement->overseer = fact->has_overseer && fact->overseer;
    statement->jobs = jobs;
    statement->job_count = jobs != NULL ? fact->job_count : 0;
    return whole;
}

// The statement of a person among them; NULL: there is none.
static struct gate_statement *statement_of(struct gate_statement *statements, size_t count,
                                           const char *person) {
    for (size_t i = 0; i < count; i++) {
        if (gate_same(statements[i].person, person)) {
            return &statements[i];
        }
    }
    return NULL;
}

// Rule (3, Words): The same person's word again is no second witness. [same-witness-twice]
static bool put(struct gate_statement **statements, size_t *count, size_t *capacity,
                const struct gate_fact *fact) {
    struct gate_statement *before = statement_of(*statements, *count, fact->person);
    if (before != NULL) {
        return statement_set(before, fact);
    }
    if (!BASE_ARRAY_ROOM(*statements, *count, *capacity)) {
        return false;
    }
    struct gate_statement *statement = &(*statements)[(*count)++];
    memset(statement, 0, sizeof *statement);
    return statement_set(statement, fact);
}

// Rule (3, Words): A word of live ends the words of isolated at once. [live-word-ends-nothing]
// Rule (3, Words; R36): Live said beside a word of live leaves that as it stands.
// [live-word-replaces]
static bool apply_live(struct gate_point *point, const struct gate_fact *fact) {
    gate_statements_end(point->statements, &point->statement_count);
    if (!fact->beside) { // none stands, or a journal of the first edition says it
        gate_statements_end(point->live_statements, &point->live_statement_count);
    }
    point->last_live = fact->at;
    return put(&point->live_statements, &point->live_statement_count,
               &point->live_statement_capacity, fact);
}

// Rule (3, Words): A word of isolated ends the words of live. [isolated-leaves-live]
static bool apply_isolated(struct gate_point *point, const struct gate_fact *fact) {
    gate_statements_end(point->live_statements, &point->live_statement_count);
    // Room for the word of live that ends it, which must find room whatever memory there is then.
    return BASE_ARRAY_ROOM(point->live_statements, point->live_statement_count,
                           point->live_statement_capacity) &&
           put(&point->statements, &point->statement_count, &point->statement_capacity, fact);
}

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    return fact->state == MODEL_POINT_ISOLATED ? apply_isolated(point, fact)
                                               : apply_live(point, fact);
}

const struct gate_fact_row gate_fact_point_witnessed = {
    .name = "point.witnessed",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(state) | GATE_HAS(overseer) |
               GATE_HAS(jobs) | GATE_HAS(beside) | GATE_HAS(waited),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .sentence = "{person} looked and said that {point} is {state}"
                "[{?overseer}, as manager or supervisor][{?waited}; it came late and proves "
                "nothing]",
};
