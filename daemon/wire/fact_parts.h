// The parts that facts, answers and documents have in common, as JSON: evidence, refusals, results.
#pragma once

#include "gate/fact.h"
#include "wire/fact_arena.h"
#include "json/json.h"

// Where a part is read from, and where what it points to will lie.
struct fact_reader {
    const struct json_tape *tape;
    struct fact_arena *arena;
};

// An instant (Unix ms) as RFC 3339 text; 0, which is "never", as null.
void fact_write_time(struct json_out *out, int64_t unix_ms);
// A text; NULL and "" as null.
void fact_write_text(struct json_out *out, const char *text);
// A number, or null where there is none.
void fact_write_number(struct json_out *out, bool present, double value);
// [{"point","state","trust","heard"}]
void fact_write_evidence(struct json_out *out, const struct gate_evidence *evidence, size_t count);
// {"code","subject","need","found","age_s","say"}; without its age, age_s is null, so that a
// document of it is the same however old the evidence has become.
void fact_write_refusal(struct json_out *out, const struct gate_refusal *refusal, bool with_age);
// The members alone, for an object that has others too.
void fact_write_refusal_members(struct json_out *out, const struct gate_refusal *refusal,
                                bool with_age);
// {"rule","inputs":{…},"value","limit","margin","pass","formula","source"}
void fact_write_result(struct json_out *out, const struct model_result *result);

// The inverses. False: the node is not such a thing, names a word that there is not, is too long
// for its place, or memory ran out. Null and absent members are unknown.
bool fact_read_text(const struct fact_reader *reader, const struct json_node *node,
                    const char **text);
bool fact_read_time(const struct fact_reader *reader, const struct json_node *node,
                    int64_t *unix_ms);
// An array of strings; empty or null gives no array.
bool fact_read_texts(const struct fact_reader *reader, const struct json_node *node,
                     const char ***texts, size_t *count);
bool fact_read_evidence(const struct fact_reader *reader, const struct json_node *node,
                        const struct gate_evidence **evidence, size_t *count);
bool fact_read_refusals(const struct fact_reader *reader, const struct json_node *node,
                        const struct gate_refusal **refusals, size_t *count);
// A limit that is one number is read as a maximum: the text does not say which end it was.
bool fact_read_result(const struct fact_reader *reader, const struct json_node *node,
                      const struct model_result **result);
