// Fuzz entry: the text of one configuration file among good ones. The input's first letter says
// which file (forelock, credentials, people, instruments, procedure, district, site, feed), its
// first line end begins the text. The entry changes the working directory: name a corpus by its
// whole path.
#include "fuzz_config.h"

#include "config/config.h"
#include "tree.h"

#include <stdlib.h>
#include <string.h>

static struct tree tree;

static void end(void) {
    tree_remove(&tree);
}

static const char *file_of(uint8_t letter) {
    switch (letter) {
    case 'f':
        return "forelock.json";
    case 'c':
        return "credentials.json";
    case 'p':
        return "people.json";
    case 'i':
        return "instruments.json";
    case 'r':
        return "procedures/spout.json";
    case 'd':
        return "districts/basin.json";
    case 's':
        return "sites/juniper.json";
    default:
        return "feeds/f.json";
    }
}

static void write_input(const char *file, const uint8_t *data, size_t size) {
    FILE *out = fopen(file, "w");
    if (out == NULL || fwrite(data, 1, size, out) != size || fclose(out) != 0) {
        abort();
    }
}

// What must hold whatever the text: a model exactly if there is no error, and every entry whole.
static void load_once(void) {
    struct config_report report = {.now_ms = 1780315200000};
    struct model *model = config_load("forelock.json", &report);
    if ((model == NULL) != (report.error_count > 0) ||
        report.count != report.error_count + report.warning_count) {
        abort();
    }
    for (size_t i = 0; i < report.count; i++) {
        if (report.entries[i].line == 0 || report.entries[i].column == 0 ||
            report.entries[i].text[0] == '\0') {
            abort();
        }
    }
    model_free(model);
    config_report_free(&report);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (tree.folder[0] == '\0') {
        tree_make(&tree);
        tree_edit("forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/f.json\"]");
        tree_edit("forelock.json",
                  "  \"people\":", "  \"credentials\": \"credentials.json\",\n  \"people\":");
        tree_write("feeds/f.json", "{\"feeds\": []}");
        tree_write("credentials.json", "{\"credentials\": [{\"credential\": \"vapor-a\"}, "
                                       "{\"credential\": \"vapor-b\"}]}");
        atexit(end);
    }
    const uint8_t *line = size > 0 ? memchr(data, '\n', size) : NULL;
    if (line == NULL) {
        return 0;
    }
    const char *file = file_of(data[0]);
    char *good = tree_read(file);
    write_input(file, line + 1, size - (size_t)(line + 1 - data));
    load_once();
    tree_write(file, good);
    free(good);
    return 0;
}
