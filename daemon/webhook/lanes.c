// The outbox's rules: order within a job, jobs beside each other, two kinds of back-off.
#include "webhook/lanes.h"

#include "webhook/schedule.h"

#include <stdio.h>
#include <string.h>

static struct webhook_lane *find(struct webhook_outbox *outbox, const char *site, const char *job) {
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        struct webhook_lane *lane = &outbox->lanes[i];
        if (strcmp(lane->site, site) == 0 && strcmp(lane->job, job) == 0) {
            return lane;
        }
    }
    return NULL;
}

static struct webhook_lane *find_free(struct webhook_outbox *outbox) {
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        if (outbox->lanes[i].site[0] == '\0') {
            return &outbox->lanes[i];
        }
    }
    return NULL;
}

static void let_go(struct webhook_outbox *outbox, struct webhook_lane *lane) {
    memset(lane, 0, sizeof *lane);
    outbox->held--;
}

enum webhook_offer webhook_outbox_offer(struct webhook_outbox *outbox, const char *site,
                                        const char *job, int64_t seq, int64_t now_ms) {
    if (find(outbox, site, job) != NULL) {
        outbox->cursor = seq;
        return WEBHOOK_OFFER_BEHIND;
    }
    struct webhook_lane *lane = find_free(outbox);
    if (lane == NULL) {
        return WEBHOOK_OFFER_FULL;
    }
    snprintf(lane->site, sizeof lane->site, "%s", site);
    snprintf(lane->job, sizeof lane->job, "%s", job);
    lane->next = seq;
    lane->since_ms = now_ms;
    outbox->cursor = seq;
    outbox->held++;
    return WEBHOOK_OFFER_TAKEN;
}

void webhook_outbox_pass(struct webhook_outbox *outbox, int64_t seq) {
    outbox->cursor = seq;
}

bool webhook_outbox_restore(struct webhook_outbox *outbox, const struct webhook_lane *kept) {
    struct webhook_lane *lane = find_free(outbox);
    if (lane == NULL || kept->site[0] == '\0') {
        return false;
    }
    *lane = *kept;
    lane->flying = false;
    lane->looking = true;
    outbox->held++;
    return true;
}

bool webhook_outbox_open(const struct webhook_outbox *outbox, int64_t now_ms) {
    size_t most = outbox->attempts > 0 ? 1 : WEBHOOK_FLIGHTS_MAX;
    return !outbox->disabled && now_ms >= outbox->next_ms && outbox->flying < most;
}

struct webhook_lane *webhook_outbox_next(struct webhook_outbox *outbox, int64_t now_ms) {
    struct webhook_lane *next = NULL;
    if (!webhook_outbox_open(outbox, now_ms)) {
        return NULL;
    }
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        struct webhook_lane *lane = &outbox->lanes[i];
        bool ready =
            lane->site[0] != '\0' && !lane->flying && !lane->looking && now_ms >= lane->next_ms;
        if (ready && (next == NULL || lane->next < next->next)) {
            next = lane;
        }
    }
    return next;
}

struct webhook_lane *webhook_outbox_looking(struct webhook_outbox *outbox) {
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        if (outbox->lanes[i].site[0] != '\0' && outbox->lanes[i].looking) {
            return &outbox->lanes[i];
        }
    }
    return NULL;
}

void webhook_lane_found(struct webhook_lane *lane, int64_t seq) {
    lane->next = seq;
    lane->looking = false;
}

void webhook_lane_searched(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t seq) {
    lane->next = seq + 1;
    if (lane->next > outbox->cursor) {
        let_go(outbox, lane);
    }
}

void webhook_lane_fly(struct webhook_outbox *outbox, struct webhook_lane *lane) {
    lane->flying = true;
    outbox->flying++;
}

static void land(struct webhook_outbox *outbox, struct webhook_lane *lane) {
    lane->flying = false;
    outbox->flying--;
}

static void note_failure(struct webhook_outbox *outbox, int64_t now_ms, const char *failure) {
    outbox->failed_ms = now_ms;
    snprintf(outbox->failure, sizeof outbox->failure, "%s", failure);
}

// The endpoint answered, so it is reached.
static void reached(struct webhook_outbox *outbox) {
    outbox->attempts = 0;
    outbox->next_ms = 0;
}

void webhook_lane_taken(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms) {
    land(outbox, lane);
    reached(outbox);
    outbox->ok_ms = now_ms;
    lane->attempts = 0;
    lane->next_ms = 0;
    lane->since_ms = now_ms;
    lane->looking = true;
    webhook_lane_searched(outbox, lane, lane->next);
}

static int64_t later(int64_t delay_ms, int64_t after_ms) {
    int64_t wait = delay_ms > after_ms ? delay_ms : after_ms;
    return wait < WEBHOOK_DELAY_MAX_MS ? wait : WEBHOOK_DELAY_MAX_MS;
}

void webhook_lane_refused(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms,
                          int64_t after_ms, uint64_t seed, const char *failure) {
    land(outbox, lane);
    reached(outbox);
    note_failure(outbox, now_ms, failure);
    lane->attempts++;
    lane->next_ms =
        now_ms + later(webhook_delay_ms(WEBHOOK_REFUSED, lane->attempts, seed), after_ms);
}

// Of several deliveries that fail together, one counts: the others began before the back-off did.
void webhook_lane_unreached(struct webhook_outbox *outbox, struct webhook_lane *lane,
                            int64_t now_ms, int64_t after_ms, uint64_t seed, const char *failure) {
    land(outbox, lane);
    note_failure(outbox, now_ms, failure);
    if (now_ms < outbox->next_ms) {
        return;
    }
    outbox->attempts++;
    outbox->next_ms =
        now_ms + later(webhook_delay_ms(WEBHOOK_UNREACHED, outbox->attempts, seed), after_ms);
}

void webhook_lane_gone(struct webhook_outbox *outbox, struct webhook_lane *lane, int64_t now_ms,
                       const char *failure) {
    land(outbox, lane);
    reached(outbox);
    note_failure(outbox, now_ms, failure);
    outbox->disabled = true;
}

void webhook_outbox_retry(struct webhook_outbox *outbox) {
    outbox->disabled = false;
    reached(outbox);
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        outbox->lanes[i].next_ms = 0;
        outbox->lanes[i].attempts = 0;
    }
}

// A job that is refused waits by itself; one that has not had its turn waits for the endpoint,
// whose last success counts for it.
int64_t webhook_outbox_waits_since(const struct webhook_outbox *outbox) {
    int64_t since = INT64_MAX;
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        const struct webhook_lane *lane = &outbox->lanes[i];
        int64_t own = lane->since_ms;
        if (lane->site[0] == '\0') {
            continue;
        }
        if (lane->attempts == 0 && outbox->ok_ms > own) {
            own = outbox->ok_ms;
        }
        since = own < since ? own : since;
    }
    return since;
}

int64_t webhook_outbox_due(const struct webhook_outbox *outbox) {
    int64_t due = INT64_MAX;
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        const struct webhook_lane *lane = &outbox->lanes[i];
        if (lane->site[0] != '\0' && !lane->flying && lane->next_ms < due) {
            due = lane->next_ms;
        }
    }
    if (outbox->disabled || due == INT64_MAX) {
        return INT64_MAX;
    }
    return due > outbox->next_ms ? due : outbox->next_ms;
}

static void clamp(int64_t *time, int64_t limit) {
    *time = *time < limit ? *time : limit;
}

void webhook_outbox_clamp(struct webhook_outbox *outbox, int64_t now_ms) {
    clamp(&outbox->next_ms, now_ms + WEBHOOK_DELAY_MAX_MS);
    clamp(&outbox->ok_ms, now_ms);
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        clamp(&outbox->lanes[i].next_ms, now_ms + WEBHOOK_DELAY_MAX_MS);
        clamp(&outbox->lanes[i].since_ms, now_ms);
    }
}

const char *webhook_outbox_state(const struct webhook_outbox *outbox) {
    bool waiting = outbox->attempts > 0;
    for (size_t i = 0; i < WEBHOOK_LANES_MAX; i++) {
        waiting = waiting || outbox->lanes[i].attempts > 0;
    }
    return outbox->disabled ? "disabled" : waiting ? "waiting" : "up";
}
