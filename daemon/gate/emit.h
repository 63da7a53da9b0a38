// Making a fact, telling it, applying it.
#pragma once

#include "gate/state.h"

struct gate_fact gate_fact_new(const struct gate *gate, const struct gate_site *site,
                               enum gate_fact_type type, struct gate_time now);
// What is known of a point now.
struct gate_evidence gate_evidence_of(const struct gate *gate, const struct gate_site *site,
                                      uint32_t point, struct gate_time now);
// A fact of a job, with its position and, as evidence, its required points.
struct gate_fact gate_fact_of_job(struct gate *gate, const struct gate_site *site,
                                  const struct gate_job *job, enum gate_fact_type type,
                                  struct gate_time now);
// A fact of one point, with itself as evidence.
struct gate_fact gate_fact_of_point(struct gate *gate, const struct gate_site *site, uint32_t point,
                                    enum gate_fact_type type, struct gate_time now);
// Tells the fact, then applies it.
void gate_emit(struct gate *gate, const struct gate_fact *fact);
