// forelockd: its command line, its link to the broker, its run.
#include "serve/serve.h"

#include <getopt.h>
#include <signal.h>
#include <stdlib.h>
#include <string.h>

#include "config/config.h"
#include "forelock_version.h"
#include "serve/book.h"

enum { EXIT_DONE = 0, EXIT_ENDED = 1, EXIT_USAGE = 2, EXIT_CONFIGURATION = 3, EXIT_REACH = 4 };

#define STOP_MS 2000
// How long the link may take after the start before its absence is an alarm.
#define FIRST_LINK_MS 10000

static const char usage[] =
    "usage: forelockd -c FILE [-t]\n"
    "       forelockd --version | --help\n"
    "\n"
    "  -c FILE    the configuration (forelock.json)\n"
    "  -t         check the configuration, say what is wrong with it, and exit\n"
    "\n"
    "Runs in the foreground and logs to standard error. It only refuses and reports: it switches\n"
    "nothing, replaces no lock, and is no safety-rated function. Local codes and licensed "
    "practice\n"
    "come first.\n"
    "\n"
    "exit status: 0 ended in good order, 1 could not go on, 2 usage, 3 configuration,\n"
    "             4 something it needs cannot be reached or read\n";

// --- The link ---

static void on_batch_end(void *user, enum mqtt_connection connection) {
    (void)user; // the turn's end does it all
    (void)connection;
}

static void on_link(void *user, enum mqtt_connection connection, bool up, bool resumed) {
    struct daemon *daemon = user;
    log_info("link", "connection=%s %s%s", connection == MQTT_LIVE ? "live" : "durable",
             up ? "up" : "down",
             connection == MQTT_DURABLE && up && !resumed ? " new session" : "");
    bool both = mqtt_up(daemon->mqtt, MQTT_LIVE) && mqtt_up(daemon->mqtt, MQTT_DURABLE);
    if (connection == MQTT_LIVE && up) {
        daemon->own_heard = false;
        daemon->self_due = true;
        daemon_publish_anew(daemon);
        daemon_survey(daemon);
    }
    if (both != daemon->link_up) {
        daemon->link_up = both;
        gate_link(daemon->gate, both, daemon_now(daemon));
    }
}

static void on_trouble(void *user, enum mqtt_connection connection, enum mqtt_trouble trouble,
                       const char *about, const char *text) {
    struct daemon *daemon = user;
    uint64_t left_out;
    (void)trouble;
    if (log_allowed(&daemon->trouble_limit, loop_now(daemon->loop).mono_ms, &left_out)) {
        log_warn("link", "connection=%s about=%s: %s left_out=%llu",
                 connection == MQTT_LIVE ? "live" : "durable", about, text,
                 (unsigned long long)left_out);
    }
}

static void on_room(void *user) {
    (void)user; // the turn's end publishes what waits
}

static char *offline_text(struct daemon *daemon, size_t *length) {
    struct tell_daemon self = {.online = false,
                               .version = FORELOCK_VERSION,
                               .boot = daemon->boot,
                               .since = daemon->since,
                               .at = daemon_now(daemon).wall};
    json_out_reset(&daemon->out);
    if (!tell_daemon(&daemon->out, daemon->model, &self)) {
        return NULL;
    }
    *length = daemon->out.length;
    return strndup(daemon->out.data, daemon->out.length);
}

static bool make_link(struct daemon *daemon) {
    const struct model *model = daemon->model;
    char error[256];
    size_t length = 0;
    char *will = offline_text(daemon, &length);
    const char **sites = calloc(model->site_count + 1, sizeof *sites);
    size_t durable_count = 0, live_count = 0;
    const char **durable = feed_filters(model, FEED_DURABLE, &durable_count);
    const char **live = feed_filters(model, FEED_LIVE, &live_count);
    bool memory = will != NULL && sites != NULL && durable != NULL && live != NULL;
    for (size_t s = 0; sites != NULL && s < model->site_count; s++) {
        sites[s] = model->sites[s].site;
    }
    const struct mqtt_options options = {.host = model->broker.host,
                                         .port = model->broker.port,
                                         .username = model->broker.username,
                                         .password = model->broker.password,
                                         .ca_file = model->broker.ca_file,
                                         .cert_file = model->broker.cert_file,
                                         .key_file = model->broker.key_file,
                                         .instance = model->instance,
                                         .root = model->root,
                                         .sites = sites,
                                         .site_count = model->site_count,
                                         .durable_filters = durable,
                                         .durable_filter_count = durable_count,
                                         .live_filters = live,
                                         .live_filter_count = live_count,
                                         .will = will,
                                         .will_length = length};
    const struct mqtt_callbacks callbacks = {.on_message = daemon_on_message,
                                             .on_batch_end = on_batch_end,
                                             .on_link = on_link,
                                             .on_trouble = on_trouble,
                                             .on_room = on_room};
    if (memory) {
        daemon->mqtt = mqtt_new(daemon->loop, &options, &callbacks, daemon, error, sizeof error);
    }
    if (daemon->mqtt == NULL) {
        log_error("link", "%s", memory ? error : "out of memory");
    }
    free(will);
    free(sites);
    free(durable);
    free(live);
    return daemon->mqtt != NULL;
}

// --- Timers ---

static void on_deadline(void *user) {
    struct daemon *daemon = user;
    gate_tick(daemon->gate, daemon_now(daemon));
    // It fires once. What was heard meanwhile may have moved the deadline and changed nothing, so
    // it is set anew whether or not something changed: a missed one would let a stale point stand.
    daemon->timed_changes = daemon->gate->changes - 1;
}

// Another daemon wrote its documents over ours and emptied those that it did not know: once it is
// gone, all of ours are told again. Not during a flight, whose documents go before its answers.
static void tell_after_contest(struct daemon *daemon) {
    if (daemon->contest_over && !loop_work_busy(daemon->writer)) {
        daemon->contest_over = false;
        daemon->surveyed = false;
        daemon_publish_anew(daemon);
    }
}

static void on_second(void *user) {
    struct daemon *daemon = user;
    struct gate_time now = daemon_now(daemon);
    bool writing = loop_work_busy(daemon->writer);
    daemon->turn.heard_due = daemon->journal_up && gate_is_watching(daemon->gate);
    daemon_others_expire(daemon);
    daemon_hooks_second(daemon);
    if (!daemon->journal_up && !writing && daemon_batch_empty(&daemon->flight.batch) &&
        book_recover(daemon)) {
        log_info("journal", "there is room again");
        daemon->journal_up = true;
        gate_journal(daemon->gate, true, now);
    }
    if (!daemon->link_up && now.wall - daemon->since > FIRST_LINK_MS) {
        gate_link(daemon->gate, false, now);
    }
    tell_after_contest(daemon);
    if (!daemon->surveyed && mqtt_up(daemon->mqtt, MQTT_LIVE)) {
        daemon_survey(daemon);
    }
}

static void on_minute(void *user) {
    struct daemon *daemon = user;
    daemon->self_due = true;
    if (daemon->journal_up && !loop_work_busy(daemon->writer)) {
        book_idle(daemon);
    }
}

static void on_signal(void *user, int number) {
    struct daemon *daemon = user;
    log_info("run", "signal=%d: ending", number);
    loop_stop(daemon->loop);
}

static void on_hangup(void *user, int number) {
    (void)number;
    daemon_web_reload(user);
    daemon_hooks_reload(user);
}

static bool make_timers(struct daemon *daemon) {
    daemon->deadline_timer = loop_timer_new(daemon->loop, on_deadline, daemon);
    daemon->second_timer = loop_timer_new(daemon->loop, on_second, daemon);
    daemon->minute_timer = loop_timer_new(daemon->loop, on_minute, daemon);
    return daemon->deadline_timer != NULL && daemon->second_timer != NULL &&
           daemon->minute_timer != NULL && loop_timer_every(daemon->second_timer, 1000) &&
           loop_timer_every(daemon->minute_timer, 60000) &&
           loop_on_signal(daemon->loop, SIGTERM, on_signal, daemon) &&
           loop_on_signal(daemon->loop, SIGHUP, on_hangup, daemon) &&
           loop_on_signal(daemon->loop, SIGINT, on_signal, daemon);
}

// --- The run ---

static int end(struct daemon *daemon, bool looped) {
    if (daemon->fatal || !looped) {
        return EXIT_ENDED; // the broker publishes the will
    }
    size_t length = 0;
    daemon_hooks_stop(daemon);
    daemon_turn_finish(daemon);
    if (daemon->fatal) {
        return EXIT_ENDED;
    }
    size_t unwritten = daemon->flight.batch.record_count;
    if (unwritten > 0) {
        log_error("run", "%zu facts were never written: there is no room on the disk", unwritten);
    }
    char *offline = offline_text(daemon, &length);
    mqtt_stop(daemon->mqtt, offline, offline != NULL ? length : 0, STOP_MS);
    free(offline);
    if (daemon->journal_up) {
        book_keep_told(daemon);
    }
    return unwritten == 0 ? EXIT_DONE : EXIT_ENDED;
}

static int run(struct daemon *daemon) {
    daemon->loop = loop_new();
    daemon->writer =
        daemon->loop != NULL ? loop_work_new(daemon->loop, daemon_landed, daemon) : NULL;
    if (daemon->writer == NULL || !make_timers(daemon)) {
        log_error("run", "the event loop cannot be made");
        return EXIT_REACH;
    }
    int status = daemon_open(daemon);
    if (status != EXIT_DONE) {
        return status;
    }
    daemon_turn_finish(daemon);
    if (daemon->fatal || !make_link(daemon) || !daemon_web_new(daemon) ||
        !daemon_hooks_new(daemon)) {
        return EXIT_REACH;
    }
    loop_on_turn_end(daemon->loop, daemon_turn_end, daemon);
    log_info("run", "forelockd %s instance=%s sites=%zu broker=%s:%u facts=%llu", FORELOCK_VERSION,
             daemon->model->instance, daemon->model->site_count, daemon->model->broker.host,
             daemon->model->broker.port, (unsigned long long)daemon->next_seq - 1);
    mqtt_start(daemon->mqtt);
    return end(daemon, loop_run(daemon->loop));
}

static int load(struct daemon *daemon, const char *path, bool only_check) {
    struct config_report report = {0};
    daemon->path = path;
    daemon->model = config_load(path, &report);
    config_report_print(&report, stderr);
    if (daemon->model != NULL && only_check) {
        printf("%s: the configuration is good (%zu sites, %zu warnings)\n", path,
               daemon->model->site_count, report.warning_count);
    } else if (daemon->model == NULL) {
        fprintf(stderr, "%s: %zu errors; not started\n", path, report.error_count);
    }
    config_report_free(&report);
    return daemon->model != NULL ? EXIT_DONE : EXIT_CONFIGURATION;
}

int serve_main(int argc, char **argv) {
    static const struct option long_options[] = {
        {"version", no_argument, NULL, 'V'}, {"help", no_argument, NULL, 'h'}, {0}};
    const char *path = NULL;
    bool only_check = false;
    for (int option; (option = getopt_long(argc, argv, "c:t", long_options, NULL)) != -1;) {
        switch (option) {
        case 'c':
            path = optarg;
            break;
        case 't':
            only_check = true;
            break;
        case 'V':
            printf("forelockd %s\n", FORELOCK_VERSION);
            return EXIT_DONE;
        case 'h':
            fputs(usage, stdout);
            return EXIT_DONE;
        default:
            fputs(usage, stderr);
            return EXIT_USAGE;
        }
    }
    if (path == NULL || optind != argc) {
        fputs(usage, stderr);
        return EXIT_USAGE;
    }
    struct daemon daemon = {0};
    int status = load(&daemon, path, only_check);
    if (status == EXIT_DONE && !only_check) {
        status = run(&daemon);
    }
    daemon_close(&daemon);
    return status;
}
