// RFC 6901 pointers: finding the value at one, and writing the one of a node.
#include "json/internal.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static void path_put(struct json_path *path, const char *bytes, size_t length) {
    // Once cut, nothing more: a later, shorter piece would make a pointer to something else.
    if (path->cut || path->used + length >= path->size) {
        path->cut = true;
        return;
    }
    memcpy(path->buffer + path->used, bytes, length);
    path->used += length;
    path->buffer[path->used] = '\0';
}

void json_path_key(struct json_path *path, struct json_slice key) {
    const char *at = key.data;
    const char *end = key.data + key.length;
    char bytes[4];

    path_put(path, "/", 1);
    while (at < end) {
        size_t length = json_utf8_length(at, end);
        if (*at == '\\') {
            length = json_unescape(&at, bytes);
        } else {
            memcpy(bytes, at, length);
            at += length;
        }
        if (bytes[0] == '~' || bytes[0] == '/') {
            path_put(path, bytes[0] == '~' ? "~0" : "~1", 2);
        } else {
            path_put(path, bytes, length);
        }
    }
}

void json_path_index(struct json_path *path, uint32_t index) {
    char digits[16];
    int length = snprintf(digits, sizeof digits, "/%" PRIu32, index);

    path_put(path, digits, (size_t)length);
}

// One reference token, as it stands in the pointer.
struct token {
    const char *data;
    size_t length;
    bool escaped;
};

// The token of a key with an escape on either side is compared byte by byte.
static bool token_equal_slowly(const struct token *token, struct json_slice key) {
    const char *at = key.data;
    const char *end = key.data + key.length;
    size_t i = 0;

    while (at < end) {
        char bytes[4];
        size_t length = json_unescape(&at, bytes);
        for (size_t k = 0; k < length; k++, i++) {
            char wanted = i < token->length ? token->data[i] : '\0';
            if (wanted == '~') {
                wanted = token->data[++i] == '0' ? '~' : '/';
            }
            if (i >= token->length || wanted != bytes[k]) {
                return false;
            }
        }
    }
    return i == token->length;
}

static bool token_equal(const struct token *token, struct json_slice key) {
    if (token->escaped || key.escaped) {
        return token_equal_slowly(token, key);
    }
    return token->length == key.length && memcmp(token->data, key.data, key.length) == 0;
}

// An index has no leading zero; "-" (the element behind the last) is no value.
static bool token_index(const struct token *token, uint32_t *index) {
    uint64_t value = 0;

    if (token->length == 0 || token->length > 10 || (token->length > 1 && token->data[0] == '0')) {
        return false;
    }
    for (size_t i = 0; i < token->length; i++) {
        if (token->data[i] < '0' || token->data[i] > '9') {
            return false;
        }
        value = value * 10 + (uint64_t)(token->data[i] - '0');
    }
    *index = (uint32_t)value;
    return value <= UINT32_MAX;
}

static const struct json_node *
member_at(const struct json_tape *tape, const struct json_node *object, const struct token *token) {
    const struct json_node *key = json_first(tape, object);

    while (key) {
        const struct json_node *value = key + 1;
        if (token_equal(token, json_slice_of(tape->text, key))) {
            return value;
        }
        key = json_next(tape, object, value);
    }
    return NULL;
}

static const struct json_node *
element_at(const struct json_tape *tape, const struct json_node *array, const struct token *token) {
    uint32_t index;

    if (!token_index(token, &index) || index >= array->count) {
        return NULL;
    }
    const struct json_node *element = json_first(tape, array);
    for (; index > 0; index--) {
        element = json_next(tape, array, element);
    }
    return element;
}

// The token behind a slash. False where a ~ is followed by neither 0 nor 1.
static bool token_read(const char *pointer, struct token *token) {
    *token = (struct token){.data = pointer, .length = strcspn(pointer, "/")};
    for (size_t i = 0; i < token->length; i++) {
        if (pointer[i] == '~') {
            token->escaped = true;
            if (pointer[i + 1] != '0' && pointer[i + 1] != '1') {
                return false;
            }
        }
    }
    return true;
}

const struct json_node *json_at_from(const struct json_tape *tape, const struct json_node *node,
                                     const char *pointer) {
    while (node && *pointer) {
        struct token token;
        if (*pointer != '/' || !token_read(pointer + 1, &token)) {
            return NULL;
        }
        if (node->kind == JSON_OBJECT) {
            node = member_at(tape, node, &token);
        } else {
            node = node->kind == JSON_ARRAY ? element_at(tape, node, &token) : NULL;
        }
        pointer = token.data + token.length;
    }
    return node;
}

// Steps from a container to the child that holds the node, writing the step.
static const struct json_node *step_towards(const struct json_tape *tape,
                                            const struct json_node *parent, size_t wanted,
                                            struct json_path *path) {
    bool object = parent->kind == JSON_OBJECT;
    const struct json_node *child = json_first(tape, parent);
    uint32_t index = 0;

    while (child) {
        const struct json_node *value = object ? child + 1 : child;
        if (wanted < value->next) {
            if (object) {
                json_path_key(path, json_slice_of(tape->text, child));
            } else {
                json_path_index(path, index);
            }
            return value;
        }
        child = json_next(tape, parent, value);
        index++;
    }
    return NULL;
}

void json_pointer_of(const struct json_tape *tape, const struct json_node *node, char *buffer,
                     size_t size) {
    struct json_path path = {.buffer = buffer, .size = size};

    if (size == 0) {
        return;
    }
    buffer[0] = '\0';
    if (!node) {
        return;
    }
    size_t wanted = (size_t)(node - tape->nodes);
    const struct json_node *at = json_root(tape);
    // A key stands just before its value, so one that is sought ends the walk at its value.
    while (at && wanted > (size_t)(at - tape->nodes)) {
        at = step_towards(tape, at, wanted, &path);
    }
}
