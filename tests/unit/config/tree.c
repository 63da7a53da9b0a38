// The tree of files that a test of the configuration changes.
#include "tree.h"

#include <errno.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static const char *const files[] = {
    "forelock.json",         "broker.secret",        "people.json",        "instruments.json",
    "procedures/spout.json", "districts/basin.json", "sites/juniper.json",
};

static void must(int good, const char *what) {
    if (!good) {
        perror(what);
        abort();
    }
}

char *tree_read(const char *file) {
    FILE *in = fopen(file, "r");
    must(in != NULL, file);
    char *text = calloc(1, 65536);
    must(text != NULL && fread(text, 1, 65535, in) < 65535, file);
    fclose(in);
    return text;
}

void tree_write(const char *file, const char *text) {
    char folder[256];
    snprintf(folder, sizeof(folder), "%s", file);
    char *slash = strrchr(folder, '/');
    if (slash != NULL) {
        *slash = '\0';
        must(mkdir(folder, 0700) == 0 || errno == EEXIST, folder);
    }
    FILE *out = fopen(file, "w");
    must(out != NULL && fputs(text, out) >= 0 && fclose(out) == 0, file);
}

void tree_edit(const char *file, const char *from, const char *to) {
    char *text = tree_read(file);
    char *at = strstr(text, from);
    must(at != NULL, from);
    size_t size = strlen(text) + strlen(to) + 1;
    char *edited = calloc(1, size);
    must(edited != NULL, file);
    snprintf(edited, size, "%.*s%s%s", (int)(at - text), text, to, at + strlen(from));
    tree_write(file, edited);
    free(edited);
    free(text);
}

void tree_make(struct tree *tree) {
    const char *base = getenv("TMPDIR");
    snprintf(tree->folder, sizeof(tree->folder), "%.40s/forelock-XXXXXX",
             base != NULL && strlen(base) <= 40 ? base : "/tmp");
    must(mkdtemp(tree->folder) != NULL && chdir(tree->folder) == 0, tree->folder);
    for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); i++) {
        char path[1024];
        snprintf(path, sizeof(path), "%s/%s", FORELOCK_GOOD_TREE, files[i]);
        char *text = tree_read(path);
        tree_write(files[i], text);
        free(text);
    }
}

static int remove_one(const char *path, const struct stat *status, int kind, struct FTW *where) {
    (void)status;
    (void)kind;
    (void)where;
    return remove(path);
}

void tree_remove(struct tree *tree) {
    must(chdir("/") == 0, "/");
    must(nftw(tree->folder, remove_one, 8, FTW_DEPTH | FTW_PHYS) == 0, tree->folder);
}
