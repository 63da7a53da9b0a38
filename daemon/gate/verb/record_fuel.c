// record-fuel: what was drawn of a product, returned to a tank and kept in a container.
#include "gate/emit.h"
#include "gate/fuel.h"
#include "gate/refusal_list.h"
#include "gate/text.h"
#include "gate/verb/case.h"

static void wrong(struct gate_case *c, const char *field, const char *need, const char *found) {
    gate_list_put(&c->list, false, GATE_SAY_FIELD_WRONG, field,
                  GATE_ARGS(.need = need, .found = found));
}

static void require_product(struct gate_case *c) {
    if (!gate_fuel_sold(c->site, c->job->position, c->request->product)) {
        wrong(c, "/product", "a product of this dispenser", c->request->product);
    }
}

static bool is_below(const struct gate_volume *volume) {
    return volume->given && volume->value < 0;
}

// Rule (4, record-fuel): A number below 0 takes back what was recorded wrongly, and a note says
// why. [fuel-taken-back-without-a-word]
// Rule (4, record-fuel): No more is taken back than was recorded. [fuel-taken-back-twice]
static void require_corrections(struct gate_case *c, const struct gate_fuel *after) {
    const struct gate_request *request = c->request;
    bool below =
        is_below(&request->drawn) || is_below(&request->returned) || is_below(&request->kept);
    gate_list_put(&c->list, !below || !gate_blank(request->note), GATE_SAY_FUEL_NOTE_MISSING,
                  request->product, GATE_ARGS(.product = request->product));
    const struct gate_fuel_sum sum = gate_fuel_sum(after);
    static const char need[] = "no more taken back than was recorded";
    if (sum.drawn < 0) {
        wrong(c, "/drawn", need, "more");
    }
    if (sum.returned < 0) {
        wrong(c, "/returned", need, "more");
    }
    if (sum.kept < 0) {
        wrong(c, "/kept", need, "more");
    }
}

static void require_something(struct gate_case *c) {
    const struct gate_request *request = c->request;
    if (!request->drawn.given && !request->returned.given && !request->kept.given &&
        !request->totalizer_before.given && !request->totalizer_after.given) {
        wrong(c, "/drawn", "given, or returned, kept or a totalizer", "nothing");
    }
}

static void take(struct gate_fact *fact, const struct gate_request *request) {
    fact->product = request->product;
    fact->tank = request->tank;
    fact->unit = request->unit;
    fact->note = request->note;
    fact->has_drawn = request->drawn.given;
    fact->drawn = request->drawn.value;
    fact->has_returned = request->returned.given;
    fact->returned = request->returned.value;
    fact->has_kept = request->kept.given;
    fact->kept = request->kept.value;
    fact->has_totalizer_before = request->totalizer_before.given;
    fact->totalizer_before = request->totalizer_before.value;
    fact->has_totalizer_after = request->totalizer_after.given;
    fact->totalizer_after = request->totalizer_after.value;
}

// Rule (4, record-fuel): A totalizer does not run backwards. [totalizer-backwards]
static void decide(struct gate_case *c) {
    const struct gate_fuel *before = gate_fuel_find(c->job, c->request->product);
    struct gate_fuel after = before != NULL ? *before : (struct gate_fuel){0};
    struct gate_fact told = {.type = GATE_FACT_FUEL_RECORDED};
    take(&told, c->request);
    gate_fuel_add(&after, &told);
    require_product(c);
    require_something(c);
    require_corrections(c, &after);
    if (after.has_before && after.has_after && after.after < after.before) {
        wrong(c, "/totalizer_after", "at least totalizer_before", "less");
    }
    if (gate_case_clear(c)) {
        const struct gate_fuel_sum sum = gate_fuel_sum(&after);
        struct gate_fact fact = gate_case_fact(c, GATE_FACT_FUEL_RECORDED);
        take(&fact, c->request);
        fact.sum = &sum;
        gate_emit(c->gate, &fact);
    }
}

// Rule (4, record-fuel): Fuel is recorded by the crew. [fuel-by-anybody]
const struct gate_verb_row gate_verb_record_fuel = {
    .name = "record-fuel",
    .about = "Records what was drawn of a product, returned to a tank or kept in a container; a "
             "number below 0, with a note, takes back what was recorded wrongly.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(product, NAME), GATE_MAY(drawn, CHANGE),
               GATE_MAY(returned, CHANGE), GATE_MAY(tank, NAME), GATE_MAY(kept, CHANGE),
               GATE_MAY(totalizer_before, VOLUME), GATE_MAY(totalizer_after, VOLUME),
               GATE_MUST(unit, MEASURE), GATE_MAY(note, NOTE)},
    .who = GATE_WHO_CREW,
    .of_job = true,
    .permits = true,
    .present = true,
    .decide = decide,
};
