// What a request line carries: the path in its parts, and the fields of a query. Pure.
#pragma once

#include "model/model.h"

#define HTTP_PARTS_MAX 5

struct http_path {
    char parts[HTTP_PARTS_MAX][MODEL_ID_SIZE]; // percent-decoded
    size_t count;
};

// Splits "/a/b/c". False: no leading slash, an empty part (a final slash too), more than
// HTTP_PARTS_MAX, a part that is longer than an id or a broken escape. path may be NULL.
bool http_path_split(const char *path, struct http_path *split);
// Whether the parts are those of a pattern, "+" standing for any: "api/+/job/+".
bool http_path_is(const struct http_path *path, const char *pattern);

enum http_field { HTTP_FIELD_ABSENT, HTTP_FIELD_GOOD, HTTP_FIELD_BAD };
// The first field of that name in "a=b&c=d", percent-decoded into value. BAD: a broken escape, a
// NUL, or too long. query may be NULL.
enum http_field http_query_text(const char *query, const char *name, char *value, size_t size);
// The same as a whole number from 0 to most, without sign. *value is only set if GOOD.
enum http_field http_query_number(const char *query, const char *name, uint64_t most,
                                  uint64_t *value);
// A text as such a number. False: it is none.
bool http_number(const char *text, uint64_t most, uint64_t *value);
