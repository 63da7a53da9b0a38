// A fuzzer's entry, for libFuzzer and for the replay of its corpus. Whatever the bytes are, the
// scanner says where it stops; and what it takes survives every way through the writer.
#include "json/json.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

#define MUST(condition)                                                                            \
    do {                                                                                           \
        if (!(condition)) {                                                                        \
            fprintf(stderr, "%s:%d: %s\n", __FILE__, __LINE__, #condition);                        \
            abort();                                                                               \
        }                                                                                          \
    } while (0)

// A written form scans again, and is the same JSON.
static void expect_same(const struct json_tape *tape, const struct json_out *out) {
    struct json_tape again = {0};

    MUST(!out->failed);
    MUST(json_scan(&again, out->data, out->length, &json_config_limits, NULL));
    MUST(json_same(tape, json_root(tape), &again, json_root(&again)));
    json_tape_free(&again);
}

// The canonical form of the canonical form, and of the compact form, is the canonical form.
static void expect_canonical(const struct json_out *out, const char *canonical) {
    struct json_tape tape = {0};
    struct json_out again = {0};

    MUST(json_scan(&tape, out->data, out->length, &json_config_limits, NULL));
    json_out_canonical(&again, &tape, json_root(&tape));
    MUST(strcmp(again.data, canonical) == 0);
    json_out_free(&again);
    json_tape_free(&tape);
}

static void through_the_writer(const struct json_tape *tape) {
    struct json_out compact = {0};
    struct json_out canonical = {0};

    json_out_node(&compact, tape, json_root(tape));
    json_out_canonical(&canonical, tape, json_root(tape));
    expect_same(tape, &compact);
    expect_same(tape, &canonical);
    expect_canonical(&compact, canonical.data);
    expect_canonical(&canonical, canonical.data);
    json_out_free(&compact);
    json_out_free(&canonical);
}

static void read_string(const struct json_tape *tape, const struct json_node *node) {
    size_t length = json_text_length(tape, node);
    char *text = malloc(length + 1);

    MUST(text && length <= node->length);
    if (json_copy(tape, node, text, length + 1)) {
        MUST(strlen(text) == length && json_equals(tape, node, text));
    }
    MUST(!json_copy(tape, node, text, length));
    free(text);
}

static void read_number(const struct json_tape *tape, const struct json_node *node) {
    double value;
    int64_t whole;

    MUST(json_double(tape, node, &value));
    if (json_integer(tape, node, &whole)) {
        MUST(value == (double)whole);
    }
}

// A node's pointer leads back to it (a key's to its value), unless it was cut or holds a zero byte.
static void read_pointer(const struct json_tape *tape, const struct json_node *node) {
    char pointer[512];

    json_pointer_of(tape, node, pointer, sizeof pointer);
    const struct json_node *found = json_at_from(tape, json_root(tape), pointer);
    MUST(found == node || found == node + 1 || strlen(pointer) > 500 ||
         memmem(tape->text, tape->length, "\\u0000", 6));
}

static void read_nodes(const struct json_tape *tape) {
    // Pointers are found by walking, which for every node of a long text is too slow.
    size_t step = tape->count / 64 + 1;

    for (size_t i = 0; i < tape->count; i += step) {
        const struct json_node *node = &tape->nodes[i];
        read_pointer(tape, node);
        if (node->kind == JSON_STRING) {
            read_string(tape, node);
        } else if (node->kind == JSON_NUMBER) {
            read_number(tape, node);
        }
    }
}

// Whatever can be read of a text is JSON.
static void salvage(const char *text, size_t size) {
    struct json_out out = {0};
    struct json_tape tape = {0};
    struct json_error error = {0};

    if (json_salvage(&out, text, size)) {
        MUST(json_scan(&tape, out.data, out.length, &json_config_limits, &error));
    }
    json_tape_free(&tape);
    json_out_free(&out);
}

static void scan(const char *text, size_t size, const struct json_limits *limits) {
    struct json_tape tape = {0};
    struct json_error error = {0};

    if (json_scan(&tape, text, size, limits, &error)) {
        MUST(tape.count > 0 && json_root(&tape)->next == tape.count);
        read_nodes(&tape);
        through_the_writer(&tape);
    } else {
        unsigned line;
        unsigned column;
        MUST(tape.count == 0 && error.offset <= size && error.what[0] != '\0');
        MUST(error.pointer[0] == '\0' || error.pointer[0] == '/');
        json_position(text, size, error.offset, &line, &column);
        MUST(line >= 1 && column >= 1);
    }
    json_tape_free(&tape);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    // A copy of exactly the size, so that the sanitizer sees the first byte too many.
    char *text = malloc(size ? size : 1);

    MUST(text);
    if (size > 0) {
        memcpy(text, data, size);
    }
    salvage(text, size);
    scan(text, size, &json_message_limits);
    scan(text, size, &json_config_limits);
    free(text);
    return 0;
}
