// What a ledger of fuel comes to, as JSON: writer and reader.
#pragma once

#include "wire/fact_parts.h"

// {"drawn","returned","kept","unaccounted","tolerance","unit","accounted"}
void wire_fact_write_sum(struct json_out *out, const struct gate_fuel_sum *sum);
// The same members into an object that is open.
void wire_fact_write_sum_members(struct json_out *out, const struct gate_fuel_sum *sum);
bool wire_fact_read_sum(const struct wire_fact_reader *reader, const struct json_node *node,
                        const struct gate_fuel_sum **sum);
// [{"product", and those members}]
void wire_fact_write_sums(struct json_out *out, const struct gate_fuel_of *fuel, size_t count);
bool wire_fact_read_sums(const struct wire_fact_reader *reader, const struct json_node *node,
                         const struct gate_fuel_of **fuel, size_t *count);
