// Kinds of credentials and their levels: which of them hold another too. A procedure that asks for
// one takes each that includes it, which is worked out here once and not at each gate.
#include "config/people.h"

#include <string.h>

enum { CREDENTIAL, CREDENTIAL_TITLE, CREDENTIAL_INCLUDES };
static const struct config_field credential_fields[] = {
    [CREDENTIAL] = {"credential", CONFIG_ID, true, 0, 0, 0},
    [CREDENTIAL_TITLE] = {"title", CONFIG_SAID, false, 1, 200, 0},
    [CREDENTIAL_INCLUDES] = {"includes", CONFIG_ARRAY, false, 0, 100, 0},
};

static struct config_level *level_named(struct config *config, const char *id) {
    uint32_t index = config_names_find(&config->level_names, id);
    return index != MODEL_NONE ? &config->levels[index] : NULL;
}

static void read_includes(struct config_file *file, const struct json_node *array,
                          struct config_level *level) {
    static const struct config_field id = {"", CONFIG_ID, true, 0, 0, 0};
    struct config *config = file->config;
    level->includes = config_scratch(config, array->count, sizeof(*level->includes));
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    level->nodes = config_scratch(config, array->count, sizeof(*level->nodes));
    for (const struct json_node *node = json_first(&file->tape, array); node != NULL;
         node = json_next(&file->tape, array, node)) {
        struct config_value value;
        config_read_value(file, node, &id, &value);
        if (value.ok) {
            level->includes[level->include_count] = config_intern(config, value.id);
            level->nodes[level->include_count++] = node;
        }
    }
}

static void read_level(struct config_file *file, const struct json_node *node) {
    struct config *config = file->config;
    struct config_value values[CONFIG_COUNT(credential_fields)];
    if (!config_read(file, node, "a credential", credential_fields, CONFIG_COUNT(credential_fields),
                     values) ||
        !values[CREDENTIAL].ok) {
        config->levels_broken = true;
        return;
    }
    uint32_t index = (uint32_t)config->level_count;
    if (config_names_add(config, &config->level_names, values[CREDENTIAL].id, index) !=
        MODEL_NONE) {
        config_error(file, values[CREDENTIAL].node,
                     "the credential \"%s\" stands twice; ids are unique", values[CREDENTIAL].id);
        return;
    }
    struct config_level *level = &config->levels[config->level_count++];
    level->id = config_intern(config, values[CREDENTIAL].id);
    if (values[CREDENTIAL_INCLUDES].ok) {
        read_includes(file, values[CREDENTIAL_INCLUDES].node, level);
    }
}

// Whether a level is, or includes through others, what `id` names (interned). Each is looked at
// once a question, so that a circle ends.
static bool holds(struct config *config, struct config_level *level, const char *id,
                  unsigned question) {
    if (level->id == id) {
        return true;
    }
    if (level->mark == question) {
        return false;
    }
    level->mark = question;
    for (size_t i = 0; i < level->include_count; i++) {
        struct config_level *next = level_named(config, level->includes[i]);
        if (next != NULL && holds(config, next, id, question)) {
            return true;
        }
    }
    return false;
}

static void check_include(struct config_file *file, struct config_level *level, size_t i) {
    struct config *config = file->config;
    struct config_level *next = level_named(config, level->includes[i]);
    if (next == NULL) {
        config_credential_known(file, level->nodes[i], level->includes[i]);
    } else if (holds(config, next, level->id, ++config->questions)) {
        config_error(file, level->nodes[i],
                     "\"%s\" includes \"%s\" already, so each would hold the other: a higher level "
                     "includes a lower one, never the other way too",
                     next->id, level->id);
    }
}

void config_credentials_load(struct config_file *file) {
    static const struct config_field fields[] = {{"credentials", CONFIG_ARRAY, true, 1, 10000, 0}};
    struct config *config = file->config;
    struct config_value value;
    if (!config_read(file, json_root(&file->tape), "the file of credentials", fields, 1, &value) ||
        !value.ok) {
        config->levels_broken = true;
        return;
    }
    config->levels = config_scratch(config, value.node->count, sizeof(*config->levels));
    for (const struct json_node *node = json_first(&file->tape, value.node); node != NULL;
         node = json_next(&file->tape, value.node, node)) {
        read_level(file, node);
    }
    for (size_t i = 0; i < config->level_count; i++) {
        for (size_t k = 0; k < config->levels[i].include_count; k++) {
            check_include(file, &config->levels[i], k);
        }
    }
}

void config_credential_known(struct config_file *file, const struct json_node *node,
                             const char *id) {
    struct config *config = file->config;
    const char *names[64];
    char hint[80];
    size_t count = 0;
    if (config->levels == NULL || config->levels_broken || level_named(config, id) != NULL) {
        return;
    }
    for (; count < config->level_count && count < CONFIG_COUNT(names); count++) {
        names[count] = config->levels[count].id;
    }
    config_error(file, node, "the file of credentials has no \"%s\"%s", id,
                 config_hint(id, names, count, hint, sizeof(hint)));
}

const char **config_credentials_expand(struct config *config, const char *const *ids,
                                       size_t *count) {
    size_t named = *count;
    const char **all = config_scratch(config, named + config->level_count, sizeof(*all));
    for (size_t i = 0; i < named; i++) {
        all[i] = config_intern(config, ids[i]);
    }
    for (size_t k = 0; k < config->level_count; k++) {
        bool listed = false, higher = false;
        for (size_t i = 0; i < named; i++) {
            listed = listed || all[i] == config->levels[k].id;
            higher = higher || holds(config, &config->levels[k], all[i], ++config->questions);
        }
        if (higher && !listed) {
            all[(*count)++] = config->levels[k].id;
        }
    }
    return all;
}
