// trust-sensor: a sensor, or a point's reader, is out of order no longer.
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/verb/case.h"

static void decide(struct gate_case *c) {
    uint32_t sensor, point = gate_case_sensor(c, &sensor);
    c->idle = point != MODEL_NONE && !gate_is_distrusted(c->site, point, sensor);
    if (!gate_case_clear(c) || c->idle) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_point(c->gate, c->site, point, GATE_FACT_SENSOR_TRUSTED, c->now);
    fact.sensor = c->request->sensor;
    fact.reader_of = c->request->reader;
    fact.by = c->person->person;
    gate_emit(c->gate, &fact);
}

// Rule (5, last paragraph): Nothing is trusted again while the journal cannot write.
// [trust-while-down]
const struct gate_verb_row gate_verb_trust_sensor = {
    .name = "trust-sensor",
    .about = "Says that a sensor, or the reader of a point, is out of order no longer.",
    .fields = {GATE_MAY(sensor, ID), GATE_MAY(reader, ID)},
    .one_of = {"sensor", "reader", "what is trusted again"},
    .who = GATE_WHO_ROLE,
    .roles = MODEL_ROLE_SUPERVISOR,
    .permits = true,
    .present = true,
    .decide = decide,
};
