// crew.joined: one more in the crew; who cleared the place did not count that one.
#include "gate/fact/effect.h"

// Rule (4, What voids): Clear and leave are void when older than the last join. [join-spares-clear]
static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    gate_void_leaving(to->job);
    return gate_crew_add(to->job, fact->person, fact->at);
}

const struct gate_fact_row gate_fact_crew_joined = {
    .name = "crew.joined",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person),
    .needs = GATE_HAS(job) | GATE_HAS(person),
    .apply = apply,
    .sentence = "{person} joined the crew of {job}",
};
