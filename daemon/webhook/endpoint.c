// The outbox in the journal, and the operator's word beside it.
#include "webhook/feed.h"

#include <stdio.h>
#include <string.h>

static void take_row(void *user, const struct journal_webhook *row) {
    struct webhook_outbox *outbox = user;
    outbox->cursor = row->cursor;
    outbox->attempts = (uint32_t)row->attempts;
    outbox->next_ms = row->next_ms;
    outbox->disabled = row->disabled;
    outbox->ok_ms = row->ok_ms;
    outbox->failed_ms = row->failed_ms;
    snprintf(outbox->failure, sizeof outbox->failure, "%s", row->failure);
}

static void take_lane(void *user, const struct journal_webhook_lane *row) {
    struct webhook_outbox *outbox = user;
    struct webhook_lane lane = {.next = row->next,
                                .attempts = (uint32_t)row->attempts,
                                .next_ms = row->next_ms,
                                .since_ms = row->since_ms};
    snprintf(lane.site, sizeof lane.site, "%s", row->site);
    snprintf(lane.job, sizeof lane.job, "%s", row->job);
    webhook_outbox_restore(outbox, &lane); // never more than were written
}

enum journal_status webhook_outbox_load(struct journal *journal, const char *webhook,
                                        struct webhook_outbox *outbox) {
    memset(outbox, 0, sizeof *outbox);
    return journal_read_webhook(journal, webhook, take_row, take_lane, outbox);
}

enum journal_status webhook_outbox_keep(struct journal *journal, const char *webhook,
                                        const struct webhook_outbox *outbox) {
    struct journal_webhook_lane lanes[WEBHOOK_LANES_MAX];
    size_t count = 0;
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        const struct webhook_lane *lane = &outbox->lanes[i];
        if (lane->site[0] != '\0') {
            lanes[count++] = (struct journal_webhook_lane){.site = lane->site,
                                                           .job = lane->job,
                                                           .next = lane->next,
                                                           .attempts = lane->attempts,
                                                           .next_ms = lane->next_ms,
                                                           .since_ms = lane->since_ms};
        }
    }
    const struct journal_webhook row = {.webhook = webhook,
                                        .cursor = outbox->cursor,
                                        .attempts = outbox->attempts,
                                        .next_ms = outbox->next_ms,
                                        .disabled = outbox->disabled,
                                        .ok_ms = outbox->ok_ms,
                                        .failed_ms = outbox->failed_ms,
                                        .failure = outbox->failure};
    return journal_put_webhook(journal, &row, lanes, count);
}

char *webhook_retry_path(const struct model *model, const char *webhook) {
    char *path = NULL;
    return asprintf(&path, "%s.webhook-%s.retry", model->journal, webhook) < 0 ? NULL : path;
}
