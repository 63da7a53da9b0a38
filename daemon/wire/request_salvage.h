// What can be read of a field that is not of its kind: of a request that is not whole, which may
// stop and permits nothing.
#pragma once

#include "wire/request.h"

// Takes what numbers there are in a value that is none: a text of one, or a list. Of several the
// request has the least and the most.
void wire_request_number_salvage(struct request *request, const struct json_node *value);
// Whether a verdict that is neither true nor false can only mean no, or is a list that has one
// such.
bool wire_request_says_false(const struct request *request, const struct json_node *value);
