// Badges that are nobody's.
#pragma once

#include <stdbool.h>

#include "model/model.h"

// A badge that no person has, as an id that is nobody's: other bytes as _ and two digits, and never
// the id of a person, who did not hang this lock, nor what is no id. False: it is too long.
bool feed_badge_as_id(const struct model *model, const char *badge, char who[MODEL_ID_SIZE]);
