// The delivery state of one endpoint: which event may be sent now, and what follows from how it
// went. Pure: no I/O, no clock.
//
// The events themselves stay in the journal. A cursor stands behind the last event that was looked
// at; each job whose event has not been taken yet has a queue, which holds the number of that
// event. A job with a queue gets its next event only through it, so a job's events arrive in their
// order while other jobs go on. The events of a site that are of no job share a queue. There are
// few queues: when all are held, the cursor waits, and so nothing grows however long an endpoint is
// gone.
#pragma once

#include "model/model.h"

#define WEBHOOK_QUEUES_MAX 64
#define WEBHOOK_POSTS_MAX 4 // deliveries of one endpoint at once
#define WEBHOOK_FAILURE_SIZE 200

struct webhook_queue {
    char site[MODEL_ID_SIZE]; // "": the queue is free
    char job[MODEL_ID_SIZE];  // "": events of no job
    int64_t next;      // the event to be delivered, or while looking where the search goes on
    int64_t since_ms;  // since when it waits
    int64_t next_ms;   // not to be tried before
    uint32_t attempts; // times in a row that it was refused
    bool under_way;    // being delivered
    bool looking;      // its next event is still to be found
};

struct webhook_delivery {
    int64_t cursor; // every event up to here was taken, or has a queue
    struct webhook_queue queues[WEBHOOK_QUEUES_MAX];
    size_t held, under_way; // queues
    bool disabled;          // the receiver answered 410
    uint32_t attempts;      // times in a row that it was not reached
    int64_t next_ms;        // not to be tried before
    int64_t ok_ms;          // of the last success; 0: none
    int64_t failed_ms;
    char failure[WEBHOOK_FAILURE_SIZE]; // the last one, in words
};

enum webhook_offer {
    WEBHOOK_OFFER_TAKEN,  // it has a queue of its own now
    WEBHOOK_OFFER_BEHIND, // its job has a queue, which will come to it
    WEBHOOK_OFFER_FULL,   // no queue is free: the cursor stays
};

// The next event behind the cursor, which is this endpoint's.
enum webhook_offer webhook_delivery_offer(struct webhook_delivery *delivery, const char *site,
                                          const char *job, int64_t seq, int64_t now_ms);
// Facts up to this one are not this endpoint's.
void webhook_delivery_pass(struct webhook_delivery *delivery, int64_t seq);
// Adds a queue as it was kept: its next event is looked for. False: no queue is free.
bool webhook_delivery_restore(struct webhook_delivery *delivery, const struct webhook_queue *queue);

// Whether another delivery may begin: not disabled, not backing off, and below the limit, which is
// one while the endpoint has not been reached.
bool webhook_delivery_open(const struct webhook_delivery *delivery, int64_t now_ms);
// The queue of the oldest event that may be sent now; NULL: none.
struct webhook_queue *webhook_delivery_next(struct webhook_delivery *delivery, int64_t now_ms);
// A queue that looks for its next event; NULL: none.
struct webhook_queue *webhook_delivery_looking(struct webhook_delivery *delivery);
// What a search along the journal came to: an event, or where it stands. At the cursor the queue is
// free.
void webhook_queue_found(struct webhook_queue *queue, int64_t seq);
void webhook_queue_searched(struct webhook_delivery *delivery, struct webhook_queue *queue,
                            int64_t seq);

void webhook_queue_begin(struct webhook_delivery *delivery, struct webhook_queue *queue);
// How a delivery ended. after_ms: how long the receiver asked us to wait, or 0. The seed is for the
// jitter.
void webhook_queue_taken(struct webhook_delivery *delivery, struct webhook_queue *queue,
                         int64_t now_ms);
void webhook_queue_refused(struct webhook_delivery *delivery, struct webhook_queue *queue,
                           int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure);
void webhook_queue_unreached(struct webhook_delivery *delivery, struct webhook_queue *queue,
                             int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure);
void webhook_queue_gone(struct webhook_delivery *delivery, struct webhook_queue *queue,
                        int64_t now_ms, const char *failure);

// The operator's word: everything that waits is tried now, also where it was disabled.
void webhook_delivery_retry(struct webhook_delivery *delivery);

// Since when something waits without success; INT64_MAX: nothing waits.
int64_t webhook_delivery_waits_since(const struct webhook_delivery *delivery);
// When something that backs off comes due; INT64_MAX: nothing does.
int64_t webhook_delivery_due(const struct webhook_delivery *delivery);
// No time may lie further ahead than a delay does: the clock was set back while we were away.
void webhook_delivery_clamp(struct webhook_delivery *delivery, int64_t now_ms);

// "up", "waiting" or "disabled".
const char *webhook_delivery_state(const struct webhook_delivery *delivery);
