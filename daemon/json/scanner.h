// What the two halves of the scanner share: lex.c reads what has no inner structure (blanks, words,
// numbers, strings), scan.c what has (arrays, objects, the whole text).
//
// Every function that returns false has filled the error.
#pragma once

#include "json/internal.h"

enum { JSON_MAX_DEPTH = 64 };

// An open array or object.
struct json_frame {
    uint32_t node;
    uint32_t key;
    bool inside; // a member or element is being read, its key known
};

struct json_scanner {
    struct json_tape *tape;
    struct json_error *error;
    const char *at;
    const char *end;
    unsigned max_depth;
    unsigned depth;
    bool comments;
    struct json_frame frames[JSON_MAX_DEPTH];
};

// Fills the error: the place, the pointer of the value being read, and the sentence. Returns false.
__attribute__((cold)) bool json_lex_fail(struct json_scanner *s, const char *at, const char *what);

// Fails with the sentence unless the byte at hand has a worse fault than being another one (the
// text ends, a comment, no UTF-8).
__attribute__((cold)) bool json_lex_missing(struct json_scanner *s, const char *what);

// Fails because no value can start at the byte at hand.
__attribute__((cold)) bool json_lex_no_value(struct json_scanner *s);

// Makes room on the tape for wanted nodes in all.
bool json_lex_grow(struct json_scanner *s, size_t wanted);

// Moves behind the comments at hand and the blanks behind each.
bool json_lex_comments(struct json_scanner *s);

// Read a value and push its node: a given word, a number (at its first byte), a string (at its
// opening quote).
bool json_lex_word(struct json_scanner *s, const char *word, enum json_kind kind);
bool json_lex_number(struct json_scanner *s);
bool json_lex_string(struct json_scanner *s);

// Pushes a node that spans a piece of the text.
static inline bool json_lex_push(struct json_scanner *s, enum json_kind kind, const char *start,
                                 const char *end, bool escaped) {
    struct json_tape *tape = s->tape;

    if (tape->count == tape->capacity && !json_lex_grow(s, tape->count + 1)) {
        return false;
    }
    struct json_node *node = &tape->nodes[tape->count++];
    node->start = (uint32_t)(start - tape->text);
    node->length = (uint32_t)(end - start);
    node->next = (uint32_t)tape->count;
    node->count = 0;
    node->kind = (uint8_t)kind;
    node->escaped = escaped;
    return true;
}

// The byte at hand, or -1 at the end.
static inline int json_lex_peek(const struct json_scanner *s) {
    return s->at < s->end ? (unsigned char)*s->at : -1;
}

static inline void json_lex_blanks(struct json_scanner *s) {
    while (s->at < s->end &&
           (*s->at == ' ' || *s->at == '\n' || *s->at == '\r' || *s->at == '\t')) {
        s->at++;
    }
}

// Moves behind blanks, and comments where they are allowed.
static inline bool json_lex_skip(struct json_scanner *s) {
    json_lex_blanks(s);
    return !s->comments || json_lex_peek(s) != '/' || json_lex_comments(s);
}
