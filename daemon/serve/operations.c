// The turn's operations, each over the part of the daemon that can do it.
#include "serve/journal_io.h"

static struct base_time now(void *user) {
    const struct daemon *daemon = user;
    return loop_now(daemon->loop);
}

static void wake(void *user, int64_t delay_ms) {
    struct daemon *daemon = user;
    if (delay_ms < 0) {
        loop_timer_stop(daemon->deadline_timer);
    } else {
        loop_timer_once(daemon->deadline_timer, delay_ms);
    }
}

static void stop(void *user) {
    struct daemon *daemon = user;
    loop_stop(daemon->loop);
}

// --- The log ---

static void log_not_written(struct daemon *daemon, const char *why) {
    uint64_t left_out;
    if (serve_log_allowed(&daemon->not_written_limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        serve_log_error("journal", "%s left_out=%llu", why, (unsigned long long)left_out);
    }
}

static void log_no_room(struct daemon *daemon, const char *wanted) {
    uint64_t left_out;
    if (serve_log_allowed(&daemon->no_room_limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        serve_log_error("journal", "%s on its disk: nothing is permitted until that much is free",
                        wanted);
    }
}

// What the journal has to say; false: it is about something else.
static bool notice_of_journal(struct daemon *daemon, enum turn_notice notice, const char *about) {
    switch (notice) {
    case TURN_NOTICE_NOT_PERMIT:
        serve_log_error(
            "turn", "the journal cannot be written: nothing is permitted until it can (%s)", about);
        return true;
    case TURN_NOTICE_NOT_WRITTEN:
        log_not_written(daemon, about);
        return true;
    case TURN_NOTICE_RESERVE_ONLY:
        serve_log_error(
            "turn", "the disk is full: only the space in reserve is left; nothing is permitted");
        return true;
    case TURN_NOTICE_NO_ROOM:
        log_no_room(daemon, about);
        return true;
    case TURN_NOTICE_ROOM_AGAIN:
        serve_log_info("journal", "there is room again");
        return true;
    default:
        return false;
    }
}

static void notice(void *user, enum turn_notice notice, const char *about) {
    struct daemon *daemon = user;
    if (notice_of_journal(daemon, notice, about)) {
        return;
    }
    switch (notice) {
    case TURN_NOTICE_ENDING:
        serve_log_error("turn",
                        "%s: ending without acknowledging; what was not committed is asked again",
                        about);
        break;
    case TURN_NOTICE_MISFIT:
        serve_log_error("start", "the configuration does not fit the journal: %s", about);
        break;
    case TURN_NOTICE_NOT_ANSWERED:
        serve_log_warn("publish", "answer_not_sent=%s (it stands; asked again, it is given again)",
                       about);
        break;
    case TURN_NOTICE_FOREIGN_REPLY:
        serve_drop(daemon, SERVE_DROP_RESPONSE_TOPIC, about, "");
        break;
    case TURN_NOTICE_EMPTIED:
        serve_log_info("publish", "emptied=%s", about);
        break;
    case TURN_NOTICE_TOLD_AGAIN:
        serve_log_warn("publish",
                       "told=%s (before the daemon ended, and not written: it holds again)", about);
        break;
    case TURN_NOTICE_SURVEY_CUT:
        serve_log_warn("publish",
                       "what the broker keeps of us could not be read whole; trying again");
        break;
    case TURN_NOTICE_CLAIMED:
        serve_log_warn("contest", "site=%s contested=yes", about);
        break;
    case TURN_NOTICE_UNCLAIMED:
        serve_log_warn("contest", "site=%s contested=no", about);
        break;
    case TURN_NOTICE_PROVED:
        serve_log_info("link", "connection=%s hears itself", about);
        break;
    case TURN_NOTICE_UNPROVED:
        serve_log_warn("link", "connection=%s does not hear itself", about);
        break;
    case TURN_NOTICE_UNHEARD:
        serve_log_warn("link", "topic=%s nothing said there is delivered", about);
        break;
    default:
        break;
    }
}

// --- The HTTP API ---

static bool gave_up(void *user, uint64_t ticket) {
    const struct daemon *daemon = user;
    return daemon->http == NULL || http_gave_up(daemon->http, ticket);
}

static void answer(void *user, uint64_t ticket, int status, const char *json, size_t length) {
    struct daemon *daemon = user;
    if (daemon->http != NULL) {
        http_answer(daemon->http, ticket, status, json, length);
    }
}

static void stream_event(void *user, uint32_t site, const struct wire_record *record) {
    struct daemon *daemon = user;
    if (daemon->http != NULL) {
        http_tell_event(daemon->http, site, record);
    }
}

static void stream_alarm(void *user, uint32_t site, const char *json, size_t length) {
    struct daemon *daemon = user;
    if (daemon->http != NULL) {
        http_tell_alarm(daemon->http, site, json, length);
    }
}

static void settled(void *user) {
    struct daemon *daemon = user;
    if (daemon->http != NULL) {
        http_settled(daemon->http);
    }
}

const struct turn_operations serve_operations = {
    .now = now,
    .wake = wake,
    .stop = stop,
    .notice = notice,
    .write = serve_journal_write,
    .wait = serve_journal_wait,
    .recover = serve_journal_recover,
    .find_request = serve_journal_find,
    .digest = serve_journal_digest,
    .fold = serve_journal_fold,
    .fold_heard = serve_journal_fold_heard,
    .each_record = serve_journal_each,
    .read = serve_link_read,
    .is_up = serve_link_is_up,
    .say = serve_link_say,
    .publish = serve_link_publish,
    .room = serve_link_room,
    .oldest = serve_link_oldest,
    .flush = serve_link_flush,
    .acknowledge = serve_link_acknowledge,
    .survey = serve_link_survey,
    .gave_up = gave_up,
    .answer = answer,
    .stream_event = stream_event,
    .stream_alarm = stream_alarm,
    .settled = settled,
    .notes_due = serve_webhooks_due,
    .notes_take = serve_webhooks_take,
    .notes_over = serve_webhooks_over,
};
