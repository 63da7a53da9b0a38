// `forelock journal export [FILE]`: all facts with their hashes, as JSON Lines.
#include "tool/text.h"
#include "tool/tool.h"

#include <errno.h>
#include <string.h>
#include <unistd.h>

// Never over something that is there.
static FILE *make(const char *path) {
    FILE *out = fopen(path, "wx");
    if (out == NULL) {
        tool_error("%s: cannot make the file: %s", path, strerror(errno));
    }
    return out;
}

static int write_all(struct journal *journal, FILE *out) {
    enum journal_status status = journal_export(journal, out);
    if (status == JOURNAL_OK) {
        return TOOL_DONE;
    }
    if (status == JOURNAL_IO && ferror(out)) {
        tool_error("cannot write the facts: %s", strerror(errno));
    } else {
        tool_error("%s", journal_why(journal));
    }
    return TOOL_REACH;
}

static int write_file(struct journal *journal, const char *path) {
    FILE *out = make(path);
    if (out == NULL) {
        return TOOL_REACH;
    }
    int status = write_all(journal, out);
    bool synced = fflush(out) == 0 && fsync(fileno(out)) == 0;
    if (fclose(out) != 0 || !synced) {
        status = TOOL_REACH;
        tool_error("%s: cannot write: %s", path, strerror(errno));
    }
    if (status != TOOL_DONE) {
        unlink(path); // half an export is worth nothing
    }
    return status;
}

static int run(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct journal *journal = tool_journal(model, NULL);
    int status = TOOL_REACH;
    if (journal != NULL && call->argc > 0) {
        status = write_file(journal, call->argv[0]);
    } else if (journal != NULL) {
        status = write_all(journal, stdout);
    }
    journal_close(journal);
    model_free(model);
    return status;
}

const struct tool_command tool_journal_export = {
    .name = "journal",
    .part = "export",
    .words = "[FILE]",
    .options = "-c FILE",
    .about =
        "Writes all facts with their hashes as JSON Lines, to FILE (a new one) or standard output.",
    .most = 1,
    .run = run,
};
