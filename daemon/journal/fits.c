// Whether a configuration still has what a journal needs, told without writing anything.
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "journal/journal.h"
#include "report/replay.h"

struct listener {
    void (*tell)(void *user, bool warning, const char *what);
    void *user;
};

static void tell_error(void *user, const char *what) {
    const struct listener *listener = user;
    listener->tell(listener->user, false, what);
}

// Whether the file can be read; one that is there and cannot be is told.
static bool is_readable(const char *path, const struct listener *listener) {
    char what[512];
    if (access(path, R_OK) == 0) {
        return true;
    }
    if (errno != ENOENT) {
        snprintf(what, sizeof what,
                 "the journal \"%s\" cannot be read, so whether this configuration has what its "
                 "standing jobs need is not known: %s",
                 path, strerror(errno));
        listener->tell(listener->user, true, what);
    }
    return false;
}

// Rule (2; R31): A journal that one may not read is a warning. [check-unreadable-journal-refused]
// Rule (2; R31): A configuration that lacks what the journal needs is refused.
// [check-without-the-journal]
bool journal_fits(const struct model *model,
                  void (*tell)(void *user, bool warning, const char *what), void *user) {
    struct listener listener = {tell, user};
    struct journal_error error = {0};
    struct report_source source;
    const struct journal_options options = {.path = model->journal,
                                            .instance = model->instance,
                                            .mode = JOURNAL_READ_ONLY,
                                            .check = JOURNAL_CHECK_TAIL};
    if (!is_readable(model->journal, &listener)) {
        return true;
    }
    struct journal *journal = journal_open(&options, &error);
    if (journal == NULL) {
        tell_error(&listener, error.say);
        return false;
    }
    bool fits = false;
    if (journal_report_source(journal, &source)) {
        fits = report_fits(&source, model, tell_error, &listener);
    } else {
        tell_error(&listener, journal_why(journal));
    }
    journal_close(journal);
    return fits;
}
