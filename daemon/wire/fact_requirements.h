// A job's requirements as JSON, in the form of a configured procedure.
#pragma once

#include "wire/fact_parts.h"

// {"procedure","title","credentials","isolate","match","takes",<a list per group>,"tests"}
void wire_fact_write_requirements(struct json_out *out,
                                  const struct model_requirements *requirements);
// The inverse; checks come out group by group. False: something in it is not what a procedure has,
// or memory ran out.
bool wire_fact_read_requirements(const struct wire_fact_reader *reader,
                                 const struct json_node *node,
                                 const struct model_requirements **requirements);
