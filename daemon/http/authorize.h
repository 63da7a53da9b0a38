// Who asks: a bearer token's text, of which the people file has the SHA-256. Pure.
#pragma once

#include "model/model.h"

// The person of an `Authorization` header's value, or NULL: another scheme, no or an unknown token,
// or no memory. It takes the same time wherever in the people file the token stands, if it does.
const struct model_person *http_authorize(const struct model *model, const char *header);
