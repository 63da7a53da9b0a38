// The parts that facts, answers and documents have in common, as JSON: evidence, results.
#pragma once

#include "gate/fact.h"
#include "wire/fact_arena.h"
#include "json/json.h"

// Where a part is read from, and where what it points to will lie.
struct wire_fact_reader {
    const struct json_tape *tape;
    struct wire_fact_arena *arena;
};

// An instant (Unix ms) as RFC 3339 text; 0, which is "never", as null.
void wire_fact_write_time(struct json_out *out, int64_t unix_ms);
// A text; NULL and "" as null.
void wire_fact_write_text(struct json_out *out, const char *text);
// A number, or null where there is none.
void wire_fact_write_number(struct json_out *out, bool present, double value);
// [{"point","state","trust","heard"}]
void wire_fact_write_evidence(struct json_out *out, const struct gate_evidence *evidence,
                              size_t count);
// {"rule","inputs":{…},"value","limit","margin","pass","formula","source","decision"?,
// "uncertainty"?,"cautions"?,"caution_args"?,"valid"?,"reasons"?,"runs"?}: decision and uncertainty
// where that of the instrument is known, cautions where there are any, valid (false) and reasons
// where the method does not hold for the readings.
void wire_fact_write_result(struct json_out *out, const struct model_result *result);
// What was read, as its JSON value.
void wire_fact_write_input(struct json_out *out, const struct model_reading *input);

// An array's elements and zeroed room for as many items of a size; null has none. False: it is no
// array, or memory ran out.
bool wire_fact_open_array(const struct wire_fact_reader *reader, const struct json_node *node,
                          size_t size, void **items, size_t *count);
// The inverses. False: the node is not such a thing, names a word that there is not, is too long
// for its place, or memory ran out. Null and absent members are unknown.
bool wire_fact_read_text(const struct wire_fact_reader *reader, const struct json_node *node,
                         const char **text);
// A text that has its room in a record already; null or absent leaves it empty.
bool wire_fact_read_into(const struct wire_fact_reader *reader, const struct json_node *object,
                         const char *name, char *buffer, size_t size);
bool wire_fact_read_time(const struct wire_fact_reader *reader, const struct json_node *node,
                         int64_t *unix_ms);
// An array of strings; empty or null gives no array.
bool wire_fact_read_texts(const struct wire_fact_reader *reader, const struct json_node *node,
                          const char ***texts, size_t *count);
bool wire_fact_read_evidence(const struct wire_fact_reader *reader, const struct json_node *node,
                             const struct gate_evidence **evidence, size_t *count);
// A limit that is one number is read as a maximum: the text does not say which end it was.
bool wire_fact_read_result(const struct wire_fact_reader *reader, const struct json_node *node,
                           const struct model_result **result);
