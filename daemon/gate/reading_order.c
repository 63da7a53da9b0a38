// Which of two readings of one sender is newer, by what each carried (the contract, section 3,
// "Hearing"). Signals, measures and tag readers are ordered alike.
#include "gate/reading_order.h"

#include "gate/gate.h"

// Rule (3, Hearing): A word with the same number as the newest is a copy and refreshes nothing.
// [seq-equal-taken]
// Rule (3, Hearing): Where words carry no time, the higher number is the newer. [seq-order-turned]
// Rule (2, feeds): A counter that wraps is ordered the shorter way round. [seq-wrap-forgotten]
static enum gate_order compare_seq(uint64_t mark, uint64_t seq, uint64_t modulus) {
    if (seq == mark) {
        return GATE_ORDER_COPY;
    }
    if (modulus > 1) { // a counter that wraps: the shorter way round decides
        uint64_t ahead = (seq % modulus + modulus - mark % modulus) % modulus;
        return ahead == 0             ? GATE_ORDER_COPY
               : ahead <= modulus / 2 ? GATE_ORDER_NEWER
                                      : GATE_ORDER_OLDER;
    }
    return seq > mark ? GATE_ORDER_NEWER : GATE_ORDER_OLDER;
}

// With `at` on both, `at` alone tells; else `seq`; else arrival.
// Rule (3, Hearing): A word with the same time as the newest is a copy and refreshes nothing.
// [at-equal-taken]
// Rule (3, Hearing): With a time on both, the time alone says which word is newer; an older one
// refreshes nothing. [at-older-taken]
// Rule (3, Hearing): With a time on both, the number does not matter. [at-not-alone]
static enum gate_order compare(const struct gate_mark *mark, const struct gate_stamp *stamp) {
    if (stamp->has_at && mark->at != 0) {
        return stamp->at > mark->at    ? GATE_ORDER_NEWER
               : stamp->at == mark->at ? GATE_ORDER_COPY
                                       : GATE_ORDER_OLDER;
    }
    return stamp->has_seq && mark->has_seq ? compare_seq(mark->seq, stamp->seq, stamp->modulus)
                                           : GATE_ORDER_NEWER;
}

// An earlier `at` is of a corrected clock and a lower `seq` of a restarted sender, once that was
// unheard for longer than its age or its controller came online again.
// Rule (3, Hearing): A lower number is taken only once the sensor is stale or its controller came
// online again. [restarted-sender-always]
// Rule (3, Hearing; R26): The lower number of a restarted sender, or the earlier time of a
// corrected clock, is taken once the sensor is stale. [restarted-sender-never]
// Rule (3, Hearing): An equal number is a copy even after the controller came online again.
// [restarted-copy-taken]
enum gate_order gate_order_of(const struct gate_mark *mark, const struct gate_stamp *stamp,
                              bool stale) {
    enum gate_order order = compare(mark, stamp);
    bool restarted = mark->forget || stale;
    return order == GATE_ORDER_OLDER && restarted ? GATE_ORDER_NEWER : order;
}

bool gate_mark_starts_anew(const struct gate_mark *mark, const struct gate_stamp *stamp) {
    return compare(mark, stamp) == GATE_ORDER_OLDER;
}

void gate_mark_move(struct gate_mark *mark, const struct gate_stamp *stamp) {
    mark->forget = false;
    if (stamp->has_at) {
        mark->at = stamp->at;
    }
    if (stamp->has_seq) {
        mark->seq = stamp->seq;
        mark->has_seq = true;
    }
}

// Rule (3, Hearing): A word dated more than 5 s ahead makes the sensor bad-quality at once.
// [ahead-is-good]
// Rule (3, Hearing): A word dated up to 5 s ahead counts as arrival. [ahead-at-once]
bool gate_stamp_ahead(const struct gate_stamp *stamp, struct gate_time now) {
    return stamp->has_at && stamp->at > now.wall + GATE_AHEAD_MS;
}

// Rule (3, Hearing): The age of a word that has a time counts from that time. [age-from-arrival]
int64_t gate_stamp_mono(const struct gate_stamp *stamp, struct gate_time now) {
    int64_t age = stamp->has_at && stamp->at < now.wall ? now.wall - stamp->at : 0;
    return now.mono - age > 0 ? now.mono - age : 1;
}

// Rule (3, alarms): A word that comes straight from the sender and is dated too old raises the
// clock alarm. [clock-unheeded]
// Rule (3, alarms): A word dated more than 5 s ahead raises the clock alarm. [clock-ahead-unheeded]
// Rule (3, Hearing): What the broker kept may be as old as it likes: its age tells nothing of the
// clock. [clock-by-what-is-kept]
static bool disagrees(const struct gate_stamp *stamp, bool kept, int64_t max_age_ms,
                      struct gate_time now) {
    return gate_stamp_ahead(stamp, now) || (!kept && stamp->at < now.wall - max_age_ms);
}

static bool set_skewed(struct gate_site *site, struct gate_clock *clock, bool skewed) {
    bool changed = clock->skewed != skewed;
    clock->skewed = skewed;
    clock->agreed = 0;
    if (changed) {
        site->clock_skew_count += skewed ? 1 : (size_t)-1;
    }
    return changed;
}

// Rule (3, Hearing): Clocks that disagreed do so no more once they have agreed for 60 s, not at the
// first word that agrees. [clock-agrees-at-once]
// Rule (3, Hearing): A word that disagrees meanwhile begins the 60 s anew. [clock-agrees-beside]
bool gate_clock_judge(struct gate_site *site, struct gate_clock *clock,
                      const struct gate_stamp *stamp, bool kept, int64_t max_age_ms,
                      struct gate_time now) {
    if (!stamp->has_at) {
        return false;
    }
    if (disagrees(stamp, kept, max_age_ms, now)) {
        return set_skewed(site, clock, true);
    }
    if (!clock->skewed || kept) {
        return false;
    }
    if (clock->agreed == 0) {
        clock->agreed = now.mono;
    }
    return now.mono - clock->agreed >= GATE_CLOCK_AGREES_MS && set_skewed(site, clock, false);
}

void gate_clock_distrust(struct gate_site *site, struct gate_clock *clock) {
    set_skewed(site, clock, true);
}
