// set-aside: the repair is left half done and made safe.
#include "gate/require.h"
#include "gate/verb/case.h"

static void require(struct gate_case *c) {
    gate_require_group(c->job, MODEL_GROUP_CLEAR, c->now, &c->list);
    gate_require_group(c->job, MODEL_GROUP_LEAVE, c->now, &c->list);
    gate_require_uncontested(c->site, &c->list);
}

// Rule (4, set-aside): A repair is set aside with every clear check signed. [aside-without-clear]
// Rule (4, set-aside): A repair is set aside with every leave check signed. [aside-without-leave]
// Rule (3): No repair is set aside at a contested site. [aside-contested]
static void decide(struct gate_case *c) {
    if (gate_case_emit(c, GATE_FACT_WORK_SET_ASIDE)) {
        gate_case_clear_broken(c);
    }
}

const struct gate_verb_row gate_verb_set_aside = {
    .name = "set-aside",
    .about = "Leaves the repair half done and made safe; the job goes back to open.",
    .fields = {GATE_MUST(job, ID), GATE_MUST(reason, REASON)},
    .who = GATE_WHO_LEADER,
    .of_job = true,
    .phases = GATE_IN(WORKING) | GATE_IN(STOPPED),
    .permits = true,
    .present = true,
    .require = require,
    .decide = decide,
};
