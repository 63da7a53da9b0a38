// The files of a configuration: opened, found by those that name them, and what is wrong in them
// said.
#pragma once

#include "config/run.h"
#include "json/json.h"

// A file being read. Opened ones hang on the run, so that nothing leaks when memory runs out.
struct config_file {
    struct config *config;
    struct config_file *next;
    const char *path;
    unsigned order;
    const struct model_site *site; // of which it is the file, once its languages are known, or NULL
    size_t first_said;             // of the run's texts by language
    char *text;
    size_t length;
    struct json_tape tape;
};

// Files that a list names, each with the element that named it.
struct config_path {
    const char *path;
    const struct json_node *node;
};
struct config_paths {
    struct config_path *items;
    size_t count, capacity;
};

// --- report.c ---

// Notes an error, or a warning, at a node (NULL: of the whole file): what is wrong, and what would
// be right. An error refuses the configuration.
void config_error(struct config_file *file, const struct json_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void config_warn(struct config_file *file, const struct json_node *node, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
// Where a node stands; the pointer is a scratch copy.
struct config_place config_place_of(struct config_file *file, const struct json_node *node);
// The same for what is judged only after its file is closed.
void config_warn_at(struct config *config, const struct config_place *place, const char *format,
                    ...) __attribute__((format(printf, 3, 4)));
// An error of a whole file, at an offset of it.
void config_error_offset(struct config_file *file, size_t offset, const char *pointer,
                         const char *format, ...) __attribute__((format(printf, 4, 5)));
// Puts entries in the order of files, lines and columns.
void config_report_sort(struct config_report *report);
// Keeps where the journal is named.
void config_report_place(struct config_report *report, struct config_place place);

// --- file.c ---

// Opens a file that a node of another names (both NULL: the first) and scans it. NULL: reported.
struct config_file *config_open(struct config *config, struct config_file *by,
                                const struct json_node *node, const char *path);
// Ends a file, and the memory of what only its reading needed.
void config_close(struct config_file *file);
// A path relative to the file that names it; scratch.
const char *config_resolve(struct config_file *by, const char *path);
// The paths that a list of globs names. `need`: a glob without a match is an error, else a warning.
struct config_paths config_glob(struct config_file *by, const struct json_node *list, bool need);
// The text of a secret's file without its final newline, in the model. NULL: reported at node.
const char *config_secret(struct config_file *by, const struct json_node *node, const char *path);
// Reports at node, and is false, if the file cannot be read.
bool config_readable(struct config_file *by, const struct json_node *node, const char *path);
