// The run's memory: for the model, for the run alone, for the file being read. Lack of it ends the
// run.
#include "config/run.h"

#include <string.h>

// The only jump of this folder: allocations are everywhere in it, all of them hang on the run, and
// a configuration that was read in part is worth nothing.
_Noreturn void config_no_memory(struct config *config) {
    longjmp(config->no_memory, 1);
}

void *config_alloc(struct config *config, size_t count, size_t size) {
    void *memory = model_array(config->model, count, size);
    if (memory == NULL) {
        config_no_memory(config);
    }
    return memory;
}

void *config_scratch(struct config *config, size_t count, size_t size) {
    void *memory = model_array(config->scratch, count, size);
    if (memory == NULL) {
        config_no_memory(config);
    }
    return memory;
}

void *config_brief(struct config *config, size_t count, size_t size) {
    if (config->brief == NULL) {
        config->brief = model_new();
    }
    void *memory = config->brief != NULL ? model_array(config->brief, count, size) : NULL;
    if (memory == NULL) {
        config_no_memory(config);
    }
    return memory;
}

void config_array_room(struct config *config, config_allocate *allocate, void *items, size_t count,
                       size_t *capacity, size_t size) {
    void *old, *grown;
    if (count < *capacity) {
        return;
    }
    *capacity = *capacity > 0 ? 2 * *capacity : 16;
    grown = allocate(config, *capacity, size);
    memcpy(&old, items, sizeof(old)); // a pointer to whatever the items are
    if (count > 0) {
        memcpy(grown, old, count * size);
    }
    memcpy(items, &grown, sizeof(grown));
}
