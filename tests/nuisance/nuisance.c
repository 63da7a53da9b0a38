// Nuisance is a hazard too: 24 hours of a busy, healthy site, in which nothing may stop and no
// alarm may be raised without a cause.
//
//   nuisance [--days N] [--seed N]
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "day.h"
#include "model.h"

// --- Time and chance ---

static bool comes_before(const struct day_event *a, const struct day_event *b) {
    return a->at != b->at ? a->at < b->at : a->order < b->order;
}

static void swap(struct day *day, size_t a, size_t b) {
    struct day_event kept = day->events[a];
    day->events[a] = day->events[b];
    day->events[b] = kept;
}

void day_later(struct day *day, int64_t ms, void (*call)(struct day *day, int64_t number),
               int64_t number) {
    if (day->event_count == day->event_capacity) {
        day->event_capacity = day->event_capacity == 0 ? 1024 : 2 * day->event_capacity;
        day->events = realloc(day->events, day->event_capacity * sizeof *day->events);
        if (day->events == NULL) {
            day_end_with("out of memory");
        }
    }
    size_t at = day->event_count++;
    day->events[at] = (struct day_event){day->now + ms, day->next_event++, call, number};
    while (at > 0 && comes_before(&day->events[at], &day->events[(at - 1) / 2])) {
        swap(day, at, (at - 1) / 2);
        at = (at - 1) / 2;
    }
}

static struct day_event take_event(struct day *day) {
    struct day_event first = day->events[0];
    day->events[0] = day->events[--day->event_count];
    for (size_t at = 0;;) {
        size_t least = at, left = 2 * at + 1;
        for (size_t child = left; child < left + 2 && child < day->event_count; child++) {
            least = comes_before(&day->events[child], &day->events[least]) ? child : least;
        }
        if (least == at) {
            return first;
        }
        swap(day, at, least);
        at = least;
    }
}

uint32_t day_draw(struct day *day, uint32_t below) { // splitmix64
    uint64_t z = (day->draws += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return (uint32_t)((z ^ (z >> 31)) >> 32) % below;
}

bool day_chance(struct day *day, uint32_t one_in) {
    return day_draw(day, one_in) == 0;
}

int64_t day_between(struct day *day, int64_t least, int64_t most) {
    return least + day_draw(day, (uint32_t)(most - least + 1));
}

int64_t day_wall(const struct day *day) {
    return 1800000000000 + day->now;
}

void day_end_with(const char *why) {
    fprintf(stderr, "nuisance: %s\n", why);
    exit(2);
}

// --- Our own clock, and planned restarts ---

// The time service sets our clock by less than a second, towards the true time.
static void correct_clock(struct day *day, int64_t number) {
    int64_t step = day_between(day, 100, 900);
    (void)number;
    day->ours += day->ours > 0 ? -step : step;
    books_count(day, "steps of our clock");
    day_later(day, day_between(day, 3600000, 3 * 3600000), correct_clock, 0);
}

static void start_again(struct day *day, int64_t number) {
    (void)number;
    daemon_start(day);
}

static void restart(struct day *day, int64_t number) {
    (void)number;
    books_count(day, "restarts");
    daemon_stop(day);
    day_later(day, day_between(day, 500, 3000), start_again, 0);
}

static struct day *day_new(uint64_t seed) {
    struct day *day = calloc(1, sizeof *day);
    if (day == NULL) {
        day_end_with("out of memory");
    }
    day->draws = seed;
    day->model = nuisance_model();
    day->books = books_new();
    site_new(day);
    network_new(day);
    crews_new(day);
    daemon_new(day);
    daemon_start(day);
    day_later(day, day_between(day, 600000, 3600000), correct_clock, 0);
    return day;
}

static void day_free(struct day *day) {
    daemon_free(day);
    crews_free(day);
    network_free(day);
    site_free(day);
    books_free(day->books);
    model_free(day->model);
    free(day->events);
    free(day);
}

static bool run(uint64_t seed, int64_t length) {
    struct day *day = day_new(seed);
    for (int64_t at = 7 * 3600000; at < length; at += 8 * 3600000 + 17 * 60000) {
        day_later(day, at, restart, 0);
    }
    while (day->event_count > 0 && day->events[0].at <= length) {
        struct day_event event = take_event(day);
        day->now = event.at;
        event.call(day, event.number);
        daemon_turn_over(day);
    }
    printf("nuisance: %lld hours, seed %llu\n", (long long)(length / 3600000),
           (unsigned long long)seed);
    bool good = books_close(day);
    day_free(day);
    return good;
}

int main(int argc, char **argv) {
    uint64_t seed = 1;
    long days = 1;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (strcmp(argv[i], "--seed") == 0) {
            seed = strtoull(argv[i + 1], NULL, 10);
        } else if (strcmp(argv[i], "--days") == 0) {
            days = strtol(argv[i + 1], NULL, 10);
        }
    }
    bool good = true;
    for (long i = 0; good && i < days; i++) {
        good = run(seed + (uint64_t)i, DAY_MS);
    }
    return good ? 0 : 1;
}
