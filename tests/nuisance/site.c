// The hardware: two panels that report every few seconds, by clocks of their own, and readers.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "day.h"

#define PANELS 2
#define LAST_WORDS 3

struct site {
    bool isolated[DAY_DISPENSERS];
    int64_t clock;                   // ms that panel-1's clock is ahead of the true time
    uint64_t number[DAY_DISPENSERS]; // of panel-1's words
    struct network_word last[DAY_DISPENSERS]
                            [LAST_WORDS]; // of panel-1, for when it sends them again
    unsigned said[DAY_DISPENSERS];
};

// Points come by dispenser: power, valve, line; sensors are those of the first two.
static uint32_t sensor_of(const struct day *day, const char *kind, unsigned dispenser) {
    char name[MODEL_ID_SIZE];
    snprintf(name, sizeof name, "%u-%s", dispenser + 1, kind);
    return model_sensor_find(&day->model->sites[0], name);
}

static struct network_word word_of(const struct day *day, unsigned panel, unsigned dispenser) {
    struct network_word word = {0};
    word.index = sensor_of(day, panel == 0 ? "power" : "valve", dispenser);
    word.reading = (struct gate_reading){
        .readable = true,
        .good = true,
        .state = day->site->isolated[dispenser] ? MODEL_POINT_ISOLATED : MODEL_POINT_LIVE};
    return word;
}

static void report(struct day *day, unsigned panel, unsigned dispenser) {
    struct site *site = day->site;
    struct network_word word = word_of(day, panel, dispenser);
    if (panel == 0) {
        word.reading.has_at = word.reading.has_seq = true;
        word.reading.at = day_wall(day) + site->clock;
        word.reading.seq = ++site->number[dispenser];
        site->last[dispenser][site->said[dispenser]++ % LAST_WORDS] = word;
    }
    network_signal(day, &word);
}

// Panel-1 every five seconds, panel-2 every twelve; number: the panel and the dispenser.
static void report_again(struct day *day, int64_t number) {
    unsigned panel = (unsigned)number / DAY_DISPENSERS;
    report(day, panel, (unsigned)number % DAY_DISPENSERS);
    day_later(day, panel == 0 ? 5000 : 12000, report_again, number);
}

// A panel loses its own connection: after it, it is online again, and sends anew what it has no
// acknowledgement of.
static void reconnect_panel(struct day *day, int64_t panel) {
    struct site *site = day->site;
    struct network_word word = {.index = (uint32_t)panel, .online = true};
    network_controller(day, &word);
    for (unsigned d = 0; panel == 0 && d < DAY_DISPENSERS; d++) {
        unsigned first = site->said[d] > LAST_WORDS ? site->said[d] - LAST_WORDS : 0;
        for (unsigned i = first; i < site->said[d]; i++) {
            network_signal(day, &site->last[d][i % LAST_WORDS]);
        }
    }
    books_count(day, "reconnects of a panel");
    books_resent(day);
    day_later(day, day_between(day, 1200000, 3600000), reconnect_panel, panel);
}

static void correct_panel(struct day *day, int64_t number) {
    int64_t step = day_between(day, 100, 900);
    (void)number;
    day->site->clock += day->site->clock > 0 ? -step : step;
    books_count(day, "steps of a panel's clock");
    day_later(day, day_between(day, 3600000, 3 * 3600000), correct_panel, 0);
}

void site_new(struct day *day) {
    day->site = calloc(1, sizeof *day->site);
    if (day->site == NULL) {
        day_end_with("out of memory");
    }
    for (int64_t i = 0; i < PANELS * DAY_DISPENSERS; i++) {
        day_later(day, day_between(day, 0, 5000), report_again, i);
    }
    for (int64_t panel = 0; panel < PANELS; panel++) {
        day_later(day, day_between(day, 600000, 3600000), reconnect_panel, panel);
    }
    day_later(day, day_between(day, 600000, 3600000), correct_panel, 0);
}

void site_free(struct day *day) {
    free(day->site);
}

void site_switch(struct day *day, unsigned dispenser, bool isolated) {
    day->site->isolated[dispenser] = isolated;
    report(day, 0, dispenser);
    report(day, 1, dispenser);
}

void site_kept(struct day *day) {
    for (uint32_t c = 0; c < PANELS; c++) {
        struct network_word online = {.index = c, .online = true, .kept = true};
        network_controller(day, &online);
    }
    for (unsigned d = 0; d < DAY_DISPENSERS; d++) {
        // Of both the last word is kept: panel-1's says when it was said.
        struct network_word valve = word_of(day, 1, d);
        valve.kept = valve.reading.retained = true;
        network_signal(day, &valve);
        if (day->site->said[d] > 0) {
            struct network_word power = day->site->last[d][(day->site->said[d] - 1) % LAST_WORDS];
            power.kept = power.reading.retained = true;
            network_signal(day, &power);
        }
    }
}

void site_lock(struct day *day, unsigned dispenser, const char *person, bool hung) {
    char point[MODEL_ID_SIZE];
    struct network_word word = {0};
    snprintf(point, sizeof point, "%u-power", dispenser + 1);
    snprintf(word.person, sizeof word.person, "%s", person);
    word.index = model_point_find(&day->model->sites[0], point);
    word.tagging =
        (struct gate_tagging){.hung = hung, .has_at = true, .at = day_wall(day) + day->site->clock};
    network_tagging(day, &word);
}
