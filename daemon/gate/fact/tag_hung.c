// tag.hung: a lock and tag hangs on a point, of a job or, seen by a reader, of none.
#include <string.h>

#include "base/array.h"
#include "gate/cause.h"
#include "gate/fact/effect.h"
#include "gate/find.h"
#include "gate/lacking.h"
#include "gate/text.h"

static struct gate_tag *tag_for(struct gate_site *site, uint32_t index,
                                const struct gate_fact *fact) {
    struct gate_tag *tag = gate_tag_of(site, index, fact->job, fact->person, fact->badge);
    if (tag != NULL) {
        return tag;
    }
    struct gate_point *point = &site->points[index];
    if (!BASE_ARRAY_ROOM(point->tags, point->tag_count, point->tag_capacity)) {
        return NULL;
    }
    tag = &point->tags[point->tag_count++];
    memset(tag, 0, sizeof *tag);
    gate_id_copy(tag->job, fact->job);
    gate_id_copy(tag->person, fact->person);
    gate_id_copy(tag->badge, fact->badge);
    return tag;
}

// A lock was hung on the point: the tests of every standing job that requires it are void.
// Rule (4, What voids): A lock on a point that the job does not require voids no test of it.
// [lock-anywhere-voids-tests]
static void void_tests_under(struct gate_site *site, uint32_t point) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i]) && gate_requires(site->jobs[i], point)) {
            gate_void_tests(site->jobs[i]);
        }
    }
}

// Rule (4, What voids): A tag or lock of anyone hung on a required point voids every test.
// [lock-spares-tests]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    bool seen = fact->reader;
    if (fact->adopted) {
        struct gate_tag *loose = gate_tag_of(to->site, to->point, "", fact->person, fact->badge);
        if (loose != NULL) {
            seen |= loose->seen;
            gate_tag_remove(&to->site->points[to->point], loose);
        }
    }
    struct gate_tag *tag = tag_for(to->site, to->point, fact);
    if (tag == NULL) {
        return false;
    }
    tag->since = fact->at;
    if (fact->hung != 0 && fact->hung < fact->at.wall) {
        tag->since.mono -= fact->at.wall - fact->hung;
        tag->since.wall = fact->hung;
    }
    tag->counts = fact->has_counts && fact->counts;
    tag->doubt = MODEL_CODE_POINT_UNKNOWN;
    tag->reader = fact->reader;
    tag->seen |= seen;
    tag->lifted = false;
    void_tests_under(to->site, to->point);
    gate_causes_end(to->site, fact->at);
    return true;
}

// Rule (2): A configuration that lacks the point of a hanging tag is refused.
// [fits-without-tags-point]
static bool lacking(struct gate *gate, const char *site, const struct gate_fact *fact) {
    if (fact->adopted) { // it hung there without a job
        gate_lacking_remove(gate, site, NULL, fact->point, gate_owner_of(fact));
    }
    return gate_lacking_add(gate, site, fact->job, fact->point, gate_owner_of(fact));
}

const struct gate_fact_row gate_fact_tag_hung = {
    .name = "tag.hung",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(badge) | GATE_HAS(counts) |
               GATE_HAS(reader) | GATE_HAS(adopted) | GATE_HAS(hung),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .lacking = lacking,
    .sentence = "{person|badge} hung lock and tag on {point}[{?reader}, told by a reader]"
                "[, badge {badge}][{?adopted}, a lock that hung there before]"
                "[{!counts}; it does NOT count]",
};
