// tag.discounted: a tag stopped counting, because its point read live or, as it says, for another
// reason.
#include "gate/fact/effect.h"
#include "gate/find.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_tag *tag = gate_tag_of(to->site, to->point, fact->job, fact->person, fact->badge);
    if (tag != NULL) {
        tag->counts = false;
        tag->doubt = fact->has_why ? fact->why : MODEL_CODE_POINT_LIVE;
    }
    return true;
}

static const char *sentence_of(const struct gate_fact *fact) {
    if (fact->has_why && fact->why == MODEL_CODE_CHECK_FAILED) {
        return "the tag of {person|badge} on {point} counts no longer until it is hung again: a "
               "check found energy";
    }
    return fact->has_why && fact->why == MODEL_CODE_LINK_DOWN
               ? "the tag of {person|badge} on {point} counts no longer until it is hung again: "
                 "what its reader said meanwhile is lost"
               : NULL;
}

const struct gate_fact_row gate_fact_tag_discounted = {
    .name = "tag.discounted",
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(person) | GATE_HAS(badge) | GATE_HAS(why),
    .needs = GATE_HAS(point),
    .needs_one_of = GATE_HAS(person) | GATE_HAS(badge),
    .apply = apply,
    .sentence = "the tag of {person|badge} on {point} counts no longer: the point read live",
    .sentence_of = sentence_of,
};
