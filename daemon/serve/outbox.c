// Documents: drawn up when a flight takes off, told when it has landed, on change only.
//
// A hash of what was drawn up last stands beside every object. A document is told only if that hash
// is still its own: what was told at once meanwhile (a break) is newer.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

// Drawn up at once at most; the rest when these are told.
#define DRAWN_MAX ((size_t)4 << 20)

static const char *const kind_names[] = {"alarm", "job", "point", "position"};

bool daemon_sites_new(struct daemon *daemon) {
    daemon->sites = calloc(daemon->model->site_count + 1, sizeof *daemon->sites);
    if (daemon->sites == NULL) {
        return false;
    }
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        const struct model_site *site = &daemon->model->sites[s];
        daemon->sites[s].positions = calloc(site->position_count + 1, sizeof(uint64_t));
        daemon->sites[s].points = calloc(site->point_count + 1, sizeof(uint64_t));
        daemon->sites[s].dirty = true;
        if (daemon->sites[s].positions == NULL || daemon->sites[s].points == NULL) {
            return false;
        }
    }
    return true;
}

void daemon_sites_free(struct daemon *daemon) {
    for (size_t s = 0; daemon->sites != NULL && s < daemon->model->site_count; s++) {
        free(daemon->sites[s].positions);
        free(daemon->sites[s].points);
        free(daemon->sites[s].jobs);
        free(daemon->sites[s].alarms);
    }
    free(daemon->sites);
    daemon->sites = NULL;
    free(daemon->outbox.items);
    json_out_free(&daemon->outbox.text);
}

bool daemon_send(struct daemon *daemon, const char *topic, const char *payload, size_t length,
                 bool urgent) {
    const struct mqtt_publication publication = {.topic = topic,
                                                 .payload = payload,
                                                 .length = length,
                                                 .qos = 1,
                                                 .retain = true,
                                                 .urgent = urgent,
                                                 .content_type =
                                                     length > 0 ? "application/json" : NULL};
    return daemon->mqtt != NULL && mqtt_publish(daemon->mqtt, &publication);
}

static void topic_of(const struct daemon *daemon, const struct model_site *site,
                     enum daemon_kind kind, const char *id, char *topic, size_t size) {
    snprintf(topic, size, "%s/%s/%s/%s", daemon->model->root, site->site, kind_names[kind], id);
}

// --- The hashes ---

static struct daemon_published *listed(struct daemon_published *list, size_t count,
                                       const char *id) {
    // The last ones are those that change.
    for (size_t i = count; i-- > 0;) {
        if (strcmp(list[i].id, id) == 0) {
            return &list[i];
        }
    }
    return NULL;
}

static struct daemon_published *list_add(struct daemon_published **list, size_t *count,
                                         const char *id) {
    struct daemon_published *entry = listed(*list, *count, id);
    if (entry != NULL) {
        return entry;
    }
    struct daemon_published *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    *list = grown;
    entry = &grown[(*count)++];
    memset(entry, 0, sizeof *entry);
    snprintf(entry->id, sizeof entry->id, "%s", id);
    return entry;
}

// Where the hash of an outgoing document stands now; NULL: its object is gone from the list.
static uint64_t *hash_at(struct daemon *daemon, const struct daemon_outgoing *outgoing) {
    struct daemon_site *told = &daemon->sites[outgoing->site];
    struct daemon_published *entry = NULL;
    switch (outgoing->kind) {
    case DAEMON_POINT:
        return &told->points[outgoing->index];
    case DAEMON_POSITION:
        return &told->positions[outgoing->index];
    case DAEMON_JOB:
        entry = listed(told->jobs, told->job_count, outgoing->id);
        break;
    case DAEMON_ALARM:
        entry = listed(told->alarms, told->alarm_count, outgoing->id);
        break;
    }
    return entry != NULL ? &entry->hash : NULL;
}

// --- Drawing up ---

static struct daemon_outgoing *outgoing_new(struct daemon_outbox *outbox) {
    if (outbox->count == outbox->capacity) {
        size_t capacity = outbox->capacity == 0 ? 64 : outbox->capacity * 2;
        struct daemon_outgoing *grown = realloc(outbox->items, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        outbox->items = grown;
        outbox->capacity = capacity;
    }
    return &outbox->items[outbox->count];
}

// Adds the document in daemon->out, unless it was drawn up before. False: no memory.
static bool draw(struct daemon *daemon, struct daemon_outgoing document, uint64_t *told) {
    struct daemon_outbox *outbox = &daemon->outbox;
    if (daemon->out.failed || document.hash == *told) {
        return !daemon->out.failed;
    }
    struct daemon_outgoing *outgoing = outgoing_new(outbox);
    document.payload = outbox->text.length;
    document.length = daemon->out.length;
    outbox->text.comma = false;
    json_out_raw(&outbox->text, daemon->out.data, daemon->out.length);
    if (outgoing == NULL || outbox->text.failed) {
        return false;
    }
    *outgoing = document;
    outbox->count++;
    *told = document.hash;
    return true;
}

// A document that memory did not suffice for is not told: one with a part missing would mislead.
static void whole(struct daemon *daemon, bool drawn) {
    daemon->out.failed |= !drawn;
}

static uint64_t hash_out(const struct daemon *daemon) {
    return daemon->out.failed ? 0 : tell_hash(daemon->out.data, daemon->out.length);
}

static bool draw_points(struct daemon *daemon, const struct model_site *site) {
    struct daemon_outgoing document = {.kind = DAEMON_POINT, .site = site->index};
    bool all = true;
    for (uint32_t p = 0; p < site->point_count; p++) {
        json_out_reset(&daemon->out);
        whole(daemon, tell_point(&daemon->out, daemon->gate, site->index, p, daemon_now(daemon),
                                 &document.hash));
        document.index = p;
        all &= draw(daemon, document, &daemon->sites[site->index].points[p]);
    }
    return all;
}

static bool draw_positions(struct daemon *daemon, const struct model_site *site) {
    struct daemon_outgoing document = {.kind = DAEMON_POSITION, .site = site->index};
    bool all = true;
    for (uint32_t p = 0; p < site->position_count; p++) {
        json_out_reset(&daemon->out);
        whole(daemon, tell_position(&daemon->out, daemon->gate, site->index, p));
        document.index = p;
        document.hash = hash_out(daemon);
        all &= draw(daemon, document, &daemon->sites[site->index].positions[p]);
    }
    return all;
}

static bool draw_listed(struct daemon *daemon, const struct model_site *site, enum daemon_kind kind,
                        const char *id, struct daemon_published *entry) {
    struct daemon_outgoing document = {.kind = kind, .site = site->index, .hash = hash_out(daemon)};
    if (entry == NULL) {
        return false;
    }
    entry->seen = true;
    snprintf(document.id, sizeof document.id, "%s", id);
    return draw(daemon, document, &entry->hash);
}

// What is on the list and was not seen is no longer true: its topic is to be emptied.
static bool draw_empty(struct daemon *daemon, const struct model_site *site, enum daemon_kind kind,
                       struct daemon_published *list, size_t *count) {
    for (size_t i = *count; i-- > 0;) {
        bool seen = list[i].seen;
        list[i].seen = false;
        if (seen) {
            continue;
        }
        struct daemon_outgoing *outgoing = outgoing_new(&daemon->outbox);
        if (outgoing == NULL) {
            return false;
        }
        *outgoing = (struct daemon_outgoing){.kind = kind, .site = site->index};
        snprintf(outgoing->id, sizeof outgoing->id, "%s", list[i].id);
        daemon->outbox.count++;
        list[i] = list[--*count];
    }
    return true;
}

static bool is_kept(const struct gate_job *job, struct gate_time now) {
    return gate_job_stands(job) || now.line - job->ended.line <= GATE_KEEP_ENDED_MS;
}

// An ended job is drawn up once: there may be a week of them, and they change no more.
static bool draw_job(struct daemon *daemon, const struct model_site *site,
                     const struct gate_job *job, struct daemon_published *entry) {
    if (entry != NULL && entry->final && entry->hash != 0) {
        entry->seen = true;
        return true;
    }
    json_out_reset(&daemon->out);
    whole(daemon,
          tell_job(&daemon->out, daemon->gate, site->index, job, false, daemon_now(daemon)));
    bool drawn = draw_listed(daemon, site, DAEMON_JOB, job->job, entry);
    if (entry != NULL) {
        entry->final = drawn && !gate_job_stands(job);
    }
    return drawn;
}

static bool draw_jobs(struct daemon *daemon, const struct model_site *site) {
    const struct gate_site *state = &daemon->gate->sites[site->index];
    struct daemon_site *told = &daemon->sites[site->index];
    struct gate_time now = daemon_now(daemon);
    bool all = true;
    for (size_t i = 0; i < state->job_count; i++) {
        const struct gate_job *job = state->jobs[i];
        if (is_kept(job, now)) {
            all &= draw_job(daemon, site, job, list_add(&told->jobs, &told->job_count, job->job));
        }
    }
    return draw_empty(daemon, site, DAEMON_JOB, told->jobs, &told->job_count) && all;
}

static bool draw_alarms(struct daemon *daemon, const struct model_site *site) {
    const struct gate_site *state = &daemon->gate->sites[site->index];
    struct daemon_site *told = &daemon->sites[site->index];
    bool all = true;
    for (size_t i = 0; i < state->alarm_count; i++) {
        const struct gate_alarm *alarm = &state->alarms[i];
        json_out_reset(&daemon->out);
        whole(daemon, tell_alarm(&daemon->out, daemon->gate, site->index, alarm));
        all &= draw_listed(daemon, site, DAEMON_ALARM, alarm->alarm,
                           list_add(&told->alarms, &told->alarm_count, alarm->alarm));
    }
    return draw_empty(daemon, site, DAEMON_ALARM, told->alarms, &told->alarm_count) && all;
}

static void draw_site(struct daemon *daemon, const struct model_site *site) {
    struct daemon_site *told = &daemon->sites[site->index];
    uint64_t changes = daemon->gate->sites[site->index].changes;
    if (!told->dirty && told->changes == changes) {
        return;
    }
    bool alarms = draw_alarms(daemon, site);
    bool jobs = draw_jobs(daemon, site);
    bool points = draw_points(daemon, site);
    bool positions = draw_positions(daemon, site);
    told->dirty = !(alarms && jobs && points && positions);
    told->changes = changes;
}

void daemon_draw(struct daemon *daemon) {
    if (daemon->mqtt == NULL || !mqtt_up(daemon->mqtt, MQTT_LIVE)) {
        return; // everything is told anew when it is up
    }
    size_t room = mqtt_room(daemon->mqtt);
    size_t most = room < DRAWN_MAX ? room : DRAWN_MAX;
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        if (daemon->outbox.text.length >= most) {
            return;
        }
        draw_site(daemon, &daemon->model->sites[s]);
    }
}

bool daemon_all_told(const struct daemon *daemon) {
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        if (daemon->sites[s].dirty || daemon->sites[s].changes != daemon->gate->sites[s].changes) {
            return false;
        }
    }
    return daemon->outbox.count == 0;
}

bool daemon_told_anew(const struct daemon *daemon) {
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        if (daemon->sites[s].dirty) {
            return false;
        }
    }
    return daemon->outbox.count == 0;
}

// --- Telling ---

static const char *id_of(const struct model_site *site, const struct daemon_outgoing *outgoing) {
    return outgoing->kind == DAEMON_POINT      ? site->points[outgoing->index].point
           : outgoing->kind == DAEMON_POSITION ? site->positions[outgoing->index].position
                                               : outgoing->id;
}

static void release_one(struct daemon *daemon, const struct daemon_outgoing *outgoing) {
    const struct model_site *site = &daemon->model->sites[outgoing->site];
    uint64_t *told = hash_at(daemon, outgoing);
    bool newer = outgoing->hash != 0 ? told == NULL || *told != outgoing->hash : told != NULL;
    char topic[512];
    if (newer) {
        return;
    }
    topic_of(daemon, site, outgoing->kind, id_of(site, outgoing), topic, sizeof topic);
    const char *payload = outgoing->hash != 0 ? daemon->outbox.text.data + outgoing->payload : NULL;
    if (daemon_send(daemon, topic, payload, outgoing->hash != 0 ? outgoing->length : 0, false)) {
        return;
    }
    daemon->sites[outgoing->site].dirty = true; // the link went, or there was no room
    if (told != NULL) {
        *told = 0;
    }
}

void daemon_release(struct daemon *daemon) {
    for (size_t i = 0; i < daemon->outbox.count; i++) {
        release_one(daemon, &daemon->outbox.items[i]);
    }
    daemon->outbox.count = 0;
    json_out_reset(&daemon->outbox.text);
}

static void tell_urgent(struct daemon *daemon, const struct model_site *site, enum daemon_kind kind,
                        const char *id, struct daemon_published *entry) {
    uint64_t hash = hash_out(daemon);
    char topic[512];
    topic_of(daemon, site, kind, id, topic, sizeof topic);
    if (entry == NULL || daemon->out.failed || entry->hash == hash) {
        return;
    }
    if (daemon_send(daemon, topic, daemon->out.data, daemon->out.length, true)) {
        entry->hash = hash;
    }
}

void daemon_tell_now(struct daemon *daemon, const struct gate_site *site,
                     const struct gate_alarm *alarm, const struct gate_job *job) {
    struct daemon_site *told = &daemon->sites[site->model->index];
    json_out_reset(&daemon->out);
    if (alarm != NULL) {
        whole(daemon, tell_alarm(&daemon->out, daemon->gate, site->model->index, alarm));
        tell_urgent(daemon, site->model, DAEMON_ALARM, alarm->alarm,
                    list_add(&told->alarms, &told->alarm_count, alarm->alarm));
    }
    json_out_reset(&daemon->out);
    if (job != NULL) {
        whole(daemon, tell_job(&daemon->out, daemon->gate, site->model->index, job, false,
                               daemon_now(daemon)));
        tell_urgent(daemon, site->model, DAEMON_JOB, job->job,
                    list_add(&told->jobs, &told->job_count, job->job));
    }
}

void daemon_publish_anew(struct daemon *daemon) {
    daemon->outbox.count = 0;
    json_out_reset(&daemon->outbox.text);
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        const struct model_site *site = &daemon->model->sites[s];
        struct daemon_site *told = &daemon->sites[s];
        memset(told->positions, 0, site->position_count * sizeof *told->positions);
        memset(told->points, 0, site->point_count * sizeof *told->points);
        for (size_t i = 0; i < told->job_count; i++) {
            told->jobs[i].hash = 0;
        }
        for (size_t i = 0; i < told->alarm_count; i++) {
            told->alarms[i].hash = 0;
        }
        told->dirty = true;
    }
    daemon->all_told = false;
    daemon->telling_anew = true;
}
