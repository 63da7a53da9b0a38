// The journal as the daemon uses it: facts, remembered requests, last-heard times, webhooks' notes.
// While a commit is being written it is the worker's alone: nothing of it may be called but by
// serve_journal_wait.
#pragma once

#include "serve/daemon.h"

// Opens the daemon's journal, and makes the thread that writes. False: the reason is logged.
bool serve_journal_open(struct daemon *daemon);
void serve_journal_close(struct daemon *daemon);
bool serve_journal_healthy(const struct daemon *daemon);
struct journal *serve_journal_of(const struct daemon *daemon);
// Ends the thread that writes, after what it is at; the journal stays open.
void serve_journal_stop(struct daemon *daemon);
// Keeps up to where events were published; the next start goes on from there.
void serve_journal_keep_published(struct daemon *daemon);
// Housekeeping for a quiet moment: checkpoints, requests older than 7 days.
void serve_journal_idle(struct daemon *daemon);

// Operations of the turn.
void serve_journal_write(void *user, const struct turn_commit *commit);
void serve_journal_wait(void *user);
bool serve_journal_recover(void *user, int64_t *need, int64_t *found);
enum turn_found serve_journal_find(void *user, uint32_t site, const char *person, const char *id,
                                   struct turn_answered *found);
bool serve_journal_digest(void *user, const char *text, size_t length, uint8_t digest[32]);
bool serve_journal_fold(void *user, struct gate *gate, struct turn_journal_end *end);
bool serve_journal_fold_heard(void *user, struct gate *gate, struct gate_time now);
void serve_journal_each(void *user, uint64_t from,
                        bool (*each)(void *each_user, const struct wire_record *record),
                        void *each_user);
