// Coming up: the journal folded into a gate, the time line continued.
#include "serve/book.h"

#include <openssl/crypto.h>
#include <sys/random.h>

#include "forelock_version.h"

// An unknown gap counts as long as any word or lock may stand (12 h): where the wall clock stands
// behind the journal's newest time, nobody can say how long the daemon was away.
#define UNKNOWN_GAP_MS (12 * 3600 * 1000LL)

enum fold_result { FOLDED, FOLD_UNREADABLE, FOLD_MISFIT };

struct gate_time daemon_now(struct daemon *daemon) {
    struct base_time now = loop_now(daemon->loop);
    return (struct gate_time){now.wall_ms, daemon->line_base + now.mono_ms};
}

static bool make_boot(struct daemon *daemon) {
    unsigned char bytes[(DAEMON_BOOT_SIZE - 1) / 2];
    // Of the kernel: a library's generator may crash where it finds no memory for itself.
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) {
        return false;
    }
    for (size_t i = 0; i < sizeof bytes; i++) {
        snprintf(&daemon->boot[2 * i], 3, "%02x", bytes[i]);
    }
    return true;
}

// The daemon's own time goes on from the journal's: by what the wall clock says went by.
static void continue_line(struct daemon *daemon, int64_t newest_wall, int64_t last_line) {
    struct base_time now = loop_now(daemon->loop);
    int64_t line = now.wall_ms;
    if (newest_wall != 0) {
        int64_t gap = now.wall_ms - newest_wall;
        line = last_line + (gap >= 0 ? gap : UNKNOWN_GAP_MS);
    }
    daemon->line_base = line - now.mono_ms;
}

// newest_wall may be of a last-heard time, written after the last fact: the line then goes on from
// there as well, so that nothing grows younger. A journal that cannot be read leaves the gate as it
// was: the callbacks of the turn in which the daemon ends still look at it.
static enum fold_result fold(struct daemon *daemon, bool again) {
    int64_t newest_wall = 0, last_line = 0;
    char what[512];
    struct gate *before = daemon->gate;
    daemon->gate = gate_new(daemon->model, daemon_fact, daemon);
    if (daemon->gate == NULL || !book_fold(daemon, &newest_wall, &last_line)) {
        gate_free(daemon->gate);
        daemon->gate = before;
        return FOLD_UNREADABLE;
    }
    gate_free(before);
    if (!again) {
        continue_line(daemon, newest_wall, last_line);
    }
    if (!gate_fits(daemon->gate, what, sizeof what)) {
        log_error("start", "the configuration does not fit the journal: %s", what);
        return FOLD_MISFIT;
    }
    if (!book_fold_heard(daemon)) {
        log_error("journal", "%s", journal_why(daemon->journal));
        return FOLD_UNREADABLE;
    }
    daemon->gate->journal_up = daemon->journal_up;
    gate_start(daemon->gate, daemon->boot, FORELOCK_VERSION, newest_wall, daemon_now(daemon));
    return FOLDED;
}

// The library makes its own ground when it is first used, and crashes later where that failed.
static bool has_crypto(void) {
    return OPENSSL_init_crypto(0, NULL) == 1 && OSSL_LIB_CTX_get0_global_default() != NULL;
}

int daemon_open(struct daemon *daemon) {
    if (!has_crypto() || !make_boot(daemon) || !daemon_sites_new(daemon) ||
        !daemon_feeds_new(daemon)) {
        log_error("start", "out of memory");
        return 1;
    }
    daemon->since = loop_now(daemon->loop).wall_ms;
    if (!book_open(daemon)) {
        return 4;
    }
    enum fold_result folded = fold(daemon, false);
    if (folded != FOLDED) {
        return folded == FOLD_MISFIT ? 3 : 4;
    }
    loop_now_again(daemon->loop);
    return 0;
}

bool daemon_fold(struct daemon *daemon) {
    if (fold(daemon, true) != FOLDED) {
        return false;
    }
    struct gate_time now = daemon_now(daemon);
    gate_link(daemon->gate, daemon->link_up, now);
    gate_journal(daemon->gate, daemon->journal_up, now);
    daemon_others_expire(daemon);
    return true;
}

void daemon_close(struct daemon *daemon) {
    http_free(daemon->http);
    mqtt_free(daemon->mqtt);
    loop_work_free(daemon->writer);
    daemon_hooks_free(daemon); // a flight may have had its notes
    daemon_turn_free(daemon);
    daemon_sites_free(daemon);
    daemon_feeds_free(daemon);
    daemon_others_free(daemon);
    gate_free(daemon->gate);
    journal_close(daemon->journal);
    gate_answer_free(&daemon->answer);
    request_free(&daemon->request);
    json_tape_free(&daemon->tape);
    json_out_free(&daemon->out);
    json_out_free(&daemon->event);
    loop_timer_free(daemon->deadline_timer);
    loop_timer_free(daemon->second_timer);
    loop_timer_free(daemon->minute_timer);
    loop_free(daemon->loop);
    model_free(daemon->model);
}
