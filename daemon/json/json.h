// Strict JSON (RFC 8259): a scanner that reads a text into a flat tape of nodes, and a writer.
//
// Everything that comes from outside goes through this scanner first. It refuses what lenient
// readers let through: bad UTF-8, raw control characters, lone surrogates, duplicate keys,
// NaN and Infinity, numbers out of a double's range (too large, or so small that they would turn
// into 0), a byte order mark, trailing text, and length or depth over the limit.
//
// Functions that take a node take NULL for one that is not there: it has no members, no elements,
// no text and no value.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum json_kind {
    JSON_NULL,
    JSON_FALSE,
    JSON_TRUE,
    JSON_NUMBER,
    JSON_STRING,
    JSON_ARRAY,
    JSON_OBJECT,
};

// One value, or one member's key (a JSON_STRING that its value follows) inside an object.
struct json_node {
    uint32_t start;  // offset in the text; of a string, of the first byte inside its quotes
    uint32_t length; // bytes in the text; of a string, of what stands between its quotes
    uint32_t next;   // index of the first node behind this one's subtree
    uint32_t count;  // elements of an array, members of an object, else 0
    uint8_t kind;    // enum json_kind
    uint8_t escaped; // a string that holds a backslash escape
};

struct json_limits {
    size_t max_length;  // bytes of text
    unsigned max_depth; // nested arrays and objects; 16 for messages, at most 64
    bool comments;      // allow // and /* */ (configuration only)
};

// The limits of a message: 64 KiB, depth 16, no comments (contract, section 1).
extern const struct json_limits json_message_limits;
// The limits of a configuration file: 16 MiB, depth 32, comments.
extern const struct json_limits json_config_limits;

struct json_error {
    size_t offset;     // byte at which the text stops being right
    char pointer[256]; // RFC 6901 pointer of the value being read ("" for the whole)
    char what[160];    // one plain sentence
};

// A tape is reused from text to text, so that a steady state allocates nothing. Zero-initialize it.
// It borrows the text last scanned; node 0 is the root value.
struct json_tape {
    const char *text;
    size_t length;
    struct json_node *nodes;
    size_t count;
    size_t capacity;
};

// Reads the whole text. On false, error (may be NULL) says where and what; the tape then holds
// nothing to use. Running out of memory is an error like any other. Nothing is read of a text that
// is too long, and nothing past a bracket that opens too deep.
bool json_scan(struct json_tape *tape, const char *text, size_t length,
               const struct json_limits *limits, struct json_error *error);
// Frees the nodes (never the text) and leaves the tape as new.
void json_tape_free(struct json_tape *tape);

// Line and column (both from 1; a column counts bytes) of an offset.
void json_position(const char *text, size_t length, size_t offset, unsigned *line,
                   unsigned *column);

// The whole value, or NULL where nothing was read.
static inline const struct json_node *json_root(const struct json_tape *tape) {
    return tape->count > 0 ? &tape->nodes[0] : NULL;
}

// The value of a member, or NULL where the object has none (or the node is not an object).
// A member whose value is null is returned as it is; json_present() folds both into NULL.
const struct json_node *json_member(const struct json_tape *tape, const struct json_node *object,
                                    const char *name);
const struct json_node *json_present(const struct json_tape *tape, const struct json_node *object,
                                     const char *name);
// First child of an array (a value) or an object (a key), or NULL when empty.
const struct json_node *json_first(const struct json_tape *tape, const struct json_node *parent);
// The sibling behind a node, or NULL at the end of parent. For objects the order is key, value,
// key…
const struct json_node *json_next(const struct json_tape *tape, const struct json_node *parent,
                                  const struct json_node *child);
// The value at an RFC 6901 pointer below a node of the tape, or NULL.
const struct json_node *json_at_from(const struct json_tape *tape, const struct json_node *node,
                                     const char *pointer);
// Writes the RFC 6901 pointer of a node (of a key: of its value) into buffer, cut at size between
// whole characters.
void json_pointer_of(const struct json_tape *tape, const struct json_node *node, char *buffer,
                     size_t size);

// Whether a string, unescaped, is this text.
bool json_equals(const struct json_tape *tape, const struct json_node *string, const char *text);
// Unescapes a string into buffer, with a final NUL. False if it does not fit, is not a string, or
// holds U+0000 (which no text of ours may); buffer is then empty, never half a text.
bool json_copy(const struct json_tape *tape, const struct json_node *string, char *buffer,
               size_t size);
// The unescaped length of a string in bytes.
size_t json_text_length(const struct json_tape *tape, const struct json_node *string);
// Whether bytes are UTF-8 throughout (RFC 3629).
bool json_is_utf8(const char *text, size_t length);
// A number as the nearest double, in any locale. False if the node is not a number.
bool json_double(const struct json_tape *tape, const struct json_node *number, double *value);
// A number as an integer: false unless it is one, exactly, and in range ("1.0" and "1e3" are).
bool json_integer(const struct json_tape *tape, const struct json_node *number, int64_t *value);
// Deep equality as JSON: member order does not matter, 1 equals 1.0, strings compare unescaped.
// Numbers compare as exact decimals, so two that only a double takes for the same are not equal.
bool json_same(const struct json_tape *a, const struct json_node *x, const struct json_tape *b,
               const struct json_node *y);

// A growing text. Zero-initialize it, reuse it with json_out_reset, end with json_out_free.
// The error is sticky (failed: out of memory); data always ends with a NUL once anything was
// written.
struct json_out {
    char *data;
    size_t length;
    size_t capacity;
    bool failed;
    bool comma; // internal: a value stands before the next one on this level
};

// Empties the text and the error, and keeps the memory.
void json_out_reset(struct json_out *out);
// Frees the text and leaves the writer as new.
void json_out_free(struct json_out *out);
// Brackets, keys and values; the commas and colons between them come by themselves. Bytes of a
// text that are no UTF-8 are written as U+FFFD.
void json_out_object(struct json_out *out);     // {
void json_out_object_end(struct json_out *out); // }
void json_out_array(struct json_out *out);      // [
void json_out_array_end(struct json_out *out);  // ]
void json_out_key(struct json_out *out, const char *name);
void json_out_string(struct json_out *out, const char *text); // NULL writes null
void json_out_string_n(struct json_out *out, const char *text, size_t length);
void json_out_int(struct json_out *out, int64_t value);
// Shortest of 15, 16 or 17 digits that reads back the same (-0 writes 0); a non-finite value writes
// null.
void json_out_double(struct json_out *out, double value);
void json_out_bool(struct json_out *out, bool value);
void json_out_null(struct json_out *out);
// A value that is JSON already, copied as it is.
void json_out_raw(struct json_out *out, const char *json, size_t length);
// Copies a node of a tape as compact JSON, members in their order.
void json_out_node(struct json_out *out, const struct json_tape *tape,
                   const struct json_node *node);
// The same with members sorted by key bytes, and strings and numbers in one spelling: two texts
// that are the same JSON (json_same) give the same bytes.
void json_out_canonical(struct json_out *out, const struct json_tape *tape,
                        const struct json_node *node);
// Reads what it can of a text that json_scan refuses: the members of its outermost object that can
// be told apart, each whole, a string with U+FFFD for what is no text in it, into out as JSON. A
// key that stands twice with two values is left out. False: there is no object, or no memory.
bool json_salvage(struct json_out *out, const char *text, size_t length);
