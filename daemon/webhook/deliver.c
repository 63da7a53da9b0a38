// One endpoint's work: what may be sent is read from the journal and posted; what came of it moves
// the outbox on.
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
    struct webhook_lane *lane; // whose next event is looked for; NULL: the cursor goes on
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
        webhook_outbox_pass(&endpoint->outbox, row->seq);
        return true;
    }
    if (!webhook_job_of(&sender->tape, row, job)) {
        search->failed = true;
        return false;
    }
    switch (webhook_outbox_offer(&endpoint->outbox, row->site, job, row->seq,
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
    const struct webhook_outbox *outbox = &endpoint->outbox;
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        const struct webhook_lane *lane = &outbox->lanes[i];
        if (lane->site[0] != '\0' && lane->attempts == 0 &&
            outbox->cursor - lane->next > AHEAD_ENOUGH) {
            return false;
        }
    }
    return outbox->cursor < sender->reach && outbox->held < WEBHOOK_LANES_MAX;
}

static bool scan(struct webhook_sender *sender, struct endpoint *endpoint) {
    struct search search = {.endpoint = endpoint};
    struct journal_query query = {.from_seq = endpoint->outbox.cursor + 1, .limit = ROWS_AT_ONCE};
    return read_on(sender, &query, offer_row, &search);
}

// --- A job's next event ---

static bool look_row(void *user, const struct journal_row *row) {
    struct search *search = user;
    struct endpoint *endpoint = search->endpoint;
    char job[MODEL_ID_SIZE];
    if (row->seq > endpoint->outbox.cursor) {
        webhook_lane_searched(&endpoint->outbox, search->lane, endpoint->outbox.cursor);
        search->ended = true;
        return false;
    }
    search->lane->next = row->seq;
    if (!webhook_wants(endpoint->hook, row)) {
        return true;
    }
    if (!webhook_job_of(&endpoint->sender->tape, row, job)) {
        search->failed = true;
        return false;
    }
    search->ended = strcmp(job, search->lane->job) == 0;
    if (search->ended) {
        webhook_lane_found(search->lane, row->seq);
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

// Looks on for a lane's next event, a few facts at a time.
static bool look(struct webhook_sender *sender, struct endpoint *endpoint,
                 struct webhook_lane *lane) {
    struct counted counted = {.search = {.endpoint = endpoint, .lane = lane}};
    struct journal_query query = {
        .from_seq = lane->next, .limit = ROWS_AT_ONCE, .site = lane->site};
    endpoint->changed = true;
    enum journal_status status = journal_each(sender->journal, &query, count_and_look, &counted);
    if (status != JOURNAL_OK || counted.search.failed) {
        lose_journal(sender, status != JOURNAL_OK ? journal_why(sender->journal) : "out of memory");
        return false;
    }
    if (!counted.search.ended) {
        // The last row read was not it; without a full page there are no more.
        int64_t upto = counted.rows < ROWS_AT_ONCE ? endpoint->outbox.cursor : lane->next;
        webhook_lane_searched(&endpoint->outbox, lane, upto);
    }
    return true;
}

// --- Sending ---

static struct flight *free_flight(struct endpoint *endpoint) {
    for (size_t i = 0; i < WEBHOOK_FLIGHTS_MAX; i++) {
        if (endpoint->flights[i].lane == NULL) {
            return &endpoint->flights[i];
        }
    }
    return NULL;
}

static bool post_row(void *user, const struct journal_row *row) {
    struct search *search = user;
    struct endpoint *endpoint = search->endpoint;
    struct webhook_sender *sender = endpoint->sender;
    struct flight *flight = free_flight(endpoint);
    char id[WEBHOOK_ID_SIZE];
    if (row->seq != search->lane->next) {
        return false; // it is looked for anew
    }
    webhook_id(sender->model->instance, row, id);
    search->ended = true;
    webhook_lane_fly(&endpoint->outbox, search->lane);
    flight->lane = search->lane;
    if (!webhook_body(&sender->out, row) ||
        !webhook_desk_post(sender->desk, endpoint->hook, &endpoint->secrets, id,
                           base_clock_wall_ms() / 1000, sender->out.data, sender->out.length,
                           flight)) {
        flight->lane = NULL;
        webhook_lane_unreached(&endpoint->outbox, search->lane, webhook_sender_now(sender), 0,
                               sender->seed++, "out of memory");
    }
    return false;
}

static bool post(struct webhook_sender *sender, struct endpoint *endpoint,
                 struct webhook_lane *lane) {
    struct search search = {.endpoint = endpoint, .lane = lane};
    struct journal_query query = {.from_seq = lane->next, .limit = 1, .site = lane->site};
    endpoint->changed = true;
    bool read = read_on(sender, &query, post_row, &search);
    if (read && !search.ended) {
        lane->looking = true;
    }
    return read;
}

void webhook_endpoint_ended(struct webhook_sender *sender, struct flight *flight,
                            const struct webhook_result *result) {
    struct endpoint *endpoint = flight->endpoint;
    struct webhook_outbox *outbox = &endpoint->outbox;
    struct webhook_lane *lane = flight->lane;
    int64_t now = webhook_sender_now(sender);
    uint64_t seed = sender->seed++;
    flight->lane = NULL;
    endpoint->changed = true;
    switch (result->outcome) {
    case WEBHOOK_TAKEN:
        webhook_lane_taken(outbox, lane, now);
        break;
    case WEBHOOK_REFUSAL:
        webhook_lane_refused(outbox, lane, now, result->after_ms, seed, result->say);
        break;
    case WEBHOOK_GONE:
        webhook_lane_gone(outbox, lane, now, result->say);
        break;
    case WEBHOOK_NO_ANSWER:
        webhook_lane_unreached(outbox, lane, now, result->after_ms, seed, result->say);
        break;
    }
    pthread_mutex_lock(&sender->lock);
    endpoint->taken += result->outcome == WEBHOOK_TAKEN;
    endpoint->failed += result->outcome != WEBHOOK_TAKEN;
    pthread_mutex_unlock(&sender->lock);
}

// --- What is to be done next ---

bool webhook_endpoint_work(struct webhook_sender *sender, struct endpoint *endpoint) {
    struct webhook_outbox *outbox = &endpoint->outbox;
    for (int step = 0; step < STEPS_AT_ONCE; step++) {
        struct webhook_lane *lane = webhook_outbox_looking(outbox);
        bool good;
        if (lane != NULL) {
            good = look(sender, endpoint, lane);
        } else if (!webhook_outbox_open(outbox, webhook_sender_now(sender))) {
            return false;
        } else if ((lane = webhook_outbox_next(outbox, webhook_sender_now(sender))) != NULL) {
            good = post(sender, endpoint, lane);
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
