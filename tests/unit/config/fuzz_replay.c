// Replays the stored corpus through the fuzz entry, whole and cut short, without any fuzz engine.
#include "fuzz_config.h"

#include <stdio.h>
#include <stdlib.h>

// Where an input is cut, in bytes: every text must be refused cleanly at any length.
#define CUT_STEP 37

static int replay(const char *path) {
    FILE *in = fopen(path, "r");
    uint8_t *data = malloc(65536);
    size_t size = in != NULL && data != NULL ? fread(data, 1, 65536, in) : 0;
    if (size == 0) {
        fprintf(stderr, "cannot read %s\n", path);
    } else {
        for (size_t cut = 0; cut < size; cut += CUT_STEP) {
            LLVMFuzzerTestOneInput(data, cut);
        }
        LLVMFuzzerTestOneInput(data, size);
    }
    if (in != NULL) {
        fclose(in);
    }
    free(data);
    return size == 0;
}

int main(int argc, char **argv) {
    int failed = argc < 2;
    for (int i = 1; i < argc; i++) {
        failed |= replay(argv[i]);
    }
    printf("replayed %d inputs\n", argc - 1);
    return failed;
}
