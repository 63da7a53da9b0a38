// tag.lifted: a lock and tag hangs no more; or the tag alone ends, and the lock that its reader
// still sees stays listed.
#include "gate/fact/effect.h"
#include "gate/find.h"
#include "gate/lacking.h"
#include "gate/untold.h"

static void keep_listed(struct gate_tag *tag) {
    tag->job[0] = '\0';
    tag->counts = tag->reader = false;
    tag->lifted = true;
}

// Rule (3, Tags; R14): After a tag was lifted by request the lock is listed until its reader sees
// it go. [lifted-unlisted]
// Rule (4, lift-absent-tag; R16): The owner of a lock that was removed is to be told.
// [absent-untold]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_tag *tag = gate_tag_of(to->site, to->point, fact->job, fact->person, fact->badge);
    if (tag != NULL && fact->listed) {
        keep_listed(tag);
    } else if (tag != NULL) {
        gate_tag_remove(&to->site->points[to->point], tag);
    }
    return !fact->untold || gate_untold_add(to->site, fact->person, fact->point);
}

static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    gate_lacking_remove(gate, site, fact->job, fact->point, gate_owner_of(fact));
    return !fact->listed || gate_lacking_add(gate, site, NULL, fact->point, gate_owner_of(fact));
}

const struct gate_fact_row gate_fact_tag_lifted = {
    .name = "tag.lifted",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(badge) | GATE_HAS(by) |
               GATE_HAS(reason) | GATE_HAS(absent) | GATE_HAS(reader) | GATE_HAS(listed) |
               GATE_HAS(seen_off) | GATE_HAS(untold),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .lacking = lacking,
    .sentence = "lock and tag of {person|badge} on {point} was lifted[ by {by}]"
                "[{?absent}, for its absent owner][{?reader}, told by a reader]"
                "[{?listed}; its reader still sees the lock][{?seen_off}, seen to be off]"
                "[: {reason}]",
};
