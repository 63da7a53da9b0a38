// Reading a tape: members, elements, texts and equality.
#include "json/internal.h"

#include <stdlib.h>
#include <string.h>

// Up to here looking each member up costs less than sorting both objects.
enum { FEW_MEMBERS = 32 };

static const struct json_node *
member_named(const struct json_tape *tape, const struct json_node *object, struct json_slice name) {
    if (!object || object->kind != JSON_OBJECT) {
        return NULL;
    }
    const struct json_node *key = json_first(tape, object);
    while (key) {
        const struct json_node *value = key + 1;
        if (json_slice_equal(json_slice_of(tape->text, key), name)) {
            return value;
        }
        key = json_next(tape, object, value);
    }
    return NULL;
}

static bool is_string(const struct json_node *node) {
    return node && node->kind == JSON_STRING;
}

// Whether a string is these bytes, which hold no escapes whatever they look like.
static bool slice_is(struct json_slice string, const char *bytes, size_t length) {
    if (!string.escaped) {
        return string.length == length && memcmp(string.data, bytes, length) == 0;
    }
    const char *at = string.data;
    const char *end = string.data + string.length;
    size_t used = 0;
    while (at < end) {
        char piece[4];
        size_t count = json_unescape(&at, piece);
        if (count > length - used || memcmp(piece, bytes + used, count) != 0) {
            return false;
        }
        used += count;
    }
    return used == length;
}

const struct json_node *json_member(const struct json_tape *tape, const struct json_node *object,
                                    const char *name) {
    if (!object || object->kind != JSON_OBJECT) {
        return NULL;
    }
    size_t length = strlen(name);
    const struct json_node *key = json_first(tape, object);
    while (key) {
        const struct json_node *value = key + 1;
        if (slice_is(json_slice_of(tape->text, key), name, length)) {
            return value;
        }
        key = json_next(tape, object, value);
    }
    return NULL;
}

const struct json_node *json_present(const struct json_tape *tape, const struct json_node *object,
                                     const char *name) {
    const struct json_node *value = json_member(tape, object, name);

    return value && value->kind != JSON_NULL ? value : NULL;
}

const struct json_node *json_first(const struct json_tape *tape, const struct json_node *parent) {
    (void)tape;
    return parent && parent->count > 0 ? parent + 1 : NULL;
}

const struct json_node *json_next(const struct json_tape *tape, const struct json_node *parent,
                                  const struct json_node *child) {
    if (!parent || !child || child->next >= parent->next) {
        return NULL;
    }
    return &tape->nodes[child->next];
}

bool json_equals(const struct json_tape *tape, const struct json_node *string, const char *text) {
    return is_string(string) && slice_is(json_slice_of(tape->text, string), text, strlen(text));
}

bool json_copy(const struct json_tape *tape, const struct json_node *string, char *buffer,
               size_t size) {
    if (size == 0) {
        return false;
    }
    buffer[0] = '\0';
    if (!is_string(string)) {
        return false;
    }
    const char *at = tape->text + string->start;
    const char *end = at + string->length;
    size_t used = 0;
    while (at < end) {
        char piece[4];
        size_t count = json_unescape(&at, piece);
        if (count >= size - used || piece[0] == '\0') {
            buffer[0] = '\0'; // half a name is another name
            return false;
        }
        memcpy(buffer + used, piece, count);
        used += count;
    }
    buffer[used] = '\0';
    return true;
}

size_t json_text_length(const struct json_tape *tape, const struct json_node *string) {
    if (!is_string(string)) {
        return 0;
    }
    if (!string->escaped) {
        return string->length;
    }
    const char *at = tape->text + string->start;
    const char *end = at + string->length;
    size_t length = 0;
    while (at < end) {
        char piece[4];
        length += json_unescape(&at, piece);
    }
    return length;
}

static bool same_arrays(const struct json_tape *a, const struct json_node *x,
                        const struct json_tape *b, const struct json_node *y) {
    const struct json_node *left = json_first(a, x);
    const struct json_node *right = json_first(b, y);

    while (left && right) {
        if (!json_same(a, left, b, right)) {
            return false;
        }
        left = json_next(a, x, left);
        right = json_next(b, y, right);
    }
    return !left && !right;
}

static bool same_few_members(const struct json_tape *a, const struct json_node *x,
                             const struct json_tape *b, const struct json_node *y) {
    const struct json_node *key = json_first(a, x);

    while (key) {
        const struct json_node *value = key + 1;
        const struct json_node *other = member_named(b, y, json_slice_of(a->text, key));
        if (!other || !json_same(a, value, b, other)) {
            return false;
        }
        key = json_next(a, x, value);
    }
    return true;
}

static void sorted_keys(const struct json_tape *tape, const struct json_node *object,
                        struct json_node *keys) {
    size_t count = 0;
    const struct json_node *key = json_first(tape, object);

    while (key) {
        keys[count++] = *key;
        key = json_next(tape, object, key + 1);
    }
    json_sort_keys(keys, count, tape->text);
}

static bool same_sorted(const struct json_tape *a, const struct json_node *keys,
                        const struct json_tape *b, const struct json_node *others, size_t count) {
    for (size_t i = 0; i < count; i++) {
        // A key's next is its value.
        if (!json_slice_equal(json_slice_of(a->text, &keys[i]),
                              json_slice_of(b->text, &others[i])) ||
            !json_same(a, &a->nodes[keys[i].next], b, &b->nodes[others[i].next])) {
            return false;
        }
    }
    return true;
}

static bool same_objects(const struct json_tape *a, const struct json_node *x,
                         const struct json_tape *b, const struct json_node *y) {
    size_t count = x->count;

    if (count <= FEW_MEMBERS) {
        return same_few_members(a, x, b, y);
    }
    struct json_node *keys = malloc(2 * count * sizeof *keys);
    if (!keys) {
        return same_few_members(a, x, b, y); // slower, but as true
    }
    sorted_keys(a, x, keys);
    sorted_keys(b, y, keys + count);
    bool same = same_sorted(a, keys, b, keys + count, count);
    free(keys);
    return same;
}

static bool same_numbers(const struct json_tape *a, const struct json_node *x,
                         const struct json_tape *b, const struct json_node *y) {
    struct json_decimal left = json_decimal_of(a->text + x->start, x->length);
    struct json_decimal right = json_decimal_of(b->text + y->start, y->length);

    return json_decimal_equal(&left, &right);
}

bool json_same(const struct json_tape *a, const struct json_node *x, const struct json_tape *b,
               const struct json_node *y) {
    if (!x || !y) {
        return x == y;
    }
    if (x->kind != y->kind || x->count != y->count) {
        return false;
    }
    switch (x->kind) {
    case JSON_NUMBER:
        return same_numbers(a, x, b, y);
    case JSON_STRING:
        return json_slice_equal(json_slice_of(a->text, x), json_slice_of(b->text, y));
    case JSON_ARRAY:
        return same_arrays(a, x, b, y);
    case JSON_OBJECT:
        return same_objects(a, x, b, y);
    default:
        return true;
    }
}
