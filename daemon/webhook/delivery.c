// The delivery state's rules: order within a job, jobs beside each other, two kinds of back-off.
#include "webhook/delivery.h"

#include "webhook/schedule.h"

#include <stdio.h>
#include <string.h>

static struct webhook_queue *find(struct webhook_delivery *delivery, const char *site,
                                  const char *job) {
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        struct webhook_queue *queue = &delivery->queues[i];
        if (strcmp(queue->site, site) == 0 && strcmp(queue->job, job) == 0) {
            return queue;
        }
    }
    return NULL;
}

static struct webhook_queue *find_free(struct webhook_delivery *delivery) {
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        if (delivery->queues[i].site[0] == '\0') {
            return &delivery->queues[i];
        }
    }
    return NULL;
}

static void let_go(struct webhook_delivery *delivery, struct webhook_queue *queue) {
    memset(queue, 0, sizeof *queue);
    delivery->held--;
}

enum webhook_offer webhook_delivery_offer(struct webhook_delivery *delivery, const char *site,
                                          const char *job, int64_t seq, int64_t now_ms) {
    if (find(delivery, site, job) != NULL) {
        delivery->cursor = seq;
        return WEBHOOK_OFFER_BEHIND;
    }
    struct webhook_queue *queue = find_free(delivery);
    if (queue == NULL) {
        return WEBHOOK_OFFER_FULL;
    }
    snprintf(queue->site, sizeof queue->site, "%s", site);
    snprintf(queue->job, sizeof queue->job, "%s", job);
    queue->next = seq;
    queue->since_ms = now_ms;
    delivery->cursor = seq;
    delivery->held++;
    return WEBHOOK_OFFER_TAKEN;
}

void webhook_delivery_pass(struct webhook_delivery *delivery, int64_t seq) {
    delivery->cursor = seq;
}

bool webhook_delivery_restore(struct webhook_delivery *delivery, const struct webhook_queue *kept) {
    struct webhook_queue *queue = find_free(delivery);
    if (queue == NULL || kept->site[0] == '\0') {
        return false;
    }
    *queue = *kept;
    queue->under_way = false;
    queue->looking = true;
    delivery->held++;
    return true;
}

bool webhook_delivery_open(const struct webhook_delivery *delivery, int64_t now_ms) {
    size_t most = delivery->attempts > 0 ? 1 : WEBHOOK_POSTS_MAX;
    return !delivery->disabled && now_ms >= delivery->next_ms && delivery->under_way < most;
}

struct webhook_queue *webhook_delivery_next(struct webhook_delivery *delivery, int64_t now_ms) {
    struct webhook_queue *next = NULL;
    if (!webhook_delivery_open(delivery, now_ms)) {
        return NULL;
    }
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        struct webhook_queue *queue = &delivery->queues[i];
        bool ready = queue->site[0] != '\0' && !queue->under_way && !queue->looking &&
                     now_ms >= queue->next_ms;
        if (ready && (next == NULL || queue->next < next->next)) {
            next = queue;
        }
    }
    return next;
}

struct webhook_queue *webhook_delivery_looking(struct webhook_delivery *delivery) {
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        if (delivery->queues[i].site[0] != '\0' && delivery->queues[i].looking) {
            return &delivery->queues[i];
        }
    }
    return NULL;
}

void webhook_queue_found(struct webhook_queue *queue, int64_t seq) {
    queue->next = seq;
    queue->looking = false;
}

void webhook_queue_searched(struct webhook_delivery *delivery, struct webhook_queue *queue,
                            int64_t seq) {
    queue->next = seq + 1;
    if (queue->next > delivery->cursor) {
        let_go(delivery, queue);
    }
}

void webhook_queue_begin(struct webhook_delivery *delivery, struct webhook_queue *queue) {
    queue->under_way = true;
    delivery->under_way++;
}

static void ended(struct webhook_delivery *delivery, struct webhook_queue *queue) {
    queue->under_way = false;
    delivery->under_way--;
}

static void note_failure(struct webhook_delivery *delivery, int64_t now_ms, const char *failure) {
    delivery->failed_ms = now_ms;
    snprintf(delivery->failure, sizeof delivery->failure, "%s", failure);
}

// The endpoint answered, so it is reached.
static void reached(struct webhook_delivery *delivery) {
    delivery->attempts = 0;
    delivery->next_ms = 0;
}

void webhook_queue_taken(struct webhook_delivery *delivery, struct webhook_queue *queue,
                         int64_t now_ms) {
    ended(delivery, queue);
    reached(delivery);
    delivery->ok_ms = now_ms;
    queue->attempts = 0;
    queue->next_ms = 0;
    queue->since_ms = now_ms;
    queue->looking = true;
    webhook_queue_searched(delivery, queue, queue->next);
}

static int64_t later(int64_t delay_ms, int64_t after_ms) {
    int64_t wait = delay_ms > after_ms ? delay_ms : after_ms;
    return wait < WEBHOOK_DELAY_MAX_MS ? wait : WEBHOOK_DELAY_MAX_MS;
}

void webhook_queue_refused(struct webhook_delivery *delivery, struct webhook_queue *queue,
                           int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure) {
    ended(delivery, queue);
    reached(delivery);
    note_failure(delivery, now_ms, failure);
    queue->attempts++;
    queue->next_ms =
        now_ms + later(webhook_delay_ms(WEBHOOK_REFUSED, queue->attempts, seed), after_ms);
}

// Of several deliveries that fail together, one counts: the others began before the back-off did.
void webhook_queue_unreached(struct webhook_delivery *delivery, struct webhook_queue *queue,
                             int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure) {
    ended(delivery, queue);
    note_failure(delivery, now_ms, failure);
    if (now_ms < delivery->next_ms) {
        return;
    }
    delivery->attempts++;
    delivery->next_ms =
        now_ms + later(webhook_delay_ms(WEBHOOK_UNREACHED, delivery->attempts, seed), after_ms);
}

void webhook_queue_gone(struct webhook_delivery *delivery, struct webhook_queue *queue,
                        int64_t now_ms, const char *failure) {
    ended(delivery, queue);
    reached(delivery);
    note_failure(delivery, now_ms, failure);
    delivery->disabled = true;
}

void webhook_delivery_retry(struct webhook_delivery *delivery) {
    delivery->disabled = false;
    reached(delivery);
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        delivery->queues[i].next_ms = 0;
        delivery->queues[i].attempts = 0;
    }
}

// A job that is refused waits by itself; one that has not had its turn waits for the endpoint,
// whose last success counts for it.
int64_t webhook_delivery_waits_since(const struct webhook_delivery *delivery) {
    int64_t since = INT64_MAX;
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        int64_t own = queue->since_ms;
        if (queue->site[0] == '\0') {
            continue;
        }
        if (queue->attempts == 0 && delivery->ok_ms > own) {
            own = delivery->ok_ms;
        }
        since = own < since ? own : since;
    }
    return since;
}

int64_t webhook_delivery_due(const struct webhook_delivery *delivery) {
    int64_t due = INT64_MAX;
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        if (queue->site[0] != '\0' && !queue->under_way && queue->next_ms < due) {
            due = queue->next_ms;
        }
    }
    if (delivery->disabled || due == INT64_MAX) {
        return INT64_MAX;
    }
    return due > delivery->next_ms ? due : delivery->next_ms;
}

static void clamp(int64_t *time, int64_t limit) {
    *time = *time < limit ? *time : limit;
}

void webhook_delivery_clamp(struct webhook_delivery *delivery, int64_t now_ms) {
    clamp(&delivery->next_ms, now_ms + WEBHOOK_DELAY_MAX_MS);
    clamp(&delivery->ok_ms, now_ms);
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        clamp(&delivery->queues[i].next_ms, now_ms + WEBHOOK_DELAY_MAX_MS);
        clamp(&delivery->queues[i].since_ms, now_ms);
    }
}

const char *webhook_delivery_state(const struct webhook_delivery *delivery) {
    bool waiting = delivery->attempts > 0;
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        waiting = waiting || delivery->queues[i].attempts > 0;
    }
    return delivery->disabled ? "disabled" : waiting ? "waiting" : "up";
}
