// The books of the day: how often everything happened, and what happened without a cause.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "day.h"

#define NAMES 256
// Crews that get on do at least so many jobs a day, and are refused no more often.
#define LEAST_JOBS 12
#define MOST_REFUSED 120
// An outage explains what comes of it for so long.
#define EXPLAINS_MS 20000

struct books {
    char names[NAMES][96];
    uint64_t counts[NAMES];
    size_t name_count;
    uint64_t facts[GATE_FACT_COUNT];
    int64_t outage; // the last one, or the start
    int64_t resent; // when a panel last sent its words again
    char wrong[2000];
};

struct books *books_new(void) {
    struct books *books = calloc(1, sizeof *books);
    if (books == NULL) {
        day_end_with("out of memory");
    }
    return books; // the start explains what comes of it, too
}

void books_free(struct books *books) {
    free(books);
}

void books_count(struct day *day, const char *what) {
    struct books *books = day->books;
    size_t i = 0;
    while (i < books->name_count && strncmp(books->names[i], what, 95) != 0) {
        i++;
    }
    if (i == NAMES) {
        day_end_with("too many things to count");
    }
    if (i == books->name_count) {
        snprintf(books->names[books->name_count++], 96, "%.95s", what);
    }
    books->counts[i]++;
}

void books_outage(struct day *day, enum day_connection connection) {
    (void)connection;
    day->books->outage = day->now;
}

void books_resent(struct day *day) {
    day->books->resent = day->now;
}

static void wrong(struct day *day, const char *what, const char *data) {
    struct books *books = day->books;
    if (books->wrong[0] == '\0') {
        snprintf(books->wrong, sizeof books->wrong, "at %lld ms: %s: %.1900s", (long long)day->now,
                 what, data);
    }
}

// What may not happen here at all, and what an outage alone explains.
void books_fact(struct day *day, enum gate_fact_type type, const char *data) {
    bool explained = day->now - day->books->outage < EXPLAINS_MS;
    day->books->facts[type]++;
    switch (type) {
    case GATE_FACT_LOCKOUT_BROKEN:
    case GATE_FACT_STOP_CALLED:
        wrong(day, gate_fact_name(type), data);
        break;
    case GATE_FACT_WORK_STOPPED:
        if (strstr(data, "\"pause\":true") == NULL) {
            wrong(day, "work stopped, and nobody let it rest", data);
        }
        break;
    case GATE_FACT_ALARM_RAISED:
        books_count(day, strstr(data, "link-down") != NULL ? "alarms with a cause: link-down"
                                                           : "other alarms");
        if (strstr(data, "link-down") == NULL || !explained) {
            wrong(day, "an alarm without a cause", data);
        }
        break;
    case GATE_FACT_POINT_CHANGED:
        // Of the line people speak, and their words end with their time.
        if (strstr(data, "\"unknown\"") != NULL && strstr(data, "-line\"") == NULL && !explained &&
            day->now - day->books->resent >= EXPLAINS_MS) {
            wrong(day, "a point that is heard became unknown", data);
        }
        break;
    case GATE_FACT_CHECK_AGEING:
    case GATE_FACT_POINT_AGEING:
        crews_ageing(day, data);
        break;
    default:
        break;
    }
}

bool books_close(struct day *day) {
    const struct books *books = day->books;
    for (size_t i = 0; i < books->name_count; i++) {
        printf("%9llu  %s\n", (unsigned long long)books->counts[i], books->names[i]);
    }
    printf("facts:\n");
    for (int i = 0; i < GATE_FACT_COUNT; i++) {
        if (books->facts[i] > 0) {
            printf("%9llu  %s\n", (unsigned long long)books->facts[i],
                   gate_fact_name((enum gate_fact_type)i));
        }
    }
    if (books->wrong[0] != '\0') {
        printf("nuisance: WRONG: %s\n", books->wrong);
        return false;
    }
    if (books->facts[GATE_FACT_JOB_RETURNED] < LEAST_JOBS ||
        books->facts[GATE_FACT_REQUEST_REFUSED] > MOST_REFUSED) {
        printf("nuisance: WRONG: a crew is stuck\n");
        return false;
    }
    printf("nuisance: nothing stopped and no alarm was raised without a cause\n");
    return true;
}
