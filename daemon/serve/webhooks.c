// The webhooks' side of the daemon: the sender's notes go with the commits, its state into alarms,
// the log and the figures.
#include "serve/daemon.h"

#include "base/file.h"
#include "webhook/feed.h"
#include "webhook/sender.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define SECRET_FILE_MAX 16384
#define SILENT_MS 120000 // a thread that has not gone round for so long is stuck

// What the loop remembers of one webhook.
struct hook {
    char state[16];               // as it was logged
    struct webhook_delivery note; // of the next commit
    bool noted;                   // the commit has one
};
struct serve_webhooks {
    struct webhook_sender *sender;
    struct hook *list; // by index in the model
    size_t count;
    bool due;    // notes are to be written with the next commit
    bool silent; // the thread does not go round
    char trouble[512];
};

// --- Notes ---

bool serve_webhooks_due(void *user) {
    const struct daemon *daemon = user;
    return daemon->webhooks != NULL && daemon->webhooks->due && turn_view(daemon->turn).journal_up;
}

bool serve_webhooks_take(void *user) {
    struct daemon *daemon = user;
    struct serve_webhooks *hooks = daemon->webhooks;
    bool any = false;
    if (!serve_webhooks_due(user)) {
        return false;
    }
    hooks->due = false;
    for (size_t i = 0; i < hooks->count; i++) {
        struct hook *hook = &hooks->list[i];
        hook->noted = webhook_sender_take(hooks->sender, i, &hook->note) || hook->noted;
        any = any || hook->noted;
    }
    return any;
}

enum journal_status serve_webhooks_write(struct daemon *daemon, struct journal *journal) {
    struct serve_webhooks *hooks = daemon->webhooks;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; hooks != NULL && i < hooks->count && status == JOURNAL_OK; i++) {
        if (hooks->list[i].noted) {
            status = webhook_delivery_keep(journal, daemon->model->webhooks[i].webhook,
                                           &hooks->list[i].note);
        }
    }
    return status;
}

void serve_webhooks_over(void *user, bool written, uint64_t last) {
    struct daemon *daemon = user;
    struct serve_webhooks *hooks = daemon->webhooks;
    bool any = false;
    if (hooks == NULL) {
        return;
    }
    for (size_t i = 0; i < hooks->count; i++) {
        any = any || hooks->list[i].noted;
        hooks->list[i].noted = false;
    }
    if (written) {
        webhook_sender_news(hooks->sender, (int64_t)last);
    } else if (any) {
        webhook_sender_untake(hooks->sender);
    }
}

// --- What is said of them ---

static void log_state(struct serve_webhooks *hooks, const struct model_webhook *model, size_t index,
                      const struct webhook_status *status) {
    struct hook *hook = &hooks->list[index];
    const char *state = webhook_delivery_state(&status->delivery);
    if (strcmp(hook->state, state) == 0) {
        return;
    }
    bool first = hook->state[0] == '\0';
    snprintf(hook->state, sizeof hook->state, "%s", state);
    if (strcmp(state, "up") == 0) {
        if (!first) {
            serve_log_info("webhook", "webhook=%s takes events again", model->webhook);
        }
    } else if (strcmp(state, "disabled") == 0) {
        serve_log_error("webhook",
                        "webhook=%s %s: nothing is sent until `forelock webhook retry %s`",
                        model->webhook, status->delivery.failure, model->webhook);
    } else {
        serve_log_warn("webhook", "webhook=%s %s: it is tried again; nothing is lost",
                       model->webhook, status->delivery.failure);
    }
}

static void watch_thread(struct serve_webhooks *hooks) {
    char trouble[sizeof hooks->trouble];
    bool silent = webhook_sender_silence(hooks->sender) > SILENT_MS;
    if (silent != hooks->silent) {
        hooks->silent = silent;
        if (silent) {
            serve_log_error("webhook", "the sender does not go round any more: restart the daemon");
        } else {
            serve_log_info("webhook", "the sender goes round again");
        }
    }
    webhook_sender_trouble(hooks->sender, trouble, sizeof trouble);
    if (strcmp(trouble, hooks->trouble) != 0) {
        snprintf(hooks->trouble, sizeof hooks->trouble, "%s", trouble);
        if (trouble[0] != '\0') {
            serve_log_error("webhook", "%s", trouble);
        }
    }
}

static bool serves(const struct model_webhook *hook, const char *site) {
    for (size_t i = 0; i < hook->site_count; i++) {
        if (strcmp(hook->sites[i], site) == 0) {
            return true;
        }
    }
    return hook->site_count == 0;
}

// The first webhook of a site that is overdue, or whose sender is stuck; MODEL_NONE: none.
static uint32_t overdue_at(const struct daemon *daemon, const char *site, const bool *overdue) {
    for (size_t i = 0; i < daemon->model->webhook_count; i++) {
        if ((overdue[i] || daemon->webhooks->silent) && serves(&daemon->model->webhooks[i], site)) {
            return (uint32_t)i;
        }
    }
    return MODEL_NONE;
}

static void follow_alarms(struct daemon *daemon, const bool *overdue) {
    struct gate_time now = turn_now(daemon->turn);
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        char say[240];
        uint32_t down = overdue_at(daemon, daemon->model->sites[s].site, overdue);
        if (down == MODEL_NONE) {
            gate_webhook(turn_gate(daemon->turn), (uint32_t)s, NULL, now);
            continue;
        }
        snprintf(say, sizeof say,
                 "The webhook %s does not take events: what it keeps of this site is out of date. "
                 "Nothing is lost.",
                 daemon->model->webhooks[down].webhook);
        gate_webhook(turn_gate(daemon->turn), (uint32_t)s, say, now);
    }
}

void serve_webhooks_second(struct daemon *daemon) {
    struct serve_webhooks *hooks = daemon->webhooks;
    if (hooks == NULL) {
        return;
    }
    bool *overdue = calloc(hooks->count + 1, sizeof *overdue);
    struct webhook_status *status = malloc(sizeof *status);
    watch_thread(hooks);
    for (size_t i = 0; overdue != NULL && status != NULL && i < hooks->count; i++) {
        webhook_sender_status(hooks->sender, i, status);
        log_state(hooks, &daemon->model->webhooks[i], i, status);
        overdue[i] = status->waits_ms >= daemon->model->webhooks[i].alarm_after_ms;
    }
    if (overdue != NULL && status != NULL) {
        follow_alarms(daemon, overdue);
    }
    free(overdue);
    free(status);
    hooks->due = hooks->due || webhook_sender_dirty(hooks->sender);
}

// --- Figures ---

static void tell_each(const struct serve_webhooks *hooks, const struct model *model,
                      const struct webhook_status *all, struct http_metrics *into, const char *name,
                      const char *type, const char *help,
                      uint64_t (*value)(const struct webhook_status *status)) {
    char labels[MODEL_ID_SIZE + 16];
    http_metric(into, name, type, help);
    for (size_t i = 0; i < hooks->count; i++) {
        snprintf(labels, sizeof labels, "webhook=\"%s\"", model->webhooks[i].webhook);
        http_sample(into, labels, value(&all[i]));
    }
}

static uint64_t taken(const struct webhook_status *status) {
    return status->taken;
}

static uint64_t failed(const struct webhook_status *status) {
    return status->failed;
}

static uint64_t is_up(const struct webhook_status *status) {
    return strcmp(webhook_delivery_state(&status->delivery), "up") == 0;
}

static uint64_t is_disabled(const struct webhook_status *status) {
    return status->delivery.disabled;
}

static uint64_t behind(const struct webhook_status *status) {
    return status->delivery.held;
}

static uint64_t cursor(const struct webhook_status *status) {
    return (uint64_t)status->delivery.cursor;
}

static uint64_t waits(const struct webhook_status *status) {
    return (uint64_t)status->waits_ms / 1000;
}

void serve_webhooks_metrics(struct daemon *daemon, struct http_metrics *into) {
    static const struct {
        const char *name, *type, *help;
        uint64_t (*value)(const struct webhook_status *status);
    } figures[] = {
        {"webhook_taken_total", "counter", "Events that the receiver took.", taken},
        {"webhook_failed_total", "counter", "Deliveries that failed, each tried again.", failed},
        {"webhook_up", "gauge", "Whether nothing is being tried again.", is_up},
        {"webhook_disabled", "gauge", "Whether the receiver answered 410 Gone.", is_disabled},
        {"webhook_jobs_behind", "gauge", "Jobs with an event that is not taken yet.", behind},
        {"webhook_cursor", "gauge", "The last fact that was looked at for the webhook.", cursor},
        {"webhook_waits_seconds", "gauge", "How long events have waited without success.", waits},
    };
    struct serve_webhooks *hooks = daemon->webhooks;
    struct webhook_status *all = hooks != NULL ? calloc(hooks->count + 1, sizeof *all) : NULL;
    if (all == NULL) {
        return;
    }
    for (size_t i = 0; i < hooks->count; i++) {
        webhook_sender_status(hooks->sender, i, &all[i]);
    }
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        tell_each(hooks, daemon->model, all, into, figures[i].name, figures[i].type,
                  figures[i].help, figures[i].value);
    }
    http_metric(into, "webhook_sender_alive", "gauge", "Whether the thread that sends goes round.");
    http_sample(into, "", !hooks->silent);
    free(all);
}

// --- Secrets ---

static void reload_secrets(struct serve_webhooks *hooks, const struct model_webhook *hook,
                           size_t index, struct webhook_secrets *secrets) {
    const char *why = "";
    size_t length = 0;
    char *text = base_file_read(hook->secret_file, SECRET_FILE_MAX, &length, &why);
    if (text != NULL && webhook_secrets_read(text, secrets, &why)) {
        webhook_sender_secrets(hooks->sender, index, secrets);
        serve_log_info("webhook", "webhook=%s the secrets were read again: %zu", hook->webhook,
                       secrets->count);
    } else {
        serve_log_error("webhook", "webhook=%s %s: %s: the secrets from before are kept",
                        hook->webhook, hook->secret_file, why);
    }
    if (text != NULL) {
        explicit_bzero(text, length);
    }
    free(text);
}

void serve_webhooks_reload(struct daemon *daemon) {
    struct serve_webhooks *hooks = daemon->webhooks;
    struct webhook_secrets *secrets = hooks != NULL ? calloc(1, sizeof *secrets) : NULL;
    if (secrets == NULL) {
        return;
    }
    for (size_t i = 0; i < hooks->count; i++) {
        reload_secrets(hooks, &daemon->model->webhooks[i], i, secrets);
    }
    explicit_bzero(secrets, sizeof *secrets);
    free(secrets);
}

// --- The beginning and the end ---

// Where a new webhook begins is written before the first fact that it is to have.
static void note_new(struct daemon *daemon, struct journal *journal) {
    daemon->webhooks->due = true;
    if (!serve_webhooks_take(daemon)) {
        return;
    }
    bool written = journal_begin(journal) == JOURNAL_OK &&
                   serve_webhooks_write(daemon, journal) == JOURNAL_OK &&
                   journal_commit(journal) == JOURNAL_OK;
    if (!written) {
        serve_log_warn("webhook", "%s (it is tried again)", journal_why(journal));
        journal_rollback(journal);
    }
    serve_webhooks_over(daemon, written, turn_view(daemon->turn).next_seq - 1);
}

bool serve_webhooks_new(struct daemon *daemon, struct journal *journal) {
    char error[512];
    if (daemon->model->webhook_count == 0) {
        return true;
    }
    struct serve_webhooks *hooks = calloc(1, sizeof *hooks);
    daemon->webhooks = hooks;
    if (hooks == NULL) {
        serve_log_error("webhook", "out of memory");
        return false;
    }
    hooks->count = daemon->model->webhook_count;
    hooks->list = calloc(hooks->count, sizeof *hooks->list);
    hooks->sender = webhook_sender_new(daemon->model, journal, error, sizeof error);
    if (hooks->list == NULL || hooks->sender == NULL) {
        serve_log_error("webhook", "%s", hooks->sender == NULL ? error : "out of memory");
        return false;
    }
    note_new(daemon, journal);
    if (!webhook_sender_start(hooks->sender)) {
        serve_log_error("webhook", "there can be no thread to send");
        return false;
    }
    for (size_t i = 0; i < hooks->count; i++) {
        serve_log_info("webhook", "webhook=%s url=%s", daemon->model->webhooks[i].webhook,
                       daemon->model->webhooks[i].url);
    }
    return true;
}

void serve_webhooks_stop(struct daemon *daemon) {
    if (daemon->webhooks != NULL) {
        webhook_sender_stop(daemon->webhooks->sender);
        daemon->webhooks->due = webhook_sender_dirty(daemon->webhooks->sender);
    }
}

void serve_webhooks_free(struct daemon *daemon) {
    if (daemon->webhooks != NULL) {
        webhook_sender_free(daemon->webhooks->sender);
        free(daemon->webhooks->list);
        free(daemon->webhooks);
        daemon->webhooks = NULL;
    }
}
