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

static bool statement_set(struct gate_statement *statement, const struct gate_fact *fact) {
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
    statement_free(statement);
    gate_id_copy(statement->person, fact->person);
    statement->at = fact->at;
    statement->overseer = fact->has_overseer && fact->overseer;
    statement->jobs = jobs;
    statement->job_count = fact->job_count;
    return true;
}

static void statements_end(struct gate_point *point) {
    for (size_t i = 0; i < point->statement_count; i++) {
        statement_free(&point->statements[i]);
    }
    point->statement_count = 0;
    point->has_live_statement = false;
    statement_free(&point->live_statement);
}

// Rule (3, Words): The same person's word again is no second witness. [same-witness-twice]
static bool apply_isolated(struct gate_point *point, const struct gate_fact *fact) {
    point->has_live_statement = false;
    statement_free(&point->live_statement);
    for (size_t i = 0; i < point->statement_count; i++) {
        if (gate_same(point->statements[i].person, fact->person)) {
            return statement_set(&point->statements[i], fact);
        }
    }
    if (!BASE_ARRAY_ROOM(point->statements, point->statement_count, point->statement_capacity)) {
        return false;
    }
    struct gate_statement *statement = &point->statements[point->statement_count++];
    memset(statement, 0, sizeof *statement);
    return statement_set(statement, fact);
}

// Rule (3, Words): A word of live ends the words of isolated at once. [live-word-ends-nothing]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    if (fact->state == MODEL_POINT_ISOLATED) {
        return apply_isolated(point, fact);
    }
    statements_end(point);
    point->has_live_statement = true;
    point->last_live = fact->at;
    return statement_set(&point->live_statement, fact);
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
