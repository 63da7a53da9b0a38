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
// Whether a reading that was taken for newer (gate_order_of) counts from a restarted sender's
// number, or a corrected clock's time: what was heard before it is not of one row with what comes.
bool gate_mark_starts_anew(const struct gate_mark *mark, const struct gate_stamp *stamp);
void gate_mark_move(struct gate_mark *mark, const struct gate_stamp *stamp); // to a newer reading
bool gate_stamp_ahead(const struct gate_stamp *stamp, struct gate_time now); // by more than 5 s
// The mono ms from which a reading's age counts: from `at`, else from arrival. Never 0.
int64_t gate_stamp_mono(const struct gate_stamp *stamp, struct gate_time now);
// Judges a sender's clock by a reading, newer or not; what is kept by the broker tells only that it
// is ahead. Those that disagree are counted for the site. Whether that changed anything.
bool gate_clock_judge(struct gate_site *site, struct gate_clock *clock,
                      const struct gate_stamp *stamp, bool kept, int64_t max_age_ms,
                      struct gate_time now);
// It disagreed before a restart: it has to agree anew.
void gate_clock_distrust(struct gate_site *site, struct gate_clock *clock);
