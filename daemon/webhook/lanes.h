// The outbox of one endpoint: which event may be sent now, and what follows from how it went. Pure:
// no I/O, no clock.
//
// The events themselves stay in the journal. A cursor stands behind the last event that was looked
// at; each job whose event has not been taken yet has a lane, which holds the number of that event.
// A job with a lane gets its next event only through it, so a job's events arrive in their order
// while other jobs go on. The events of a site that are of no job share a lane. There are few
// lanes: when all are held, the cursor waits, and so nothing grows however long an endpoint is
// gone.
#pragma once

#include "model/model.h"

#define WEBHOOK_LANES_MAX 64
#define WEBHOOK_FLIGHTS_MAX 4 // deliveries of one endpoint at once
#define WEBHOOK_FAILURE_SIZE 200

struct webhook_lane {
    char site[MODEL_ID_SIZE]; // "": the lane is free
    char job[MODEL_ID_SIZE];  // "": events of no job
    int64_t next;      // the event to be delivered, or while looking where the search goes on
    int64_t since_ms;  // since when it waits
    int64_t next_ms;   // not to be tried before
    uint32_t attempts; // times in a row that it was refused
    bool flying;       // being delivered
    bool looking;      // its next event is still to be found
};

struct webhook_outbox {
    int64_t cursor; // every event up to here was taken, or has a lane
    struct webhook_lane lanes[WEBHOOK_LANES_MAX];
    size_t held, flying; // lanes
    bool disabled;       // the receiver answered 410
    uint32_t attempts;   // times in a row that it was not reached
    int64_t next_ms;     // not to be tried before
    int64_t ok_ms;       // of the last success; 0: none
    int64_t failed_ms;
    char failure[WEBHOOK_FAILURE_SIZE]; // the last one, in words
};

enum webhook_offer {
    WEBHOOK_OFFER_TAKEN,  // it has a lane of its own now
    WEBHOOK_OFFER_BEHIND, // its job has a lane, which will come to it
    WEBHOOK_OFFER_FULL,   // no lane is free: the cursor stays
};

// The next event behind the cursor, which is this endpoint's.
enum webhook_offer webhook_outbox_offer(struct webhook_outbox *outbox, const char *site,
                                        const char *job, int64_t seq, int64_t now_ms);
// Facts up to this one are not this endpoint's.
void webhook_outbox_pass(struct webhook_outbox *outbox, int64_t seq);
// Adds a lane as it was kept: its next event is looked for. False: no lane is free.
bool webhook_outbox_restore(struct webhook_outbox *outbox, const struct webhook_lane *lane);

// Whether another delivery may begin: not disabled, not backing off, and below the limit, which is
// one while the endpoint has not been reached.
bool webhook_outbox_open(const struct webhook_outbox *outbox, int64_t now_ms);
// The lane of the oldest event that may be sent now; NULL: none.
struct webhook_lane *webhook_outbox_next(struct webhook_outbox *outbox, int64_t now_ms);
// A lane that looks for its next event; NULL: none.
struct webhook_lane *webhook_outbox_looking(struct webhook_outbox *outbox);
// What a search along the journal came to: an event, or where it stands. At the cursor the lane is
// free.
void webhook_lane_found(struct webhook_lane *lane, int64_t seq);
void webhook_lane_searched(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t seq);

void webhook_lane_fly(struct webhook_outbox *outbox, struct webhook_lane *lane);
// How a delivery ended. after_ms: how long the receiver asked us to wait, or 0. The seed is for the
// jitter.
void webhook_lane_taken(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms);
void webhook_lane_refused(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms,
                          int64_t after_ms, uint64_t seed, const char *failure);
void webhook_lane_unreached(struct webhook_outbox *outbox, struct webhook_lane *lane,
                            int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure);
void webhook_lane_gone(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms,
                       const char *failure);

// The operator's word: everything that waits is tried now, also where it was disabled.
void webhook_outbox_retry(struct webhook_outbox *outbox);

// Since when something waits without success; INT64_MAX: nothing waits.
int64_t webhook_outbox_waits_since(const struct webhook_outbox *outbox);
// When something that backs off comes due; INT64_MAX: nothing does.
int64_t webhook_outbox_due(const struct webhook_outbox *outbox);
// No time may lie further ahead than a delay does: the clock was set back while we were away.
void webhook_outbox_clamp(struct webhook_outbox *outbox, int64_t now_ms);

// "up", "waiting" or "disabled".
const char *webhook_outbox_state(const struct webhook_outbox *outbox);
