// Notices; see notices.h.
#include "report/notices.h"

#include "model/feed.h"
#include "wire/tell_member.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// In the order of urgency.
enum notice_kind {
    NOTICE_CONTROLLER_OFFLINE,
    NOTICE_FEED_SILENT,
    NOTICE_POINT_SILENT,
    NOTICE_CALIBRATION_ENDED,
    NOTICE_CREDENTIAL_ENDED,
    NOTICE_CALIBRATION_ENDS,
    NOTICE_CREDENTIAL_ENDS,
};

static const char *const names[] = {
    [NOTICE_CONTROLLER_OFFLINE] = "controller-offline",
    [NOTICE_FEED_SILENT] = "feed-silent",
    [NOTICE_POINT_SILENT] = "point-silent",
    [NOTICE_CALIBRATION_ENDED] = "calibration-ended",
    [NOTICE_CREDENTIAL_ENDED] = "credential-ended",
    [NOTICE_CALIBRATION_ENDS] = "calibration-ends",
    [NOTICE_CREDENTIAL_ENDS] = "credential-ends",
};

// Texts are the model's.
struct notice {
    enum notice_kind notice;
    const char *subject;
    const char *title;
    const char *kind;  // a credential's or instrument's, or NULL
    const char *until; // its last day, or NULL
    int64_t order;     // Unix ms: of two of a kind the lesser goes first
};

struct notices {
    struct notice *items;
    size_t count, capacity;
    bool failed;
};

static void add(struct notices *list, struct notice notice) {
    if (list->count == list->capacity) {
        size_t capacity = list->capacity == 0 ? 16 : list->capacity * 2;
        struct notice *grown = realloc(list->items, capacity * sizeof *grown);
        if (grown == NULL) {
            list->failed = true;
            return;
        }
        list->items = grown;
        list->capacity = capacity;
    }
    list->items[list->count++] = notice;
}

// Adds what has ended or is about to.
static void add_ending(struct notices *list, struct notice notice, const struct model_until *until,
                       const struct model_site *site, int64_t now) {
    if (!until->set || until->end_ms[site->zone] > now + REPORT_NOTICE_AHEAD_MS) {
        return;
    }
    bool ended = until->end_ms[site->zone] <= now;
    bool paper = notice.notice == NOTICE_CREDENTIAL_ENDS;
    if (ended) {
        notice.notice = paper ? NOTICE_CREDENTIAL_ENDED : NOTICE_CALIBRATION_ENDED;
    }
    notice.until = until->day;
    notice.order = until->end_ms[site->zone];
    add(list, notice);
}

static void add_people(struct notices *list, const struct model *model,
                       const struct model_site *site, int64_t now) {
    for (size_t i = 0; i < model->person_count; i++) {
        const struct model_person *person = &model->people[i];
        for (size_t k = 0; k < person->credential_count && model_person_of_site(person, site);
             k++) {
            add_ending(list,
                       (struct notice){.notice = NOTICE_CREDENTIAL_ENDS,
                                       .subject = person->person,
                                       .title = person->title,
                                       .kind = person->credentials[k].credential},
                       &person->credentials[k].until, site, now);
        }
    }
}

static void add_instruments(struct notices *list, const struct model *model,
                            const struct model_site *site, int64_t now) {
    for (size_t i = 0; i < model->instrument_count; i++) {
        const struct model_instrument *instrument = &model->instruments[i];
        add_ending(list,
                   (struct notice){.notice = NOTICE_CALIBRATION_ENDS,
                                   .subject = instrument->instrument,
                                   .title = instrument->instrument,
                                   .kind = instrument->kind},
                   &instrument->calibrated_until, site, now);
    }
}

static void add_hardware(struct notices *list, const struct gate *gate, const struct gate_site *at,
                         struct gate_time now) {
    const struct model_site *site = at->model;
    for (uint32_t i = 0; i < site->controller_count; i++) {
        if (at->controllers[i] != GATE_CONTROLLER_ONLINE) {
            add(list, (struct notice){.notice = NOTICE_CONTROLLER_OFFLINE,
                                      .subject = site->controllers[i],
                                      .title = site->controllers[i]});
        }
    }
    for (uint32_t i = 0; i < site->point_count; i++) {
        int64_t heard = gate_point_heard(gate, at, i, now);
        if (site->points[i].sensor_count > 0 && now.wall - heard > REPORT_NOTICE_SILENT_MS) {
            add(list, (struct notice){.notice = NOTICE_POINT_SILENT,
                                      .subject = site->points[i].point,
                                      .title = site->points[i].title,
                                      .order = heard});
        }
    }
}

static void add_feeds(struct notices *list, const struct model *model, uint32_t site,
                      const int64_t *heard, struct gate_time now) {
    for (size_t i = 0; heard != NULL && i < model->feed_count; i++) {
        int64_t last = heard[i * model->site_count + site];
        if (last >= 0 && now.mono - last > REPORT_NOTICE_SILENT_MS) {
            add(list, (struct notice){.notice = NOTICE_FEED_SILENT,
                                      .subject = model->feeds[i].feed,
                                      .title = model->feeds[i].feed,
                                      .order = last});
        }
    }
}

static int compare(const void *a, const void *b) {
    const struct notice *x = a, *y = b;
    if (x->notice != y->notice) {
        return x->notice < y->notice ? -1 : 1;
    }
    if (x->order != y->order) {
        return x->order < y->order ? -1 : 1;
    }
    int by_subject = strcmp(x->subject, y->subject);
    return by_subject != 0 || x->kind == NULL ? by_subject : strcmp(x->kind, y->kind);
}

static void say(const struct notice *notice, char *text, size_t size) {
    switch (notice->notice) {
    case NOTICE_CONTROLLER_OFFLINE:
        snprintf(text, size, "The controller %s is offline: what it carries is not known.",
                 notice->title);
        return;
    case NOTICE_FEED_SILENT:
        snprintf(text, size, "The feed %s has brought no reading for over 5 minutes.",
                 notice->title);
        return;
    case NOTICE_POINT_SILENT:
        snprintf(text, size,
                 notice->order == 0 ? "%s was never heard."
                                    : "%s has not been heard for over 5 minutes.",
                 notice->title);
        return;
    case NOTICE_CALIBRATION_ENDED:
        snprintf(text, size, "The calibration of %s (%s) ended: its last day was %s.",
                 notice->title, notice->kind, notice->until);
        return;
    case NOTICE_CREDENTIAL_ENDED:
        snprintf(text, size, "The credential %s of %s ended: its last day was %s.", notice->kind,
                 notice->title, notice->until);
        return;
    case NOTICE_CALIBRATION_ENDS:
        snprintf(text, size, "The calibration of %s (%s) ends: its last day is %s.", notice->title,
                 notice->kind, notice->until);
        return;
    case NOTICE_CREDENTIAL_ENDS:
        snprintf(text, size, "The credential %s of %s ends: its last day is %s.", notice->kind,
                 notice->title, notice->until);
    }
}

static void write_one(struct json_out *out, const struct notice *notice) {
    char text[400];
    say(notice, text, sizeof text);
    json_out_object(out);
    wire_text(out, "notice", names[notice->notice]);
    wire_text(out, "subject", notice->subject);
    if (notice->kind != NULL) {
        wire_text(out, "kind", notice->kind);
    }
    if (notice->until != NULL) {
        wire_text(out, "until", notice->until);
    }
    wire_text(out, "say", text);
    json_out_object_end(out);
}

bool report_notices_write(struct json_out *out, const struct gate *gate, uint32_t site,
                          const int64_t *feed_heard, struct gate_time now) {
    const struct gate_site *at = &gate->sites[site];
    struct notices list = {0};
    add_hardware(&list, gate, at, now);
    add_feeds(&list, gate->model, site, feed_heard, now);
    add_instruments(&list, gate->model, at->model, now.wall);
    add_people(&list, gate->model, at->model, now.wall);
    if (list.count > 1) {
        qsort(list.items, list.count, sizeof *list.items, compare);
    }
    json_out_array(out);
    for (size_t i = 0; i < list.count; i++) {
        write_one(out, &list.items[i]);
    }
    json_out_array_end(out);
    free(list.items);
    return !list.failed;
}
