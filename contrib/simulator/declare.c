// Declarations: `breaker ID starts live every 5s with at,seq`, and the like. What a device starts
// as has to be said: there is no default for a state.
#include "simulator/declare.h"

#include <stdio.h>
#include <string.h>

#define SENSOR_ARGUMENTS                                                                           \
    "ID starts isolated|live [every DURATION] [on CONTROLLER] [with at,seq,quality]"

const struct sim_declaration sim_declarations[] = {
    {"controller", "ID starts online|offline [every DURATION]", SIM_CONTROLLER, "online",
     "offline"},
    {"breaker", SENSOR_ARGUMENTS, SIM_SENSOR, "isolated", "live"},
    {"valve", SENSOR_ARGUMENTS, SIM_SENSOR, "isolated", "live"},
    {"reader", "ID [on CONTROLLER] [with at,seq]", SIM_READER, NULL, NULL},
};
const size_t sim_declaration_count = sizeof sim_declarations / sizeof sim_declarations[0];

const struct sim_declaration *sim_declaration_find(const char *name) {
    for (size_t i = 0; i < sim_declaration_count; i++) {
        if (strcmp(sim_declarations[i].name, name) == 0) {
            return &sim_declarations[i];
        }
    }
    return NULL;
}

// What one declaration has said so far.
struct reading {
    struct sim_world *world;
    const struct sim_declaration *declaration;
    struct sim_device device;
    bool starts, every, on, with;
    struct sim_note *note;
};

static bool read_starts(struct reading *reading, const char *word) {
    const struct sim_declaration *d = reading->declaration;
    reading->device.on = strcmp(word, d->on_word) == 0;
    if (!reading->device.on && strcmp(word, d->off_word) != 0) {
        return sim_fail(reading->note, "\"%.40s\" is neither %s nor %s", word, d->on_word,
                        d->off_word);
    }
    return true;
}

static bool read_every(struct reading *reading, const char *word) {
    if (!sim_read_duration(word, false, &reading->device.period, reading->note)) {
        return false;
    }
    if (reading->device.period < 10) {
        return sim_fail(reading->note,
                        "a device repeats itself every 10ms at most, not every %.40s", word);
    }
    return true;
}

static bool read_on(struct reading *reading, const char *word) {
    reading->device.controller = sim_world_find(reading->world, SIM_CONTROLLER, word);
    return reading->device.controller >= 0 ||
           sim_fail(reading->note, "no controller \"%.64s\" is declared above", word);
}

static bool read_with(struct reading *reading, const char *word) {
    struct sim_device *device = &reading->device;
    for (const char *at = word; *at != '\0';) {
        size_t length = strcspn(at, ",");
        if (length == 2 && strncmp(at, "at", 2) == 0) {
            device->with_at = true;
        } else if (length == 3 && strncmp(at, "seq", 3) == 0) {
            device->with_seq = true;
        } else if (device->kind == SIM_SENSOR && length == 7 && strncmp(at, "quality", 7) == 0) {
            device->with_quality = true;
        } else {
            return sim_fail(reading->note, "a %s sends no \"%.*s\"", reading->declaration->name,
                            (int)length, at);
        }
        at += length;
        if (*at == ',' && *++at == '\0') {
            return sim_fail(reading->note, "\"%.40s\" ends with a comma", word);
        }
    }
    return true;
}

// Reads one `word value` pair of a declaration.
static bool read_pair(struct reading *reading, const char *word, const char *value) {
    const struct {
        const char *name;
        bool allowed;
        bool *seen;
        bool (*read)(struct reading *reading, const char *value);
    } pairs[] = {
        {"starts", reading->declaration->on_word != NULL, &reading->starts, read_starts},
        {"every", reading->declaration->on_word != NULL, &reading->every, read_every},
        {"on", reading->device.kind != SIM_CONTROLLER, &reading->on, read_on},
        {"with", reading->device.kind != SIM_CONTROLLER, &reading->with, read_with},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof pairs[0]; i++) {
        if (!pairs[i].allowed || strcmp(pairs[i].name, word) != 0) {
            continue;
        }
        if (*pairs[i].seen) {
            return sim_fail(reading->note, "\"%s\" is said twice", word);
        }
        if (value == NULL) {
            return sim_fail(reading->note, "\"%s\" has nothing behind it", word);
        }
        *pairs[i].seen = true;
        return pairs[i].read(reading, value);
    }
    return sim_fail(reading->note, "a %s has no \"%.40s\"; it is: %s %s",
                    reading->declaration->name, word, reading->declaration->name,
                    reading->declaration->arguments);
}

bool sim_declare(struct sim_world *world, const struct sim_declaration *declaration,
                 const struct sim_words *words, struct sim_note *note) {
    struct reading reading = {.world = world, .declaration = declaration, .note = note};
    struct sim_device *device = &reading.device;
    device->kind = declaration->kind;
    device->controller = -1;
    device->seq = 1;
    if (words->count < 2 || !sim_is_id(words->word[1])) {
        return sim_fail(note,
                        "a %s needs an id: a letter or digit, then up to 63 of A-Z a-z 0-9 . _ -",
                        declaration->name);
    }
    snprintf(device->id, sizeof device->id, "%s", words->word[1]);
    for (size_t i = 2; i < words->count; i += 2) {
        if (!read_pair(&reading, words->word[i],
                       i + 1 < words->count ? words->word[i + 1] : NULL)) {
            return false;
        }
    }
    if (declaration->on_word != NULL && !reading.starts) {
        return sim_fail(note, "say what it starts as: starts %s, or starts %s",
                        declaration->on_word, declaration->off_word);
    }
    device->due = device->kind == SIM_READER ? INT64_MAX : 0;
    return sim_world_add(world, device, note) &&
           sim_done(note, "%s %s is there", declaration->name, device->id);
}
