// What the commands `forelock webhook list|retry|test` share.
#pragma once

#include "tool/tool.h"

// The webhook of an id; NULL: there is none, which was said on standard error.
const struct model_webhook *tool_webhook_find(const struct tool_call *call,
                                              const struct model *model, const char *id);
