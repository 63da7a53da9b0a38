// `forelock webhook list` and `retry`: how far events have come, and the word to try again.
#include "tool/webhook.h"

#include "base/clock.h"
#include "base/time_text.h"
#include "tool/print.h"
#include "tool/text.h"
#include "webhook/feed.h"
#include "json/json.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define TAKEN_WAIT_MS 5000
#define TAKEN_STEP_MS 50

const struct model_webhook *tool_webhook_find(const struct tool_call *call,
                                              const struct model *model, const char *id) {
    for (size_t i = 0; i < model->webhook_count; i++) {
        if (strcmp(model->webhooks[i].webhook, id) == 0) {
            return &model->webhooks[i];
        }
    }
    tool_error("%s: there is no webhook \"%s\"; `forelock webhook list` names them", call->config,
               id);
    return NULL;
}

// --- list ---

struct standing {
    const struct model_webhook *hook;
    struct webhook_delivery outbox;
    struct webhook_backlog backlog;
    bool begun; // the daemon has run with it
};

static bool read_standing(struct journal *journal, const struct model_webhook *hook,
                          struct standing *standing) {
    enum journal_status status = webhook_delivery_load(journal, hook->webhook, &standing->outbox);
    standing->hook = hook;
    standing->begun = status == JOURNAL_OK;
    memset(&standing->backlog, 0, sizeof standing->backlog);
    if (status == JOURNAL_OK) {
        status = webhook_backlog(journal, hook, &standing->outbox, &standing->backlog);
    }
    if (status == JOURNAL_OK || status == JOURNAL_NONE) {
        return true;
    }
    tool_error("%s", status == JOURNAL_MEMORY ? "out of memory" : journal_why(journal));
    return false;
}

static const char *state_of(const struct standing *standing) {
    return standing->begun ? webhook_delivery_state(&standing->outbox) : "new";
}

// When the next try is; INT64_MAX: none is planned.
static int64_t next_try(const struct standing *standing) {
    bool waiting = standing->begun && strcmp(state_of(standing), "waiting") == 0;
    return waiting ? webhook_delivery_due(&standing->outbox) : INT64_MAX;
}

static void print_ago(const char *what, int64_t at, int64_t now, const char *more) {
    char age[TOOL_AGE_SIZE];
    tool_age(now - at, age);
    tool_line(stdout, "    %s: %s ago%s%s", what, age, more[0] != '\0' ? ": " : "", more);
}

static void print_standing(const struct standing *standing, int64_t now) {
    const struct webhook_delivery *outbox = &standing->outbox;
    char age[TOOL_AGE_SIZE];
    tool_line(stdout, "%s  %s  %s", standing->hook->webhook, state_of(standing),
              standing->hook->url);
    if (!standing->begun) {
        tool_line(stdout,
                  "    the daemon has not run with it yet; it begins with what happens then");
        return;
    }
    if (standing->backlog.count == 0) {
        tool_line(stdout, "    nothing waits");
    } else {
        tool_age(now - standing->backlog.oldest_ms, age);
        tool_line(stdout, "    %llu events wait, the oldest for %s",
                  (unsigned long long)standing->backlog.count, age);
    }
    if (outbox->ok_ms != 0) {
        print_ago("last success", outbox->ok_ms, now, "");
    }
    if (outbox->failed_ms != 0) {
        print_ago("last failure", outbox->failed_ms, now, outbox->failure);
    }
    if (outbox->disabled) {
        tool_line(stdout, "    nothing is sent until `forelock webhook retry %s`",
                  standing->hook->webhook);
    } else if (next_try(standing) != INT64_MAX) {
        tool_age(next_try(standing) - now, age);
        tool_line(stdout, "    next try in %s", age);
    }
}

static void time_json(struct json_out *out, const char *name, int64_t at) {
    char text[BASE_TIME_SIZE];
    base_time_format(at, text);
    json_out_key(out, name);
    json_out_string(out, at == 0 || at == INT64_MAX ? NULL : text);
}

static void standing_json(struct json_out *out, const struct standing *standing) {
    const struct webhook_delivery *outbox = &standing->outbox;
    json_out_object(out);
    json_out_key(out, "webhook");
    json_out_string(out, standing->hook->webhook);
    json_out_key(out, "url");
    json_out_string(out, standing->hook->url);
    json_out_key(out, "state");
    json_out_string(out, state_of(standing));
    json_out_key(out, "waits");
    json_out_int(out, (int64_t)standing->backlog.count);
    time_json(out, "oldest", standing->backlog.oldest_ms);
    json_out_key(out, "jobs_behind");
    json_out_int(out, (int64_t)outbox->held);
    time_json(out, "last_success", outbox->ok_ms);
    time_json(out, "last_failure", outbox->failed_ms);
    json_out_key(out, "failure");
    json_out_string(out, outbox->failed_ms != 0 ? outbox->failure : NULL);
    time_json(out, "next_try", next_try(standing));
    json_out_object_end(out);
}

static int list(const struct model *model, struct journal *journal, bool json) {
    struct json_out out = {0};
    struct standing *standing = calloc(1, sizeof *standing);
    int status = standing != NULL ? TOOL_DONE : TOOL_REACH;
    if (standing == NULL) {
        tool_error("out of memory");
    }
    json_out_object(&out);
    json_out_key(&out, "webhooks");
    json_out_array(&out);
    for (size_t i = 0; status == TOOL_DONE && i < model->webhook_count; i++) {
        if (!read_standing(journal, &model->webhooks[i], standing)) {
            status = TOOL_REACH;
        } else if (json) {
            standing_json(&out, standing);
        } else {
            print_standing(standing, base_clock_wall_ms());
        }
    }
    json_out_array_end(&out);
    json_out_object_end(&out);
    if (status == TOOL_DONE && out.failed) {
        tool_error("out of memory");
        status = TOOL_REACH;
    } else if (status == TOOL_DONE && json) {
        printf("%s\n", out.data);
    } else if (status == TOOL_DONE && model->webhook_count == 0) {
        tool_line(stdout, "The configuration has no webhooks.");
    }
    json_out_free(&out);
    free(standing);
    return status;
}

static int run_list(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    struct journal *journal = tool_journal(model, NULL);
    int status = journal != NULL ? list(model, journal, call->json) : TOOL_REACH;
    journal_close(journal);
    model_free(model);
    return status;
}

const struct tool_command tool_webhook_list = {
    .name = "webhook",
    .part = "list",
    .words = "",
    .options = "-c FILE [--json]",
    .about = "Tells of each webhook its state, what waits, and how it went last.",
    .run = run_list,
};

// --- retry ---

// The daemon owns the journal, so the word is a file beside it, which the daemon takes away.
static bool make_file(const char *path) {
    int descriptor = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOFOLLOW, 0600);
    if (descriptor < 0) {
        return errno == EEXIST; // the same word was given and not taken yet
    }
    close(descriptor);
    return true;
}

static bool wait_taken(const char *path) {
    const struct timespec step = {0, TAKEN_STEP_MS * 1000000L};
    for (int waited = 0; waited < TAKEN_WAIT_MS; waited += TAKEN_STEP_MS) {
        if (access(path, F_OK) != 0) {
            return true;
        }
        nanosleep(&step, NULL);
    }
    return access(path, F_OK) != 0;
}

static int tell_retry(const struct model_webhook *hook, bool taken, bool json) {
    struct json_out out = {0};
    if (json) {
        json_out_object(&out);
        tool_text_member(&out, "webhook", hook->webhook);
        json_out_key(&out, "taken");
        json_out_bool(&out, taken);
        json_out_object_end(&out);
        if (!tool_print_json(&out)) {
            tool_error("out of memory");
            return TOOL_REACH;
        }
    } else if (taken) {
        tool_line(stdout,
                  "The daemon tries %s again now; `forelock webhook list` tells how it goes.",
                  hook->webhook);
    }
    if (!taken) {
        tool_error("no daemon has taken the word: it stands, and is taken when the daemon runs");
    }
    return taken ? TOOL_DONE : TOOL_REACH;
}

static int retry(const struct model *model, const struct model_webhook *hook, bool json) {
    char *path = webhook_retry_path(model, hook->webhook);
    int status = TOOL_REACH;
    if (path == NULL) {
        tool_error("out of memory");
    } else if (!make_file(path)) {
        tool_error("%s cannot be made: %s; run this as the daemon's user", path, strerror(errno));
    } else {
        status = tell_retry(hook, wait_taken(path), json);
    }
    free(path);
    return status;
}

static int run_retry(const struct tool_call *call) {
    struct model *model = tool_model(call);
    if (model == NULL) {
        return TOOL_CONFIGURATION;
    }
    const struct model_webhook *hook = tool_webhook_find(call, model, call->argv[0]);
    int status = hook != NULL ? retry(model, hook, call->json) : TOOL_NO;
    model_free(model);
    return status;
}

const struct tool_command tool_webhook_retry = {
    .name = "webhook",
    .part = "retry",
    .words = "ID",
    .options = "-c FILE [--json]",
    .about = "Has the daemon try a webhook again now, also one that its receiver disabled.",
    .least = 1,
    .most = 1,
    .run = run_retry,
};
