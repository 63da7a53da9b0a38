// The world: the hardware of one site as the simulator plays it, with its faults.
//
// No I/O and no clock: time comes in with each call and messages leave through an output, so a test
// can set the one and read the other. Not thread safe.
#pragma once

#include "base/clock.h"
#include "simulator/words.h"

#define SIM_PAYLOAD_SIZE SIM_LINE_SIZE
#define SIM_TOPIC_SIZE (3 * SIM_ID_SIZE + 16)
#define SIM_HELD_MAX 64

// Of a struct base_time that a call is given, mono_ms counts every period and wall_ms is what
// devices put into `at`.

struct sim_message {
    const char *topic;
    const char *payload;
    size_t length;
    bool retain;
};

// Where messages leave. `send` is false if the message could not be handed over.
struct sim_output {
    void *context;
    bool (*send)(void *context, const struct sim_message *message);
};

enum sim_kind {
    SIM_SENSOR,     // of a breaker or a valve
    SIM_READER,     // of tags, at a point
    SIM_CONTROLLER, // carries sensors
    SIM_KIND_COUNT,
};

struct sim_payload {
    char bytes[SIM_PAYLOAD_SIZE];
    size_t length;
};

struct sim_device {
    enum sim_kind kind;
    char id[SIM_ID_SIZE];
    ptrdiff_t controller; // index of the one that carries this sensor, -1: none
    int64_t period;       // [ms] of its repetitions, 0: speaks only when something changes
    bool with_at, with_seq, with_quality;
    bool on;                   // sensor: isolated; controller: online
    char value[SIM_ID_SIZE];   // a wrong word instead of the state, "": none
    char quality[SIM_ID_SIZE]; // "": good
    int64_t skew;              // [ms] its clock is ahead
    int64_t seq;               // of its next message
    bool silent, retain;
    int64_t silent_until; // [mono ms], 0: until told to speak
    int64_t loss;         // [%] of its messages that get lost on the way
    int64_t flips, flip_every, flip_due;
    int64_t due; // [mono ms] of the next repetition
    bool holding;
    struct sim_payload *held; // SIM_HELD_MAX of them, or NULL
    size_t held_count;
    struct sim_payload last;
};

struct sim_world {
    char root[SIM_ID_SIZE];
    char site[SIM_ID_SIZE];
    struct sim_output output;
    struct sim_device *devices;
    size_t count, capacity;
    uint64_t random;
    size_t unsent; // messages that the output did not take
};

// An empty world; the seed makes its random faults the same each time.
void sim_world_init(struct sim_world *world, const char *root, const char *site, uint64_t seed,
                    struct sim_output output);
void sim_world_free(struct sim_world *world);

// Adds a device (copied). False when its kind and id exist already, or without memory.
bool sim_world_add(struct sim_world *world, const struct sim_device *device, struct sim_note *note);

// Finds a device; -1: none.
ptrdiff_t sim_world_find(const struct sim_world *world, enum sim_kind kind, const char *id);

// The word for a kind: sensor, reader, controller.
const char *sim_kind_name(enum sim_kind kind);

// Sends what is due: repetitions, flapping, the end of a silence.
void sim_world_tick(struct sim_world *world, struct base_time now);

// When sim_world_tick is next wanted [mono ms]; INT64_MAX: never.
int64_t sim_world_due(const struct sim_world *world);

// Sets a sensor's state or a controller's word and tells it at once; a controller that comes online
// makes its sensors tell theirs at the next tick.
void sim_device_set(struct sim_world *world, size_t index, bool on, struct base_time now);

// Tells the present state once more (a new message, with its own `at` and `seq`).
void sim_device_tell(struct sim_world *world, size_t index, struct base_time now);

// A reader's event for one person.
void sim_reader_tell(struct sim_world *world, size_t index, bool hung, const char *person,
                     struct base_time now);

// Sends these bytes as the device's message, whatever they are.
void sim_device_send(struct sim_world *world, size_t index, const char *bytes, size_t length);

// Sends the last message `count` times more, byte for byte. False if there is none.
bool sim_device_repeat(struct sim_world *world, size_t index, int64_t count);

// Sends `count` messages of random bytes.
void sim_device_garbage(struct sim_world *world, size_t index, int64_t count);

// Empties the device's retained topic at the broker.
void sim_device_clear(struct sim_world *world, size_t index);

enum sim_order { SIM_FORWARD, SIM_REVERSE, SIM_SHUFFLED };

// Keeps the device's messages back from now on. False without memory.
bool sim_device_hold(struct sim_world *world, size_t index);
// Sends what was kept back, in this order, and ends the holding. Returns how many it sent.
size_t sim_device_release(struct sim_world *world, size_t index, enum sim_order order);
