// Which of two readings of one sender is newer, and how old a reading is.
#pragma once

#include "gate/state.h"

// What a reading carries to be ordered by.
struct gate_stamp {
    bool has_at;
    int64_t at; // wall ms
    bool has_seq;
    uint64_t seq;
    uint64_t modulus; // of a counter that wraps; 0: it does not
};
enum gate_order { GATE_ORDER_NEWER, GATE_ORDER_COPY, GATE_ORDER_OLDER };
// stale: the sender was unheard for longer than it may be.
enum gate_order gate_order_of(const struct gate_mark *mark, const struct gate_stamp *stamp,
                              bool stale);
void gate_mark_move(struct gate_mark *mark, const struct gate_stamp *stamp); // to a newer reading
bool gate_stamp_ahead(const struct gate_stamp *stamp, struct gate_time now); // by more than 5 s
// The mono ms from which a reading's age counts: from `at`, else from arrival. Never 0.
int64_t gate_stamp_mono(const struct gate_stamp *stamp, struct gate_time now);
// The clocks disagree: dated ahead by more than 5 s, or come straight from the sender and yet older
// than its age allows.
bool gate_stamp_skewed(const struct gate_stamp *stamp, bool retained, int64_t max_age_ms,
                       struct gate_time now);
// Marks a sender's clock, counted for the site. Whether that changed anything.
bool gate_set_clock_skew(struct gate_site *site, bool *is, bool clock_skewed);
