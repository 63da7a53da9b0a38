// part.fitted: a part was fitted for a job; from its return on it hangs at the position.
#include "gate/part.h"

#include "gate/fact/effect.h"
#include "gate/text.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_day *day = &to->job->day;
    struct gate_part part = {.fitted = fact->at};
    gate_id_copy(part.part, fact->part);
    gate_id_copy(part.family, fact->family);
    gate_id_copy(part.serial, fact->serial);
    gate_id_copy(part.job, fact->job);
    gate_id_copy(part.by, fact->by);
    gate_text(part.due, sizeof part.due, "%s", fact->due != NULL ? fact->due : "");
    return gate_part_put(&day->parts, &day->part_count, &day->part_capacity, &part);
}

const struct gate_fact_row gate_fact_part_fitted = {
    .name = "part.fitted",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(by) | GATE_HAS(part) | GATE_HAS(family) | GATE_HAS(serial) | GATE_HAS(due),
    .needs = GATE_HAS(job) | GATE_HAS(part),
    .apply = apply,
    .sentence = "{by} fitted {part}[, family {family}][, serial {serial}][, due {due}]",
};
