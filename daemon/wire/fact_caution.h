// The cautions of a result, as JSON: writer and reader.
#pragma once

#include "wire/fact_parts.h"

// "cautions": the sentences, and "caution_args": beside each what it is made of,
// {"say","value"?,"min"?,"max"?}, or null for a sentence without a name. Neither is written where
// there is nothing to say: what an older journal holds is written again as it was.
void wire_fact_write_cautions(struct json_out *out, const struct model_result *result);
bool wire_fact_read_cautions(const struct wire_fact_reader *reader, const struct json_node *object,
                             struct model_result *result);
