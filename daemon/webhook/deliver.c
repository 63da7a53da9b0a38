// One endpoint's work: what may be sent is read from the journal and posted; what came of it moves
// the delivery state on.
#include "webhook/internal.h"

#include "base/clock.h"
#include "webhook/feed.h"

#include <stdio.h>
#include <string.h>

#define ROWS_AT_ONCE 500  // facts read before anything else gets its turn
#define STEPS_AT_ONCE 64  // steps of one endpoint before another's
#define REOPEN_MS 1000    // after the journal could not be read
#define AHEAD_ENOUGH 2000 // facts that the cursor may be ahead of a job

int64_t webhook_sender_now(const struct webhook_sender *sender) {
    return sender->wall_base + base_clock_mono_ms();
}

// --- The journal ---

static void lose_journal(struct webhook_sender *sender, const char *why) {
    pthread_mutex_lock(&sender->lock);
    snprintf(sender->trouble, sizeof sender->trouble, "%s", why);
    pthread_mutex_unlock(&sender->lock);
    journal_close(sender->journal);
    sender->journal = NULL;
    sender->reopen_ms = base_clock_mono_ms() + REOPEN_MS;
}

bool webhook_sender_has_journal(struct webhook_sender *sender) {
    struct journal_error error;
    const struct journal_options options = {.path = sender->model->journal,
                                            .instance = sender->model->instance,
                                            .mode = JOURNAL_READ_ONLY,
                                            .check = JOURNAL_CHECK_NONE};
    if (sender->journal != NULL) {
        return true;
    }
    if (base_clock_mono_ms() < sender->reopen_ms) {
        return false;
    }
    sender->journal = journal_open(&options, &error);
    if (sender->journal == NULL) {
        lose_journal(sender, error.say);
        return false;
    }
    pthread_mutex_lock(&sender->lock);
    sender->trouble[0] = '\0';
    pthread_mutex_unlock(&sender->lock);
    return true;
}

struct search {
    struct endpoint *endpoint;
    struct webhook_queue *queue; // whose next event is looked for; NULL: the cursor goes on
    bool failed, ended;
};

// Reads on; false: the journal could not be read, or there was no memory.
static bool read_on(struct webhook_sender *sender, const struct journal_query *query,
                    journal_row_hook hook, struct search *search) {
    enum journal_status status = journal_each(sender->journal, query, hook, search);
    if (status != JOURNAL_OK) {
        lose_journal(sender, journal_why(sender->journal));
    } else if (search->failed) {
        lose_journal(sender, "out of memory");
    }
    return status == JOURNAL_OK && !search->failed;
}

// --- The cursor goes on ---

static bool offer_row(void *user, const struct journal_row *row) {
    struct search *search = user;
    struct endpoint *endpoint = search->endpoint;
    struct webhook_sender *sender = endpoint->sender;
    char job[MODEL_ID_SIZE];
    if (!webhook_wants(endpoint->hook, row)) {
        webhook_delivery_pass(&endpoint->delivery, row->seq);
        return true;
    }
    if (!webhook_job_of(&sender->tape, row, job)) {
        search->failed = true;
        return false;
    }
    switch (webhook_delivery_offer(&endpoint->delivery, row->site, job, row->seq,
                                   webhook_sender_now(sender))) {
    case WEBHOOK_OFFER_TAKEN:
        endpoint->changed = true;
        search->ended = true;
        return false;
    case WEBHOOK_OFFER_FULL:
        search->ended = true;
        return false;
    default:
        return true;
    }
}

// The cursor does not run far ahead of a job that is being delivered: that job has to read all of
// it again. One that is refused holds nobody up.
static bool may_scan(const struct webhook_sender *sender, const struct endpoint *endpoint) {
    const struct webhook_delivery *delivery = &endpoint->delivery;
    for (size_t i = 0; i < WEBHOOK_QUEUES_MAX; i++) {
        const struct webhook_queue *queue = &delivery->queues[i];
        if (queue->site[0] != '\0' && queue->attempts == 0 &&
            delivery->cursor - queue->next > AHEAD_ENOUGH) {
            return false;
        }
    }
    return delivery->cursor < sender->reach && delivery->held < WEBHOOK_QUEUES_MAX;
}

static bool scan(struct webhook_sender *sender, struct endpoint *endpoint) {
    struct search search = {.endpoint = endpoint};
    struct journal_query query = {.from_seq = endpoint->delivery.cursor + 1, .limit = ROWS_AT_ONCE};
    return read_on(sender, &query, offer_row, &search);
}

// --- A job's next event ---

static bool look_row(void *user, const struct journal_row *row) {
    struct search *search = user;
    struct endpoint *endpoint = search->endpoint;
    char job[MODEL_ID_SIZE];
    if (row->seq > endpoint->delivery.cursor) {
        webhook_queue_searched(&endpoint->delivery, search->queue, endpoint->delivery.cursor);
        search->ended = true;
        return false;
    }
    search->queue->next = row->seq;
    if (!webhook_wants(endpoint->hook, row)) {
        return true;
    }
    if (!webhook_job_of(&endpoint->sender->tape, row, job)) {
        search->failed = true;
        return false;
    }
    search->ended = strcmp(job, search->queue->job) == 0;
    if (search->ended) {
        webhook_queue_found(search->queue, row->seq);
    }
    return !search->ended;
}

struct counted {
    struct search search;
    int64_t rows;
};

static bool count_and_look(void *user, const struct journal_row *row) {
    struct counted *counted = user;
    counted->rows++;
    return look_row(&counted->search, row);
}

// Looks on for a queue's next event, a few facts at a time.
static bool look(struct webhook_sender *sender, struct endpoint *endpoint,
                 struct webhook_queue *queue) {
    struct counted counted = {.search = {.endpoint = endpoint, .queue = queue}};
    struct journal_query query = {
        .from_seq = queue->next, .limit = ROWS_AT_ONCE, .site = queue->site};
    endpoint->changed = true;
    enum journal_status status = journal_each(sender->journal, &query, count_and_look, &counted);
    if (status != JOURNAL_OK || counted.search.failed) {
        lose_journal(sender, status != JOURNAL_OK ? journal_why(sender->journal) : "out of memory");
        return false;
    }
    if (!counted.search.ended) {
        // The last row read was not it; without a full page there are no more.
        int64_t upto = counted.rows < ROWS_AT_ONCE ? endpoint->delivery.cursor : queue->next;
        webhook_queue_searched(&endpoint->delivery, queue, upto);
    }
    return true;
}

// --- Sending ---

static struct posting *free_posting(struct endpoint *endpoint) {
    for (size_t i = 0; i < WEBHOOK_POSTS_MAX; i++) {
        if (endpoint->postings[i].queue == NULL) {
            return &endpoint->postings[i];
        }
    }
    return NULL;
}

static bool post_row(void *user, const struct journal_row *row) {
    struct search *search = user;
    struct endpoint *endpoint = search->endpoint;
    struct webhook_sender *sender = endpoint->sender;
    struct posting *posting = free_posting(endpoint);
    char id[WEBHOOK_ID_SIZE];
    if (row->seq != search->queue->next) {
        return false; // it is looked for anew
    }
    webhook_id(sender->model->instance, row, id);
    search->ended = true;
    webhook_queue_begin(&endpoint->delivery, search->queue);
    posting->queue = search->queue;
    if (!webhook_body(&sender->out, row) ||
        !webhook_client_post(sender->client, endpoint->hook, &endpoint->secrets, id,
                             base_clock_wall_ms() / 1000, sender->out.data, sender->out.length,
                             posting)) {
        posting->queue = NULL;
        webhook_queue_unreached(&endpoint->delivery, search->queue, webhook_sender_now(sender), 0,
                                sender->seed++, "out of memory");
    }
    return false;
}

static bool post(struct webhook_sender *sender, struct endpoint *endpoint,
                 struct webhook_queue *queue) {
    struct search search = {.endpoint = endpoint, .queue = queue};
    struct journal_query query = {.from_seq = queue->next, .limit = 1, .site = queue->site};
    endpoint->changed = true;
    bool read = read_on(sender, &query, post_row, &search);
    if (read && !search.ended) {
        queue->looking = true;
    }
    return read;
}

void webhook_endpoint_ended(struct webhook_sender *sender, struct posting *posting,
                            const struct webhook_result *result) {
    struct endpoint *endpoint = posting->endpoint;
    struct webhook_delivery *delivery = &endpoint->delivery;
    struct webhook_queue *queue = posting->queue;
    int64_t now = webhook_sender_now(sender);
    uint64_t seed = sender->seed++;
    posting->queue = NULL;
    endpoint->changed = true;
    switch (result->outcome) {
    case WEBHOOK_TAKEN:
        webhook_queue_taken(delivery, queue, now);
        break;
    case WEBHOOK_REFUSAL:
        webhook_queue_refused(delivery, queue, now, result->after_ms, seed, result->say);
        break;
    case WEBHOOK_GONE:
        webhook_queue_gone(delivery, queue, now, result->say);
        break;
    case WEBHOOK_NO_ANSWER:
        webhook_queue_unreached(delivery, queue, now, result->after_ms, seed, result->say);
        break;
    }
    pthread_mutex_lock(&sender->lock);
    endpoint->taken += result->outcome == WEBHOOK_TAKEN;
    endpoint->failed += result->outcome != WEBHOOK_TAKEN;
    pthread_mutex_unlock(&sender->lock);
}

// --- What is to be done next ---

bool webhook_endpoint_work(struct webhook_sender *sender, struct endpoint *endpoint) {
    struct webhook_delivery *delivery = &endpoint->delivery;
    for (int step = 0; step < STEPS_AT_ONCE; step++) {
        struct webhook_queue *queue = webhook_delivery_looking(delivery);
        bool good;
        if (queue != NULL) {
            good = look(sender, endpoint, queue);
        } else if (!webhook_delivery_open(delivery, webhook_sender_now(sender))) {
            return false;
        } else if ((queue = webhook_delivery_next(delivery, webhook_sender_now(sender))) != NULL) {
            good = post(sender, endpoint, queue);
        } else if (may_scan(sender, endpoint)) {
            good = scan(sender, endpoint);
        } else {
            return false;
        }
        if (!good) {
            return false;
        }
    }
    return true;
}
