// The differ of documents; see wire_differ.h.
#include "wire/tell_differ.h"

#include "wire/tell_differ_internal.h"

#include <stdlib.h>

const char *wire_kind_name(enum wire_kind kind) {
    static const char *const names[TELL_KIND_COUNT] = {
        [TELL_ALARM] = "alarm",
        [TELL_JOB] = "job",
        [TELL_POINT] = "point",
        [TELL_POSITION] = "position",
    };
    return names[kind];
}

static struct wire_way way_to(struct wire_differ *differ, enum wire_sink sink,
                              const struct gate *gate, uint32_t site, struct gate_time now) {
    return (struct wire_way){.differ = differ,
                             .at = &differ->sites[site],
                             .gate = gate,
                             .site = site,
                             .now = now,
                             .sink = sink};
}

// Rule (3, what is published): A stream that is behind is given what changed since its version.
// [differ-version-stands-still]
bool wire_differ_give(struct wire_differ *differ, enum wire_sink sink, const struct gate *gate,
                      uint32_t site, struct gate_time now, wire_give *give_to, void *user) {
    struct wire_way way = way_to(differ, sink, gate, site, now);
    struct wire_site *at = way.at;
    way.render = !wire_site_is_fresh(at, gate, site);
    if (!way.render && at->sinks[sink].pass == at->pass && !at->sinks[sink].left) {
        return true;
    }
    way.give = give_to;
    way.user = user;
    way.version = at->version + 1;
    at->sinks[sink].left = !wire_way_visit_all(&way);
    at->sinks[sink].pass = at->pass;
    at->version += way.given && sink == TELL_STREAMS;
    wire_list_tidy(&at->alarms, at->watched);
    wire_list_tidy(&at->jobs, at->watched);
    return !at->sinks[sink].left;
}

bool wire_differ_give_one(struct wire_differ *differ, enum wire_sink sink, const struct gate *gate,
                          uint32_t site, const struct gate_alarm *alarm, const struct gate_job *job,
                          struct gate_time now, wire_give *give_to, void *user) {
    struct wire_way way = way_to(differ, sink, gate, site, now);
    struct wire_site *at = way.at;
    struct wire_list *list = alarm != NULL ? &at->alarms : &at->jobs;
    struct wire_listed *listed =
        wire_list_add(list, list->count, alarm != NULL ? alarm->alarm : job->job);
    way.render = true;
    way.give = give_to;
    way.user = user;
    if (listed == NULL) {
        return false;
    }
    wire_way_visit_one(&way, listed, alarm, job);
    at->pass += way.changed;
    at->sinks[sink].left |= way.left || way.failed;
    return !way.left && !way.failed;
}

void wire_differ_settle(struct wire_differ *differ) {
    struct wire_texts swap = differ->older;
    if (differ->kept.text.length == 0 && swap.text.length == 0) {
        return;
    }
    differ->older = differ->kept;
    differ->kept = swap;
    differ->kept.first = differ->older.first + differ->older.text.length;
    json_out_reset(&differ->kept.text);
}

// --- What a sink has ---

bool wire_differ_is_current(const struct wire_differ *differ, enum wire_sink sink,
                            const struct gate *gate, uint32_t site) {
    const struct wire_site *at = &differ->sites[site];
    return wire_site_is_fresh(at, gate, site) && at->sinks[sink].pass == at->pass &&
           !at->sinks[sink].left;
}

bool wire_differ_is_complete(const struct wire_differ *differ, enum wire_sink sink, uint32_t site) {
    return !differ->sites[site].sinks[sink].left;
}

static struct wire_rendered *rendered_of(const struct wire_differ *differ,
                                         const struct wire_document *of) {
    const struct wire_site *at = &differ->sites[of->site];
    struct wire_listed *listed = NULL;
    switch (of->kind) {
    case TELL_POINT:
        return &at->points[of->index];
    case TELL_POSITION:
        return &at->positions[of->index];
    case TELL_JOB:
        listed = wire_list_find(&at->jobs, of->id);
        break;
    default:
        listed = wire_list_find(&at->alarms, of->id);
    }
    return listed != NULL ? &listed->rendered : NULL;
}

uint64_t wire_differ_given(const struct wire_differ *differ, const struct wire_document *of) {
    const struct wire_rendered *rendered = rendered_of(differ, of);
    return rendered != NULL ? rendered->broker : 0;
}

// Rule (3, what is published): What the broker may have lost is given again. [differ-loss-unnoted]
void wire_differ_lost(struct wire_differ *differ, const struct wire_document *of) {
    struct wire_rendered *rendered = rendered_of(differ, of);
    differ->sites[of->site].sinks[TELL_BROKER].left = true;
    if (rendered != NULL) {
        rendered->broker = WIRE_LOST;
    }
}

static void list_lost(struct wire_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        list->items[i].rendered.broker = WIRE_LOST;
    }
}

void wire_differ_lost_all(struct wire_differ *differ) {
    for (size_t s = 0; s < differ->model->site_count; s++) {
        const struct model_site *model = &differ->model->sites[s];
        struct wire_site *at = &differ->sites[s];
        for (size_t i = 0; i < model->point_count; i++) {
            at->points[i].broker = WIRE_LOST;
        }
        for (size_t i = 0; i < model->position_count; i++) {
            at->positions[i].broker = WIRE_LOST;
        }
        list_lost(&at->jobs);
        list_lost(&at->alarms);
        at->sinks[TELL_BROKER].left = true;
    }
}

void wire_differ_reset(struct wire_differ *differ) {
    for (size_t s = 0; s < differ->model->site_count; s++) {
        differ->sites[s].stale = true;
    }
}

// --- Streams ---

static void drop_streams(struct wire_site *at) {
    free(at->streamed_points);
    free(at->streamed_positions);
    at->streamed_points = at->streamed_positions = NULL;
    at->watched = false;
}

bool wire_differ_watch(struct wire_differ *differ, const struct gate *gate, uint32_t site,
                       struct gate_time now) {
    const struct model_site *model = &differ->model->sites[site];
    struct wire_way way = way_to(differ, TELL_STREAMS, gate, site, now);
    struct wire_site *at = way.at;
    at->streamed_points = calloc(model->point_count + 1, sizeof *at->streamed_points);
    at->streamed_positions = calloc(model->position_count + 1, sizeof *at->streamed_positions);
    if (at->streamed_points == NULL || at->streamed_positions == NULL) {
        drop_streams(at);
        return false;
    }
    at->watched = true;
    at->version = 0;
    way.render = !wire_site_is_fresh(at, gate, site);
    at->sinks[TELL_STREAMS].left = !wire_way_visit_all(&way);
    at->sinks[TELL_STREAMS].pass = at->pass;
    return true;
}

void wire_differ_unwatch(struct wire_differ *differ, uint32_t site) {
    struct wire_site *at = &differ->sites[site];
    drop_streams(at);
    wire_list_unstream(&at->alarms);
    wire_list_unstream(&at->jobs);
    wire_list_tidy(&at->alarms, false);
    wire_list_tidy(&at->jobs, false);
}

uint64_t wire_differ_version(const struct wire_differ *differ, uint32_t site) {
    return differ->sites[site].version;
}

bool wire_differ_give_since(struct wire_differ *differ, const struct gate *gate, uint32_t site,
                            uint64_t version, struct gate_time now, wire_give *give_to,
                            void *user) {
    struct wire_way way = way_to(differ, TELL_STREAMS, gate, site, now);
    way.by_version = true;
    way.since = version;
    way.give = give_to;
    way.user = user;
    return wire_way_visit_all(&way);
}

void wire_differ_all_know(struct wire_differ *differ, uint32_t site) {
    struct wire_site *at = &differ->sites[site];
    wire_list_tidy(&at->alarms, false);
    wire_list_tidy(&at->jobs, false);
}

// --- Beginning and end ---

void wire_differ_free(struct wire_differ *differ) {
    if (differ == NULL) {
        return;
    }
    for (size_t s = 0; differ->sites != NULL && s < differ->model->site_count; s++) {
        struct wire_site *at = &differ->sites[s];
        drop_streams(at);
        free(at->points);
        free(at->positions);
        free(at->jobs.items);
        free(at->alarms.items);
    }
    free(differ->sites);
    json_out_free(&differ->out);
    json_out_free(&differ->kept.text);
    json_out_free(&differ->older.text);
    free(differ);
}

struct wire_differ *wire_differ_new(const struct model *model) {
    struct wire_differ *differ = calloc(1, sizeof *differ);
    if (differ == NULL) {
        return NULL;
    }
    differ->model = model;
    differ->kept.first = 1; // a place of 0 is none
    differ->sites = calloc(model->site_count + 1, sizeof *differ->sites);
    bool whole = differ->sites != NULL;
    for (size_t s = 0; whole && s < model->site_count; s++) {
        struct wire_site *at = &differ->sites[s];
        at->points = calloc(model->sites[s].point_count + 1, sizeof *at->points);
        at->positions = calloc(model->sites[s].position_count + 1, sizeof *at->positions);
        at->stale = at->sinks[TELL_BROKER].left = true;
        whole = at->points != NULL && at->positions != NULL;
    }
    if (!whole) {
        wire_differ_free(differ);
        return NULL;
    }
    return differ;
}
