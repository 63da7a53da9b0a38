// point.ageing: a word about a point will soon be over, and may be renewed.
#include "gate/fact/effect.h"
#include "gate/text.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    bool live = fact->state == MODEL_POINT_LIVE;
    struct gate_statement *statements = live ? point->live_statements : point->statements;
    size_t count = live ? point->live_statement_count : point->statement_count;
    for (size_t i = 0; i < count; i++) {
        if (gate_same(statements[i].person, fact->person)) {
            statements[i].warned = true;
        }
    }
    return true;
}

const struct gate_fact_row gate_fact_point_ageing = {
    .name = "point.ageing",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(state) | GATE_HAS(until),
    .needs = GATE_HAS(point) | GATE_HAS(person),
    .apply = apply,
    .sentence = "the word of {person} that {point} is {state} will soon be over",
};
