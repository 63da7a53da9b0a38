// RFC 6901 pointers, both ways. The first table is the example of the RFC's section 5.
#include "given.h"

#include <stdio.h>

static void the_example_of_the_rfc(void **state) {
    (void)state;
    static const char document[] =
        "{\"foo\":[\"bar\",\"baz\"],\"\":0,\"a/b\":1,\"c%d\":2,\"e^f\":3,\"g|h\":4,\"i\\\\j\":5,"
        "\"k\\\"l\":6,\" \":7,\"m~n\":8}";
    static const char *const pointers[] = {"/",     "/a~1b", "/c%d", "/e^f", "/g|h",
                                           "/i\\j", "/k\"l", "/ ",   "/m~0n"};
    struct json_tape tape = {0};
    char *text = given(&tape, document);

    assert_ptr_equal(json_at_from(&tape, json_root(&tape), ""), json_root(&tape));
    assert_int_equal(json_at_from(&tape, json_root(&tape), "/foo")->count, 2);
    assert_true(json_equals(&tape, json_at_from(&tape, json_root(&tape), "/foo/0"), "bar"));
    assert_true(json_equals(&tape, json_at_from(&tape, json_root(&tape), "/foo/1"), "baz"));
    for (int64_t i = 0; i < 9; i++) {
        int64_t value = -1;
        assert_true(
            json_integer(&tape, json_at_from(&tape, json_root(&tape), pointers[i]), &value));
        assert_int_equal(value, i);
    }
    done(&tape, text);
}

static void where_nothing_stands(void **state) {
    (void)state;
    static const char *const pointers[] = {
        "a",
        "a/0",
        "/b",
        "/a/2",
        "/a/-",
        "/a/01",
        "/a/",
        "/a/0/",
        "/a/ 0",
        "/a/+0",
        "/a/0x",
        "/a/0/0",
        "/t~n",
        "/t~",
        "/t~2n",
        "/t",
        "/t~0",
        "/t~0nx",
        "/A",
        "/a//0",
        "/a/4294967296",
        "/a/99999999999999999999",
        "/s/0",
        "/q",
        "/q\"r~0",
    };
    struct json_tape tape = {0};
    char *text = given(&tape, "{\"a\":[1,2],\"t~n\":3,\"s\":\"x\",\"q\\\"r\":1}");

    for (size_t i = 0; i < sizeof pointers / sizeof *pointers; i++) {
        if (json_at_from(&tape, json_root(&tape), pointers[i])) {
            fail_msg("found: %s", pointers[i]);
        }
    }
    assert_non_null(json_at_from(&tape, json_root(&tape), "/q\"r"));
    done(&tape, text);
    assert_null(json_at_from(&tape, json_root(&tape), ""));
}

// Each node's pointer leads back to it, a key's to its value.
static void there_and_back(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "[{\"a/b\":[[],[1,{\"\\u007e\\n\":null}]],\"\":{\"\\u00e9\":2}},"
                              "\"x\",[[[0,1,2,3,4,5,6,7,8,9,10]]]]");

    for (size_t i = 0; i < tape.count; i++) {
        char pointer[64];
        json_pointer_of(&tape, &tape.nodes[i], pointer, sizeof pointer);
        const struct json_node *found = json_at_from(&tape, json_root(&tape), pointer);
        // A key is followed by its value, whose pointer is the same.
        assert_true(found == &tape.nodes[i] || found == &tape.nodes[i + 1]);
        char next[64];
        if (found != &tape.nodes[i]) {
            json_pointer_of(&tape, found, next, sizeof next);
            assert_string_equal(pointer, next);
            assert_int_equal(tape.nodes[i].kind, JSON_STRING);
        }
    }
    done(&tape, text);
}

static void the_spelling_of_a_pointer(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "{\"a/b~\":[0,{\"\\u00e9\":1}]}");
    char pointer[32];

    json_pointer_of(&tape, &tape.nodes[0], pointer, sizeof pointer);
    assert_string_equal(pointer, "");
    json_pointer_of(&tape, &tape.nodes[1], pointer, sizeof pointer);
    assert_string_equal(pointer, "/a~1b~0");
    json_pointer_of(&tape, &tape.nodes[6], pointer, sizeof pointer);
    assert_string_equal(pointer, "/a~1b~0/1/\xc3\xa9");
    json_pointer_of(&tape, NULL, pointer, sizeof pointer);
    assert_string_equal(pointer, "");
    done(&tape, text);
}

static void a_small_buffer_cuts_and_ends(void **state) {
    (void)state;
    struct json_tape tape = {0};
    char *text = given(&tape, "{\"ab\\u00e9\":[1]}");

    // /abé/0 is seven bytes; in six or five not even half of é may stand.
    static const char *const cut[] = {"",    "",    "/",           "/a",
                                      "/ab", "/ab", "/ab\xc3\xa9", "/ab\xc3\xa9"};
    for (size_t size = 1; size < sizeof cut / sizeof *cut; size++) {
        char *buffer = malloc(size);
        assert_non_null(buffer);
        json_pointer_of(&tape, &tape.nodes[3], buffer, size);
        assert_string_equal(buffer, cut[size]);
        free(buffer);
    }
    char untouched = 'x';
    json_pointer_of(&tape, &tape.nodes[3], &untouched, 0);
    assert_int_equal(untouched, 'x');
    done(&tape, text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_example_of_the_rfc),
        cmocka_unit_test(where_nothing_stands),
        cmocka_unit_test(there_and_back),
        cmocka_unit_test(the_spelling_of_a_pointer),
        cmocka_unit_test(a_small_buffer_cuts_and_ends),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
