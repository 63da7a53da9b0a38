#include "loaded.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>

#include <cmocka.h>

int loaded_make(void **state) {
    struct loaded *loaded = calloc(1, sizeof(*loaded));
    assert_non_null(loaded);
    tree_make(&loaded->tree);
    loaded->report.now_ms = TODAY_MS;
    *state = loaded;
    return 0;
}

int loaded_end(void **state) {
    struct loaded *loaded = *state;
    model_free(loaded->model);
    config_report_free(&loaded->report);
    tree_remove(&loaded->tree);
    free(loaded);
    return 0;
}

const struct model *loaded_model(void **state) {
    struct loaded *loaded = *state;
    loaded->model = config_load("forelock.json", &loaded->report);
    config_report_print(&loaded->report, stderr);
    assert_non_null(loaded->model);
    return loaded->model;
}
