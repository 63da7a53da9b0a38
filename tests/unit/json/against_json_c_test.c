// The scanner against json-c, which is another reader and a lenient one. Over thousands of
// generated texts: what we take json-c takes too, and makes the same tree of it; what only json-c
// takes we refuse for a reason that is known of it.
#include "given.h"
#include "mutate.h"

#include <json-c/json.h>

#include <stdio.h>

enum { TEXTS = 60000 };

// What json-c takes although its mode is called strict, by the sentence we refuse it with.
static const char *const leniencies[] = {
    "this key stands twice in its object", // the last one wins, silently
    "these bytes are not UTF-8",
    "a control character must be escaped in a string",
    "this is half of a surrogate pair without the other half", // becomes U+FFFD
    "this number is out of the range of a double",             // becomes infinite, or 0
    "a value is missing here (NaN and Infinity are none)",
    "a number may not have zeros in front of it", // "-01", and "00"
    "a key in double quotes is missing here",     // a key in single quotes
    "a digit is missing here",                    // "1." and "-Infinity"
};

// It reads a NUL as the end of the text, wherever that stands.
static bool is_lenient(const char *text, size_t length, const struct json_error *error) {
    if (memchr(text, '\0', length)) {
        return true;
    }
    for (size_t i = 0; i < sizeof leniencies / sizeof *leniencies; i++) {
        if (strcmp(error->what, leniencies[i]) == 0) {
            return true;
        }
    }
    return false;
}

static bool equal_trees(const struct json_tape *tape, const struct json_node *node,
                        struct json_object *theirs);

static bool equal_numbers(const struct json_tape *tape, const struct json_node *node,
                          struct json_object *theirs) {
    double value = 0;
    int64_t whole = 0;

    if (!json_double(tape, node, &value)) {
        return false;
    }
    if (json_object_get_type(theirs) == json_type_double) {
        return json_object_get_double(theirs) == value;
    }
    if (json_object_get_type(theirs) != json_type_int) {
        return false;
    }
    if (json_integer(tape, node, &whole)) {
        return json_object_get_int64(theirs) == whole;
    }
    // Over 64 bits json-c silently puts the nearest integer that it has.
    if (value < 0) {
        return json_object_get_int64(theirs) == INT64_MIN;
    }
    return value > 0x1p64 ? json_object_get_uint64(theirs) == UINT64_MAX
                          : (double)json_object_get_uint64(theirs) == value;
}

static bool equal_strings(const struct json_tape *tape, const struct json_node *node,
                          struct json_object *theirs) {
    if (json_object_get_type(theirs) != json_type_string) {
        return false;
    }
    size_t length = (size_t)json_object_get_string_len(theirs);
    const char *text = json_object_get_string(theirs);
    if (json_text_length(tape, node) != length) {
        return false;
    }
    // A string with a zero byte is one that json_equals() and json_copy() rightly do not take.
    return strlen(text) < length || json_equals(tape, node, text);
}

static bool equal_arrays(const struct json_tape *tape, const struct json_node *node,
                         struct json_object *theirs) {
    const struct json_node *element = json_first(tape, node);

    if (json_object_get_type(theirs) != json_type_array ||
        json_object_array_length(theirs) != node->count) {
        return false;
    }
    for (size_t i = 0; element; i++) {
        if (!equal_trees(tape, element, json_object_array_get_idx(theirs, i))) {
            return false;
        }
        element = json_next(tape, node, element);
    }
    return true;
}

static bool equal_objects(const struct json_tape *tape, const struct json_node *node,
                          struct json_object *theirs) {
    const struct json_node *key = json_first(tape, node);

    if (json_object_get_type(theirs) != json_type_object ||
        json_object_object_length(theirs) != (int)node->count) {
        return false;
    }
    while (key) {
        char name[MUTATE_SIZE];
        struct json_object *value = NULL;
        if (!json_copy(tape, key, name, sizeof name) ||
            !json_object_object_get_ex(theirs, name, &value) ||
            !equal_trees(tape, key + 1, value)) {
            return false;
        }
        key = json_next(tape, node, key + 1);
    }
    return true;
}

static bool equal_trees(const struct json_tape *tape, const struct json_node *node,
                        struct json_object *theirs) {
    switch (node->kind) {
    case JSON_NULL:
        return theirs == NULL;
    case JSON_TRUE:
    case JSON_FALSE:
        return json_object_get_type(theirs) == json_type_boolean &&
               json_object_get_boolean(theirs) == (node->kind == JSON_TRUE);
    case JSON_NUMBER:
        return equal_numbers(tape, node, theirs);
    case JSON_STRING:
        return equal_strings(tape, node, theirs);
    case JSON_ARRAY:
        return equal_arrays(tape, node, theirs);
    default:
        return equal_objects(tape, node, theirs);
    }
}

// json-c ends a key at its first zero byte, so two may become one.
static bool has_key_with_zero(const struct json_tape *tape) {
    for (size_t i = 0; i < tape->count; i++) {
        const struct json_node *object = &tape->nodes[i];
        const struct json_node *key = object->kind == JSON_OBJECT ? json_first(tape, object) : NULL;
        for (; key; key = json_next(tape, object, key + 1)) {
            char name[MUTATE_SIZE];
            if (!json_copy(tape, key, name, sizeof name)) {
                return true;
            }
        }
    }
    return false;
}

struct counts {
    int both;
    int neither;
    int theirs_only;
};

// A text ends with a NUL for json-c, which counts it. Each has a tokener of its own: a reused one
// remembers half a surrogate pair from the text before.
static struct json_object *read_theirs(const char *ended, size_t length, bool *taken) {
    struct json_tokener *tokener = json_tokener_new_ex(17); // its depth counts scalars too

    assert_non_null(tokener);
    json_tokener_set_flags(tokener, JSON_TOKENER_STRICT);
    struct json_object *object = json_tokener_parse_ex(tokener, ended, (int)length + 1);
    *taken = json_tokener_get_error(tokener) == json_tokener_success;
    json_tokener_free(tokener);
    return object;
}

static void compare(const char *text, size_t length, struct counts *counts) {
    struct json_tape tape = {0};
    struct json_error error = {0};
    char ended[MUTATE_SIZE + 1];

    memcpy(ended, text, length);
    ended[length] = '\0';
    bool ours = json_scan(&tape, text, length, &json_message_limits, &error);
    bool taken = false;
    struct json_object *theirs = read_theirs(ended, length, &taken);
    if (ours && !taken) {
        fail_msg("only we take: %s", ended);
    }
    if (ours && !has_key_with_zero(&tape) && !equal_trees(&tape, json_root(&tape), theirs)) {
        fail_msg("another tree: %s", ended);
    }
    if (!ours && taken && !is_lenient(text, length, &error)) {
        fail_msg("only json-c takes (%s): %s", error.what, ended);
    }
    *(ours ? &counts->both : taken ? &counts->theirs_only : &counts->neither) += 1;
    json_object_put(theirs);
    json_tape_free(&tape);
}

static void over_a_generated_corpus(void **state) {
    (void)state;
    uint64_t seed = 20260611;
    struct counts counts = {0};

    for (int i = 0; i < TEXTS; i++) {
        char text[MUTATE_SIZE];
        size_t length = mutate_make(&seed, text);
        compare(text, length, &counts);
        length = mutate_change(&seed, text, length);
        compare(text, length, &counts);
    }
    printf("both %d, neither %d, json-c only %d\n", counts.both, counts.neither,
           counts.theirs_only);
    // The corpus is worth something only if every way out is taken often.
    assert_true(counts.both > TEXTS);
    assert_true(counts.neither > TEXTS / 4);
    assert_true(counts.theirs_only > TEXTS / 100);
}

// Each entry of the list is true: json-c does take it, and we do not.
static void each_leniency_is_real(void **state) {
    (void)state;
    static const char *const texts[] = {
        "{\"a\":1,\"a\":2}", "\"\xc0\x80\"", "\"\n\"", "\"\\ud800\"", "1e400", "NaN", "-01",
        "{'a':1}",           "1.",
    };

    assert_int_equal(sizeof texts / sizeof *texts, sizeof leniencies / sizeof *leniencies);
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        struct json_tape tape = {0};
        struct json_error error = {0};
        bool taken = false;
        json_object_put(read_theirs(texts[i], strlen(texts[i]), &taken));
        if (!taken) {
            fail_msg("json-c refuses %s", texts[i]);
        }
        assert_false(json_scan(&tape, texts[i], strlen(texts[i]), &json_message_limits, &error));
        assert_string_equal(error.what, leniencies[i]);
        json_tape_free(&tape);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(over_a_generated_corpus),
        cmocka_unit_test(each_leniency_is_real),
    };

    return cmocka_run_group_tests(tests, NULL, NULL);
}
