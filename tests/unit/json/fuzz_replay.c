// Replays the fuzzer's corpus without a fuzzer: every file named, every beginning of it, and some
// hundred mutations of it.
#include "mutate.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

enum { MUTATIONS = 300 };

static void run(const char *text, size_t length) {
    LLVMFuzzerTestOneInput((const uint8_t *)text, length);
}

static void replay(const char *text, size_t length) {
    uint64_t seed = 0x9e3779b97f4a7c15u + length;
    char changed[MUTATE_SIZE];

    for (size_t cut = 0; cut <= length; cut++) {
        run(text, cut);
    }
    for (int i = 0; i < MUTATIONS && length <= sizeof changed; i++) {
        memcpy(changed, text, length);
        run(changed, mutate_change(&seed, changed, length));
    }
}

int main(int argc, char **argv) {
    static char text[70000];

    if (argc < 2) {
        fprintf(stderr, "usage: %s FILE...\n", argv[0]);
        return 2;
    }
    for (int i = 1; i < argc; i++) {
        FILE *file = fopen(argv[i], "rb");
        if (!file) {
            perror(argv[i]);
            return 1;
        }
        size_t length = fread(text, 1, sizeof text, file);
        fclose(file);
        replay(text, length);
    }
    printf("%d files\n", argc - 1);
    return 0;
}
