// Who asks: a token's text, of which the people file has the SHA-256, in a header or a cookie; and
// whether a page of our own asks. Pure.
#pragma once

#include "model/model.h"

#define HTTP_TOKEN_MAX 512
#define HTTP_COOKIE "forelock"

// The person of a token, or NULL: unknown, empty or too long, or no memory. It takes the same time
// wherever in the people file the token stands, if it does.
const struct model_person *http_authorize_token(const struct model *model, const char *token,
                                                size_t length);
// The person of an `Authorization` header's value; another scheme gives NULL, as none (NULL) does.
const struct model_person *http_authorize(const struct model *model, const char *header);
// The value of our cookie in a `Cookie` header, and its length; NULL: there is none.
const char *http_cookie(const char *header, size_t *length);
// Whether a request that only a cookie speaks for comes from a page of ours, by the headers that
// browsers set and pages cannot. NULL stands for one that is missing; without either it is not.
bool http_same_origin(const char *sec_fetch_site, const char *origin, const char *host);
