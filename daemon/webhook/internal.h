// What the two files of the sender share: its thread with the loop's side (sender.c), and the work
// for one endpoint (deliver.c). Nothing outside includes it.
#pragma once

#include "webhook/post.h"
#include "webhook/sender.h"
#include "json/json.h"

#include <pthread.h>

struct endpoint;
struct posting {
    struct endpoint *endpoint;
    struct webhook_queue *queue; // NULL: free
};

struct endpoint {
    struct webhook_sender *sender;
    const struct model_webhook *hook;
    char *retry_path;
    struct posting postings[WEBHOOK_POSTS_MAX];
    struct webhook_delivery delivery; // the thread's own
    struct webhook_secrets secrets;
    bool changed;
    // Under the lock:
    struct webhook_delivery shown;
    struct webhook_secrets fresh;
    bool has_fresh, dirty;
    uint64_t taken, failed;
    int64_t noted_cursor;
};

struct webhook_sender {
    const struct model *model;
    struct endpoint *endpoints;
    size_t count;
    struct webhook_client *client;
    pthread_t thread;
    bool started;
    int64_t wall_base; // now = wall_base + mono ms: not moved by steps of the clock
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

// Monotonic time of delays: the wall clock at the start, going on evenly.
int64_t webhook_sender_now(const struct webhook_sender *sender);
// Whether the thread can read the journal; tries to open it anew where it could not.
bool webhook_sender_has_journal(struct webhook_sender *sender);
// Does what can be done for an endpoint now. True: there is more to do at once.
bool webhook_endpoint_work(struct webhook_sender *sender, struct endpoint *endpoint);
// A delivery has ended.
void webhook_endpoint_ended(struct webhook_sender *sender, struct posting *posting,
                            const struct webhook_result *result);
