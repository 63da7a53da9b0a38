// forelockd: its command line, its link to the broker, its run.
#include "serve/serve.h"

#include <getopt.h>
#include <openssl/crypto.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/random.h>

#include "base/hex.h"
#include "config/config.h"
#include "forelock_version.h"
#include "journal/journal.h"
#include "serve/journal_io.h"

enum { EXIT_DONE = 0, EXIT_ENDED = 1, EXIT_USAGE = 2, EXIT_CONFIGURATION = 3, EXIT_REACH = 4 };

#define STOP_MS 2000

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

// --- Timers and signals ---

static void on_deadline(void *user) {
    struct daemon *daemon = user;
    turn_tick(daemon->turn);
}

static void on_second(void *user) {
    struct daemon *daemon = user;
    serve_webhooks_second(daemon);
    turn_second(daemon->turn);
}

static void on_minute(void *user) {
    struct daemon *daemon = user;
    struct turn_view view = turn_view(daemon->turn);
    turn_minute(daemon->turn);
    if (view.journal_up && !view.pending) {
        serve_journal_idle(daemon);
    }
}

static void on_signal(void *user, int number) {
    struct daemon *daemon = user;
    serve_log_info("run", "signal=%d: ending", number);
    loop_stop(daemon->loop);
}

static void on_hangup(void *user, int number) {
    (void)number;
    serve_web_reload(user);
    serve_webhooks_reload(user);
}

static void on_turn_end(void *user) {
    struct daemon *daemon = user;
    turn_end(daemon->turn);
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

// --- The beginning and the end ---

// The library makes its own ground when it is first used, and crashes later where that failed.
static bool has_crypto(void) {
    return OPENSSL_init_crypto(0, NULL) == 1 && OSSL_LIB_CTX_get0_global_default() != NULL;
}

static bool make_boot(char boot[TURN_BOOT_SIZE]) {
    unsigned char bytes[(TURN_BOOT_SIZE - 1) / 2];
    // Of the kernel: a library's generator may crash where it finds no memory for itself.
    if (getrandom(bytes, sizeof bytes, 0) != (ssize_t)sizeof bytes) {
        return false;
    }
    base_hex_encode(bytes, sizeof bytes, boot);
    return true;
}

// What needs nothing but memory. False: there is none.
static bool make_parts(struct daemon *daemon) {
    struct turn_options options = {.model = daemon->model, .version = FORELOCK_VERSION};
    if (!has_crypto() || !make_boot(options.boot)) {
        return false;
    }
    daemon->turn = turn_new(&options, &serve_operations, daemon);
    daemon->inbound = serve_inbound_new();
    daemon->drops = serve_drops_new();
    return daemon->turn != NULL && daemon->inbound != NULL && daemon->drops != NULL;
}

// Opens the journal and folds it: the daemon is up. Returns an exit status.
static int come_up(struct daemon *daemon) {
    if (!make_parts(daemon)) {
        serve_log_error("start", "out of memory");
        return EXIT_ENDED;
    }
    if (!serve_journal_open(daemon)) {
        return EXIT_REACH;
    }
    enum turn_folded folded = turn_open(daemon->turn, serve_journal_healthy(daemon));
    if (folded != TURN_FOLDED) {
        return folded == TURN_FOLD_MISFIT ? EXIT_CONFIGURATION : EXIT_REACH;
    }
    loop_now_again(daemon->loop);
    daemon->feeds = serve_feeds_new(daemon);
    if (daemon->feeds == NULL) {
        serve_log_error("start", "out of memory");
        return EXIT_ENDED;
    }
    turn_finish(daemon->turn);
    return turn_view(daemon->turn).ending ? EXIT_REACH : EXIT_DONE;
}

static int end(struct daemon *daemon, bool looped) {
    if (turn_view(daemon->turn).ending || !looped) {
        return EXIT_ENDED; // the broker publishes the will
    }
    size_t length = 0;
    serve_webhooks_stop(daemon);
    turn_finish(daemon->turn);
    struct turn_view view = turn_view(daemon->turn);
    if (view.ending) {
        return EXIT_ENDED;
    }
    if (view.unwritten > 0) {
        serve_log_error("run", "%zu facts were never written: there is no room on the disk",
                        view.unwritten);
    }
    char *offline = serve_offline_text(daemon, &length);
    mqtt_stop(daemon->mqtt, offline, offline != NULL ? length : 0, STOP_MS);
    free(offline);
    if (view.journal_up) {
        serve_journal_keep_published(daemon);
    }
    return view.unwritten == 0 ? EXIT_DONE : EXIT_ENDED;
}

static int run(struct daemon *daemon) {
    const struct model *model = daemon->model;
    daemon->loop = loop_new();
    if (daemon->loop == NULL || !make_timers(daemon)) {
        serve_log_error("run", "the event loop cannot be made");
        return EXIT_REACH;
    }
    int status = come_up(daemon);
    if (status != EXIT_DONE) {
        return status;
    }
    if (!serve_link_new(daemon) || !serve_web_new(daemon) ||
        !serve_webhooks_new(daemon, serve_journal_of(daemon))) {
        return EXIT_REACH;
    }
    loop_on_turn_end(daemon->loop, on_turn_end, daemon);
    serve_log_info("run", "forelockd %s instance=%s sites=%zu broker=%s:%u facts=%llu",
                   FORELOCK_VERSION, model->instance, model->site_count, model->broker.host,
                   model->broker.port, (unsigned long long)turn_view(daemon->turn).next_seq - 1);
    mqtt_start(daemon->mqtt);
    return end(daemon, loop_run(daemon->loop));
}

static void free_all(struct daemon *daemon) {
    http_free(daemon->http);
    mqtt_free(daemon->mqtt);
    serve_journal_stop(daemon);
    serve_webhooks_free(daemon); // a commit may have had its notes
    turn_free(daemon->turn);
    serve_inbound_free(daemon->inbound);
    serve_drops_free(daemon->drops);
    serve_feeds_free(daemon->feeds);
    serve_journal_close(daemon);
    loop_timer_free(daemon->deadline_timer);
    loop_timer_free(daemon->second_timer);
    loop_timer_free(daemon->minute_timer);
    loop_free(daemon->loop);
    model_free(daemon->model);
}

static void tell_misfit(void *user, bool warning, const char *what) {
    config_report_journal(user, warning, what);
}

static int load(struct daemon *daemon, const char *path, bool only_check) {
    struct config_report report = {0};
    daemon->path = path;
    daemon->model = config_load(path, &report);
    bool good =
        daemon->model != NULL && (!only_check || journal_fits(daemon->model, tell_misfit, &report));
    config_report_print(&report, stderr);
    if (good && only_check) {
        printf("%s: the configuration is good (%zu sites, %zu warnings)\n", path,
               daemon->model->site_count, report.warning_count);
    } else if (!good) {
        fprintf(stderr, "%s: %zu errors; not started\n", path, report.error_count);
    }
    config_report_free(&report);
    return good ? EXIT_DONE : EXIT_CONFIGURATION;
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
    free_all(&daemon);
    return status;
}
