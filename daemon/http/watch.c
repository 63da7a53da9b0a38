// A site's documents, watched; see watch.h.
#include "http/watch.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

enum watched_kind { WATCHED_ALARM, WATCHED_JOB, WATCHED_POINT, WATCHED_POSITION };

// One document being looked at. text: where it is told; NULL: not at all.
struct look {
    struct http *http;
    struct http_watch *watch;
    struct http_state state;
    struct evbuffer *text;
    uint64_t since; // what changed in a version after this is told
    bool record;    // what differs is remembered, and becomes of this version:
    uint64_t version;
    bool told, failed;
};

static struct json_out *blank(struct look *look) {
    json_out_reset(&look->http->out);
    return &look->http->out;
}

static void tell(struct look *look, enum watched_kind kind, const char *id, bool gone) {
    static const char *const kinds[] = {"alarm", "job", "point", "position"};
    const struct json_out *out = &look->http->out;
    if (look->text == NULL) {
        return;
    }
    int put = evbuffer_add_printf(look->text,
                                  "event: document\ndata: {\"path\":\"%s/%s\",\"after\":%" PRIu64
                                  ",\"document\":",
                                  kinds[kind], id, look->state.next_seq - 1);
    int body = gone ? evbuffer_add(look->text, "null", 4)
                    : evbuffer_add(look->text, out->data, out->length);
    look->failed |= put < 0 || body != 0 || evbuffer_add(look->text, "}\n\n", 3) != 0;
    look->told = true;
}

// The document that stands in http->out, against what was told of it.
static void compare(struct look *look, struct http_watched *watched, enum watched_kind kind,
                    const char *id, uint64_t hash) {
    if (look->http->out.failed) {
        look->failed = true;
        return;
    }
    if (look->record && (watched->hash != hash || watched->gone)) {
        watched->hash = hash;
        watched->gone = false;
        watched->version = look->version;
    }
    if (watched->version > look->since) {
        tell(look, kind, id, false);
    }
}

static uint64_t hash_out(const struct look *look) {
    const struct json_out *out = &look->http->out;
    return out->failed ? 0 : tell_hash(out->data, out->length);
}

static struct http_watched *list_find(struct http_watched_list *list, const char *id) {
    for (size_t i = 0; i < list->count; i++) {
        if (strcmp(list->items[i].id, id) == 0) {
            return &list->items[i];
        }
    }
    return NULL;
}

// The entry of that id, made if there is none. NULL: no memory.
static struct http_watched *list_entry(struct http_watched_list *list, const char *id) {
    struct http_watched *found = list_find(list, id);
    if (found != NULL) {
        return found;
    }
    if (list->count == list->capacity) {
        size_t capacity = list->capacity == 0 ? 8 : list->capacity * 2;
        struct http_watched *grown = realloc(list->items, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        list->items = grown;
        list->capacity = capacity;
    }
    struct http_watched *entry = &list->items[list->count++];
    *entry = (struct http_watched){.gone = true};
    memcpy(entry->id, id, strnlen(id, sizeof entry->id - 1));
    return entry;
}

static void list_sweep(struct look *look, struct http_watched_list *list, enum watched_kind kind) {
    for (size_t i = 0; i < list->count; i++) {
        struct http_watched *watched = &list->items[i];
        if (look->record && !watched->seen && !watched->gone) {
            watched->gone = true;
            watched->version = look->version;
        }
        if (!watched->seen && watched->version > look->since) {
            tell(look, kind, watched->id, true);
        }
        watched->seen = false;
    }
}

static void look_at_alarms(struct look *look, uint32_t site) {
    const struct gate_site *at = &look->state.gate->sites[site];
    for (size_t i = 0; i < at->alarm_count; i++) {
        struct http_watched *watched = list_entry(&look->watch->alarms, at->alarms[i].alarm);
        if (watched == NULL) {
            look->failed = true;
            return;
        }
        watched->seen = true;
        look->failed |= !tell_alarm(blank(look), look->state.gate, site, &at->alarms[i]);
        compare(look, watched, WATCHED_ALARM, watched->id, hash_out(look));
    }
    list_sweep(look, &look->watch->alarms, WATCHED_ALARM);
}

static void look_at_jobs(struct look *look, uint32_t site) {
    const struct gate_site *at = &look->state.gate->sites[site];
    for (size_t i = 0; i < at->job_count; i++) {
        const struct gate_job *job = at->jobs[i];
        if (!http_job_is_kept(job, look->state.now)) {
            continue;
        }
        struct http_watched *watched = list_entry(&look->watch->jobs, job->job);
        if (watched == NULL) {
            look->failed = true;
            return;
        }
        watched->seen = true;
        look->failed |= !tell_job(blank(look), look->state.gate, site, job, false, look->state.now);
        compare(look, watched, WATCHED_JOB, watched->id, hash_out(look));
    }
    list_sweep(look, &look->watch->jobs, WATCHED_JOB);
}

static void look_at_equipment(struct look *look, const struct model_site *site) {
    for (uint32_t i = 0; i < site->point_count; i++) {
        uint64_t hash = 0;
        look->failed |=
            !tell_point(blank(look), look->state.gate, site->index, i, look->state.now, &hash);
        compare(look, &look->watch->points.items[i], WATCHED_POINT, site->points[i].point, hash);
    }
    for (uint32_t i = 0; i < site->position_count; i++) {
        look->failed |= !tell_position(blank(look), look->state.gate, site->index, i);
        compare(look, &look->watch->positions.items[i], WATCHED_POSITION,
                site->positions[i].position, hash_out(look));
    }
}

static void look_at_all(struct look *look) {
    look_at_alarms(look, look->watch->site->index);
    look_at_jobs(look, look->watch->site->index);
    look_at_equipment(look, look->watch->site);
}

bool http_watch_draw(struct http *http, struct http_watch *watch, struct evbuffer *text) {
    struct look look = {.http = http, .watch = watch, .state = http_state_now(http), .text = text};
    uint64_t changes = look.state.gate->sites[watch->site->index].changes;
    if (changes == watch->changes && look.state.journal_up == watch->journal_up && !watch->behind) {
        return false;
    }
    look.record = true;
    look.since = watch->version;
    look.version = watch->version + 1;
    look_at_all(&look);
    watch->changes = changes;
    watch->journal_up = look.state.journal_up;
    watch->behind = look.failed;
    watch->version += look.told;
    return look.told;
}

bool http_watch_draw_since(struct http *http, struct http_watch *watch, uint64_t version,
                           struct evbuffer *text) {
    struct look look = {.http = http,
                        .watch = watch,
                        .state = http_state_now(http),
                        .text = text,
                        .since = version};
    look_at_all(&look);
    return !look.failed;
}

static void list_forget(struct http_watched_list *list) {
    size_t kept = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (!list->items[i].gone) {
            list->items[kept++] = list->items[i];
        }
    }
    list->count = kept;
}

void http_watch_all_told(struct http_watch *watch) {
    list_forget(&watch->alarms);
    list_forget(&watch->jobs);
}

// --- Beginning and end ---

static void watch_free(struct http_watch *watch) {
    free(watch->positions.items);
    free(watch->points.items);
    free(watch->jobs.items);
    free(watch->alarms.items);
    free(watch);
}

static struct http_watch *watch_new(struct http *http, const struct model_site *site) {
    struct http_watch *watch = calloc(1, sizeof *watch);
    if (watch == NULL) {
        return NULL;
    }
    watch->site = site;
    watch->positions.items = calloc(site->position_count + 1, sizeof *watch->positions.items);
    watch->points.items = calloc(site->point_count + 1, sizeof *watch->points.items);
    if (watch->positions.items == NULL || watch->points.items == NULL) {
        watch_free(watch);
        return NULL;
    }
    // What is there now is told to nobody: who opens a stream asks for the site behind it. A
    // version of 0 is never told.
    struct look look = {
        .http = http, .watch = watch, .state = http_state_now(http), .record = true};
    look_at_all(&look);
    watch->changes = look.state.gate->sites[site->index].changes;
    watch->journal_up = look.state.journal_up;
    watch->behind = look.failed;
    return watch;
}

struct http_watch *http_watch_begin(struct http *http, const struct model_site *site) {
    struct http_watch *watch = http->watches;
    while (watch != NULL && watch->site != site) {
        watch = watch->next;
    }
    if (watch == NULL) {
        watch = watch_new(http, site);
        if (watch == NULL) {
            return NULL;
        }
        watch->next = http->watches;
        http->watches = watch;
    }
    watch->streams++;
    return watch;
}

void http_watch_end(struct http *http, struct http_watch *watch) {
    if (--watch->streams > 0) {
        return;
    }
    struct http_watch **at = &http->watches;
    while (*at != watch) {
        at = &(*at)->next;
    }
    *at = watch->next;
    watch_free(watch);
}

void http_watches_free(struct http *http) {
    while (http->watches != NULL) {
        struct http_watch *watch = http->watches;
        http->watches = watch->next;
        watch_free(watch);
    }
}
