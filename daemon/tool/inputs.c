// What a command line names, opened: the configuration, its journal, the phones' address.
#include "tool/tool.h"

#include "config/config.h"
#include "tool/text.h"

#include <string.h>

struct model *tool_model(const struct tool_call *call) {
    struct config_report report = {0};
    struct model *model = config_load(call->config, &report);
    if (model == NULL) {
        config_report_print(&report, stderr);
        tool_error("%s: the configuration cannot be used as it is", call->config);
    }
    config_report_free(&report);
    return model;
}

struct journal *tool_journal(const struct model *model, enum journal_status *status) {
    struct journal_error error = {0};
    const struct journal_options options = {.path = model->journal,
                                            .instance = model->instance,
                                            .mode = JOURNAL_READ_ONLY,
                                            .check = JOURNAL_CHECK_NONE};
    struct journal *journal = journal_open(&options, &error);
    if (journal == NULL) {
        tool_error("%s", error.say);
    }
    if (status != NULL) {
        *status = error.status;
    }
    return journal;
}

bool tool_base_url(const struct tool_call *call, const struct model *model, char **base) {
    const char *url = call->url != NULL ? call->url : model->http_url;
    size_t length = url != NULL ? strlen(url) : 0;
    *base = NULL;
    if (url == NULL) {
        return true;
    }
    bool good = strncmp(url, "https://", 8) == 0 || strncmp(url, "http://", 7) == 0;
    if (!good || strcspn(url, " \t\r\n\"<>#?") != length || strlen(strchr(url, ':')) < 4) {
        tool_error("--url must be an address like https://forelock.example; found \"%s\"", url);
        return false;
    }
    while (length > 0 && url[length - 1] == '/') {
        length--;
    }
    *base = strndup(url, length);
    if (*base == NULL) {
        tool_error("out of memory");
    }
    return *base != NULL;
}
