// Badges as they are listed.
#pragma once

#include <stdbool.h>

#include "model/model.h"

// What is listed as the badge of a lock of which no person and no badge could be read.
#define FEED_BADGE_UNREAD "unreadable"

// A badge as it is listed: as read. One that is longer than 64 bytes, or holds what is no text, is
// cut and ends in "…" and 16 hexadecimal digits of the whole, so that no two are listed alike.
// NULL, and one in which nothing is to be seen: FEED_BADGE_UNREAD. Returns whether it was read.
bool feed_badge_list(const char *badge, char listed[MODEL_ID_SIZE]);
