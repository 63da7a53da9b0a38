// The embedded files: byte for byte those of the tree, found by name, typed, tagged.
#include "page/internal.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void a_file_as_it_is_in_the_tree(void **state) {
    (void)state;
    static const char *const paths[] = {"common/signs.css", "common/words.js", "at/at.html",
                                        "common/forelock-192.png"};
    for (size_t i = 0; i < sizeof paths / sizeof paths[0]; i++) {
        char path[512];
        snprintf(path, sizeof path, "%s/%s", FORELOCK_PAGES, paths[i]);
        const struct page_file *file = page_find(strrchr(path, '/') + 1);
        assert_non_null(file);
        FILE *stream = fopen(path, "rb");
        assert_non_null(stream);
        char *bytes = malloc(file->length + 1);
        assert_non_null(bytes);
        // One byte more than there should be is asked for.
        assert_int_equal(fread(bytes, 1, file->length + 1, stream), file->length);
        assert_memory_equal(bytes, file->data, file->length);
        assert_int_equal(file->data[file->length], '\0');
        free(bytes);
        fclose(stream);
    }
}

static void types_and_tags(void **state) {
    (void)state;
    assert_string_equal(page_find("at.html")->type, "text/html; charset=utf-8");
    assert_string_equal(page_find("at.js")->type, "text/javascript; charset=utf-8");
    assert_string_equal(page_find("at.css")->type, "text/css; charset=utf-8");
    assert_string_equal(page_find("forelock.svg")->type, "image/svg+xml");
    assert_string_equal(page_find("forelock-192.png")->type, "image/png");
    assert_string_equal(page_find("forelock.webmanifest")->type, "application/manifest+json");
    for (size_t i = 0; i < page_file_count; i++) {
        const char *etag = page_files[i].etag;
        size_t length = strlen(etag);
        assert_int_equal(length, 34);
        assert_true(etag[0] == '"' && etag[length - 1] == '"');
    }
    assert_string_not_equal(page_find("at.js")->etag, page_find("at.css")->etag);
}

static void every_file_is_found_once_and_nothing_else(void **state) {
    (void)state;
    assert_true(page_file_count >= 5);
    for (size_t i = 0; i < page_file_count; i++) {
        const struct page_file *file = &page_files[i];
        assert_ptr_equal(page_find(file->name), file);
        assert_true(i == 0 || strcmp(page_files[i - 1].name, file->name) < 0);
        assert_null(strchr(file->name, '/'));
    }
    static const char *const none[] = {"",         "at",        "at.htm", "AT.html",
                                       "at.html ", "../page.h", "zz"};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        assert_null(page_find(none[i]));
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test(a_file_as_it_is_in_the_tree),
                                       cmocka_unit_test(types_and_tags),
                                       cmocka_unit_test(every_file_is_found_once_and_nothing_else)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
