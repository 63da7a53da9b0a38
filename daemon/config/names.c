// Sets of names, to find one that stands twice and to refer from one file to another; and interned
// texts, since a thousand sites say "electrical".
#include "config/run.h"

#include <string.h>

static size_t names_hash(const char *text) {
    uint64_t hash = 14695981039346656037u; // FNV-1a
    for (; *text != '\0'; text++) {
        hash = (hash ^ (unsigned char)*text) * 1099511628211u;
    }
    return (size_t)(hash ^ (hash >> 32));
}

static struct config_name *names_slot(struct config_name *slots, size_t size, const char *text) {
    size_t at = names_hash(text) & (size - 1);
    while (slots[at].text != NULL && strcmp(slots[at].text, text) != 0) {
        at = (at + 1) & (size - 1);
    }
    return &slots[at];
}

static void names_grow(struct config *config, struct config_names *names) {
    size_t size = names->size > 0 ? names->size * 2 : 16;
    struct config_name *slots = names->brief ? config_brief(config, size, sizeof(*slots))
                                             : config_scratch(config, size, sizeof(*slots));
    for (size_t i = 0; i < names->size; i++) {
        if (names->slots[i].text != NULL) {
            *names_slot(slots, size, names->slots[i].text) = names->slots[i];
        }
    }
    names->slots = slots;
    names->size = size;
}

// The slot of a name, with room made for it.
static struct config_name *names_room(struct config *config, struct config_names *names,
                                      const char *text) {
    if (names->count + 1 > names->size / 2) {
        names_grow(config, names);
    }
    return names_slot(names->slots, names->size, text);
}

uint32_t config_names_add(struct config *config, struct config_names *names, const char *text,
                          uint32_t value) {
    struct config_name *slot = names_room(config, names, text);
    if (slot->text != NULL) {
        return slot->value;
    }
    size_t length = strlen(text) + 1;
    char *copy = names->brief ? config_brief(config, length, 1) : config_scratch(config, length, 1);
    memcpy(copy, text, length);
    slot->text = copy;
    slot->value = value;
    names->count++;
    return MODEL_NONE;
}

uint32_t config_names_find(const struct config_names *names, const char *text) {
    if (names->size == 0) {
        return MODEL_NONE;
    }
    const struct config_name *slot = names_slot(names->slots, names->size, text);
    return slot->text != NULL ? slot->value : MODEL_NONE;
}

const char *config_intern(struct config *config, const char *text) {
    struct config_name *slot = names_room(config, &config->texts, text);
    if (slot->text == NULL) {
        slot->text = model_text(config->model, text, strlen(text));
        if (slot->text == NULL) {
            config_no_memory(config);
        }
        config->texts.count++;
    }
    return slot->text;
}
