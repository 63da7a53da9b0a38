// The runner: one loop over the broker, the devices that are due, the delayed steps, the scenario
// and standard input. Each step is answered by one line on standard output once the broker has
// taken what it sent:
//
//   ok PLACE: what was done          error PLACE: why not
//
// PLACE is the line number on standard input, or FILE:LINE. A delayed step is answered a second
// time, by `later ok` or `later error`, when it has run.
#include "simulator/runner.h"

#include "base/clock.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define FLUSH_MS 5000
#define DELAYED_MAX 64
#define PLACE_SIZE 320

struct delayed {
    int64_t due; // [mono ms]
    char place[PLACE_SIZE];
    struct sim_step step;
};

struct runner {
    const struct sim_options *options;
    struct sim_world *world;
    struct sim_link *link;
    const struct sim_scenario *scenario;
    size_t next; // step of the scenario
    int64_t wait_until;
    bool ended, failed;
    char buffer[2 * SIM_LINE_SIZE]; // of standard input
    size_t filled;
    unsigned line;
    bool overlong, input_ended;
    struct delayed *delayed; // in the order in which they were asked for
    size_t delayed_count;
};

static void answer(struct runner *runner, bool good, const char *prefix, const char *place,
                   const char *text) {
    printf("%s%s %s: %s\n", prefix, good ? "ok" : "error", place, text);
    fflush(stdout);
    runner->failed = runner->failed || !good;
}

static bool keep_for_later(struct runner *runner, const struct sim_step *step, const char *place,
                           struct sim_note *note) {
    struct sim_note unused;
    if (runner->delayed_count == DELAYED_MAX) {
        return sim_fail(note, "more than %d steps wait for their time", DELAYED_MAX);
    }
    struct delayed *delayed = &runner->delayed[runner->delayed_count];
    if (!sim_step_read(runner->world, step->text, &delayed->step, &unused)) {
        return sim_fail(note, "%s", unused.text);
    }
    delayed->due = base_clock_mono_ms() + step->duration;
    snprintf(delayed->place, sizeof delayed->place, "%s", place);
    runner->delayed_count++;
    return sim_done(note, "%.250s", step->line);
}

// Does a step and sends what follows from it at once.
static bool perform(struct runner *runner, const struct sim_step *step, const char *place,
                    struct sim_note *note) {
    bool good = true;
    runner->world->unsent = 0;
    switch (step->action) {
    case SIM_NOTHING:
        break;
    case SIM_RUN:
        good = sim_step_run(runner->world, step, base_clock_now(), note);
        break;
    case SIM_WAIT:
        runner->wait_until = base_clock_mono_ms() + step->duration;
        sim_done(note, "%.250s", step->line);
        break;
    case SIM_AFTER:
        good = keep_for_later(runner, step, place, note);
        break;
    case SIM_END:
        runner->ended = true;
        sim_done(note, "end");
        break;
    }
    sim_world_tick(runner->world, base_clock_now());
    struct sim_note flushed;
    if (good && runner->world->unsent > 0) {
        good = sim_fail(note, "%zu messages were not sent: the connection to the broker is down",
                        runner->world->unsent);
    } else if (good && !sim_link_flush(runner->link, FLUSH_MS, &flushed)) {
        good = sim_fail(note, "%s", flushed.text);
    }
    return good;
}

static void run_step(struct runner *runner, const struct sim_step *step, const char *prefix,
                     const char *place) {
    struct sim_note note = {""};
    bool good = perform(runner, step, place, &note);
    answer(runner, good, prefix, place, note.text);
}

static void run_planned(struct runner *runner) {
    const struct sim_planned *planned = &runner->scenario->steps[runner->next++];
    char place[PLACE_SIZE];
    snprintf(place, sizeof place, "%.300s:%u", runner->options->scenario, planned->line);
    run_step(runner, &planned->step, "", place);
}

static void run_delayed(struct runner *runner) {
    int64_t now = base_clock_mono_ms();
    for (size_t i = 0; i < runner->delayed_count;) {
        if (runner->delayed[i].due > now) {
            i++;
            continue;
        }
        struct delayed ripe = runner->delayed[i];
        runner->delayed_count--;
        memmove(&runner->delayed[i], &runner->delayed[i + 1],
                (runner->delayed_count - i) * sizeof ripe);
        run_step(runner, &ripe.step, "later ", ripe.place);
    }
}

// Runs one line of standard input. An empty one, or a comment, has no answer.
static void run_line(struct runner *runner, const char *line, bool clean) {
    struct sim_step step;
    struct sim_note note = {""};
    char place[32];
    snprintf(place, sizeof place, "%u", ++runner->line);
    if (!clean) {
        answer(runner, false, "", place, "the line is too long, or has a NUL byte in it");
        return;
    }
    if (!sim_step_read(runner->world, line, &step, &note)) {
        answer(runner, false, "", place, note.text);
        return;
    }
    if (step.action != SIM_NOTHING) {
        run_step(runner, &step, "", place);
    } else if (note.text[0] != '\0') {
        struct sim_note done = note;
        bool good = perform(runner, &step, place, &done);
        answer(runner, good, "", place, done.text);
    }
}

// Takes one line out of the buffer. Of a line longer than the buffer nothing is kept but the fact.
static bool take_line(struct runner *runner) {
    char *end = memchr(runner->buffer, '\n', runner->filled);
    if (end == NULL && runner->filled == sizeof runner->buffer - 1) {
        runner->overlong = true;
        runner->filled = 0;
    }
    bool last = runner->input_ended && (runner->filled > 0 || runner->overlong);
    if (end == NULL && !last) {
        return false;
    }
    size_t length = end != NULL ? (size_t)(end - runner->buffer) : runner->filled;
    size_t used = end != NULL ? length + 1 : length;
    runner->buffer[length] = '\0';
    bool clean = !runner->overlong && strlen(runner->buffer) == length;
    runner->overlong = false;
    char line[sizeof runner->buffer];
    memcpy(line, runner->buffer, length + 1);
    runner->filled -= used;
    memmove(runner->buffer, runner->buffer + used, runner->filled);
    run_line(runner, line, clean);
    return true;
}

static void read_input(struct runner *runner) {
    ssize_t got = read(STDIN_FILENO, runner->buffer + runner->filled,
                       sizeof runner->buffer - 1 - runner->filled);
    if (got > 0) {
        runner->filled += (size_t)got;
    } else if (got == 0 || errno != EINTR) {
        runner->input_ended = true;
    }
}

// One step, if one is to be run now. False: there is nothing but to wait.
static bool advance(struct runner *runner) {
    if (runner->wait_until > base_clock_mono_ms()) {
        return false;
    }
    if (runner->next < runner->scenario->count) {
        run_planned(runner);
        return true;
    }
    if (runner->options->input && take_line(runner)) {
        return true;
    }
    runner->ended = runner->ended || !runner->options->input || runner->input_ended;
    return false;
}

// How long there is nothing to do [ms].
static int idle_time(const struct runner *runner, int64_t deadline) {
    int64_t now = base_clock_mono_ms();
    int64_t until = deadline < now + 1000 ? deadline : now + 1000;
    int64_t due = sim_world_due(runner->world);
    until = due < until ? due : until;
    if (runner->wait_until > now && runner->wait_until < until) {
        until = runner->wait_until;
    }
    for (size_t i = 0; i < runner->delayed_count; i++) {
        until = runner->delayed[i].due < until ? runner->delayed[i].due : until;
    }
    return until > now ? (int)(until - now) : 0;
}

static void loop(struct runner *runner, int64_t deadline) {
    while (!runner->ended && base_clock_mono_ms() < deadline) {
        sim_world_tick(runner->world, base_clock_now());
        run_delayed(runner);
        if (advance(runner) || runner->ended) {
            continue;
        }
        bool listens = runner->options->input && !runner->input_ended &&
                       runner->next == runner->scenario->count &&
                       runner->wait_until <= base_clock_mono_ms();
        if (sim_link_wait(runner->link, listens ? STDIN_FILENO : -1, idle_time(runner, deadline))) {
            read_input(runner);
        }
    }
}

// Tells on standard error what did not come to its end.
static void tell_end(struct runner *runner) {
    if (!runner->ended) {
        fprintf(stderr, "forelock-simulator: stopped, the maximum time of %" PRId64 " s is over\n",
                runner->options->max_time / 1000);
        runner->failed = true;
    }
    for (size_t i = 0; i < runner->delayed_count; i++) {
        fprintf(stderr, "forelock-simulator: %s: ended before this came: %s\n",
                runner->delayed[i].place, runner->delayed[i].step.line);
    }
}

int sim_run(const struct sim_options *options, struct sim_world *world, struct sim_link *link,
            const struct sim_scenario *scenario) {
    struct runner *runner = calloc(1, sizeof *runner);
    struct delayed *delayed = calloc(DELAYED_MAX, sizeof *delayed);
    if (runner == NULL || delayed == NULL) {
        fputs("forelock-simulator: no memory to run\n", stderr);
        free(runner);
        free(delayed);
        return 1;
    }
    runner->options = options;
    runner->world = world;
    runner->link = link;
    runner->scenario = scenario;
    runner->delayed = delayed;
    struct sim_step start = {.action = SIM_NOTHING};
    struct sim_note note = {"every device has spoken"};
    bool good = perform(runner, &start, "start", &note);
    answer(runner, good, "", "start", note.text);
    loop(runner, base_clock_mono_ms() + options->max_time);
    tell_end(runner);
    int status = runner->failed ? 1 : 0;
    free(delayed);
    free(runner);
    return status;
}
