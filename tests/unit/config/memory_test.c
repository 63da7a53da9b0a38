// Memory that runs out, at every allocation in turn: no model, an error, no leak and no crash.
#include "config/config.h"

#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// Allocations until one fails, for good; negative: none fails.
static long left = -1;

static bool fails(void) {
    if (left < 0) {
        return false;
    }
    if (left == 0) {
        return true;
    }
    left--;
    return false;
}

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

void *__wrap_malloc(size_t size) {
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    return fails() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size) {
    return fails() ? NULL : __real_realloc(old, size);
}

// Loads with so many allocations; whether there were enough.
static bool load_with(long allocations) {
    struct config_report report = {.now_ms = 1780315200000};
    left = allocations;
    struct model *model = config_load("forelock.json", &report);
    bool enough = left > 0;
    left = -1;
    if (!enough) {
        assert_null(model);
        assert_true(report.error_count > 0);
    }
    for (size_t i = 0; i < report.count; i++) {
        assert_non_null(report.entries[i].text);
    }
    model_free(model);
    config_report_free(&report);
    return enough;
}

static void test_each(void **state) {
    (void)state;
    struct tree tree;
    long needed = 0;
    tree_make(&tree);
    // With errors and warnings to note, so that those fail too.
    tree_edit("forelock.json", "\"feeds\": []", "\"feeds\": [\"feeds/*.json\"]");
    tree_edit("sites/juniper.json", "\"3A\", \"dispenser\"", "\"3A\", \"dispensr\"");
    tree_edit("forelock.json",
              "  \"people\":", "  \"credentials\": \"credentials.json\",\n  \"people\":");
    tree_write("credentials.json",
               "{\"credentials\": [{\"credential\": \"vapor-a\"}, {\"credential\":"
               " \"vapor-b\", \"includes\": [\"vapor-a\"]}]}");
    tree_write("districts/later.json", "{\"district\": \"north-basin\", \"effective\": "
                                       "\"2027-07-01\", \"adds\": {}}");
    tree_edit("sites/juniper.json", "  \"points\": [",
              "  \"measures\": [{\"measure\": \"psi\", \"kind\": \"pressure\", \"unit\": \"psi\", "
              "\"positions\": [\"3B\"]}],\n  \"points\": [{\"point\": \"3-light\", \"energy\": "
              "\"lighting\", \"isolates\": [\"3B\"]},");
    while (!load_with(needed)) {
        needed++;
    }
    tree_remove(&tree);
    print_message("a load takes %ld allocations\n", needed);
    assert_true(needed > 10);
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(test_each)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
