// Strings as they stand in a JSON text: UTF-8, escapes, and comparing without unescaping into
// memory, so that neither the scanner nor a look-up allocates for a string.
#include "json/internal.h"

#include "base/hex.h"

#include <stdlib.h>
#include <string.h>

static bool is_tail(unsigned char byte) {
    return (byte & 0xc0) == 0x80;
}

// The second byte decides about overlong forms, surrogates and the end of Unicode.
static bool second_fits(unsigned char lead, unsigned char second) {
    switch (lead) {
    case 0xe0:
        return second >= 0xa0 && second <= 0xbf;
    case 0xed:
        return second >= 0x80 && second <= 0x9f;
    case 0xf0:
        return second >= 0x90 && second <= 0xbf;
    case 0xf4:
        return second >= 0x80 && second <= 0x8f;
    default:
        return is_tail(second);
    }
}

size_t json_utf8_length(const char *p, const char *end) {
    if (p == end) {
        return 0;
    }
    unsigned char lead = (unsigned char)*p;
    if (lead < 0x80) {
        return 1;
    }
    if (lead < 0xc2 || lead > 0xf4) {
        return 0;
    }
    size_t length = lead < 0xe0 ? 2 : lead < 0xf0 ? 3 : 4;
    if ((size_t)(end - p) < length || !second_fits(lead, (unsigned char)p[1])) {
        return 0;
    }
    for (size_t i = 2; i < length; i++) {
        if (!is_tail((unsigned char)p[i])) {
            return 0;
        }
    }
    return length;
}

bool json_is_utf8(const char *text, size_t length) {
    const char *end = text + length;
    for (size_t one = 1; text < end; text += one) {
        one = json_utf8_length(text, end);
        if (one == 0) {
            return false;
        }
    }
    return true;
}

int json_hex4(const char *p, const char *end, const char **bad) {
    int value = 0;

    for (int i = 0; i < 4; i++, p++) {
        int digit = p < end ? base_hex_digit(*p) : -1;
        if (digit < 0) {
            *bad = p;
            return -1;
        }
        value = value * 16 + digit;
    }
    return value;
}

static size_t utf8_put(uint32_t code, char out[4]) {
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xc0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3f));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xe0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3f));
        out[2] = (char)(0x80 | (code & 0x3f));
        return 3;
    }
    out[0] = (char)(0xf0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3f));
    out[2] = (char)(0x80 | (code >> 6 & 0x3f));
    out[3] = (char)(0x80 | (code & 0x3f));
    return 4;
}

// At the u of \uXXXX, or of the first of two that make a surrogate pair.
static size_t unescape_unicode(const char **at, char out[4]) {
    const char *bad;
    uint32_t code = (uint32_t)json_hex4(*at + 1, *at + 5, &bad);

    *at += 5;
    if (code >= 0xd800 && code <= 0xdbff) {
        uint32_t low = (uint32_t)json_hex4(*at + 2, *at + 6, &bad);
        code = 0x10000 + ((code - 0xd800) << 10) + (low - 0xdc00);
        *at += 6;
    }
    return utf8_put(code, out);
}

size_t json_unescape(const char **at, char out[4]) {
    static const char letters[] = "bfnrt";
    static const char meant[] = "\b\f\n\r\t";

    if (**at != '\\') {
        out[0] = *(*at)++;
        return 1;
    }
    ++*at;
    if (**at == 'u') {
        return unescape_unicode(at, out);
    }
    const char *letter = strchr(letters, **at);
    out[0] = letter ? meant[letter - letters] : **at;
    ++*at;
    return 1;
}

// Reads a slice byte by byte, unescaped.
struct reader {
    const char *at;
    const char *end;
    char bytes[4];
    size_t count;
    size_t used;
};

static int reader_next(struct reader *reader) {
    if (reader->used == reader->count) {
        if (reader->at == reader->end) {
            return -1;
        }
        reader->count = json_unescape(&reader->at, reader->bytes);
        reader->used = 0;
    }
    return (unsigned char)reader->bytes[reader->used++];
}

static int compare_escaped(struct json_slice a, struct json_slice b) {
    struct reader x = {.at = a.data, .end = a.data + a.length};
    struct reader y = {.at = b.data, .end = b.data + b.length};

    for (;;) {
        int left = reader_next(&x);
        int right = reader_next(&y);
        if (left != right) {
            return left < right ? -1 : 1;
        }
        if (left < 0) {
            return 0;
        }
    }
}

// Orders two strings by their unescaped bytes: below, equal to or above 0.
static int compare(struct json_slice a, struct json_slice b) {
    if (a.escaped || b.escaped) {
        return compare_escaped(a, b);
    }
    int order = memcmp(a.data, b.data, a.length < b.length ? a.length : b.length);
    if (order != 0) {
        return order;
    }
    return (a.length > b.length) - (a.length < b.length);
}

bool json_slice_equal(struct json_slice a, struct json_slice b) {
    if (a.escaped || b.escaped) {
        return compare_escaped(a, b) == 0;
    }
    return a.length == b.length && memcmp(a.data, b.data, a.length) == 0;
}

static int compare_keys(const void *left, const void *right, void *text) {
    const struct json_node *a = left;
    const struct json_node *b = right;
    int order = compare(json_slice_of(text, a), json_slice_of(text, b));

    return order != 0 ? order : (a->start > b->start) - (a->start < b->start);
}

void json_sort_keys(struct json_node *keys, size_t count, const char *text) {
    union {
        const char *borrowed;
        void *context;
    } pass = {.borrowed = text}; // qsort_r has no const context

    qsort_r(keys, count, sizeof *keys, compare_keys, pass.context);
}
