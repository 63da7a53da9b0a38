// The upper half of the scanner: arrays, objects and the whole text. One pass, one node per value
// and per key, and no allocation once the tape has grown to the size of what usually comes.
//
// Keys that stand twice are looked for as each key comes, among a few; an object of many members
// has its keys sorted at its end instead (sorted, not hashed, so that no choice of keys makes it
// slow). The sorting borrows the unused end of the tape.
#include "json/scanner.h"

#include <stdlib.h>
#include <string.h>

enum { FEW_KEYS = 16 };

const struct json_limits json_message_limits = {.max_length = 64 * 1024, .max_depth = 16};
const struct json_limits json_config_limits = {
    .max_length = 16 * 1024 * 1024, .max_depth = 32, .comments = true};

static bool read_value(struct json_scanner *s);

static bool open_frame(struct json_scanner *s, enum json_kind kind) {
    if (s->depth >= s->max_depth) {
        return json_lex_fail(s, s->at, "arrays and objects are nested too deep here");
    }
    s->frames[s->depth] = (struct json_frame){.node = (uint32_t)s->tape->count};
    if (!json_lex_push(s, kind, s->at, s->at, false)) {
        return false;
    }
    s->depth++;
    s->at++;
    return json_lex_skip(s);
}

// At the closing bracket.
static void close_frame(struct json_scanner *s) {
    struct json_node *node = &s->tape->nodes[s->frames[--s->depth].node];

    s->at++;
    node->length = (uint32_t)(s->at - s->tape->text) - node->start;
    node->next = (uint32_t)s->tape->count;
}

// Behind a value. Sets more if a comma says that another follows, else the closing bracket is at
// hand.
static bool read_comma(struct json_scanner *s, char closing, bool *more) {
    struct json_frame *frame = &s->frames[s->depth - 1];

    frame->inside = false;
    s->tape->nodes[frame->node].count++;
    if (!json_lex_skip(s)) {
        return false;
    }
    *more = json_lex_peek(s) == ',';
    if (!*more) {
        return json_lex_peek(s) == closing ||
               json_lex_missing(s, closing == ']' ? "a comma or ] is missing here"
                                                  : "a comma or } is missing here");
    }
    const char *comma = s->at++;
    if (!json_lex_skip(s)) {
        return false;
    }
    return json_lex_peek(s) != closing ||
           json_lex_fail(s, comma, "no comma may stand before the closing bracket");
}

static bool read_array(struct json_scanner *s) {
    if (!open_frame(s, JSON_ARRAY)) {
        return false;
    }
    bool more = json_lex_peek(s) != ']';
    while (more) {
        s->frames[s->depth - 1].inside = true;
        if (!read_value(s) || !read_comma(s, ']', &more)) {
            return false;
        }
    }
    close_frame(s);
    return true;
}

// Leaves the pointer at the second member of the name.
static bool fail_twice(struct json_scanner *s, uint32_t key) {
    struct json_frame *frame = &s->frames[s->depth - 1];

    frame->key = key;
    frame->inside = true;
    return json_lex_fail(s, s->tape->text + s->tape->nodes[key].start - 1,
                         "this key stands twice in its object");
}

static bool new_among_few(struct json_scanner *s, uint32_t key) {
    const struct json_node *nodes = s->tape->nodes;
    struct json_slice name = json_slice_of(s->tape->text, &nodes[key]);
    uint32_t other = s->frames[s->depth - 1].node + 1;

    while (other < key) {
        if (json_slice_equal(json_slice_of(s->tape->text, &nodes[other]), name)) {
            return fail_twice(s, key);
        }
        other = nodes[other + 1].next;
    }
    return true;
}

// Copies the keys of the innermost object behind the tape's end.
static struct json_node *borrow_keys(struct json_scanner *s, uint32_t object, size_t count) {
    struct json_tape *tape = s->tape;

    if (tape->capacity - tape->count < count && !json_lex_grow(s, tape->count + count)) {
        return NULL;
    }
    struct json_node *keys = tape->nodes + tape->count;
    uint32_t key = object + 1;
    for (size_t i = 0; i < count; i++) {
        keys[i] = tape->nodes[key];
        key = tape->nodes[key + 1].next;
    }
    return keys;
}

static bool new_among_many(struct json_scanner *s) {
    uint32_t object = s->frames[s->depth - 1].node;
    size_t count = s->tape->nodes[object].count;
    const char *text = s->tape->text;
    struct json_node *keys = borrow_keys(s, object, count);
    uint32_t twice = UINT32_MAX;

    if (!keys) {
        return false;
    }
    json_sort_keys(keys, count, text);
    for (size_t i = 1; i < count; i++) {
        if (keys[i].next < twice &&
            json_slice_equal(json_slice_of(text, &keys[i - 1]), json_slice_of(text, &keys[i]))) {
            twice = keys[i].next;
        }
    }
    // A key's next is its value, which stands right behind it.
    return twice == UINT32_MAX || fail_twice(s, twice - 1);
}

static bool read_key(struct json_scanner *s) {
    struct json_frame *frame = &s->frames[s->depth - 1];
    uint32_t key = (uint32_t)s->tape->count;

    if (json_lex_peek(s) != '"') {
        return json_lex_missing(s, "a key in double quotes is missing here");
    }
    if (!json_lex_string(s)) {
        return false;
    }
    if (s->tape->nodes[frame->node].count < FEW_KEYS && !new_among_few(s, key)) {
        return false;
    }
    frame->key = key;
    frame->inside = true;
    if (!json_lex_skip(s)) {
        return false;
    }
    if (json_lex_peek(s) != ':') {
        return json_lex_missing(s, "a colon is missing here");
    }
    s->at++;
    return json_lex_skip(s);
}

static bool read_object(struct json_scanner *s) {
    if (!open_frame(s, JSON_OBJECT)) {
        return false;
    }
    bool more = json_lex_peek(s) != '}';
    while (more) {
        if (!read_key(s) || !read_value(s) || !read_comma(s, '}', &more)) {
            return false;
        }
    }
    if (s->tape->nodes[s->frames[s->depth - 1].node].count > FEW_KEYS && !new_among_many(s)) {
        return false;
    }
    close_frame(s);
    return true;
}

// Recursion is as deep as the limit at most.
static bool read_value(struct json_scanner *s) {
    switch (json_lex_peek(s)) {
    case '"':
        return json_lex_string(s);
    case '{':
        return read_object(s);
    case '[':
        return read_array(s);
    case 't':
        return json_lex_word(s, "true", JSON_TRUE);
    case 'f':
        return json_lex_word(s, "false", JSON_FALSE);
    case 'n':
        return json_lex_word(s, "null", JSON_NULL);
    case '-':
    case '0':
    case '1':
    case '2':
    case '3':
    case '4':
    case '5':
    case '6':
    case '7':
    case '8':
    case '9':
        return json_lex_number(s);
    default:
        return json_lex_no_value(s);
    }
}

static bool read_text(struct json_scanner *s, size_t length, size_t max_length) {
    const char *text = s->tape->text;

    // A node keeps places as 32 bits, whatever limit is asked for.
    if (length > max_length || length >= UINT32_MAX) {
        return json_lex_fail(s, text + (length > max_length ? max_length : UINT32_MAX),
                             "the text is longer than allowed");
    }
    if (length >= 3 && memcmp(text, "\xef\xbb\xbf", 3) == 0) {
        return json_lex_fail(s, text,
                             "the text starts with a byte order mark, which JSON does not allow");
    }
    if (!json_lex_skip(s)) {
        return false;
    }
    if (s->at == s->end) {
        return json_lex_fail(s, s->at, "the text is empty");
    }
    if (!read_value(s) || !json_lex_skip(s)) {
        return false;
    }
    return s->at == s->end || json_lex_missing(s, "nothing may follow the end of the value");
}

bool json_scan(struct json_tape *tape, const char *text, size_t length,
               const struct json_limits *limits, struct json_error *error) {
    struct json_scanner s; // not set to zero: the frames are many, and set when they open

    tape->text = text ? text : "";
    tape->length = length;
    tape->count = 0;
    s.tape = tape;
    s.error = error;
    s.at = tape->text;
    s.end = tape->text + length;
    s.max_depth = limits->max_depth < JSON_MAX_DEPTH ? limits->max_depth : JSON_MAX_DEPTH;
    s.depth = 0;
    s.comments = limits->comments;
    if (!read_text(&s, length, limits->max_length)) {
        tape->count = 0;
        return false;
    }
    return true;
}

void json_tape_free(struct json_tape *tape) {
    free(tape->nodes);
    *tape = (struct json_tape){0};
}

void json_position(const char *text, size_t length, size_t offset, unsigned *line,
                   unsigned *column) {
    size_t end = offset < length ? offset : length;

    *line = 1;
    *column = 1;
    for (size_t i = 0; i < end; i++) {
        if (text[i] == '\n') {
            ++*line;
            *column = 1;
        } else {
            ++*column;
        }
    }
}
