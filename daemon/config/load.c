// One load from start to end: what the run owns, and how it ends when memory runs out.
#include "config/config.h"

#include "base/array.h"
#include "base/clock.h"
#include "config/file.h"
#include "config/root.h"

#include <stdlib.h>
#include <string.h>

// The one entry that must not fail for want of memory is written only if it can be.
static void report_no_memory(struct config_report *report, const char *path) {
    report->error_count++;
    struct config_entry entry = {
        .order = UINT32_MAX, .line = 1, .column = 1, .file = strdup(path), .pointer = strdup("")};
    entry.text = strdup("out of memory while reading the configuration");
    bool room = BASE_ARRAY_ROOM(report->entries, report->count, report->capacity);
    if (!room || entry.file == NULL || entry.pointer == NULL || entry.text == NULL) {
        free(entry.file);
        free(entry.pointer);
        free(entry.text);
        return;
    }
    report->entries[report->count++] = entry;
}

// An entry cut short by the lack of memory may have null texts: it is dropped.
static void report_drop_partial(struct config_report *report) {
    size_t kept = 0;
    for (size_t i = 0; i < report->count; i++) {
        struct config_entry *entry = &report->entries[i];
        if (entry->file == NULL || entry->pointer == NULL || entry->text == NULL) {
            free(entry->file);
            free(entry->pointer);
            free(entry->text);
        } else {
            report->entries[kept++] = *entry;
        }
    }
    report->count = kept;
}

typedef void (*config_reader)(struct config *config, const char *path);

static struct model *run(struct config *config, const char *path, config_reader reader) {
    if (setjmp(config->no_memory) == 0) {
        reader(config, path);
    } else {
        report_drop_partial(config->report);
        report_no_memory(config->report, path);
    }
    config_report_sort(config->report);
    while (config->open != NULL) {
        config_close(config->open);
    }
    globfree(&config->found);
    model_free(config->brief);
    model_free(config->scratch);
    if (config->report->error_count == 0) {
        return config->model;
    }
    model_free(config->model);
    return NULL;
}

static struct model *load(const char *path, struct config_report *report, config_reader reader) {
    struct config *config = calloc(1, sizeof(*config));
    struct model *model = model_new();
    struct model *scratch = model_new();
    if (config == NULL || model == NULL || scratch == NULL) {
        model_free(model);
        model_free(scratch);
        free(config);
        report_no_memory(report, path);
        return NULL;
    }
    config->model = model;
    config->scratch = scratch;
    config->report = report;
    config->now_ms = report->now_ms != 0 ? report->now_ms : base_clock_wall_ms();
    struct model *result = run(config, path, reader);
    free(config);
    return result;
}

struct model *config_load(const char *path, struct config_report *report) {
    return load(path, report, config_root_load);
}

struct model *config_load_people(const char *path, struct config_report *report) {
    return load(path, report, config_root_people);
}
