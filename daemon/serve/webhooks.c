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
struct watched {
    char state[16];               // as it was logged
    struct webhook_delivery note; // of the next commit
    bool noted;                   // the commit has one
};
struct serve_webhooks {
    struct webhook_sender *sender;
    struct watched *list; // by index in the model
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
    struct serve_webhooks *webhooks = daemon->webhooks;
    bool any = false;
    if (!serve_webhooks_due(user)) {
        return false;
    }
    webhooks->due = false;
    for (size_t i = 0; i < webhooks->count; i++) {
        struct watched *webhook = &webhooks->list[i];
        webhook->noted = webhook_sender_take(webhooks->sender, i, &webhook->note) || webhook->noted;
        any = any || webhook->noted;
    }
    return any;
}

enum journal_status serve_webhooks_write(struct daemon *daemon, struct journal *journal) {
    struct serve_webhooks *webhooks = daemon->webhooks;
    enum journal_status status = JOURNAL_OK;
    for (size_t i = 0; webhooks != NULL && i < webhooks->count && status == JOURNAL_OK; i++) {
        if (webhooks->list[i].noted) {
            status = webhook_delivery_keep(journal, daemon->model->webhooks[i].webhook,
                                           &webhooks->list[i].note);
        }
    }
    return status;
}

void serve_webhooks_over(void *user, bool written, uint64_t last) {
    struct daemon *daemon = user;
    struct serve_webhooks *webhooks = daemon->webhooks;
    bool any = false;
    if (webhooks == NULL) {
        return;
    }
    for (size_t i = 0; i < webhooks->count; i++) {
        any = any || webhooks->list[i].noted;
        webhooks->list[i].noted = false;
    }
    if (written) {
        webhook_sender_news(webhooks->sender, (int64_t)last);
    } else if (any) {
        webhook_sender_untake(webhooks->sender);
    }
}

// --- What is said of them ---

static void log_state(struct serve_webhooks *webhooks, const struct model_webhook *model,
                      size_t index, const struct webhook_status *status) {
    struct watched *webhook = &webhooks->list[index];
    const char *state = webhook_delivery_state(&status->delivery);
    if (strcmp(webhook->state, state) == 0) {
        return;
    }
    bool first = webhook->state[0] == '\0';
    snprintf(webhook->state, sizeof webhook->state, "%s", state);
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

static void watch_thread(struct serve_webhooks *webhooks) {
    char trouble[sizeof webhooks->trouble];
    bool silent = webhook_sender_silence(webhooks->sender) > SILENT_MS;
    if (silent != webhooks->silent) {
        webhooks->silent = silent;
        if (silent) {
            serve_log_error("webhook", "the sender does not go round any more: restart the daemon");
        } else {
            serve_log_info("webhook", "the sender goes round again");
        }
    }
    webhook_sender_trouble(webhooks->sender, trouble, sizeof trouble);
    if (strcmp(trouble, webhooks->trouble) != 0) {
        snprintf(webhooks->trouble, sizeof webhooks->trouble, "%s", trouble);
        if (trouble[0] != '\0') {
            serve_log_error("webhook", "%s", trouble);
        }
    }
}

static bool serves(const struct model_webhook *webhook, const char *site) {
    for (size_t i = 0; i < webhook->site_count; i++) {
        if (strcmp(webhook->sites[i], site) == 0) {
            return true;
        }
    }
    return webhook->site_count == 0;
}

// Whether a webhook takes what is sent. What has waited a little since the daemon came up, and
// nothing was taken yet, says neither: an alarm of before a restart stands on.
enum takes { TAKES_UNKNOWN, TAKES_EVENTS, TAKES_NOTHING };

static enum takes takes_of(const struct model_webhook *webhook,
                           const struct webhook_status *status) {
    if (status->waits_ms >= webhook->alarm_after_ms) {
        return TAKES_NOTHING;
    }
    return status->waits_ms == 0 || status->taken > 0 ? TAKES_EVENTS : TAKES_UNKNOWN;
}

static void follow_alarms(struct daemon *daemon, const enum takes *all) {
    struct gate_time now = turn_now(daemon->turn);
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        for (size_t i = 0; i < daemon->model->webhook_count; i++) {
            const struct model_webhook *webhook = &daemon->model->webhooks[i];
            enum takes takes = daemon->webhooks->silent ? TAKES_NOTHING : all[i];
            if (takes != TAKES_UNKNOWN && serves(webhook, daemon->model->sites[s].site)) {
                gate_webhook(turn_gate(daemon->turn), (uint32_t)s, webhook->webhook,
                             takes == TAKES_NOTHING, now);
            }
        }
    }
}

void serve_webhooks_second(struct daemon *daemon) {
    struct serve_webhooks *webhooks = daemon->webhooks;
    if (webhooks == NULL) {
        return;
    }
    enum takes *takes = calloc(webhooks->count + 1, sizeof *takes);
    struct webhook_status *status = malloc(sizeof *status);
    watch_thread(webhooks);
    for (size_t i = 0; takes != NULL && status != NULL && i < webhooks->count; i++) {
        webhook_sender_status(webhooks->sender, i, status);
        log_state(webhooks, &daemon->model->webhooks[i], i, status);
        takes[i] = takes_of(&daemon->model->webhooks[i], status);
    }
    if (takes != NULL && status != NULL) {
        follow_alarms(daemon, takes);
    }
    free(takes);
    free(status);
    webhooks->due = webhooks->due || webhook_sender_dirty(webhooks->sender);
}

// --- Figures ---

static void tell_each(const struct serve_webhooks *webhooks, const struct model *model,
                      const struct webhook_status *all, struct http_metrics *into, const char *name,
                      const char *type, const char *help,
                      uint64_t (*value)(const struct webhook_status *status)) {
    char labels[MODEL_ID_SIZE + 16];
    http_metric(into, name, type, help);
    for (size_t i = 0; i < webhooks->count; i++) {
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
    struct serve_webhooks *webhooks = daemon->webhooks;
    struct webhook_status *all = webhooks != NULL ? calloc(webhooks->count + 1, sizeof *all) : NULL;
    if (all == NULL) {
        return;
    }
    for (size_t i = 0; i < webhooks->count; i++) {
        webhook_sender_status(webhooks->sender, i, &all[i]);
    }
    for (size_t i = 0; i < sizeof figures / sizeof figures[0]; i++) {
        tell_each(webhooks, daemon->model, all, into, figures[i].name, figures[i].type,
                  figures[i].help, figures[i].value);
    }
    http_metric(into, "webhook_sender_alive", "gauge", "Whether the thread that sends goes round.");
    http_sample(into, "", !webhooks->silent);
    free(all);
}

// --- Secrets ---

static void reload_secrets(struct serve_webhooks *webhooks, const struct model_webhook *webhook,
                           size_t index, struct webhook_secrets *secrets) {
    const char *why = "";
    size_t length = 0;
    char *text = base_file_read(webhook->secret_file, SECRET_FILE_MAX, &length, &why);
    if (text != NULL && webhook_secrets_read(text, secrets, &why)) {
        webhook_sender_secrets(webhooks->sender, index, secrets);
        serve_log_info("webhook", "webhook=%s the secrets were read again: %zu", webhook->webhook,
                       secrets->count);
    } else {
        serve_log_error("webhook", "webhook=%s %s: %s: the secrets from before are kept",
                        webhook->webhook, webhook->secret_file, why);
    }
    if (text != NULL) {
        explicit_bzero(text, length);
    }
    free(text);
}

void serve_webhooks_reload(struct daemon *daemon) {
    struct serve_webhooks *webhooks = daemon->webhooks;
    struct webhook_secrets *secrets = webhooks != NULL ? calloc(1, sizeof *secrets) : NULL;
    if (secrets == NULL) {
        return;
    }
    for (size_t i = 0; i < webhooks->count; i++) {
        reload_secrets(webhooks, &daemon->model->webhooks[i], i, secrets);
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
    struct serve_webhooks *webhooks = calloc(1, sizeof *webhooks);
    daemon->webhooks = webhooks;
    if (webhooks == NULL) {
        serve_log_error("webhook", "out of memory");
        return false;
    }
    webhooks->count = daemon->model->webhook_count;
    webhooks->list = calloc(webhooks->count, sizeof *webhooks->list);
    webhooks->sender = webhook_sender_new(daemon->model, journal, error, sizeof error);
    if (webhooks->list == NULL || webhooks->sender == NULL) {
        serve_log_error("webhook", "%s", webhooks->sender == NULL ? error : "out of memory");
        return false;
    }
    note_new(daemon, journal);
    if (!webhook_sender_start(webhooks->sender)) {
        serve_log_error("webhook", "there can be no thread to send");
        return false;
    }
    for (size_t i = 0; i < webhooks->count; i++) {
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
