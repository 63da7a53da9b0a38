// `forelock webhook list|retry|test`.
#pragma once

#include "tool/tool.h"

// Each webhook: its state, what waits, the last success and failure.
int tool_webhook_list(const struct tool_call *call);
// Asks the daemon to try a webhook again now, also where it was disabled.
int tool_webhook_retry(const struct tool_call *call);
// Sends a signed test event to a webhook from here, and says what came of it.
int tool_webhook_test(const struct tool_call *call);

// The webhook of an id; NULL: there is none, which was said on standard error.
const struct model_webhook *tool_webhook_find(const struct tool_call *call,
                                              const struct model *model, const char *id);
