// From facts to deliveries, and what is left of them.
#include "webhook/feed.h"

#include "gate/fact/list.h"
#include "wire/tell.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

static bool is_among(const char *const *names, size_t count, const char *name) {
    for (size_t i = 0; i < count; i++) {
        if (strcmp(names[i], name) == 0) {
            return true;
        }
    }
    return count == 0;
}

bool webhook_wants(const struct model_webhook *hook, const struct journal_row *row) {
    return row->site[0] != '\0' && gate_fact_published(gate_fact_of(row->type)) &&
           is_among(hook->sites, hook->site_count, row->site) &&
           is_among(hook->events, hook->event_count, row->type);
}

bool webhook_job_of(struct json_tape *tape, const struct journal_row *row,
                    char job[MODEL_ID_SIZE]) {
    job[0] = '\0';
    if (!json_scan(tape, row->data, row->data_length, &json_config_limits, NULL)) {
        return false;
    }
    const struct json_node *node = json_present(tape, json_root(tape), "job");
    if (node != NULL && !json_copy(tape, node, job, MODEL_ID_SIZE)) {
        job[0] = '\0';
    }
    return true;
}

bool webhook_body(struct json_out *out, const struct journal_row *row) {
    const struct wire_record record = {.seq = (uint64_t)row->seq,
                                       .at = row->at_ms,
                                       .site = row->site,
                                       .type = row->type,
                                       .subject = row->subject,
                                       .data = row->data,
                                       .data_length = row->data_length};
    json_out_reset(out);
    return wire_event(out, &record);
}

void webhook_id(const char *instance, const struct journal_row *row, char id[WEBHOOK_ID_SIZE]) {
    snprintf(id, WEBHOOK_ID_SIZE, "%s:%s:%" PRId64, instance, row->site, row->seq);
}

// --- What waits ---

struct count {
    const struct model_webhook *hook;
    const struct webhook_delivery *delivery;
    struct webhook_backlog *backlog;
    struct json_tape tape;
    bool failed;
};

static bool is_taken(const struct webhook_delivery *delivery, const struct journal_row *row,
                     const char *job) {
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        if (strcmp(queue->site, row->site) == 0 && strcmp(queue->job, job) == 0) {
            return row->seq < queue->next;
        }
    }
    return row->seq <= delivery->cursor;
}

static bool count_row(void *user, const struct journal_row *row) {
    struct count *count = user;
    char job[MODEL_ID_SIZE];
    if (!webhook_wants(count->hook, row)) {
        return true;
    }
    if (!webhook_job_of(&count->tape, row, job)) {
        count->failed = true;
        return false;
    }
    if (!is_taken(count->delivery, row, job)) {
        count->backlog->oldest_ms =
            count->backlog->count == 0 ? row->at_ms : count->backlog->oldest_ms;
        count->backlog->count++;
    }
    return true;
}

enum journal_status webhook_backlog(struct journal *journal, const struct model_webhook *hook,
                                    const struct webhook_delivery *delivery,
                                    struct webhook_backlog *backlog) {
    struct count count = {.hook = hook, .delivery = delivery, .backlog = backlog};
    struct journal_query query = {.from_seq = delivery->cursor + 1};
    memset(backlog, 0, sizeof *backlog);
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        if (queue->site[0] != '\0' && queue->next < query.from_seq) {
            query.from_seq = queue->next;
        }
    }
    enum journal_status status = journal_each(journal, &query, count_row, &count);
    json_tape_free(&count.tape);
    return count.failed ? JOURNAL_MEMORY : status;
}
