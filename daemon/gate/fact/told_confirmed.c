// told.confirmed: somebody whose lock was removed while they were absent says that they know of it.
#include "gate/fact/row.h"
#include "gate/untold.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    gate_untold_end(to->site, fact->person);
    return true;
}

const struct gate_fact_row gate_fact_told_confirmed = {
    .name = "told.confirmed",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(person) | GATE_HAS(points),
    .needs = GATE_HAS(person),
    .apply = apply,
    .sentence = "{person} confirmed to know that a lock of theirs was removed while they were away",
};
