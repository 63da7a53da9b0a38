// Where the facts of a report come from: rows of a journal, whoever keeps it.
//
// Reports ask for rows through this table and know no journal; journal_report_source fills it from
// one, a test from a list.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define REPORT_HASH_SIZE 32

// A fact as it was written, borrowed for the call.
struct report_row {
    int64_t seq, at_ms, mono_ms;
    const char *site; // "": the whole daemon
    const char *type, *subject, *data;
    size_t data_length;
    const uint8_t *hash; // REPORT_HASH_SIZE bytes
};

// False ends the reading, which is no error.
typedef bool report_row_hook(void *user, const struct report_row *row);

struct report_source {
    int64_t created;      // wall ms at which the journal was made
    const char *instance; // its owner
    int64_t head_seq;     // its end when the source was made
    uint8_t head_hash[REPORT_HASH_SIZE];
    // Each fact of a site (""; those of the whole daemon; NULL: all), in the order written. False:
    // it cannot be read.
    bool (*each)(void *user, const char *site, report_row_hook *hook, void *hook_user);
    // Whether the chain of hashes is whole from that fact to the head.
    bool (*prove)(void *user, int64_t from_seq);
    // After a false of either: a sentence, borrowed until the next.
    const char *(*why)(void *user);
    void *user;
};
