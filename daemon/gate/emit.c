// Making facts, telling them, applying them.
#include "gate/emit.h"

#include "base/array.h"
#include "gate/distrust.h"
#include "gate/gate.h"
#include "gate/own_clock.h"
#include "gate/text.h"

struct gate_fact gate_fact_new(const struct gate *gate, const struct gate_site *site,
                               enum gate_fact_type type, struct gate_time now) {
    struct gate_fact fact = {.type = type, .site = MODEL_NONE, .at = now};
    if (site != NULL) {
        fact.site = (uint32_t)(site - gate->sites);
    }
    return fact;
}

static bool evidence_reserve(struct gate *gate, size_t count) {
    return BASE_ARRAY_RESERVE(gate->evidence, 0, count, gate->evidence_capacity);
}

// Rule (3, A sensor out of order; R27): What rests on a point with a sensor out of order says so.
// [distrust-untold]
struct gate_evidence gate_evidence_of(const struct gate *gate, const struct gate_site *site,
                                      uint32_t point, struct gate_time now) {
    return (struct gate_evidence){
        .point = site->model->points[point].point,
        .state = site->points[point].state,
        .trust = site->points[point].trust,
        .heard = gate_point_heard(gate, site, point, now),
        .distrusted = gate_rests_on_distrust(site, point),
    };
}

struct gate_fact gate_fact_of_job(struct gate *gate, const struct gate_site *site,
                                  const struct gate_job *job, enum gate_fact_type type,
                                  struct gate_time now) {
    struct gate_fact fact = gate_fact_new(gate, site, type, now);
    fact.job = job->job;
    fact.position = site->model->positions[job->position].position;
    if (!evidence_reserve(gate, job->required_count)) {
        gate->broken_memory = true;
        return fact;
    }
    for (size_t i = 0; i < job->required_count; i++) {
        gate->evidence[i] = gate_evidence_of(gate, site, job->required[i], now);
    }
    fact.evidence = gate->evidence;
    fact.evidence_count = job->required_count;
    return fact;
}

struct gate_fact gate_fact_of_point(struct gate *gate, const struct gate_site *site, uint32_t point,
                                    enum gate_fact_type type, struct gate_time now) {
    struct gate_fact fact = gate_fact_new(gate, site, type, now);
    const struct model_point *model = &site->model->points[point];
    fact.point = model->point;
    if (model->isolates_count == 1) {
        fact.position = site->model->positions[model->isolates[0]].position;
    }
    if (!evidence_reserve(gate, 1)) {
        gate->broken_memory = true;
        return fact;
    }
    gate->evidence[0] = gate_evidence_of(gate, site, point, now);
    fact.evidence = gate->evidence;
    fact.evidence_count = 1;
    return fact;
}

void gate_emit(struct gate *gate, const struct gate_fact *fact) {
    char what[256];
    gate_own_clock_tell(gate, fact->at.wall);
    gate->fact(gate->user, fact);
    if (!gate_apply(gate, fact, what, sizeof what)) {
        // Only memory can fail here: what the gate decides fits its own state.
        gate->broken_memory = true;
    }
}
