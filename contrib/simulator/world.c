// The world: devices that repeat themselves, and the ways in which real ones go wrong.
//
// Everything a device says passes one door (deliver): there a silence, a dead controller, a loss or
// a holding back takes hold of it, so every fault works on every message.
#include "simulator/world.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "simulator/message.h"

#define GARBAGE_MAX 48

void sim_world_init(struct sim_world *world, const char *root, const char *site, uint64_t seed,
                    struct sim_output output) {
    *world = (struct sim_world){.output = output, .random = seed};
    snprintf(world->root, sizeof world->root, "%s", root);
    snprintf(world->site, sizeof world->site, "%s", site);
}

void sim_world_free(struct sim_world *world) {
    for (size_t i = 0; i < world->count; i++) {
        free(world->devices[i].held);
    }
    free(world->devices);
    *world = (struct sim_world){0};
}

const char *sim_kind_name(enum sim_kind kind) {
    static const char *const names[SIM_KIND_COUNT] = {
        [SIM_SENSOR] = "sensor", [SIM_READER] = "reader", [SIM_CONTROLLER] = "controller"};
    return names[kind];
}

ptrdiff_t sim_world_find(const struct sim_world *world, enum sim_kind kind, const char *id) {
    for (size_t i = 0; i < world->count; i++) {
        if (world->devices[i].kind == kind && strcmp(world->devices[i].id, id) == 0) {
            return (ptrdiff_t)i;
        }
    }
    return -1;
}

bool sim_world_add(struct sim_world *world, const struct sim_device *device,
                   struct sim_note *note) {
    if (sim_world_find(world, device->kind, device->id) >= 0) {
        return sim_fail(note, "the %s \"%s\" is declared twice", sim_kind_name(device->kind),
                        device->id);
    }
    if (!BASE_ARRAY_ROOM(world->devices, world->count, world->capacity)) {
        return sim_fail(note, "no memory for another device");
    }
    world->devices[world->count++] = *device;
    return true;
}

// The next of a reproducible sequence (splitmix64).
static uint64_t next_random(struct sim_world *world) {
    world->random += UINT64_C(0x9E3779B97F4A7C15);
    uint64_t z = world->random;
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static void send_now(struct sim_world *world, const struct sim_device *device,
                     const struct sim_payload *payload, bool retain) {
    char topic[SIM_TOPIC_SIZE];
    sim_message_topic(world, device, topic);
    struct sim_message message = {topic, payload->bytes, payload->length, retain};
    if (!world->output.send(world->output.context, &message)) {
        world->unsent++;
    }
}

static bool is_cut_off(const struct sim_world *world, const struct sim_device *device) {
    return device->silent || (device->controller >= 0 && !world->devices[device->controller].on);
}

// The one door through which a device speaks. A device that holds back more than SIM_HELD_MAX
// messages loses the newest, as a full memory does.
static void deliver(struct sim_world *world, struct sim_device *device) {
    if (device->loss > 0 && (int64_t)(next_random(world) % 100) < device->loss) {
        return;
    }
    if (!device->holding) {
        send_now(world, device, &device->last, device->retain);
    } else if (device->held_count < SIM_HELD_MAX) {
        device->held[device->held_count++] = device->last;
    }
}

void sim_device_tell(struct sim_world *world, size_t index, struct base_time now) {
    struct sim_device *device = &world->devices[index];
    if (is_cut_off(world, device)) {
        return;
    }
    if (device->kind == SIM_CONTROLLER) {
        sim_message_controller(device, &device->last);
    } else {
        sim_message_signal(device, now, &device->last);
    }
    device->seq++;
    device->due = device->period > 0 ? now.mono_ms + device->period : INT64_MAX;
    deliver(world, device);
}

void sim_reader_tell(struct sim_world *world, size_t index, bool hung, const char *person,
                     struct base_time now) {
    struct sim_device *reader = &world->devices[index];
    if (is_cut_off(world, reader)) {
        return;
    }
    sim_message_tagging(reader, hung, person, now, &reader->last);
    reader->seq++;
    deliver(world, reader);
}

void sim_device_set(struct sim_world *world, size_t index, bool on, struct base_time now) {
    struct sim_device *device = &world->devices[index];
    bool came_online = device->kind == SIM_CONTROLLER && on && !device->on;
    device->on = on;
    device->value[0] = '\0';
    device->flips = 0;
    sim_device_tell(world, index, now);
    for (size_t i = 0; came_online && i < world->count; i++) {
        if (world->devices[i].controller == (ptrdiff_t)index) {
            world->devices[i].due = now.mono_ms;
        }
    }
}

void sim_device_send(struct sim_world *world, size_t index, const char *bytes, size_t length) {
    struct sim_device *device = &world->devices[index];
    if (is_cut_off(world, device)) {
        return;
    }
    device->last.length = length < SIM_PAYLOAD_SIZE ? length : SIM_PAYLOAD_SIZE;
    memcpy(device->last.bytes, bytes, device->last.length);
    deliver(world, device);
}

bool sim_device_repeat(struct sim_world *world, size_t index, int64_t count) {
    struct sim_device *device = &world->devices[index];
    if (device->last.length == 0) {
        return false;
    }
    for (int64_t i = 0; i < count && !is_cut_off(world, device); i++) {
        deliver(world, device);
    }
    return true;
}

void sim_device_garbage(struct sim_world *world, size_t index, int64_t count) {
    for (int64_t i = 0; i < count; i++) {
        char bytes[GARBAGE_MAX];
        size_t length = 1 + next_random(world) % GARBAGE_MAX;
        for (size_t k = 0; k < length; k++) {
            bytes[k] = (char)(next_random(world) & 0xff);
        }
        sim_device_send(world, index, bytes, length);
    }
}

void sim_device_clear(struct sim_world *world, size_t index) {
    struct sim_payload nothing = {.length = 0};
    send_now(world, &world->devices[index], &nothing, true);
}

bool sim_device_hold(struct sim_world *world, size_t index) {
    struct sim_device *device = &world->devices[index];
    if (device->held == NULL) {
        device->held = calloc(SIM_HELD_MAX, sizeof *device->held);
        device->held_count = 0;
    }
    device->holding = device->held != NULL;
    return device->holding;
}

static void shuffle(struct sim_world *world, struct sim_payload *items, size_t count) {
    for (size_t i = count; i > 1; i--) {
        size_t other = next_random(world) % i;
        struct sim_payload swap = items[i - 1];
        items[i - 1] = items[other];
        items[other] = swap;
    }
}

size_t sim_device_release(struct sim_world *world, size_t index, enum sim_order order) {
    struct sim_device *device = &world->devices[index];
    size_t count = device->held_count;
    if (order == SIM_SHUFFLED) {
        shuffle(world, device->held, count);
    }
    for (size_t i = 0; i < count; i++) {
        size_t at = order == SIM_REVERSE ? count - 1 - i : i;
        send_now(world, device, &device->held[at], device->retain);
    }
    device->held_count = 0;
    device->holding = false;
    return count;
}

static void tick_device(struct sim_world *world, size_t index, struct base_time now) {
    struct sim_device *device = &world->devices[index];
    if (device->silent && device->silent_until > 0 && device->silent_until <= now.mono_ms) {
        device->silent = false;
        device->due = device->kind == SIM_READER ? INT64_MAX : now.mono_ms;
    }
    if (device->flips > 0 && device->flip_due <= now.mono_ms) {
        device->flips--;
        device->flip_due = now.mono_ms + device->flip_every;
        device->on = !device->on;
        device->due = now.mono_ms;
    }
    if (device->due > now.mono_ms) {
        return;
    }
    bool dead = device->kind == SIM_CONTROLLER && !device->on && device->last.length > 0;
    if (dead || is_cut_off(world, device)) {
        device->due = device->period > 0 ? now.mono_ms + device->period : INT64_MAX;
    } else {
        sim_device_tell(world, index, now);
    }
}

// Controllers speak before the sensors that they carry.
void sim_world_tick(struct sim_world *world, struct base_time now) {
    static const enum sim_kind order[] = {SIM_CONTROLLER, SIM_SENSOR, SIM_READER};
    for (size_t k = 0; k < sizeof order / sizeof order[0]; k++) {
        for (size_t i = 0; i < world->count; i++) {
            if (world->devices[i].kind == order[k]) {
                tick_device(world, i, now);
            }
        }
    }
}

static int64_t earlier(int64_t a, int64_t b) {
    return a < b ? a : b;
}

int64_t sim_world_due(const struct sim_world *world) {
    int64_t due = INT64_MAX;
    for (size_t i = 0; i < world->count; i++) {
        const struct sim_device *device = &world->devices[i];
        due = earlier(due, device->due);
        if (device->flips > 0) {
            due = earlier(due, device->flip_due);
        }
        if (device->silent && device->silent_until > 0) {
            due = earlier(due, device->silent_until);
        }
    }
    return due;
}
