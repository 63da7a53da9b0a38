// The fuel ledger of a job.
#include "gate/fuel.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "gate/find.h"
#include "gate/gate.h"
#include "gate/refusal_list.h"
#include "gate/text.h"
#include "trade/fuel.h"

// Far below what any meter shows: sums of decimal figures are told without their binary noise.
#define GRAINS 1e6 // in one

struct gate_fuel *gate_fuel_find(const struct gate_job *job, const char *product) {
    for (size_t i = 0; i < job->day.fuel_count; i++) {
        if (gate_same(job->day.fuel[i].product, product)) {
            return &job->day.fuel[i];
        }
    }
    return NULL;
}

const char *gate_fuel_product(const struct gate_site *site, uint32_t position) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        const struct model_position *of = &site->model->positions[p];
        if (of->product_count > 0 && gate_same_dispenser(site, p, position)) {
            return of->products[0];
        }
    }
    return NULL;
}

// Rule (4, record-fuel): A product is one of the dispenser's, where these are configured.
// [fuel-of-no-product]
bool gate_fuel_sold(const struct gate_site *site, uint32_t position, const char *product) {
    for (uint32_t p = 0; p < site->model->position_count; p++) {
        const struct model_position *of = &site->model->positions[p];
        for (size_t i = 0; gate_same_dispenser(site, p, position) && i < of->product_count; i++) {
            if (gate_same(of->products[i], product)) {
                return true;
            }
        }
    }
    return gate_fuel_product(site, position) == NULL;
}

// US gallons in one of a unit.
static double gallons_in(const char *unit) {
    return strcmp(unit, "L") == 0 ? 1 / TRADE_LITERS_PER_GALLON : 1;
}

// Rule (4, record-fuel): What is told in another unit is converted. [fuel-units-mixed]
// Rule (4, record-fuel): Where the totalizer alone was read, what passed it was drawn.
// [fuel-past-the-totalizer]
void gate_fuel_add(struct gate_fuel *ledger, const struct gate_fact *fact) {
    if (ledger->product[0] == '\0') {
        gate_id_copy(ledger->product, fact->product);
        gate_text(ledger->unit, sizeof ledger->unit, "%s", fact->unit);
    }
    bool same = strcmp(ledger->unit, fact->unit) == 0;
    double by = same ? 1 : gallons_in(fact->unit) / gallons_in(ledger->unit);
    bool passed = !fact->has_drawn && fact->has_totalizer_before && fact->has_totalizer_after;
    double drawn = passed ? fact->totalizer_after - fact->totalizer_before : fact->drawn;
    ledger->drawn += fact->has_drawn || passed ? drawn * by : 0;
    ledger->returned += fact->has_returned ? fact->returned * by : 0;
    ledger->kept += fact->has_kept ? fact->kept * by : 0;
    if (fact->has_totalizer_before) {
        ledger->has_before = true;
        ledger->before = fact->totalizer_before * by;
    }
    if (fact->has_totalizer_after) {
        ledger->has_after = true;
        ledger->after = fact->totalizer_after * by;
    }
    if (fact->tank != NULL) {
        gate_id_copy(ledger->tank, fact->tank);
    }
}

static double whole(double value) {
    return round(value * GRAINS) / GRAINS + 0.0; // and no negative zero
}

// Rule (4, record-fuel; NIST Handbook 44 3.30 T.2 [M]): Drawn less returned less kept is 0 within
// what the meter may err by on what was drawn. [fuel-within-anything]
struct gate_fuel_sum gate_fuel_sum(const struct gate_fuel *ledger) {
    double gallons = gallons_in(ledger->unit);
    double rest = ledger->drawn - ledger->returned - ledger->kept;
    double tolerance = trade_meter_tolerance(ledger->drawn * gallons) / gallons;
    struct gate_fuel_sum sum = {.drawn = whole(ledger->drawn),
                                .returned = whole(ledger->returned),
                                .kept = whole(ledger->kept),
                                .unaccounted = whole(rest),
                                .tolerance = whole(tolerance),
                                .accounted = fabs(rest) <= tolerance + 1 / GRAINS};
    gate_text(sum.unit, sizeof sum.unit, "%s", ledger->unit);
    return sum;
}

struct gate_fuel_of *gate_fuel_sums(const struct gate_job *job) {
    struct gate_fuel_of *sums = calloc(job->day.fuel_count + 1, sizeof *sums);
    for (size_t i = 0; sums != NULL && i < job->day.fuel_count; i++) {
        gate_id_copy(sums[i].product, job->day.fuel[i].product);
        sums[i].sum = gate_fuel_sum(&job->day.fuel[i]);
    }
    return sums;
}

// Rule (4, record-fuel): A position is not returned while fuel that was drawn is not accounted for.
// [return-without-fuel]
// Rule (4, record-fuel): More that went somewhere than was drawn is not accounted for either.
// [fuel-from-nowhere]
void gate_require_fuel(const struct gate_job *job, struct gate_list *list) {
    for (size_t i = 0; i < job->day.fuel_count; i++) {
        const struct gate_fuel_sum sum = gate_fuel_sum(&job->day.fuel[i]);
        bool over = sum.unaccounted < 0;
        gate_list_put(list, sum.accounted, over ? GATE_SAY_FUEL_OVER : GATE_SAY_FUEL_UNACCOUNTED,
                      job->day.fuel[i].product,
                      GATE_ARGS(.product = job->day.fuel[i].product, .unit = sum.unit,
                                .has_value = true, .value = fabs(sum.unaccounted), .has_max = true,
                                .max = sum.tolerance));
    }
}
