// The way through the documents of a site: each rendered, compared, given.
#include "wire/tell_differ_internal.h"

#include <string.h>

// --- One document ---

// Renders it into the differ's text. *hash: without what is no reason to give it again.
static bool render(const struct wire_way *way, const struct wire_stop *stop, uint64_t *hash) {
    struct json_out *out = &way->differ->out;
    bool whole = true;
    uint64_t point = 0;
    json_out_reset(out);
    switch (stop->of.kind) {
    case TELL_ALARM:
        whole = wire_alarm(out, way->gate, way->site, stop->alarm);
        break;
    case TELL_JOB:
        whole = wire_job(out, way->gate, way->site, stop->job, false, way->now);
        break;
    case TELL_POINT:
        whole = wire_point(out, way->gate, way->site, stop->of.index, way->now, &point);
        break;
    default:
        whole = wire_position(out, way->gate, way->site, stop->of.index);
    }
    whole = whole && !out->failed;
    *hash = stop->of.kind == TELL_POINT ? point : whole ? wire_hash(out->data, out->length) : 0;
    *hash = *hash > WIRE_LOST ? *hash : *hash + WIRE_LOST + 1;
    return whole;
}

static void note_hash(struct wire_way *way, const struct wire_stop *stop, uint64_t hash) {
    if (stop->rendered->hash != hash) {
        stop->rendered->hash = hash;
        way->changed = true;
        if (stop->streamed != NULL) {
            stop->streamed->text = wire_text_keep(way->differ);
        }
    }
}

static uint64_t *given_of(const struct wire_way *way, const struct wire_stop *stop) {
    return way->sink == TELL_BROKER ? &stop->rendered->broker : &stop->streamed->given;
}

// Rule (3, what is published): A document is given to a sink on change only. [differ-gives-all]
static bool is_wanted(const struct wire_way *way, const struct wire_stop *stop) {
    return way->by_version ? stop->streamed->version > way->since
                           : *given_of(way, stop) != stop->rendered->hash;
}

static void note_given(struct wire_way *way, const struct wire_stop *stop) {
    way->given = true;
    if (!way->by_version) {
        *given_of(way, stop) = stop->rendered->hash;
    }
    if (!way->by_version && way->sink == TELL_STREAMS) {
        stop->streamed->version = way->version;
    }
}

// Rule (3, what is published): What a sink did not take is given again.
// [differ-not-taken-forgotten]
static void give(struct wire_way *way, const struct wire_stop *stop, const char *text,
                 size_t length) {
    const struct wire_change change = {
        .of = stop->of, .hash = stop->rendered->hash, .text = text, .length = length};
    if (way->give == NULL || way->give(way->user, &change)) {
        note_given(way, stop);
    } else {
        way->left = true;
    }
}

// Rule (3, what is published): A document that memory did not suffice for is not given.
// [differ-half-given]
// Rule (3, what is published): A change is rendered once for both sinks. [differ-rendered-for-each]
static void visit(struct wire_way *way, const struct wire_stop *stop) {
    uint64_t hash;
    const char *text = NULL;
    const struct json_out *out = &way->differ->out;
    if (way->render) {
        // A document that memory did not suffice for is not given: a part missing would mislead.
        if (!render(way, stop, &hash)) {
            way->failed = true;
            return;
        }
        note_hash(way, stop, hash);
    }
    if (!is_wanted(way, stop)) {
        return;
    }
    if (!way->render && stop->streamed != NULL) {
        text = wire_text_at(way->differ, stop->streamed->text);
    }
    if (text != NULL) {
        give(way, stop, text, strlen(text));
    } else if (way->render || render(way, stop, &hash)) {
        give(way, stop, out->data, out->length);
    } else {
        way->failed = true;
    }
}

// --- All of a site ---

static struct wire_stop stop_listed(const struct wire_way *way, enum wire_kind kind,
                                    struct wire_listed *listed) {
    return (struct wire_stop){.of = {.kind = kind, .site = way->site, .id = listed->id},
                              .rendered = &listed->rendered,
                              .streamed = way->at->watched ? &listed->streamed : NULL};
}

// What is on the list and was not seen is no longer true.
// Rule (3, what is published): What is no longer there is given as gone. [differ-gone-unsaid]
static void visit_gone(struct wire_way *way, enum wire_kind kind, struct wire_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        struct wire_listed *listed = &list->items[i];
        struct wire_stop stop = stop_listed(way, kind, listed);
        if (way->render && !way->failed && !listed->seen && listed->rendered.hash != 0) {
            listed->rendered.hash = 0;
            way->changed = true;
        }
        listed->seen = false;
        if (listed->rendered.hash == 0 && is_wanted(way, &stop)) {
            give(way, &stop, NULL, 0);
        }
    }
}

static void visit_alarms(struct wire_way *way) {
    const struct gate_site *site = &way->gate->sites[way->site];
    struct wire_list *list = &way->at->alarms;
    for (size_t i = 0; i < site->alarm_count; i++) {
        struct wire_listed *listed = wire_list_add(list, i, site->alarms[i].alarm);
        if (listed == NULL) {
            way->failed = true;
            return;
        }
        struct wire_stop stop = stop_listed(way, TELL_ALARM, listed);
        stop.alarm = &site->alarms[i];
        listed->seen = true;
        visit(way, &stop);
    }
    visit_gone(way, TELL_ALARM, list);
}

// An ended job is rendered once: there may be a week of them, and they change no more.
// Rule (3, what is published): A job that has ended is rendered once. [differ-ended-rendered]
static void visit_job(struct wire_way *way, const struct gate_job *job,
                      struct wire_listed *listed) {
    struct wire_stop stop = stop_listed(way, TELL_JOB, listed);
    bool render_all = way->render;
    stop.job = job;
    way->render = way->render && !(listed->final && listed->rendered.hash != 0);
    visit(way, &stop);
    listed->final = render_all ? !gate_job_stands(job) && !way->failed : listed->final;
    way->render = render_all;
}

static void visit_jobs(struct wire_way *way) {
    const struct gate_site *site = &way->gate->sites[way->site];
    struct wire_list *list = &way->at->jobs;
    for (size_t i = 0, hint = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (!wire_job_is_kept(job, way->now)) {
            continue;
        }
        struct wire_listed *listed = wire_list_add(list, hint++, job->job);
        if (listed == NULL) {
            way->failed = true;
            return;
        }
        listed->seen = true;
        visit_job(way, job, listed);
    }
    visit_gone(way, TELL_JOB, list);
}

static void visit_equipment(struct wire_way *way) {
    const struct model_site *model = &way->differ->model->sites[way->site];
    struct wire_site *at = way->at;
    for (uint32_t i = 0; i < model->point_count; i++) {
        const struct wire_stop stop = {
            .of = {.kind = TELL_POINT, .site = way->site, .index = i, .id = model->points[i].point},
            .rendered = &at->points[i],
            .streamed = at->watched ? &at->streamed_points[i] : NULL};
        visit(way, &stop);
    }
    for (uint32_t i = 0; i < model->position_count; i++) {
        const struct wire_stop stop = {.of = {.kind = TELL_POSITION,
                                              .site = way->site,
                                              .index = i,
                                              .id = model->positions[i].position},
                                       .rendered = &at->positions[i],
                                       .streamed = at->watched ? &at->streamed_positions[i] : NULL};
        visit(way, &stop);
    }
}

void wire_way_visit_one(struct wire_way *way, struct wire_listed *listed,
                        const struct gate_alarm *alarm, const struct gate_job *job) {
    struct wire_stop stop = stop_listed(way, alarm != NULL ? TELL_ALARM : TELL_JOB, listed);
    stop.alarm = alarm;
    stop.job = job;
    visit(way, &stop);
}

// Rule (3, what is published): A site is rendered when its count says that it changed.
// [differ-always-fresh]
// Rule (3, what is published): A site without a change is not rendered. [differ-never-fresh]
// Rule (3, what is published): Another gate, whose counts may be the same, is rendered.
// [differ-another-gate-unseen]
bool wire_site_is_fresh(const struct wire_site *at, const struct gate *gate, uint32_t site) {
    return !at->stale && at->changes == gate->sites[site].changes &&
           at->journal_up == gate->journal_up;
}

bool wire_way_visit_all(struct wire_way *way) {
    struct wire_site *at = way->at;
    visit_alarms(way);
    visit_jobs(way);
    visit_equipment(way);
    at->pass += way->changed;
    if (way->render) {
        at->changes = way->gate->sites[way->site].changes;
        at->journal_up = way->gate->journal_up;
        at->stale = way->failed;
    }
    return !way->failed && !way->left;
}
