// fuel.recorded: what was drawn of a product for a job, and where it went.
#include "gate/fuel.h"

#include "base/array.h"
#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_day *day = &to->job->day;
    struct gate_fuel *ledger = gate_fuel_find(to->job, fact->product);
    if (ledger == NULL) {
        if (!BASE_ARRAY_ROOM(day->fuel, day->fuel_count, day->fuel_capacity)) {
            return false;
        }
        ledger = &day->fuel[day->fuel_count++];
        *ledger = (struct gate_fuel){0};
    }
    gate_fuel_add(ledger, fact);
    return true;
}

const struct gate_fact_row gate_fact_fuel_recorded = {
    .name = "fuel.recorded",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(product) | GATE_HAS(drawn) | GATE_HAS(returned) |
               GATE_HAS(tank) | GATE_HAS(kept) | GATE_HAS(totalizer_before) |
               GATE_HAS(totalizer_after) | GATE_HAS(unit) | GATE_HAS(note) | GATE_HAS(sum),
    .needs = GATE_HAS(job) | GATE_HAS(product) | GATE_HAS(unit),
    .apply = apply,
    .sentence = "{by} recorded {product}[: drawn {drawn} {unit}][, returned {returned} {unit}]"
                "[ to tank {tank}][, kept {kept} {unit}][, totalizer before {totalizer_before}]"
                "[, after {totalizer_after}][ (note: {note})]",
};
