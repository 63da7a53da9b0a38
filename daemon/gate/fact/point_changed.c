// point.changed: a point's state or trust is another.
#include "gate/cause.h"
#include "gate/fact/effect.h"

// Rule (5, After a restart; R38): A point that has spoken is not waited for. [awaited-for-ever]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_point *point = &to->site->points[to->point];
    if (point->state != fact->state) {
        point->since = fact->at;
    }
    if (point->state == MODEL_POINT_LIVE || fact->state == MODEL_POINT_LIVE) {
        point->last_live = fact->at;
    }
    if (fact->state != MODEL_POINT_UNKNOWN) {
        point->awaited = MODEL_POINT_UNKNOWN;
    }
    point->state = fact->state;
    point->trust = fact->trust;
    gate_causes_end(to->site, fact->at);
    return true;
}

const struct gate_fact_row gate_fact_point_changed = {
    .name = "point.changed",
    .published = true,
    .about = GATE_ABOUT_POINT,
    .carries = GATE_HAS(point) | GATE_HAS(state) | GATE_HAS(trust),
    .needs = GATE_HAS(point),
    .apply = apply,
    .sentence = "{point} became {state}[ ({trust})]",
};
