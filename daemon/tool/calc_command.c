// `forelock calc`, with or without a configuration.
#include "tool/calc.h"
#include "tool/tool.h"

static int run(const struct tool_call *call) {
    struct model *model = NULL;
    if (call->config != NULL) {
        model = tool_model(call);
        if (model == NULL) {
            return TOOL_CONFIGURATION;
        }
    }
    int status = tool_calc(call->argc, call->argv, call->json, model);
    model_free(model);
    return status;
}

const struct tool_command tool_calculate = {
    .name = "calc",
    .words = "RULE name=value...",
    .options = "[-c FILE] [--json]",
    .about = "Works a post-repair test or another figure of the trade out.",
    .most = 64,
    .bare = true,
    .run = run,
};
