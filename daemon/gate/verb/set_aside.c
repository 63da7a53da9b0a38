// set-aside: the repair is left half done and made safe.
#include "gate/emit.h"
#include "gate/require.h"
#include "gate/verb/case.h"

static void require(struct gate_case *c) {
    gate_require_group(c->job, MODEL_GROUP_CLEAR, c->now, &c->list);
    gate_require_group(c->job, MODEL_GROUP_LEAVE, c->now, &c->list);
    gate_require_alarms_seen(c->site, c->job, &c->list);
    gate_require_uncontested(c->site, &c->list);
}

// Rule (4, set-aside): A repair is set aside with every clear check signed. [aside-without-clear]
// Rule (4, set-aside): A repair is set aside with every leave check signed. [aside-without-leave]
// Rule (4, set-aside): No repair is set aside while an alarm of the job is unacknowledged.
// [aside-with-open-alarm]
// Rule (3): No repair is set aside at a contested site. [aside-contested]
static void decide(struct gate_case *c) {
    if (gate_case_clear(c)) {
        struct gate_fact fact = gate_case_fact(c, GATE_FACT_WORK_SET_ASIDE);
        fact.made_safe = true;
        gate_emit(c->gate, &fact);
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
