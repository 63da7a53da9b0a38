// The delivery state in the journal, and the operator's word beside it.
#include "webhook/feed.h"

#include <stdio.h>
#include <string.h>

static void take_row(void *user, const struct journal_webhook *row) {
    struct webhook_delivery *delivery = user;
    delivery->cursor = row->cursor;
    delivery->attempts = (uint32_t)row->attempts;
    delivery->next_ms = row->next_ms;
    delivery->disabled = row->disabled;
    delivery->ok_ms = row->ok_ms;
    delivery->failed_ms = row->failed_ms;
    snprintf(delivery->failure, sizeof delivery->failure, "%s", row->failure);
}

static void take_queue(void *user, const struct journal_webhook_queue *row) {
    struct webhook_delivery *delivery = user;
    struct webhook_queue queue = {.next = row->next,
                                  .attempts = (uint32_t)row->attempts,
                                  .next_ms = row->next_ms,
                                  .since_ms = row->since_ms};
    snprintf(queue.site, sizeof queue.site, "%s", row->site);
    snprintf(queue.job, sizeof queue.job, "%s", row->job);
    webhook_delivery_restore(delivery, &queue); // never more than were written
}

enum journal_status webhook_delivery_load(struct journal *journal, const char *webhook,
                                          struct webhook_delivery *delivery) {
    memset(delivery, 0, sizeof *delivery);
    return journal_read_webhook(journal, webhook, take_row, take_queue, delivery);
}

enum journal_status webhook_delivery_keep(struct journal *journal, const char *webhook,
                                          const struct webhook_delivery *delivery) {
    struct journal_webhook_queue queues[WEBHOOK_QUEUES_MAX];
    size_t count = 0;
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        if (queue->site[0] != '\0') {
            queues[count++] = (struct journal_webhook_queue){.site = queue->site,
                                                             .job = queue->job,
                                                             .next = queue->next,
                                                             .attempts = queue->attempts,
                                                             .next_ms = queue->next_ms,
                                                             .since_ms = queue->since_ms};
        }
    }
    const struct journal_webhook row = {.webhook = webhook,
                                        .cursor = delivery->cursor,
                                        .attempts = delivery->attempts,
                                        .next_ms = delivery->next_ms,
                                        .disabled = delivery->disabled,
                                        .ok_ms = delivery->ok_ms,
                                        .failed_ms = delivery->failed_ms,
                                        .failure = delivery->failure};
    return journal_put_webhook(journal, &row, queues, count);
}

char *webhook_retry_path(const struct model *model, const char *webhook) {
    char *path = NULL;
    return asprintf(&path, "%s.webhook-%s.retry", model->journal, webhook) < 0 ? NULL : path;
}
