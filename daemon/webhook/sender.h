// Sends events to the configured endpoints, in a thread of its own: names are resolved, TLS is
// negotiated and endpoints stall there, and the loop never waits for any of it.
//
// What waits is in the journal: the thread reads it through a handle of its own, and keeps no more
// than what is being sent. What it has come to (the cursors) is taken from it by the loop
// and written with the daemon's own commits; killed in between, it sends again what was not noted.
// So an event comes at least once, with the same webhook-id.
#pragma once

#include "journal/journal.h"
#include "model/model.h"
#include "webhook/delivery.h"
#include "webhook/sign.h"

struct webhook_sender;

struct webhook_status {
    struct webhook_delivery delivery;
    uint64_t taken, failed; // deliveries since the start
    int64_t waits_ms;       // how long something has waited without success; 0: nothing waits
};

// Loads what the journal (the daemon's own, not in a transaction) knows of each webhook of the
// model; one that it does not know begins with the next fact. Both must outlive the sender, the
// journal but for this call. NULL: error says why.
struct webhook_sender *webhook_sender_new(const struct model *model, struct journal *journal,
                                          char *error, size_t size);
// Starts the thread. False: there can be none.
bool webhook_sender_start(struct webhook_sender *sender);
// Ends the thread; deliveries under way are given up. What it has come to can still be taken.
void webhook_sender_stop(struct webhook_sender *sender);
void webhook_sender_free(struct webhook_sender *sender);

// --- From the loop's thread ---

// Facts up to this one are on the disk.
void webhook_sender_news(struct webhook_sender *sender, int64_t newest);
// Signs with these from the next delivery on.
void webhook_sender_secrets(struct webhook_sender *sender, size_t webhook,
                            const struct webhook_secrets *secrets);
// Whether there is something to be written.
bool webhook_sender_dirty(struct webhook_sender *sender);
// Takes what is to be written of a webhook; false: nothing.
bool webhook_sender_take(struct webhook_sender *sender, size_t webhook,
                         struct webhook_delivery *delivery);
// What was taken was not written: it is to be taken again.
void webhook_sender_untake(struct webhook_sender *sender);
void webhook_sender_status(struct webhook_sender *sender, size_t webhook,
                           struct webhook_status *status);
// How long ago the thread last went round, in ms: it does at least every few seconds.
int64_t webhook_sender_silence(struct webhook_sender *sender);
// Why the journal cannot be read by the thread; "": it can.
void webhook_sender_trouble(struct webhook_sender *sender, char *say, size_t size);
