// What came of a mapped message, for people and as JSON.
#pragma once

#include "feed/feed.h"
#include "tool/text.h"
#include "json/json.h"

// Adds one line: what the reading names and says, or why there is none and what that does.
void tool_feed_text_reading(struct tool_text *text, const struct model *model,
                            const struct feed_reading *reading);
// Adds the members of an object.
void tool_feed_text_json(struct json_out *out, const struct model *model,
                         const struct feed_reading *reading);
// Whether a topic lies under the daemon's own root, where no feed is looked at.
bool tool_feed_text_is_ours(const struct model *model, const char *topic);
