// The writer: JSON into a growing text. Whatever it is given, what it writes is JSON: bytes that
// are no UTF-8 come out as U+FFFD, and a number that is none as null.
#include "json/internal.h"

#include "base/array.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAPACITY = 256,
    FEW_MEMBERS = 16,
};

static bool reserve(struct json_out *out, size_t more) {
    if (out->failed) {
        return false;
    }
    if (more < out->capacity - out->length) { // one byte is left for the NUL
        return true;
    }
    size_t room = out->capacity == 0 && more < FIRST_CAPACITY ? FIRST_CAPACITY : more + 1;
    out->failed = room == 0 || !BASE_ARRAY_RESERVE(out->data, out->length, room, out->capacity);
    return !out->failed;
}

static void put(struct json_out *out, const char *bytes, size_t length) {
    if (reserve(out, length)) {
        memcpy(out->data + out->length, bytes, length);
        out->length += length;
        out->data[out->length] = '\0';
    }
}

static void put_char(struct json_out *out, char c) {
    put(out, &c, 1);
}

static void begin_value(struct json_out *out) {
    if (out->comma) {
        put_char(out, ',');
    }
    out->comma = true;
}

static void put_escaped(struct json_out *out, unsigned char c) {
    static const char letters[] = {['\b'] = 'b', ['\t'] = 't', ['\n'] = 'n', ['\f'] = 'f',
                                   ['\r'] = 'r', ['"'] = '"',  ['\\'] = '\\'};
    char escape[8];
    int length;

    if (c < sizeof letters && letters[c]) {
        length = snprintf(escape, sizeof escape, "\\%c", letters[c]);
    } else {
        length = snprintf(escape, sizeof escape, "\\u%04x", (unsigned)c);
    }
    put(out, escape, (size_t)length);
}

static bool needs_escape(unsigned char c) {
    return c < 0x20 || c == '"' || c == '\\';
}

// What stands between the quotes.
static void put_text(struct json_out *out, const char *text, size_t length) {
    const char *end = text + length;
    const char *from = text; // not yet copied from here on

    while (text < end) {
        size_t bytes = json_utf8_length(text, end);
        if (bytes > 0 && !needs_escape((unsigned char)*text)) {
            text += bytes;
            continue;
        }
        put(out, from, (size_t)(text - from));
        if (bytes == 0) {
            put(out, "\xef\xbf\xbd", 3);
        } else {
            put_escaped(out, (unsigned char)*text);
        }
        from = ++text;
    }
    put(out, from, (size_t)(end - from));
}

void json_out_reset(struct json_out *out) {
    out->length = 0;
    out->failed = false;
    out->comma = false;
    if (out->data) {
        out->data[0] = '\0';
    }
}

void json_out_free(struct json_out *out) {
    free(out->data);
    *out = (struct json_out){0};
}

static void open_level(struct json_out *out, char bracket) {
    begin_value(out);
    put_char(out, bracket);
    out->comma = false;
}

static void close_level(struct json_out *out, char bracket) {
    put_char(out, bracket);
    out->comma = true;
}

void json_out_object(struct json_out *out) {
    open_level(out, '{');
}

void json_out_object_end(struct json_out *out) {
    close_level(out, '}');
}

void json_out_array(struct json_out *out) {
    open_level(out, '[');
}

void json_out_array_end(struct json_out *out) {
    close_level(out, ']');
}

void json_out_key(struct json_out *out, const char *name) {
    json_out_string(out, name);
    put_char(out, ':');
    out->comma = false;
}

void json_out_string(struct json_out *out, const char *text) {
    if (text) {
        json_out_string_n(out, text, strlen(text));
    } else {
        json_out_null(out);
    }
}

void json_out_string_n(struct json_out *out, const char *text, size_t length) {
    begin_value(out);
    put_char(out, '"');
    put_text(out, text, length);
    put_char(out, '"');
}

void json_out_int(struct json_out *out, int64_t value) {
    char digits[24];
    int length = snprintf(digits, sizeof digits, "%" PRId64, value);

    begin_value(out);
    put(out, digits, (size_t)length);
}

// Between these exponents a number is written in full, without one.
enum { LEAST_PLAIN = -7, MOST_PLAIN = 20 };

static void put_zeros(struct json_out *out, int64_t count) {
    for (; count > 0; count--) {
        put_char(out, '0');
    }
}

static void put_plain(struct json_out *out, const char *digits, size_t count, int64_t exponent) {
    if (exponent < 0) {
        put(out, "0.", 2);
        put_zeros(out, -exponent - 1);
        put(out, digits, count);
        return;
    }
    size_t whole = (size_t)exponent + 1;
    put(out, digits, whole < count ? whole : count);
    put_zeros(out, (int64_t)whole - (int64_t)count);
    if (whole < count) {
        put_char(out, '.');
        put(out, digits + whole, count - whole);
    }
}

static void put_scientific(struct json_out *out, const char *digits, size_t count,
                           int64_t exponent) {
    char tail[24];
    int length = snprintf(tail, sizeof tail, "e%" PRId64, exponent);

    put(out, digits, 1);
    if (count > 1) {
        put_char(out, '.');
        put(out, digits + 1, count - 1);
    }
    put(out, tail, (size_t)length);
}

// Digits without zeros at either end; none of them for zero.
static void put_decimal(struct json_out *out, bool negative, const char *digits, size_t count,
                        int64_t exponent) {
    if (count == 0) {
        put_char(out, '0');
        return;
    }
    if (negative) {
        put_char(out, '-');
    }
    if (exponent >= LEAST_PLAIN && exponent <= MOST_PLAIN) {
        put_plain(out, digits, count, exponent);
    } else {
        put_scientific(out, digits, count, exponent);
    }
}

// The digits of a finite value, to a precision; the exponent is that of the first. The point that
// printf sets depends on the locale, so it is left out. Returns whether they read back the same.
static bool round_to(double magnitude, int precision, char digits[32], int64_t *exponent) {
    char printed[48];
    size_t count = 0;
    char *p = printed;

    snprintf(printed, sizeof printed, "%.*e", precision - 1, magnitude);
    for (; *p && *p != 'e'; p++) {
        if (*p >= '0' && *p <= '9') {
            digits[count++] = *p;
        }
    }
    *exponent = strtol(*p ? p + 1 : p, NULL, 10);
    snprintf(digits + count, 32 - count, "e%" PRId64, *exponent - (precision - 1));
    bool same = strtod(digits, NULL) == magnitude;
    digits[count] = '\0';
    return same;
}

void json_out_double(struct json_out *out, double value) {
    if (!isfinite(value)) {
        json_out_null(out);
        return;
    }
    if (value == trunc(value) && fabs(value) < 1e15) {
        json_out_int(out, (int64_t)value);
        return;
    }
    char digits[32];
    int64_t exponent = 0;
    for (int precision = 15; precision <= 17; precision++) {
        if (round_to(fabs(value), precision, digits, &exponent)) {
            break;
        }
    }
    size_t count = strlen(digits);
    while (count > 0 && digits[count - 1] == '0') {
        count--;
    }
    begin_value(out);
    put_decimal(out, value < 0, digits, count, exponent);
}

void json_out_bool(struct json_out *out, bool value) {
    json_out_raw(out, value ? "true" : "false", value ? 4 : 5);
}

void json_out_null(struct json_out *out) {
    json_out_raw(out, "null", 4);
}

void json_out_raw(struct json_out *out, const char *json, size_t length) {
    begin_value(out);
    put(out, json, length);
}

// A string goes out as it stands: it was JSON when it came.
static void put_slice(struct json_out *out, const struct json_tape *tape,
                      const struct json_node *string) {
    begin_value(out);
    put_char(out, '"');
    put(out, tape->text + string->start, string->length);
    put_char(out, '"');
}

static void put_key_slice(struct json_out *out, const struct json_tape *tape,
                          const struct json_node *key) {
    put_slice(out, tape, key);
    put_char(out, ':');
    out->comma = false;
}

void json_out_node(struct json_out *out, const struct json_tape *tape,
                   const struct json_node *node) {
    if (node->kind == JSON_STRING) {
        put_slice(out, tape, node);
        return;
    }
    if (node->kind != JSON_ARRAY && node->kind != JSON_OBJECT) {
        json_out_raw(out, tape->text + node->start, node->length);
        return;
    }
    bool object = node->kind == JSON_OBJECT;
    open_level(out, object ? '{' : '[');
    const struct json_node *child = json_first(tape, node);
    while (child) {
        if (object) {
            put_key_slice(out, tape, child++);
        }
        json_out_node(out, tape, child);
        child = json_next(tape, node, child);
    }
    close_level(out, object ? '}' : ']');
}

static void canonical_string(struct json_out *out, const struct json_tape *tape,
                             const struct json_node *string) {
    struct json_slice slice = json_slice_of(tape->text, string);

    if (!slice.escaped) {
        json_out_string_n(out, slice.data, slice.length);
        return;
    }
    begin_value(out);
    put_char(out, '"');
    const char *end = slice.data + slice.length;
    const char *at = slice.data;
    while (at < end) {
        const char *from = at;
        char piece[4];
        size_t count = json_unescape(&at, piece);
        if (*from == '\\') {
            put_text(out, piece, count);
        } else {
            put_char(out, *from); // unescaped already, and the middle of UTF-8 maybe
        }
    }
    put_char(out, '"');
}

static void canonical_number(struct json_out *out, const struct json_tape *tape,
                             const struct json_node *number) {
    struct json_decimal decimal = json_decimal_of(tape->text + number->start, number->length);
    char few[64];
    char *digits = decimal.digits <= sizeof few ? few : malloc(decimal.digits);

    if (!digits) {
        out->failed = true;
        return;
    }
    json_decimal_digits(&decimal, digits, decimal.digits);
    begin_value(out);
    put_decimal(out, decimal.negative, digits, decimal.digits, decimal.exponent);
    if (digits != few) {
        free(digits);
    }
}

static void canonical_object(struct json_out *out, const struct json_tape *tape,
                             const struct json_node *object) {
    struct json_node few[FEW_MEMBERS];
    struct json_node *keys =
        object->count <= FEW_MEMBERS ? few : malloc(object->count * sizeof *keys);
    size_t count = 0;

    if (!keys) {
        out->failed = true;
        return;
    }
    const struct json_node *key = json_first(tape, object);
    while (key) {
        keys[count++] = *key;
        key = json_next(tape, object, key + 1);
    }
    json_sort_keys(keys, count, tape->text);
    json_out_object(out);
    for (size_t i = 0; i < count; i++) {
        canonical_string(out, tape, &keys[i]);
        put_char(out, ':');
        out->comma = false;
        json_out_canonical(out, tape, &tape->nodes[keys[i].next]); // a key's next is its value
    }
    json_out_object_end(out);
    if (keys != few) {
        free(keys);
    }
}

static void canonical_array(struct json_out *out, const struct json_tape *tape,
                            const struct json_node *array) {
    const struct json_node *element = json_first(tape, array);

    json_out_array(out);
    while (element) {
        json_out_canonical(out, tape, element);
        element = json_next(tape, array, element);
    }
    json_out_array_end(out);
}

void json_out_canonical(struct json_out *out, const struct json_tape *tape,
                        const struct json_node *node) {
    switch (node->kind) {
    case JSON_STRING:
        canonical_string(out, tape, node);
        break;
    case JSON_NUMBER:
        canonical_number(out, tape, node);
        break;
    case JSON_ARRAY:
        canonical_array(out, tape, node);
        break;
    case JSON_OBJECT:
        canonical_object(out, tape, node);
        break;
    default:
        json_out_raw(out, tape->text + node->start, node->length);
        break;
    }
}
