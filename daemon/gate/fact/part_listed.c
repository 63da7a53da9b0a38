// part.listed: what hangs at a position by a list of before, imported while the daemon was stopped.
#include "gate/part.h"

#include "gate/fact/effect.h"
#include "gate/text.h"

// Rule (4, fit-part): What a list of before says hangs there is of no job, and counts as no
// fitting. [listed-as-fitted]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    uint32_t index = model_position_find(to->site->model, fact->position);
    if (index == MODEL_NONE) {
        return true; // no longer configured
    }
    struct gate_position *position = &to->site->positions[index];
    struct gate_part part = {.fitted = fact->at};
    part.fitted.wall = fact->fitted != 0 ? fact->fitted : fact->at.wall;
    gate_id_copy(part.part, fact->part);
    gate_id_copy(part.family, fact->family);
    gate_id_copy(part.serial, fact->serial);
    gate_id_copy(part.by, fact->by);
    gate_text(part.due, sizeof part.due, "%s", fact->due != NULL ? fact->due : "");
    return gate_part_put(&position->hangs, &position->hang_count, &position->hang_capacity, &part);
}

const struct gate_fact_row gate_fact_part_listed = {
    .name = "part.listed",
    .published = false,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(by) | GATE_HAS(part) | GATE_HAS(family) | GATE_HAS(serial) | GATE_HAS(due) |
               GATE_HAS(fitted),
    .needs = GATE_HAS(position) | GATE_HAS(part),
    .apply = apply,
    .sentence = "{by} listed that {part} hangs at {position}[, family {family}][, serial {serial}]"
                "[, due {due}]",
};
