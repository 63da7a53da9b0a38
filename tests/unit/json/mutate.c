// Making and mutating JSON texts.
#include "mutate.h"

#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

static const char *const numbers[] = {
    "0",
    "-0",
    "1",
    "-17",
    "1.5",
    "-0.25e-3",
    "1E5",
    "9007199254740993",
    "9223372036854775807",
    "9223372036854775808",
    "18446744073709551615",
    "18446744073709551616",
    "-9223372036854775808",
    "-9223372036854775809",
    "0.1",
    "1e308",
    "5e-324",
    "123456789.123456789",
    "1764088911123",
};

static const char *const strings[] = {
    "\"\"",
    "\"a\"",
    "\"isolated\"",
    "\"\\u0061\"",
    "\"\xc3\xa9\"",
    "\"\\n\\t\\\"\\\\\\/\"",
    "\"\\ud83d\\ude00\"",
    "\"\xf0\x9f\x98\x80\"",
    "\"x~/y\"",
    "\"\\u20ac z\"",
    "\"\\b\\f\\r\"",
    "\"\\u00e9\"",
    "\"\\u0000\"",
    "\"\x7f\"",
};

// Pieces that a lenient reader may take, or that change what stands around them.
static const char *const pieces[] = {
    "NaN",
    "Infinity",
    "-Infinity",
    "'a'",
    "'",
    "\"",
    "\\",
    "\\u",
    "\\ud800",
    "\\udc00",
    "\\u0000",
    "\xc0\x80",
    "\xed\xa0\x80",
    "\xff",
    "\x80",
    "\xf4\x90\x80\x80",
    "\xef\xbb\xbf",
    "{",
    "}",
    "[",
    "]",
    ",",
    ":",
    ",,",
    "1.",
    ".5",
    "+1",
    "01",
    "-",
    "e",
    "E+",
    "1e400",
    "1e-400",
    "nul",
    "null",
    "true",
    "TRUE",
    "False",
    "\n",
    "\t",
    "\x01",
    "\x1f",
    " ",
    "/**/",
    "//",
    "#",
    "{}",
    "[]",
    "\"a\":1",
    ",\"a\":2",
    "\"\\u0061\":3,",
    "[[[[[[[[",
    "]]]]]]]]",
    "0x10",
    "1e5",
    "99999999999999999999",
};

uint32_t mutate_random(uint64_t *seed, uint32_t bound) {
    *seed ^= *seed << 13;
    *seed ^= *seed >> 7;
    *seed ^= *seed << 17;
    return (uint32_t)(*seed >> 32) % bound;
}

static char *append(char *at, const char *piece) {
    while (*piece) {
        *at++ = *piece++;
    }
    return at;
}

static char *append_blank(uint64_t *seed, char *at) {
    static const char blanks[] = " \n\r\t";

    if (mutate_random(seed, 6) == 0) {
        *at++ = blanks[mutate_random(seed, 4)];
    }
    return at;
}

static char *append_scalar(uint64_t *seed, char *at) {
    static const char *const words[] = {"null", "true", "false"};

    switch (mutate_random(seed, 5)) {
    case 0:
        return append(at, words[mutate_random(seed, COUNT(words))]);
    case 1:
    case 2:
        return append(at, numbers[mutate_random(seed, COUNT(numbers))]);
    default:
        return append(at, strings[mutate_random(seed, COUNT(strings))]);
    }
}

// Keys are made different by their number.
static char *append_key(uint64_t *seed, char *at, uint32_t number) {
    at = append(at, "\"");
    *at++ = (char)('a' + number);
    at = append(at, mutate_random(seed, 3) == 0 ? "\\u0062\"" : "\"");
    return append(append_blank(seed, at), ":");
}

// Three levels of at most three children stay far below MUTATE_SIZE.
static char *append_value(uint64_t *seed, char *at, int levels) {
    at = append_blank(seed, at);
    uint32_t choice = mutate_random(seed, 3);
    if (levels == 0 || choice == 0) {
        return append_blank(seed, append_scalar(seed, at));
    }
    uint32_t count = mutate_random(seed, 4);
    at = append(at, choice == 1 ? "[" : "{");
    for (uint32_t i = 0; i < count; i++) {
        at = i > 0 ? append(at, ",") : at;
        at = choice == 1 ? at : append_key(seed, at, i);
        at = append_value(seed, at, levels - 1);
    }
    return append_blank(seed, append(at, choice == 1 ? "]" : "}"));
}

size_t mutate_make(uint64_t *seed, char *text) {
    return (size_t)(append_value(seed, text, 3) - text);
}

static size_t insert(char *text, size_t length, size_t place, const char *piece, size_t bytes) {
    if (length + bytes > MUTATE_SIZE) {
        return length;
    }
    memmove(text + place + bytes, text + place, length - place);
    memcpy(text + place, piece, bytes);
    return length + bytes;
}

static size_t repeat(uint64_t *seed, char *text, size_t length, size_t place) {
    char copy[32];
    size_t bytes = 1 + mutate_random(seed, sizeof copy);

    bytes = bytes < length - place ? bytes : length - place;
    memcpy(copy, text + place, bytes);
    return insert(text, length, mutate_random(seed, (uint32_t)length + 1), copy, bytes);
}

static size_t change_once(uint64_t *seed, char *text, size_t length) {
    size_t place = mutate_random(seed, (uint32_t)length + 1);
    size_t bytes = 1 + mutate_random(seed, 4);

    switch (mutate_random(seed, 6)) {
    case 0:
        if (place < length) {
            text[place] = (char)mutate_random(seed, 256);
        }
        return length;
    case 1:
        bytes = bytes < length - place ? bytes : length - place;
        memmove(text + place, text + place + bytes, length - place - bytes);
        return length - bytes;
    case 2:
        return repeat(seed, text, length, place);
    case 3:
        return mutate_random(seed, 4) == 0 ? place : length;
    default: {
        const char *piece = pieces[mutate_random(seed, COUNT(pieces))];
        return insert(text, length, place, piece, strlen(piece));
    }
    }
}

size_t mutate_change(uint64_t *seed, char *text, size_t length) {
    for (uint32_t times = 1 + mutate_random(seed, 3); times > 0; times--) {
        length = change_once(seed, text, length);
    }
    return length;
}
