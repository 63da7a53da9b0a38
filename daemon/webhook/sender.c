// The thread that goes round the endpoints, and what the loop's thread exchanges with it.
#include "webhook/internal.h"

#include "base/clock.h"
#include "webhook/feed.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#define ROUND_MS 1000     // the longest wait
#define PASSED_ENOUGH 256 // facts passed over that are worth a note by themselves

// --- Going round ---

// The operator's word, once a second.
static void listen(struct webhook_sender *sender) {
    if (base_clock_mono_ms() < sender->listen_ms) {
        return;
    }
    sender->listen_ms = base_clock_mono_ms() + ROUND_MS;
    for (size_t i = 0; i < sender->count; i++) {
        struct endpoint *endpoint = &sender->endpoints[i];
        if (unlink(endpoint->retry_path) == 0) {
            webhook_delivery_retry(&endpoint->delivery);
            endpoint->changed = true;
        }
    }
}

// Exchanges with the loop what each is to know. False: the end.
static bool exchange(struct webhook_sender *sender) {
    pthread_mutex_lock(&sender->lock);
    bool going = !sender->stopping;
    sender->beat = base_clock_mono_ms();
    sender->reach = sender->newest;
    for (size_t i = 0; i < sender->count; i++) {
        struct endpoint *endpoint = &sender->endpoints[i];
        if (endpoint->changed ||
            endpoint->delivery.cursor - endpoint->noted_cursor >= PASSED_ENOUGH) {
            endpoint->shown = endpoint->delivery;
            endpoint->noted_cursor = endpoint->delivery.cursor;
            endpoint->dirty = true;
            endpoint->changed = false;
        }
        if (endpoint->has_fresh) {
            endpoint->secrets = endpoint->fresh;
            endpoint->has_fresh = false;
        }
    }
    pthread_mutex_unlock(&sender->lock);
    return going;
}

static int wait_of(const struct webhook_sender *sender, bool more) {
    int64_t wait = ROUND_MS, now = webhook_sender_now(sender);
    for (size_t i = 0; i < sender->count; i++) {
        int64_t due = webhook_delivery_due(&sender->endpoints[i].delivery);
        // What is due already waits for a delivery under way, whose end wakes us.
        wait = due > now && due - now < wait ? due - now : wait;
    }
    return more ? 0 : (int)wait;
}

static void *thread_main(void *argument) {
    struct webhook_sender *sender = argument;
    struct webhook_result result;
    void *posting = NULL;
    while (exchange(sender)) {
        bool more = false;
        listen(sender);
        for (size_t i = 0; i < sender->count && webhook_sender_has_journal(sender); i++) {
            more = webhook_endpoint_work(sender, &sender->endpoints[i]) || more;
        }
        webhook_client_run(sender->client, wait_of(sender, more));
        while (webhook_client_ended(sender->client, &result, &posting)) {
            webhook_endpoint_ended(sender, posting, &result);
        }
    }
    return NULL;
}

// --- Making and ending ---

static bool endpoint_init(struct webhook_sender *sender, struct endpoint *endpoint,
                          const struct model_webhook *hook, struct journal *journal, char *error,
                          size_t size) {
    const char *why = "";
    struct journal_head head;
    endpoint->sender = sender;
    endpoint->hook = hook;
    endpoint->retry_path = webhook_retry_path(sender->model, hook->webhook);
    for (size_t i = 0; i < WEBHOOK_POSTS_MAX; i++) {
        endpoint->postings[i].endpoint = endpoint;
    }
    if (endpoint->retry_path == NULL) {
        snprintf(error, size, "out of memory");
        return false;
    }
    if (!webhook_secrets_read(hook->secret, &endpoint->secrets, &why)) {
        snprintf(error, size, "%s %s", hook->secret_file, why);
        return false;
    }
    enum journal_status status = webhook_delivery_load(journal, hook->webhook, &endpoint->delivery);
    if (status == JOURNAL_NONE) {
        status = journal_last(journal, &head);
        endpoint->delivery.cursor = head.seq;
        endpoint->dirty = true;
    }
    if (status != JOURNAL_OK) {
        snprintf(error, size, "%s", journal_why(journal));
        return false;
    }
    webhook_delivery_clamp(&endpoint->delivery, webhook_sender_now(sender));
    endpoint->noted_cursor = endpoint->delivery.cursor;
    endpoint->shown = endpoint->delivery;
    return true;
}

struct webhook_sender *webhook_sender_new(const struct model *model, struct journal *journal,
                                          char *error, size_t size) {
    struct webhook_sender *sender = calloc(1, sizeof *sender);
    struct journal_head head = {0};
    snprintf(error, size, "out of memory");
    if (sender == NULL) {
        return NULL;
    }
    pthread_mutex_init(&sender->lock, NULL);
    sender->model = model;
    sender->wall_base = base_clock_wall_ms() - base_clock_mono_ms();
    sender->beat = base_clock_mono_ms();
    sender->endpoints = calloc(model->webhook_count + 1, sizeof *sender->endpoints);
    sender->client = webhook_library_init() ? webhook_client_new() : NULL;
    bool good = sender->endpoints != NULL && sender->client != NULL &&
                journal_last(journal, &head) == JOURNAL_OK;
    if (getrandom(&sender->seed, sizeof sender->seed, 0) != (ssize_t)sizeof sender->seed) {
        sender->seed = (uint64_t)base_clock_wall_ms(); // it only spreads the repeats
    }
    sender->newest = head.seq;
    for (size_t i = 0; good && i < model->webhook_count; i++) {
        good =
            endpoint_init(sender, &sender->endpoints[i], &model->webhooks[i], journal, error, size);
        sender->count++;
    }
    if (!good) {
        webhook_sender_free(sender);
        return NULL;
    }
    return sender;
}

// Signals are the loop's.
bool webhook_sender_start(struct webhook_sender *sender) {
    sigset_t all, before;
    sigfillset(&all);
    pthread_sigmask(SIG_SETMASK, &all, &before);
    sender->started = pthread_create(&sender->thread, NULL, thread_main, sender) == 0;
    pthread_sigmask(SIG_SETMASK, &before, NULL);
    return sender->started;
}

void webhook_sender_stop(struct webhook_sender *sender) {
    if (!sender->started) {
        return;
    }
    pthread_mutex_lock(&sender->lock);
    sender->stopping = true;
    pthread_mutex_unlock(&sender->lock);
    webhook_client_wake(sender->client);
    pthread_join(sender->thread, NULL);
    sender->started = false;
    exchange(sender); // the last that it has come to
}

void webhook_sender_free(struct webhook_sender *sender) {
    if (sender == NULL) {
        return;
    }
    webhook_sender_stop(sender);
    webhook_client_free(sender->client);
    journal_close(sender->journal);
    for (size_t i = 0; i < sender->count; i++) {
        free(sender->endpoints[i].retry_path);
    }
    explicit_bzero(sender->endpoints, sender->count * sizeof *sender->endpoints);
    free(sender->endpoints);
    json_tape_free(&sender->tape);
    json_out_free(&sender->out);
    pthread_mutex_destroy(&sender->lock);
    free(sender);
}

// --- The loop's side ---

void webhook_sender_news(struct webhook_sender *sender, int64_t newest) {
    pthread_mutex_lock(&sender->lock);
    bool more = newest > sender->newest;
    sender->newest = more ? newest : sender->newest;
    pthread_mutex_unlock(&sender->lock);
    if (more) {
        webhook_client_wake(sender->client);
    }
}

void webhook_sender_secrets(struct webhook_sender *sender, size_t webhook,
                            const struct webhook_secrets *secrets) {
    pthread_mutex_lock(&sender->lock);
    sender->endpoints[webhook].fresh = *secrets;
    sender->endpoints[webhook].has_fresh = true;
    pthread_mutex_unlock(&sender->lock);
    webhook_client_wake(sender->client);
}

bool webhook_sender_dirty(struct webhook_sender *sender) {
    bool dirty = false;
    pthread_mutex_lock(&sender->lock);
    for (size_t i = 0; i < sender->count; i++) {
        dirty = dirty || sender->endpoints[i].dirty;
    }
    pthread_mutex_unlock(&sender->lock);
    return dirty;
}

bool webhook_sender_take(struct webhook_sender *sender, size_t webhook,
                         struct webhook_delivery *delivery) {
    struct endpoint *endpoint = &sender->endpoints[webhook];
    pthread_mutex_lock(&sender->lock);
    bool dirty = endpoint->dirty;
    if (dirty) {
        *delivery = endpoint->shown;
        endpoint->dirty = false;
    }
    pthread_mutex_unlock(&sender->lock);
    return dirty;
}

void webhook_sender_untake(struct webhook_sender *sender) {
    pthread_mutex_lock(&sender->lock);
    for (size_t i = 0; i < sender->count; i++) {
        sender->endpoints[i].dirty = true;
    }
    pthread_mutex_unlock(&sender->lock);
}

void webhook_sender_status(struct webhook_sender *sender, size_t webhook,
                           struct webhook_status *status) {
    struct endpoint *endpoint = &sender->endpoints[webhook];
    pthread_mutex_lock(&sender->lock);
    status->delivery = endpoint->shown;
    status->taken = endpoint->taken;
    status->failed = endpoint->failed;
    pthread_mutex_unlock(&sender->lock);
    int64_t since = webhook_delivery_waits_since(&status->delivery),
            now = webhook_sender_now(sender);
    status->waits_ms = since == INT64_MAX ? 0 : now > since ? now - since : 1;
}

int64_t webhook_sender_silence(struct webhook_sender *sender) {
    pthread_mutex_lock(&sender->lock);
    int64_t beat = sender->beat;
    pthread_mutex_unlock(&sender->lock);
    return base_clock_mono_ms() - beat;
}

void webhook_sender_trouble(struct webhook_sender *sender, char *say, size_t size) {
    pthread_mutex_lock(&sender->lock);
    snprintf(say, size, "%s", sender->trouble);
    pthread_mutex_unlock(&sender->lock);
}
