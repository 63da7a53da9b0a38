// What the files of this folder share: strings and numbers as they stand in a text, sorting of
// keys, and pointers. Nobody else includes this.
#pragma once

#include "json/json.h"

// A string as it stands between its quotes. It has passed the scanner, so its escapes are right.
struct json_slice {
    const char *data;
    size_t length;
    bool escaped;
};

// A number as d.ddd * 10^exponent, without zeros in front of or behind the digits.
struct json_decimal {
    const char *first; // first digit in the text (a point may stand among the digits)
    size_t digits;     // how many; 0 only for zero
    int64_t exponent;  // of the first digit
    bool negative;     // never of zero, for -0 equals 0
};

// A pointer being written into a buffer of fixed size. It is cut between whole characters.
struct json_path {
    char *buffer;
    size_t size;
    size_t used;
    bool cut;
};

static inline struct json_slice json_slice_of(const char *text, const struct json_node *string) {
    return (struct json_slice){text + string->start, string->length, string->escaped != 0};
}

// Length of the UTF-8 sequence at p (1 to 4), or 0 where there is none before end. No overlong
// forms, no surrogates, nothing over U+10FFFF.
size_t json_utf8_length(const char *p, const char *end);

// The value of the four hexadecimal digits at p, or -1; *bad is the first byte that is none.
int json_hex4(const char *p, const char *end, const char **bad);

// Decodes what stands at *at (a byte, or an escape) into out and moves *at behind it. Returns the
// number of bytes written.
size_t json_unescape(const char **at, char out[4]);

// Whether two strings have the same unescaped bytes; for hot paths.
bool json_slice_equal(struct json_slice a, struct json_slice b);

// Sorts copies of an object's keys by their unescaped bytes, equal ones by their place.
void json_sort_keys(struct json_node *keys, size_t count, const char *text);

// Takes apart a number that has passed the grammar.
struct json_decimal json_decimal_of(const char *number, size_t length);

// Copies up to size significant digits, without the point. Returns how many.
size_t json_decimal_digits(const struct json_decimal *decimal, char *digits, size_t size);

// Exactly equal, however they are spelled.
bool json_decimal_equal(const struct json_decimal *a, const struct json_decimal *b);

// Whether a double can hold the number: it does not round to infinity, nor to 0 unless it is 0.
bool json_decimal_in_range(const struct json_decimal *decimal);

// Writes /key or /index, escaped as RFC 6901 has it. The buffer always ends with a NUL.
void json_path_key(struct json_path *path, struct json_slice key);
void json_path_index(struct json_path *path, uint32_t index);
