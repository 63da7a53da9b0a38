// Verbs: what each step of a scenario does to the world, in one table. The arguments are written as
// the usage that a person reads, and that is also the pattern that a line is read by.
#include "simulator/verb.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static bool run_set(struct sim_world *world, const struct sim_step *step, struct base_time now,
                    struct sim_note *note) {
    sim_device_set(world, step->device, step->on, now);
    return sim_done(note, "%s", step->line);
}

static bool run_online(struct sim_world *world, const struct sim_step *step, struct base_time now,
                       struct sim_note *note) {
    sim_device_set(world, step->device, true, now);
    return sim_done(note, "%s", step->line);
}

static bool run_offline(struct sim_world *world, const struct sim_step *step, struct base_time now,
                        struct sim_note *note) {
    sim_device_set(world, step->device, false, now);
    return sim_done(note, "%s", step->line);
}

static bool run_hang(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    sim_reader_tell(world, step->device, true, step->text, now);
    return sim_done(note, "%s", step->line);
}

static bool run_lift(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    sim_reader_tell(world, step->device, false, step->text, now);
    return sim_done(note, "%s", step->line);
}

static bool run_tell(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    if (world->devices[step->device].kind == SIM_READER) {
        return sim_fail(note, "a reader has no state to tell: hang or lift a tag");
    }
    sim_device_tell(world, step->device, now);
    return sim_done(note, "%s", step->line);
}

// A word that is not the state of the device, once.
static bool run_lie(struct sim_world *world, const struct sim_step *step, struct base_time now,
                    struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    bool truth = device->on;
    device->on = step->on;
    sim_device_tell(world, step->device, now);
    device->on = truth;
    return sim_done(note, "%s", step->line);
}

static bool run_silence(struct sim_world *world, const struct sim_step *step, struct base_time now,
                        struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    device->silent = true;
    device->silent_until = step->duration > 0 ? now.mono_ms + step->duration : 0;
    return sim_done(note, "%s", step->line);
}

static bool run_speak(struct sim_world *world, const struct sim_step *step, struct base_time now,
                      struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    device->silent = false;
    device->due = device->kind == SIM_READER ? INT64_MAX : now.mono_ms;
    return sim_done(note, "%s", step->line);
}

static bool run_flap(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    device->flips = step->count;
    device->flip_every = step->duration;
    device->flip_due = now.mono_ms;
    return sim_done(note, "%s", step->line);
}

static bool run_repeat(struct sim_world *world, const struct sim_step *step, struct base_time now,
                       struct sim_note *note) {
    (void)now;
    return sim_device_repeat(world, step->device, step->count)
               ? sim_done(note, "%s", step->line)
               : sim_fail(note, "%s has said nothing yet that could be repeated",
                          world->devices[step->device].id);
}

static bool run_hold(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    (void)now;
    return sim_device_hold(world, step->device) ? sim_done(note, "%s", step->line)
                                                : sim_fail(note, "no memory to hold messages in");
}

static bool run_release(struct sim_world *world, const struct sim_step *step, struct base_time now,
                        struct sim_note *note) {
    (void)now;
    if (!world->devices[step->device].holding) {
        return sim_fail(note, "%s holds nothing back", world->devices[step->device].id);
    }
    size_t sent = sim_device_release(world, step->device, (enum sim_order)step->count);
    return sim_done(note, "%s (%zu sent)", step->line, sent);
}

static bool run_quality(struct sim_world *world, const struct sim_step *step, struct base_time now,
                        struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    bool good = strcmp(step->text, "good") == 0;
    snprintf(device->quality, sizeof device->quality, "%.64s", good ? "" : step->text);
    sim_device_tell(world, step->device, now);
    return sim_done(note, "%s", step->line);
}

static bool run_value(struct sim_world *world, const struct sim_step *step, struct base_time now,
                      struct sim_note *note) {
    struct sim_device *device = &world->devices[step->device];
    snprintf(device->value, sizeof device->value, "%.64s", step->text);
    sim_device_tell(world, step->device, now);
    return sim_done(note, "%s", step->line);
}

static bool run_raw(struct sim_world *world, const struct sim_step *step, struct base_time now,
                    struct sim_note *note) {
    (void)now;
    sim_device_send(world, step->device, step->text, strlen(step->text));
    return sim_done(note, "%s", step->line);
}

static bool run_garbage(struct sim_world *world, const struct sim_step *step, struct base_time now,
                        struct sim_note *note) {
    (void)now;
    sim_device_garbage(world, step->device, step->count);
    return sim_done(note, "%s", step->line);
}

static bool run_skew(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    (void)now;
    world->devices[step->device].skew = step->duration;
    return sim_done(note, "%s", step->line);
}

static bool run_seq(struct sim_world *world, const struct sim_step *step, struct base_time now,
                    struct sim_note *note) {
    (void)now;
    world->devices[step->device].seq = step->count;
    return sim_done(note, "%s", step->line);
}

static bool run_lose(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    (void)now;
    world->devices[step->device].loss = step->count;
    return sim_done(note, "%s", step->line);
}

static bool run_retain(struct sim_world *world, const struct sim_step *step, struct base_time now,
                       struct sim_note *note) {
    (void)now;
    world->devices[step->device].retain = step->on;
    return sim_done(note, "%s", step->line);
}

static bool run_clear(struct sim_world *world, const struct sim_step *step, struct base_time now,
                      struct sim_note *note) {
    (void)now;
    sim_device_clear(world, step->device);
    return sim_done(note, "%s", step->line);
}

static bool run_show(struct sim_world *world, const struct sim_step *step, struct base_time now,
                     struct sim_note *note) {
    (void)now;
    const struct sim_device *device = &world->devices[step->device];
    const char *states[SIM_KIND_COUNT][2] = {
        {"live", "isolated"}, {"reader", "reader"}, {"offline", "online"}};
    return sim_done(note, "%s %s next-seq %" PRId64 "%s%s", device->id,
                    states[device->kind][device->on], device->seq, device->silent ? " silent" : "",
                    device->holding ? " holding" : "");
}

const struct sim_verb sim_verbs[] = {
    {"set", "SENSOR isolated|live", SIM_RUN, run_set},
    {"online", "CONTROLLER", SIM_RUN, run_online},
    {"offline", "CONTROLLER", SIM_RUN, run_offline},
    {"hang", "READER PERSON", SIM_RUN, run_hang},
    {"lift", "READER PERSON", SIM_RUN, run_lift},
    {"tell", "DEVICE", SIM_RUN, run_tell},
    {"lie", "SENSOR isolated|live", SIM_RUN, run_lie},
    {"silence", "DEVICE [ for DURATION ]", SIM_RUN, run_silence},
    {"speak", "DEVICE", SIM_RUN, run_speak},
    {"flap", "SENSOR COUNT every DURATION", SIM_RUN, run_flap},
    {"repeat", "DEVICE COUNT", SIM_RUN, run_repeat},
    {"hold", "DEVICE", SIM_RUN, run_hold},
    {"release", "DEVICE forward|reverse|shuffled", SIM_RUN, run_release},
    {"quality", "SENSOR WORD", SIM_RUN, run_quality},
    {"value", "SENSOR WORD", SIM_RUN, run_value},
    {"raw", "DEVICE BYTES", SIM_RUN, run_raw},
    {"garbage", "DEVICE COUNT", SIM_RUN, run_garbage},
    {"skew", "DEVICE +/-DURATION", SIM_RUN, run_skew},
    {"seq", "DEVICE COUNT", SIM_RUN, run_seq},
    {"lose", "DEVICE PERCENT", SIM_RUN, run_lose},
    {"retain", "DEVICE on|off", SIM_RUN, run_retain},
    {"clear", "DEVICE", SIM_RUN, run_clear},
    {"show", "DEVICE", SIM_RUN, run_show},
    {"wait", "DURATION", SIM_WAIT, NULL},
    {"after", "DURATION STEP", SIM_AFTER, NULL},
    {"end", "", SIM_END, NULL},
};
const size_t sim_verb_count = sizeof sim_verbs / sizeof sim_verbs[0];

const struct sim_verb *sim_verb_find(const char *name) {
    for (size_t i = 0; i < sim_verb_count; i++) {
        if (strcmp(sim_verbs[i].name, name) == 0) {
            return &sim_verbs[i];
        }
    }
    return NULL;
}
