// The report: everything wrong with a configuration, each with its place, in order.
#include "base/array.h"
#include "config/file.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

static struct config_entry *report_room(struct config_report *report) {
    if (!BASE_ARRAY_ROOM(report->entries, report->count, report->capacity)) {
        return NULL;
    }
    struct config_entry *entry = &report->entries[report->count];
    *entry = (struct config_entry){0};
    return entry;
}

// Quoted values come from files that anybody may have written: none of them commands a terminal.
static void make_printable(char *text) {
    for (; text != NULL && *text != '\0'; text++) {
        if ((unsigned char)*text < 0x20 || *text == 0x7f) {
            *text = '?';
        }
    }
}

static void report_add(struct config *config, const struct config_place *place, bool warning,
                       const char *format, va_list arguments) __attribute__((format(printf, 4, 0)));

static void report_add(struct config *config, const struct config_place *place, bool warning,
                       const char *format, va_list arguments) {
    struct config_report *report = config->report;
    // Counted first: an error that cannot be written down still refuses the configuration.
    report->error_count += !warning;
    report->warning_count += warning;
    struct config_entry *entry = report_room(report);
    if (entry == NULL) {
        config_no_memory(config);
    }
    entry->warning = warning;
    entry->order = place->order;
    entry->line = place->line;
    entry->column = place->column;
    entry->file = strdup(place->path);
    entry->pointer = strdup(place->pointer);
    if (vasprintf(&entry->text, format, arguments) < 0) {
        entry->text = NULL;
    }
    make_printable(entry->text);
    report->count++;
    if (entry->file == NULL || entry->pointer == NULL || entry->text == NULL) {
        config_no_memory(config);
    }
}

// Keys and values stand at their own first byte, a string at its opening quote.
static struct config_place place_of(struct config_file *file, const struct json_node *node,
                                    char *pointer, size_t size) {
    struct config_place place = {file->path, file->order, 1, 1, pointer};
    pointer[0] = '\0';
    if (node != NULL) {
        size_t offset = node->start - (node->kind == JSON_STRING ? 1 : 0);
        json_position(file->text, file->length, offset, &place.line, &place.column);
        json_pointer_of(&file->tape, node, pointer, size);
    }
    return place;
}

struct config_place config_place_of(struct config_file *file, const struct json_node *node) {
    char pointer[512];
    struct config_place place = place_of(file, node, pointer, sizeof(pointer));
    place.pointer = model_text(file->config->scratch, pointer, strlen(pointer));
    if (place.pointer == NULL) {
        config_no_memory(file->config);
    }
    return place;
}

void config_error(struct config_file *file, const struct json_node *node, const char *format, ...) {
    char pointer[512];
    struct config_place place = place_of(file, node, pointer, sizeof(pointer));
    va_list arguments;
    va_start(arguments, format);
    report_add(file->config, &place, false, format, arguments);
    va_end(arguments);
}

void config_warn(struct config_file *file, const struct json_node *node, const char *format, ...) {
    char pointer[512];
    struct config_place place = place_of(file, node, pointer, sizeof(pointer));
    va_list arguments;
    va_start(arguments, format);
    report_add(file->config, &place, true, format, arguments);
    va_end(arguments);
}

void config_warn_at(struct config *config, const struct config_place *place, const char *format,
                    ...) {
    va_list arguments;
    va_start(arguments, format);
    report_add(config, place, true, format, arguments);
    va_end(arguments);
}

void config_error_offset(struct config_file *file, size_t offset, const char *pointer,
                         const char *format, ...) {
    struct config_place place = {file->path, file->order, 1, 1, pointer};
    json_position(file->text, file->length, offset, &place.line, &place.column);
    va_list arguments;
    va_start(arguments, format);
    report_add(file->config, &place, false, format, arguments);
    va_end(arguments);
}

static int compare_number(size_t a, size_t b) {
    return (a > b) - (a < b);
}

static int compare_entries(const void *left, const void *right) {
    const struct config_entry *a = left, *b = right;
    int by_file = compare_number(a->order, b->order);
    int by_line = compare_number(a->line, b->line);
    int by_column = compare_number(a->column, b->column);
    if (by_file != 0 || by_line != 0) {
        return by_file != 0 ? by_file : by_line;
    }
    return by_column != 0 ? by_column : strcmp(a->text, b->text);
}

void config_report_sort(struct config_report *report) {
    if (report->count > 1) {
        qsort(report->entries, report->count, sizeof(*report->entries), compare_entries);
    }
}

void config_report_place(struct config_report *report, struct config_place place) {
    free(report->journal.file);
    free(report->journal.pointer);
    report->journal = (struct config_entry){.order = place.order,
                                            .line = place.line,
                                            .column = place.column,
                                            .file = strdup(place.path),
                                            .pointer = strdup(place.pointer)};
}

void config_report_journal(struct config_report *report, bool warning, const char *text) {
    const struct config_entry *place = &report->journal;
    report->error_count += !warning;
    report->warning_count += warning;
    struct config_entry *entry = report_room(report);
    if (entry == NULL || place->file == NULL || place->pointer == NULL) {
        return;
    }
    *entry = *place;
    entry->warning = warning;
    entry->file = strdup(place->file);
    entry->pointer = strdup(place->pointer);
    entry->text = strdup(text);
    make_printable(entry->text);
    if (entry->file == NULL || entry->pointer == NULL || entry->text == NULL) {
        free(entry->file);
        free(entry->pointer);
        free(entry->text);
        return;
    }
    report->count++;
    config_report_sort(report);
}

void config_report_print(const struct config_report *report, FILE *out) {
    for (size_t i = 0; i < report->count; i++) {
        const struct config_entry *entry = &report->entries[i];
        fprintf(out, "%s:%u:%u: %s: %s%s\n", entry->file, entry->line, entry->column,
                entry->pointer, entry->warning ? "warning: " : "", entry->text);
    }
}

void config_report_free(struct config_report *report) {
    for (size_t i = 0; i < report->count; i++) {
        free(report->entries[i].file);
        free(report->entries[i].pointer);
        free(report->entries[i].text);
    }
    free(report->entries);
    free(report->journal.file);
    free(report->journal.pointer);
    *report = (struct config_report){0};
}
