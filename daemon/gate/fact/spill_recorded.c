// spill.recorded: what was spilled, and whether it is cleaned up; recorded again, it is corrected.
#include <string.h>

#include "base/array.h"
#include "gate/fact/effect.h"
#include "gate/spill.h"
#include "gate/text.h"

// Rule (4, record-spill): One that needs no report is forgotten after a week. [spill-kept-for-ever]
static void forget_old(struct gate_site *site, struct gate_time at) {
    size_t kept = 0;
    for (size_t i = 0; i < site->spill_count; i++) {
        const struct gate_spill *spill = &site->spills[i];
        if (gate_spill_over(spill, at) || at.mono - spill->at.mono < GATE_SPILL_KEEP_MS) {
            site->spills[kept++] = *spill;
        }
    }
    site->spill_count = kept;
}

static struct gate_spill *add(struct gate_site *site, const struct gate_fact *fact) {
    forget_old(site, fact->at);
    if (!BASE_ARRAY_ROOM(site->spills, site->spill_count, site->spill_capacity)) {
        return NULL;
    }
    struct gate_spill *made = &site->spills[site->spill_count++];
    memset(made, 0, sizeof *made);
    gate_id_copy(made->spill, fact->spill);
    made->at = fact->at;
    site->spills_recorded++;
    return made;
}

// Rule (4, record-spill): A spill that is recorded again counts from when it was recorded first.
// [spill-grows-younger]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_spill *spill = gate_spill_find(to->site, fact->spill);
    spill = spill != NULL ? spill : add(to->site, fact);
    if (spill == NULL) {
        return false;
    }
    bool liters = gate_same(fact->unit, "L");
    spill->position = model_position_find(to->site->model, fact->position);
    gate_id_copy(spill->product, fact->product);
    gate_id_copy(spill->by, fact->by);
    gate_text(spill->unit, sizeof spill->unit, "%s", fact->unit);
    spill->quantity = fact->quantity;
    spill->gallons = gate_spill_gallons(fact->quantity, liters);
    spill->sheen = fact->sheen;
    spill->cleaned = fact->cleaned;
    return true;
}

const struct gate_fact_row gate_fact_spill_recorded = {
    .name = "spill.recorded",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(by) | GATE_HAS(spill) | GATE_HAS(product) | GATE_HAS(quantity) |
               GATE_HAS(unit) | GATE_HAS(sheen) | GATE_HAS(cleaned) | GATE_HAS(report_due) |
               GATE_HAS(note),
    .needs = GATE_HAS(position) | GATE_HAS(spill) | GATE_HAS(product) | GATE_HAS(quantity) |
             GATE_HAS(unit),
    .apply = apply,
    .sentence = "{by} recorded spill {spill} at {position}: {quantity} {unit} of {product}"
                "[{?sheen}, a sheen][ (note: {note})]",
};
