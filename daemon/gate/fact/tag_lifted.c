// tag.lifted: a lock and tag hangs no more.
#include "gate/fact/effect.h"
#include "gate/find.h"
#include "gate/lacking.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_tag *tag = gate_tag_find(to->site, to->point, fact->job, gate_owner_of(fact));
    if (tag != NULL) {
        gate_tag_remove(&to->site->points[to->point], tag);
    }
    return true;
}

static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    gate_lacking_remove(gate, site, fact->job, fact->point, gate_owner_of(fact));
    return true;
}

const struct gate_fact_row gate_fact_tag_lifted = {
    .name = "tag.lifted",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(badge) | GATE_HAS(by) |
               GATE_HAS(reason) | GATE_HAS(absent) | GATE_HAS(reader),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .lacking = lacking,
    .sentence = "lock and tag of {person|badge} on {point} was lifted[ by {by}]"
                "[{?absent}, for its absent owner][{?reader}, told by a reader][: {reason}]",
};
