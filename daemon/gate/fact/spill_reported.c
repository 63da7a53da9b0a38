// spill.reported: it was reported to the authority.
#include <string.h>

#include "gate/fact/effect.h"
#include "gate/spill.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_site *site = to->site;
    struct gate_spill *spill = gate_spill_find(site, fact->spill);
    if (spill != NULL) {
        size_t behind = site->spill_count - (size_t)(spill - site->spills) - 1;
        memmove(spill, spill + 1, behind * sizeof *spill);
        site->spill_count--;
    }
    return true;
}

const struct gate_fact_row gate_fact_spill_reported = {
    .name = "spill.reported",
    .published = true,
    .about = GATE_ABOUT_SITE,
    .carries = GATE_HAS(by) | GATE_HAS(spill) | GATE_HAS(reference),
    .needs = GATE_HAS(spill),
    .apply = apply,
    .sentence = "{by} reported spill {spill}: {reference}",
};
