// The journal folded into a gate, and its monotonic time continued.
#include "turn/internal.h"

// Where the wall clock stands behind the journal's newest time, nobody can say how long the daemon
// was away: it counts as long as the longest that a signature may stand, a year, so that nothing
// that is said or signed stands by it.
#define UNKNOWN_GAP_MS (366 * 24 * 3600 * 1000LL)

// The daemon's own time goes on from the last instant that the journal knows, whatever wrote it, by
// what the wall clock says went by since.
// Rule (5, After a restart; R38): Monotonic time goes on over a restart by what the wall clock
// says went by. [turn-mono-stands-still]
// Rule (5, After a restart; R38): An unknown gap counts as long as anything signed may stand.
// [turn-mono-steps-back]
static void continue_mono(struct turn *turn, const struct turn_journal_end *end) {
    struct base_time now = turn->world->now(turn->user);
    int64_t mono = now.wall_ms;
    if (end->newest_wall != 0) {
        bool known = now.wall_ms >= end->newest_wall - GATE_CLOCK_BEHIND_MS;
        int64_t gap = now.wall_ms > end->kept.wall ? now.wall_ms - end->kept.wall : 0;
        mono = end->kept.mono + (known ? gap : UNKNOWN_GAP_MS);
    }
    turn->mono_base = mono - now.mono_ms;
}

// A journal that cannot be read leaves the gate as it was: whatever still runs in the turn in which
// the daemon ends looks at it.
// Rule (3, what is published): After a restart events go on behind the last that was confirmed.
// [turn-events-told-from-the-start]
static bool fold_facts(struct turn *turn, struct turn_journal_end *end) {
    struct gate *gate = gate_new(turn->model, turn_record_fact, turn);
    if (gate == NULL || !turn->world->fold(turn->user, gate, end)) {
        gate_free(gate);
        return false;
    }
    gate_free(turn->gate);
    turn->gate = gate;
    turn->next_seq = end->last + 1;
    if (turn->next_event == 0) { // not after a commit that failed: what was published is
        turn->next_event = (end->published < end->last ? end->published : end->last) + 1;
    }
    return true;
}

static void tell_misfit(void *user, const char *what) {
    turn_notice(user, TURN_NOTICE_MISFIT, what);
}

// Rule (5, After a restart): Monotonic time goes on over a commit that failed.
// [turn-mono-begins-anew]
// Rule (5, After a restart): The link is as it was after a commit that failed.
// [turn-link-forgotten]
// Rule (3, alarms): A claim of another instance outlives a commit that failed.
// [turn-claim-forgotten]
// Rule (5, Breaking; R21): After a restart an outage counts from the journal's newest time.
// [turn-outage-from-the-start]
// Rule (2): A configuration that lacks what a job needs does not come up. [turn-misfit-comes-up]
enum turn_folded turn_fold(struct turn *turn, bool again) {
    struct turn_journal_end end = {0};
    if (!fold_facts(turn, &end)) {
        return TURN_FOLD_UNREADABLE;
    }
    if (!again) {
        continue_mono(turn, &end);
    }
    if (gate_each_misfit(turn->gate, tell_misfit, turn) > 0) {
        return TURN_FOLD_MISFIT;
    }
    if (!turn->world->fold_heard(turn->user, turn->gate, turn_now(turn))) {
        return TURN_FOLD_UNREADABLE;
    }
    turn->gate->journal_up = turn->journal_up;
    gate_start(turn->gate, turn->boot, turn->version, end.newest_wall, turn_now(turn));
    if (!again) {
        turn_pulse_start(turn, end.newest_wall != 0 ? end.kept.mono : turn_now(turn).mono);
    }
    gate_outage(turn->gate, turn->outage, turn_now(turn));
    if (again) {
        struct gate_time now = turn_now(turn);
        turn_breaks_again(turn, now); // ahead of other alarms, so that its alarm keeps its name
        for (int i = 0; i < GATE_CONNECTION_COUNT; i++) {
            gate_link(turn->gate, (enum gate_connection)i, turn->connected[i], now);
        }
        turn_topics_tell(turn, true);
        gate_journal(turn->gate, turn->journal_up, now);
        turn_duplicates_expire(turn);
    }
    return TURN_FOLDED;
}
