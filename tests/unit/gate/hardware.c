// The forecourt whose hardware measures: how it is laid out, and what it says.
#include "hardware.h"

#include <string.h>

static uint32_t on_3[] = {P3A, P3B}, on_3a[] = {P3A}, on_3b[] = {P3B};

struct model_check *hardware_check(struct hardware *h, const char *id) {
    return model_check_named(&h->copy.procedures[1], id);
}

void hardware_lay_out(struct hardware *h) {
    world_copy(&h->copy);
    h->measures[M_PSI] = (struct model_measure){
        "3-psi", "line-pressure", "psi", "Line 3", NULL, on_3, 2, MODEL_NONE, 30000, false};
    h->measures[M_VOLTS] = (struct model_measure){"3A-volts", "voltage", "A", "Head 3A", NULL,
                                                  on_3a,      1,         0,   30000,     false};
    h->measures[M_PSI_B] = (struct model_measure){
        "3B-psi", "line-pressure", "psi", "Line 3B", NULL, on_3b, 1, MODEL_NONE, 30000, false};
    h->copy.site.measures = h->measures;
    h->copy.site.measure_count = MEASURES;
    struct model_check *drained = hardware_check(h, "drained");
    drained->unit = "psi";
    drained->limits = (struct model_limits){.has_max = true, .max = 2};
    drained->measure = "line-pressure";
    hardware_check(h, "no-voltage")->unit = "A";
    hardware_check(h, "no-voltage")->measure = "voltage";
}

void hardware_come_up(struct hardware *h) {
    h->world = world_new_of(&h->copy.model);
}

struct hardware *hardware_new(void) {
    static struct hardware h;
    memset(&h, 0, sizeof h);
    hardware_lay_out(&h);
    hardware_come_up(&h);
    return &h;
}

enum gate_heard hardware_hear(struct hardware *h, enum measure measure, double value) {
    struct gate_measure_reading reading = {.value = value};
    return gate_hear_measure(h->world->gate, 0, measure, &reading, h->world->now);
}

void hardware_steady(struct hardware *h, enum measure measure, double value, int64_t ms) {
    for (int64_t gone = 0; gone < ms; gone += 1000) {
        world_pass_heard(h->world, 1000);
        hardware_hear(h, measure, value);
    }
}

const struct gate_signature *hardware_signed(struct hardware *h, const char *check) {
    return gate_signature_of(world_job(h->world, "j-1"), check);
}

bool hardware_passed(struct hardware *h, const char *check) {
    const struct gate_signature *s = hardware_signed(h, check);
    return s != NULL && s->pass && !s->void_;
}

void hardware_to_working(struct hardware *h) {
    world_to_tagged(h->world, "j-1");
    hardware_hear(h, M_PSI, 0.5);
    world_pass(h->world, 10);
    hardware_hear(h, M_VOLTS, 0.25);
    assert_true(world_sign(h->world, "t-1", "j-1", "no-flow"));
    assert_accepted(h->world, world_verb(h->world, GATE_VERB_START_WORK, "t-1", "j-1"));
    world_forget(h->world);
}
