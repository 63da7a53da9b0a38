// The lower half of the scanner: blanks, comments, words, numbers and strings, and the making of
// errors. The place of an error is worked out only when there is one: until then each open array
// or object keeps just the index of its node and of the key being read.
#include "json/scanner.h"

#include "base/array.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_CAPACITY = 64,
    LENGTH_OF_PLAIN_NUMBER = 300, // a number no longer and without exponent fits a double
};

static void write_pointer(const struct json_scanner *s, char *buffer, size_t size) {
    struct json_path path = {.buffer = buffer, .size = size};

    buffer[0] = '\0';
    for (unsigned i = 0; i < s->depth && s->frames[i].inside; i++) {
        const struct json_frame *frame = &s->frames[i];
        const struct json_node *node = &s->tape->nodes[frame->node];
        if (node->kind == JSON_OBJECT) {
            json_path_key(&path, json_slice_of(s->tape->text, &s->tape->nodes[frame->key]));
        } else {
            json_path_index(&path, node->count);
        }
    }
}

bool json_lex_fail(struct json_scanner *s, const char *at, const char *what) {
    if (s->error) {
        s->error->offset = (size_t)(at - s->tape->text);
        snprintf(s->error->what, sizeof s->error->what, "%s", what);
        write_pointer(s, s->error->pointer, sizeof s->error->pointer);
    }
    return false;
}

bool json_lex_grow(struct json_scanner *s, size_t wanted) {
    struct json_tape *tape = s->tape;
    size_t room = tape->capacity == 0 && wanted < FIRST_CAPACITY ? FIRST_CAPACITY : wanted;

    return BASE_ARRAY_RESERVE(tape->nodes, 0, room, tape->capacity) ||
           json_lex_fail(s, s->at, "out of memory while reading this");
}

// Moves to the end of a comment's text, which must be UTF-8 like everything else.
static bool skip_comment_text(struct json_scanner *s, bool block) {
    while (s->at < s->end) {
        if (block ? s->end - s->at >= 2 && s->at[0] == '*' && s->at[1] == '/' : *s->at == '\n') {
            return true;
        }
        size_t length = json_utf8_length(s->at, s->end);
        if (length == 0) {
            return json_lex_fail(s, s->at, "these bytes are not UTF-8");
        }
        s->at += length;
    }
    return true;
}

bool json_lex_comments(struct json_scanner *s) {
    while (s->end - s->at >= 2 && s->at[0] == '/' && (s->at[1] == '/' || s->at[1] == '*')) {
        const char *start = s->at;
        bool block = s->at[1] == '*';
        s->at += 2;
        if (!skip_comment_text(s, block)) {
            return false;
        }
        if (block && s->at == s->end) {
            return json_lex_fail(s, start, "this comment is never closed");
        }
        s->at += block ? 2 : 0;
        json_lex_blanks(s);
    }
    return true;
}

// What the scanner was about to read is not there.
bool json_lex_missing(struct json_scanner *s, const char *what) {
    int c = json_lex_peek(s);

    if (c < 0) {
        return json_lex_fail(s, s->at, "the text ends too early");
    }
    if (c == '/') {
        return json_lex_fail(s, s->at,
                             s->comments ? "a comment starts with // or /*"
                                         : "comments are not allowed here");
    }
    if (json_utf8_length(s->at, s->end) == 0) {
        return json_lex_fail(s, s->at, "these bytes are not UTF-8");
    }
    return json_lex_fail(s, s->at, what);
}

bool json_lex_no_value(struct json_scanner *s) {
    switch (json_lex_peek(s)) {
    case '\'':
        return json_lex_fail(s, s->at, "a string stands in double quotes");
    case '+':
        return json_lex_fail(s, s->at, "a number may not start with a plus sign");
    case '.':
        return json_lex_fail(s, s->at, "a number needs a digit before its point");
    case 'N':
    case 'I':
        return json_lex_fail(s, s->at, "a value is missing here (NaN and Infinity are none)");
    default:
        return json_lex_missing(s, "a value is missing here");
    }
}

bool json_lex_word(struct json_scanner *s, const char *word, enum json_kind kind) {
    const char *start = s->at;

    for (; *word; word++, s->at++) {
        if (json_lex_peek(s) != (unsigned char)*word) {
            return json_lex_missing(s, "only true, false and null may stand without quotes");
        }
    }
    return json_lex_push(s, kind, start, s->at, false);
}

static inline bool skip_digits(struct json_scanner *s) {
    const char *start = s->at;

    while (s->at < s->end && *s->at >= '0' && *s->at <= '9') {
        s->at++;
    }
    return s->at > start || json_lex_fail(s, s->at, "a digit is missing here");
}

static bool skip_whole(struct json_scanner *s) {
    bool zero = json_lex_peek(s) == '0';
    const char *start = s->at;

    if (!skip_digits(s)) {
        return false;
    }
    return !zero || s->at == start + 1 ||
           json_lex_fail(s, start, "a number may not have zeros in front of it");
}

static bool skip_exponent(struct json_scanner *s) {
    s->at++;
    if (json_lex_peek(s) == '+' || json_lex_peek(s) == '-') {
        s->at++;
    }
    return skip_digits(s);
}

bool json_lex_number(struct json_scanner *s) {
    const char *start = s->at;
    bool exponent = false;

    s->at += *s->at == '-' ? 1 : 0;
    if (!skip_whole(s)) {
        return false;
    }
    if (json_lex_peek(s) == '.') {
        s->at++;
        if (!skip_digits(s)) {
            return false;
        }
    }
    if (json_lex_peek(s) == 'e' || json_lex_peek(s) == 'E') {
        exponent = true;
        if (!skip_exponent(s)) {
            return false;
        }
    }
    if (exponent || s->at - start > LENGTH_OF_PLAIN_NUMBER) {
        struct json_decimal decimal = json_decimal_of(start, (size_t)(s->at - start));
        if (!json_decimal_in_range(&decimal)) {
            return json_lex_fail(s, start, "this number is out of the range of a double");
        }
    }
    return json_lex_push(s, JSON_NUMBER, start, s->at, false);
}

// At the backslash of \uXXXX. Returns the length of the escape, both halves of a pair, or 0.
static size_t unicode_escape(struct json_scanner *s, const char *p) {
    const char *bad = p;
    int code = json_hex4(p + 2, s->end, &bad);

    if (code < 0) {
        json_lex_fail(s, bad, "\\u needs four hexadecimal digits");
        return 0;
    }
    if (code < 0xd800 || code > 0xdfff) {
        return 6;
    }
    int low = -1;
    if (code <= 0xdbff && s->end - p >= 12 && p[6] == '\\' && p[7] == 'u') {
        low = json_hex4(p + 8, s->end, &bad);
    }
    if (low < 0xdc00 || low > 0xdfff) {
        json_lex_fail(s, p, "this is half of a surrogate pair without the other half");
        return 0;
    }
    return 12;
}

// What is no plain character of a string: an escape, UTF-8, or an error. Returns its length, or 0.
static size_t special(struct json_scanner *s, const char *p) {
    unsigned char c = (unsigned char)*p;

    if (c == '\\') {
        if (p + 1 == s->end) {
            json_lex_fail(s, s->end, "the text ends inside a string");
            return 0;
        }
        if (p[1] == 'u') {
            return unicode_escape(s, p);
        }
        if (p[1] == '\0' || !strchr("\"\\/bfnrt", p[1])) {
            json_lex_fail(s, p + 1,
                          "no such escape: only \\\" \\\\ \\/ \\b \\f \\n \\r \\t and \\uXXXX are");
            return 0;
        }
        return 2;
    }
    if (c < 0x20) {
        json_lex_fail(s, p, "a control character must be escaped in a string");
        return 0;
    }
    size_t length = json_utf8_length(p, s->end);
    if (length == 0) {
        json_lex_fail(s, p, "these bytes are not UTF-8");
    }
    return length;
}

static inline bool is_plain(char c) {
    return (unsigned char)c >= 0x20 && (unsigned char)c < 0x80 && c != '"' && c != '\\';
}

// At the opening quote; the node is the next one of the tape.
bool json_lex_string(struct json_scanner *s) {
    const char *start = s->at + 1;
    const char *p = start;
    bool escaped = false;

    for (;;) {
        while (p < s->end && is_plain(*p)) {
            p++;
        }
        if (p == s->end) {
            return json_lex_fail(s, p, "the text ends inside a string");
        }
        if (*p == '"') {
            break;
        }
        escaped = escaped || *p == '\\';
        size_t length = special(s, p);
        if (length == 0) {
            return false;
        }
        p += length;
    }
    s->at = p + 1;
    return json_lex_push(s, JSON_STRING, start, p, escaped);
}
