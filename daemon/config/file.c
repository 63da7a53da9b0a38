// Files: reading them whole, scanning them, and finding those that another one names.
#include "base/file.h"
#include "config/field.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

// Secrets are short; more is a wrong file.
#define SECRET_MAX 4096

static const char *scratch_text(struct config *config, const char *text, size_t length) {
    const char *copy = model_text(config->scratch, text, length);
    if (copy == NULL) {
        config_no_memory(config);
    }
    return copy;
}

// The one sentence for a file that is named and cannot be read, at the reference.
static void unreadable(struct config_file *by, const struct json_node *node, const char *path,
                       const char *why) {
    config_error(by, node,
                 "the file \"%s\" cannot be read: %s; name one that exists and that the daemon may "
                 "read",
                 path, why);
}

static void open_failed(struct config_file *file, struct config_file *by,
                        const struct json_node *node, const char *why) {
    if (by != NULL) {
        unreadable(by, node, file->path, why);
    } else {
        config_error(file, NULL, "the configuration cannot be read: %s", why);
    }
}

static bool scan(struct config_file *file) {
    struct json_error error;
    if (json_scan(&file->tape, file->text, file->length, &json_config_limits, &error)) {
        return true;
    }
    config_error_offset(file, error.offset, error.pointer, "not JSON as it should be: %s",
                        error.what);
    return false;
}

// Paths by order, for what refers to another file.
static void note_path(struct config *config, const char *path) {
    config_array_room(config, config_scratch, &config->file_paths, config->files,
                      &config->file_room, sizeof(*config->file_paths));
    config->file_paths[config->files++] = path;
}

struct config_file *config_open(struct config *config, struct config_file *by,
                                const struct json_node *node, const char *path) {
    struct config_file *file = calloc(1, sizeof(*file));
    if (file == NULL) {
        config_no_memory(config);
    }
    file->config = config;
    file->next = config->open;
    config->open = file;
    file->order = config->files;
    file->first_said = config->said_count;
    file->path = scratch_text(config, path, strlen(path));
    note_path(config, file->path);
    const char *why = "";
    file->text = base_file_read(path, json_config_limits.max_length, &file->length, &why);
    if (file->text == NULL) {
        open_failed(file, by, node, why);
    } else if (scan(file)) {
        return file;
    }
    config_close(file);
    return NULL;
}

void config_close(struct config_file *file) {
    struct config_file **link = &file->config->open;
    while (*link != file) {
        link = &(*link)->next;
    }
    *link = file->next;
    model_free(file->config->brief);
    file->config->brief = NULL;
    json_tape_free(&file->tape);
    free(file->text);
    free(file);
}

// Length of the folder part of a path, its slash included.
static size_t folder_length(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash != NULL ? (size_t)(slash - path) + 1 : 0;
}

const char *config_resolve(struct config_file *by, const char *path) {
    size_t folder = path[0] == '/' ? 0 : folder_length(by->path);
    size_t size = strlen(path) + 1;
    char *joined = config_scratch(by->config, folder + size, 1);
    memcpy(joined, by->path, folder);
    memcpy(joined + folder, path, size);
    return joined;
}

// A pattern relative to its file: what is special to glob() in the folder's own name is escaped.
static const char *resolve_pattern(struct config_file *by, const char *pattern) {
    size_t folder = pattern[0] == '/' ? 0 : folder_length(by->path);
    char *joined = config_scratch(by->config, 2 * folder + strlen(pattern) + 1, 1);
    char *to = joined;
    for (size_t i = 0; i < folder; i++) {
        if (strchr("*?[]\\", by->path[i]) != NULL) {
            *to++ = '\\';
        }
        *to++ = by->path[i];
    }
    memcpy(to, pattern, strlen(pattern) + 1);
    return joined;
}

static void paths_add(struct config *config, struct config_paths *paths, const char *path,
                      const struct json_node *node) {
    for (size_t i = 0; i < paths->count; i++) {
        // Two globs may find one file; it is read once.
        if (paths->items[i].node != node && strcmp(paths->items[i].path, path) == 0) {
            return;
        }
    }
    config_array_room(config, config_scratch, &paths->items, paths->count, &paths->capacity,
                      sizeof(*paths->items));
    paths->items[paths->count++] =
        (struct config_path){scratch_text(config, path, strlen(path)), node};
}

static void glob_one(struct config_file *by, const struct json_node *node, const char *pattern,
                     bool need, struct config_paths *paths) {
    if (strpbrk(pattern, "*?[") == NULL) {
        paths_add(by->config, paths, config_resolve(by, pattern), node);
        return;
    }
    glob_t *found = &by->config->found;
    int status = glob(resolve_pattern(by, pattern), 0, NULL, found);
    if (status == GLOB_NOSPACE) {
        config_no_memory(by->config);
    }
    if (status != 0 && need) {
        config_error(by, node, "\"%s\" finds no file; name at least one", pattern);
    } else if (status != 0) {
        config_warn(by, node, "\"%s\" finds no file", pattern);
    }
    for (size_t i = 0; status == 0 && i < found->gl_pathc; i++) {
        paths_add(by->config, paths, found->gl_pathv[i], node);
    }
    globfree(found);
    *found = (glob_t){0};
}

struct config_paths config_glob(struct config_file *by, const struct json_node *list, bool need) {
    static const struct config_field pattern = {"", CONFIG_TEXT, true, 1, 4000, 0};
    struct config_paths paths = {0};
    if (list == NULL) {
        return paths;
    }
    for (const struct json_node *node = json_first(&by->tape, list); node != NULL;
         node = json_next(&by->tape, list, node)) {
        struct config_value value;
        config_read_value(by, node, &pattern, &value);
        if (value.ok) {
            glob_one(by, node, value.text, need, &paths);
        }
    }
    return paths;
}

// A final newline is an editor's, not the secret's.
static size_t without_newline(const char *text, size_t length) {
    if (length > 0 && text[length - 1] == '\n') {
        length--;
        length -= length > 0 && text[length - 1] == '\r';
    }
    return length;
}

const char *config_secret(struct config_file *by, const struct json_node *node, const char *path) {
    const char *full = config_resolve(by, path);
    const char *why = "";
    size_t length = 0;
    char *text = base_file_read(full, SECRET_MAX, &length, &why);
    if (text == NULL) {
        unreadable(by, node, full, why);
        return NULL;
    }
    size_t kept = without_newline(text, length);
    bool good = kept > 0 && memchr(text, '\0', kept) == NULL;
    const char *secret = good ? model_text(by->config->model, text, kept) : NULL;
    explicit_bzero(text, length);
    free(text);
    if (!good) {
        config_error(by, node, "the file \"%s\" is empty or binary; it must hold one line of text",
                     full);
    } else if (secret == NULL) {
        config_no_memory(by->config);
    }
    return secret;
}

bool config_readable(struct config_file *by, const struct json_node *node, const char *path) {
    // O_NONBLOCK: opening a FIFO must not hang the start.
    int descriptor = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK);
    struct stat status;
    bool known = descriptor >= 0 && fstat(descriptor, &status) == 0;
    bool good = known && S_ISREG(status.st_mode);
    if (!good) {
        unreadable(by, node, path, known ? "it is not a regular file" : strerror(errno));
    }
    if (descriptor >= 0) {
        close(descriptor);
    }
    return good;
}
