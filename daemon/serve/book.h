// The journal as the daemon uses it: facts, remembered requests, last-heard times. While a flight
// is under way the journal is the worker's: nothing here but book_write may be called.
#pragma once

#include "serve/daemon.h"

enum book_found { BOOK_NOT_FOUND, BOOK_FOUND, BOOK_UNREADABLE };

// A request answered before. answer is good until the next call of this header.
struct book_request {
    char verb[MODEL_ID_SIZE];
    uint8_t body[32];
    const char *answer;
    size_t length;
};
enum book_found book_request_find(struct daemon *daemon, uint32_t site, const char *person,
                                  const char *id, struct book_request *found);
// SHA-256 of the request that stands in daemon->request, in one spelling and without its id.
bool book_body_hash(struct daemon *daemon, uint8_t body[32]);

// Writes the flight in one transaction. In the worker thread: it touches the flight, the journal
// and the model, nothing else.
void book_write(void *user);
// Keeps up to where events were told; the next start goes on from there.
void book_keep_told(struct daemon *daemon);
// Whether there is room again: makes the reserve anew.
bool book_recover(struct daemon *daemon);
// Housekeeping for a quiet moment: checkpoints, requests older than 7 days.
void book_idle(struct daemon *daemon);

// Opens the daemon's journal, writing or not. False: the reason is logged.
bool book_open(struct daemon *daemon);
// Folds every fact into the gate. False: the reason is logged.
bool book_fold(struct daemon *daemon, int64_t *newest_wall, int64_t *last_line);
// The last-heard times, once the time line is known.
bool book_fold_heard(struct daemon *daemon);
// Calls each for the facts from a sequence number on, until it returns false. False: cannot be
// read.
bool book_each(struct daemon *daemon, uint64_t from,
               bool (*each)(void *user, const struct tell_record *record), void *user);
