// distrust-sensor: a supervisor says that a sensor, or a point's reader, is out of order.
#include "gate/distrust.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/refusal_list.h"
#include "gate/tag.h"
#include "gate/verb/case.h"

// Rule (3, A sensor out of order; R27): Who says it is of no crew that requires the point.
// [distrust-by-crew]
static void require_outsider(struct gate_case *c, uint32_t point) {
    for (size_t i = 0; i < c->site->job_count; i++) {
        const struct gate_job *job = c->site->jobs[i];
        bool of_crew = gate_job_stands(job) && gate_requires(job, point) &&
                       gate_member_of(job, c->person->person) != NULL;
        gate_list_put(&c->list, !of_crew, GATE_SAY_DISTRUST_BY_CREW, job->job,
                      GATE_ARGS(.person = c->person->person, .job = job->job));
    }
}

// Rule (3, A sensor out of order; R27): A sensor that says live now is not out of order.
// [distrust-of-live]
static void require_no_live(struct gate_case *c, uint32_t point, uint32_t sensor) {
    const struct model_point *model = &c->site->model->points[point];
    gate_list_put(&c->list, !gate_says_live(c->site, sensor, c->now), GATE_SAY_SENSOR_LIVE,
                  c->request->sensor, GATE_ARGS(.point = model->point, .title = model->title));
}

static void decide(struct gate_case *c) {
    uint32_t sensor, point = gate_case_sensor(c, &sensor);
    if (point != MODEL_NONE) {
        require_outsider(c, point);
        if (sensor != MODEL_NONE) {
            require_no_live(c, point, sensor);
        }
    }
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact =
        gate_fact_of_point(c->gate, c->site, point, GATE_FACT_SENSOR_DISTRUSTED, c->now);
    fact.sensor = c->request->sensor;
    fact.reader_of = c->request->reader;
    fact.by = c->person->person;
    fact.reason = c->request->reason;
    fact.until = c->now.wall + (int64_t)(c->request->hours * 3600000);
    gate_emit(c->gate, &fact);
    if (sensor == MODEL_NONE) {
        gate_reader_doubted(c->gate, c->site, point, c->now);
    }
}

// Rule (5, last paragraph): Nothing is said to be out of order while the journal cannot write.
// [distrust-while-down]
const struct gate_verb_row gate_verb_distrust_sensor = {
    .name = "distrust-sensor",
    .about = "Says that a sensor, or the reader of a point, is out of order: two people who look "
             "speak for the point, and tags are hung there by request.",
    .fields = {GATE_MAY(sensor, ID), GATE_MAY(reader, ID), GATE_PLAIN(hours, HOURS, true),
               GATE_MUST(reason, REASON)},
    .one_of = {"sensor", "reader", "what is out of order"},
    .who = GATE_WHO_ROLE,
    .roles = MODEL_ROLE_SUPERVISOR,
    .permits = true,
    .present = true,
    .decide = decide,
};
