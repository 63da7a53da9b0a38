// Refusals and requirements as JSON, with what their sentences are made of.
#pragma once

#include "wire/fact_parts.h"

// {"code","subject","need","found","age_s","say","args"}; without its age, age_s is null, so that a
// document of it is the same however old the evidence has become. args is {"say", …}: the name of
// the sentence, and what it is made of (docs/refusals.md); it is left out where a journal of before
// has none.
void wire_fact_write_refusal(struct json_out *out, const struct gate_refusal *refusal,
                             bool with_age);
// The members alone, for an object that has others too.
void wire_fact_write_refusal_members(struct json_out *out, const struct gate_refusal *refusal,
                                     bool with_age);
// The inverse, of an array of them; see fact_parts.h.
bool wire_fact_read_refusals(const struct wire_fact_reader *reader, const struct json_node *node,
                             const struct gate_refusal **refusals, size_t *count);
// What a sentence is made of, an object with the sentence's name; and its inverse, of an alarm's.
void wire_fact_write_args(struct json_out *out, const struct gate_refusal *refusal);
bool wire_fact_read_alarm_args(const struct wire_fact_reader *reader, const struct json_node *node,
                               const struct gate_refusal **args);
