// crew.protected and crew.unprotected: whether a tag of theirs counts on every required point.
#include <string.h>

#include "gate/fact/effect.h"

static bool apply(const struct gate_fold *to, const struct gate_fact *fact) {
    struct gate_job *job = to->job;
    for (size_t i = 0; i < job->crew_count; i++) {
        if (strcmp(job->crew[i].person, fact->person) == 0) {
            job->crew[i].protected = fact->type == GATE_FACT_CREW_PROTECTED;
        }
    }
    return true;
}

const struct gate_fact_row gate_fact_crew_protected = {
    .name = "crew.protected",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person),
    .needs = GATE_HAS(job) | GATE_HAS(person),
    .apply = apply,
    .sentence = "{person} is protected: a tag that counts on every required point",
};

const struct gate_fact_row gate_fact_crew_unprotected = {
    .name = "crew.unprotected",
    .published = true,
    .about = GATE_ABOUT_JOB,
    .carries = GATE_HAS(person),
    .needs = GATE_HAS(job) | GATE_HAS(person),
    .apply = apply,
    .sentence = "{person} is NOT protected: off the job until every tag is hung",
};
