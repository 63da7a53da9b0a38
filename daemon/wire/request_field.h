// One field of a request's body, read by its kind. Shared by the files of this folder alone.
#pragma once

#include "wire/request.h"

// What is being read, and where what is wrong with it is said.
struct wire_request_reading {
    struct request *request;
    struct gate_answer *answer;
    bool good;     // nothing is wrong
    bool readable; // at most what may be left out is
};

// Says that something is wrong: a `malformed` refusal of what stands at the pointer.
void wire_request_malformed(struct wire_request_reading *reading, const char *pointer,
                            enum gate_say sentence, const struct gate_args *args);
// Reads the value of a field (NULL: absent) into the request.
void wire_request_field_read(struct wire_request_reading *reading, const struct gate_field *field,
                             const struct json_node *value);
// Says which names of an object are none of those that it may have.
void wire_request_names_check(struct wire_request_reading *reading, const struct json_node *object,
                              const char *const *names, size_t count);
// Copies a text into the request's memory. NULL: no memory, or U+0000 in it.
char *wire_request_text_copy(struct request *request, const struct json_node *value);
