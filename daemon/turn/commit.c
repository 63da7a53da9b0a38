// From the end of a turn to the disk and back: what is begun, what is done when it is committed,
// and what is decided again when it could not be.
#include "turn/internal.h"

#include "base/array.h"

static int64_t mono_ms(const struct turn *turn) {
    return turn->world->now(turn->user).mono_ms;
}

static void end_all(struct turn *turn, const char *why) {
    turn_notice(turn, TURN_NOTICE_ENDING, why);
    turn->ending = true;
    turn->world->stop(turn->user);
}

// --- To begin ---

static void add_heard(void *user, const char *site, const char *point, int64_t heard) {
    struct turn *turn = user;
    struct turn_commit *commit = &turn->commit;
    if (!BASE_ARRAY_ROOM(commit->heard, commit->heard_count, commit->heard_capacity)) {
        turn->failed = true;
        return;
    }
    commit->heard[commit->heard_count++] =
        (struct turn_last_heard){model_site_find(turn->model, site)->index, point, heard};
}

// Rule (4, the answer; 5, last paragraph): What a restart judges the gap by is written with what
// rests on it. [turn-heard-times-forgotten]
static void take_heard(struct turn *turn) {
    turn->commit.heard_count = 0;
    if (turn->heard_due && turn->journal_up) {
        gate_each_watched(turn->gate, turn_now(turn), add_heard, turn);
    }
    turn->heard_due = false;
}

// Rule (4, the answer; 5, last paragraph): A journal that could not write is left alone for half a
// second. [turn-write-again-at-once]
// Rule (4, the answer; 5, last paragraph): What a failed commit left is written as soon as it can
// be. [turn-write-never-again]
// Rule (5, last paragraph; R12): What ends or stops is written before it is answered as long as the
// space in reserve takes it: killed meanwhile, what was accepted would be undone.
// [turn-stop-answered-unwritten]
// Rule (5, last paragraph): Where not even that took it, it is answered at once.
// [turn-stop-waits-for-a-full-disk]
// Rule (5, last paragraph): The reserve is not spent on what the hardware says.
// [turn-reserve-spent-on-readings]
static bool is_due(const struct turn *turn, bool decided) {
    return turn->journal_up || mono_ms(turn) >= turn->write_after ||
           (decided && !turn->write_failed);
}

static bool has_to_write(const struct turn *turn) {
    return !turn_batch_empty(&turn->commit.batch) || turn->commit.heard_count > 0 ||
           turn->commit.notes || (turn->time_due && turn->journal_up);
}

// Publishes what the commit brought. written: the journal has it; else only what ends was decided,
// which is published now and written when it can be.
// Rule (3, what is published): `online` is said once every document is published.
// [turn-online-before-documents]
// Rule (4, the answer; 5, last paragraph): What is committed is written once.
// [turn-batch-written-twice]
// Rule (3, what is published): An event is published after the commit of its fact.
// [turn-event-before-commit]
// Rule (4, the answer): Nothing is acknowledged while something delivered waits to be decided.
// [turn-acknowledged-while-waiting]
// Rule (4, the answer): What is decided and committed is acknowledged. [turn-never-acknowledged]
static void publish(struct turn *turn, bool written) {
    turn_documents_publish(turn);
    turn->all_published = turn_documents_current(turn);
    turn->publishing_anew = turn->publishing_anew && !turn_documents_complete(turn);
    if (turn->self_due && turn->all_published) {
        turn->self_due = false; // online is said once everything else is true
        turn_publish_self(turn);
    }
    if (written) {
        turn_publish_events(turn);
        turn_stream_events(turn);
        turn_batch_clear(&turn->commit.batch);
        turn_breaks_written(turn);
    }
    turn_publish_answers(turn);
    turn_inputs_clear(&turn->committed_inputs);
    // Acknowledging lets go whatever was delivered: not while something of it waits to be decided.
    if (turn->acknowledge_due && turn->waiting.count == 0) {
        turn->acknowledge_due = false;
        turn->world->acknowledge(turn->user);
        turn_publish_answers(turn); // the refusals
    }
}

// Everything the turn brought moves to the commit; what needs no disk is published at once.
// Rule (4, the answer): Nothing that was asked is published or answered before its commit.
// [turn-permit-before-commit]
// Rule (4, the answer; 5, last paragraph): A turn that ran out of memory is not committed.
// [turn-memory-passed-over]
// Rule (5, After a restart; R38): Every commit says when it was made: a restart goes on from it.
// [turn-commit-untimed]
void turn_commit_begin(struct turn *turn) {
    uint64_t changes = turn->gate->changes;
    bool idle = changes == turn->seen_changes && turn->all_published;
    bool decided = turn->inputs.count > 0 || turn->break_count > 0;
    turn->seen_changes = changes;
    take_heard(turn);
    turn->commit.notes = turn->world->notes_take(turn->user) || turn->commit.notes;
    if (!turn_answers_merge(&turn->committed_answers, &turn->answers) ||
        !turn_batch_merge(&turn->commit.batch, &turn->batch)) {
        turn->failed = true;
    }
    turn_inputs_swap(&turn->committed_inputs, &turn->inputs);
    turn_breaks_commit(turn);
    if (!idle) {
        turn_documents_render(turn);
    }
    if (turn->failed || turn->gate->broken_memory) {
        end_all(turn, "out of memory");
    } else if (has_to_write(turn) && is_due(turn, decided)) {
        turn->commit.at = turn_now(turn);
        turn->commit.newest = gate_keep_time(turn->gate, turn->commit.at);
        turn->commit.published = turn_published(turn);
        turn->time_due = false;
        turn->pending = true;
        turn->world->write(turn->user, &turn->commit);
    } else {
        turn->time_due = false;
        publish(turn, turn_batch_empty(&turn->commit.batch));
    }
}

bool turn_commit_idle(const struct turn *turn) {
    return turn->gate->changes == turn->seen_changes && turn->all_published && !turn->failed &&
           !turn->heard_due && !turn->time_due && !turn->world->notes_due(turn->user) &&
           turn_batch_empty(&turn->batch) && turn_batch_empty(&turn->commit.batch) &&
           turn->answers.count == 0 && turn->inputs.count == 0 &&
           turn->committed_answers.count == 0 && !turn->self_due && !turn->acknowledge_due &&
           turn->next_event >= turn->next_seq;
}

// --- Done ---

// The journal refused the commit, in which things may have been permitted. Nothing of it was
// published.
// Rule (4, the answer): An answer that a failed commit would have stood behind is not given.
// [turn-answers-kept-over-failure]
// Rule (4, the answer; 5, last paragraph): Facts of a commit that failed are not written after it.
// [turn-facts-kept-over-failure]
// Rule (4, the answer; 5, last paragraph): What was heard during a commit that failed is judged
// anew. [turn-facts-heard-kept-over-failure]
// Rule (3, what is published): Documents of a commit that failed are not published.
// [turn-documents-kept-over-failure]
// Rule (4, the answer; 5, last paragraph): After a commit that failed nothing is permitted until
// one succeeds. [turn-journal-up-after-failure]
// Rule (4, the answer; 5, last paragraph): After a commit that failed the state is the journal's.
// [turn-not-folded-after-failure]
// Rule (4, the answer): What was asked before a commit that failed is decided again.
// [turn-not-decided-again]
// Rule (4, the answer): It is decided again once. [turn-decided-again-twice]
static void decide_again(struct turn *turn, const char *why) {
    turn_notice(turn, TURN_NOTICE_NOT_PERMIT, why);
    turn_answers_clear(&turn->committed_answers);
    turn_answers_clear(&turn->answers);
    turn_batch_clear(&turn->commit.batch);
    turn_batch_clear(&turn->batch);
    turn_documents_forget(turn);
    turn->journal_up = false;
    if (turn_fold(turn, true) != TURN_FOLDED) {
        end_all(turn, "the journal cannot be read again");
        return;
    }
    turn_documents_reset(turn);
    for (size_t i = 0; i < turn->committed_inputs.count; i++) {
        turn_decide(turn, &turn->committed_inputs.items[i]);
    }
    turn_inputs_clear(&turn->committed_inputs);
}

static void only_reserve_left(struct turn *turn) {
    turn->journal_up = false;
    turn_notice(turn, TURN_NOTICE_RESERVE_ONLY, "");
    gate_journal(turn->gate, false, turn_now(turn));
}

// Rule (4, the answer; 5, last paragraph): A commit that took the space held in reserve permits no
// more. [turn-reserve-is-room]
// Rule (3, what is published): Facts are numbered on from commit to commit.
// [turn-numbers-stand-still]
// Rule (4, the answer; 5, last paragraph): A disk that cannot be trusted ends the daemon, and
// nothing is acknowledged. [turn-lost-disk-goes-on]
// Rule (4, the answer; 5, last paragraph): A commit that fails with the journal down is not decided
// again: it holds only what ends. [turn-failure-of-a-failure]
// Rule (3, what is published): Whoever waits for the state sees it after the commit.
// [turn-unsettled]
// Rule (4, the answer; 5, last paragraph): Notes of webhooks are written once.
// [turn-notes-written-on]
void turn_committed(struct turn *turn, enum turn_outcome outcome, const char *why) {
    bool written = outcome == TURN_WRITTEN || outcome == TURN_WRITTEN_FROM_RESERVE;
    turn->pending = false;
    turn->write_after = mono_ms(turn) + TURN_WRITE_AGAIN_MS;
    turn->write_failed = !written;
    if (written) {
        turn->next_seq += turn->commit.batch.record_count;
    }
    turn->commit.notes = false;
    turn->world->notes_over(turn->user, written, turn->next_seq - 1);
    if (outcome == TURN_DISK_LOST) {
        turn_notice(turn, TURN_NOTICE_NOT_WRITTEN, why);
        end_all(turn, "the disk cannot be trusted");
        return;
    }
    if (!written && turn->journal_up) {
        decide_again(turn, why);
    } else {
        if (!written) {
            turn_notice(turn, TURN_NOTICE_NOT_WRITTEN, why);
        }
        publish(turn, written);
    }
    if (turn->ending) {
        return;
    }
    // What is heard meanwhile may be seen before it is written; what was asked, never.
    turn_settle(turn);
    if (outcome == TURN_WRITTEN_FROM_RESERVE && turn->journal_up) {
        only_reserve_left(turn);
    }
}
