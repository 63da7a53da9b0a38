// The thread: for each endpoint, what may be sent is read from the journal and posted; what came of
// it moves the outbox on.
#include "webhook/sender.h"

#include "base/clock.h"
#include "webhook/feed.h"
#include "webhook/post.h"
#include "json/json.h"

#include <pthread.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/random.h>
#include <unistd.h>

#define ROWS_AT_ONCE 500  // facts read before anything else gets its turn
#define STEPS_AT_ONCE 64  // steps of one endpoint before another's
#define ROUND_MS 1000     // the longest wait
#define REOPEN_MS 1000    // after the journal could not be read
#define PASSED_ENOUGH 256 // facts passed over that are worth a note by themselves
#define AHEAD_ENOUGH 2000 // facts that the cursor may be ahead of a job

struct endpoint;
struct flight {
    struct endpoint *endpoint;
    struct webhook_lane *lane; // NULL: free
};

struct endpoint {
    struct webhook_sender *sender;
    const struct model_webhook *hook;
    char *retry_path;
    struct flight flights[WEBHOOK_FLIGHTS_MAX];
    struct webhook_outbox outbox; // the thread's own
    struct webhook_secrets secrets;
    bool changed;
    // Under the lock:
    struct webhook_outbox shown;
    struct webhook_secrets fresh;
    bool has_fresh, dirty;
    uint64_t taken, failed;
    int64_t noted_cursor;
};

struct webhook_sender {
    const struct model *model;
    struct endpoint *endpoints;
    size_t count;
    struct webhook_desk *desk;
    pthread_t thread;
    bool started;
    int64_t wall_base; // line ms = wall_base + boot ms: not moved by steps of the clock
    uint64_t seed;
    // The thread's:
    struct journal *journal;
    int64_t reopen_ms, listen_ms;
    struct json_tape tape;
    struct json_out out;
    int64_t reach; // facts up to this are there
    // Under the lock:
    pthread_mutex_t lock;
    bool stopping;
    int64_t newest, beat;
    char trouble[512];
};

static int64_t now_ms(const struct webhook_sender *sender) {
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

static bool have_journal(struct webhook_sender *sender) {
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
    switch (webhook_outbox_offer(&endpoint->outbox, row->site, job, row->seq, now_ms(sender))) {
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
        webhook_lane_unreached(&endpoint->outbox, search->lane, now_ms(sender), 0, sender->seed++,
                               "out of memory");
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

static void land(struct webhook_sender *sender, struct flight *flight,
                 const struct webhook_result *result) {
    struct endpoint *endpoint = flight->endpoint;
    struct webhook_outbox *outbox = &endpoint->outbox;
    struct webhook_lane *lane = flight->lane;
    int64_t now = now_ms(sender);
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

// --- Going round ---

// Does what can be done for an endpoint now. True: there is more to do at once.
static bool work(struct webhook_sender *sender, struct endpoint *endpoint) {
    struct webhook_outbox *outbox = &endpoint->outbox;
    for (int step = 0; step < STEPS_AT_ONCE; step++) {
        struct webhook_lane *lane = webhook_outbox_looking(outbox);
        bool good;
        if (lane != NULL) {
            good = look(sender, endpoint, lane);
        } else if (!webhook_outbox_open(outbox, now_ms(sender))) {
            return false;
        } else if ((lane = webhook_outbox_next(outbox, now_ms(sender))) != NULL) {
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

// The operator's word, once a second.
static void listen(struct webhook_sender *sender) {
    if (base_clock_mono_ms() < sender->listen_ms) {
        return;
    }
    sender->listen_ms = base_clock_mono_ms() + ROUND_MS;
    for (size_t i = 0; i < sender->count; i++) {
        struct endpoint *endpoint = &sender->endpoints[i];
        if (unlink(endpoint->retry_path) == 0) {
            webhook_outbox_retry(&endpoint->outbox);
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
            endpoint->outbox.cursor - endpoint->noted_cursor >= PASSED_ENOUGH) {
            endpoint->shown = endpoint->outbox;
            endpoint->noted_cursor = endpoint->outbox.cursor;
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
    int64_t wait = ROUND_MS, now = now_ms(sender);
    for (size_t i = 0; i < sender->count; i++) {
        int64_t due = webhook_outbox_due(&sender->endpoints[i].outbox);
        // What is due already waits for a delivery under way, whose end wakes us.
        wait = due > now && due - now < wait ? due - now : wait;
    }
    return more ? 0 : (int)wait;
}

static void *thread_main(void *argument) {
    struct webhook_sender *sender = argument;
    struct webhook_result result;
    void *flight = NULL;
    while (exchange(sender)) {
        bool more = false;
        listen(sender);
        for (size_t i = 0; i < sender->count && have_journal(sender); i++) {
            more = work(sender, &sender->endpoints[i]) || more;
        }
        webhook_desk_run(sender->desk, wait_of(sender, more));
        while (webhook_desk_ended(sender->desk, &result, &flight)) {
            land(sender, flight, &result);
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
    for (size_t i = 0; i < WEBHOOK_FLIGHTS_MAX; i++) {
        endpoint->flights[i].endpoint = endpoint;
    }
    if (endpoint->retry_path == NULL) {
        snprintf(error, size, "out of memory");
        return false;
    }
    if (!webhook_secrets_read(hook->secret, &endpoint->secrets, &why)) {
        snprintf(error, size, "%s %s", hook->secret_file, why);
        return false;
    }
    enum journal_status status = webhook_outbox_load(journal, hook->webhook, &endpoint->outbox);
    if (status == JOURNAL_NONE) {
        status = journal_last(journal, &head);
        endpoint->outbox.cursor = head.seq;
        endpoint->dirty = true;
    }
    if (status != JOURNAL_OK) {
        snprintf(error, size, "%s", journal_why(journal));
        return false;
    }
    webhook_outbox_clamp(&endpoint->outbox, now_ms(sender));
    endpoint->noted_cursor = endpoint->outbox.cursor;
    endpoint->shown = endpoint->outbox;
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
    sender->desk = webhook_library_init() ? webhook_desk_new() : NULL;
    bool good = sender->endpoints != NULL && sender->desk != NULL &&
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
    webhook_desk_wake(sender->desk);
    pthread_join(sender->thread, NULL);
    sender->started = false;
    exchange(sender); // the last that it has come to
}

void webhook_sender_free(struct webhook_sender *sender) {
    if (sender == NULL) {
        return;
    }
    webhook_sender_stop(sender);
    webhook_desk_free(sender->desk);
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
        webhook_desk_wake(sender->desk);
    }
}

void webhook_sender_secrets(struct webhook_sender *sender, size_t webhook,
                            const struct webhook_secrets *secrets) {
    pthread_mutex_lock(&sender->lock);
    sender->endpoints[webhook].fresh = *secrets;
    sender->endpoints[webhook].has_fresh = true;
    pthread_mutex_unlock(&sender->lock);
    webhook_desk_wake(sender->desk);
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
                         struct webhook_outbox *outbox) {
    struct endpoint *endpoint = &sender->endpoints[webhook];
    pthread_mutex_lock(&sender->lock);
    bool dirty = endpoint->dirty;
    if (dirty) {
        *outbox = endpoint->shown;
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
    status->outbox = endpoint->shown;
    status->taken = endpoint->taken;
    status->failed = endpoint->failed;
    pthread_mutex_unlock(&sender->lock);
    int64_t since = webhook_outbox_waits_since(&status->outbox), now = now_ms(sender);
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
