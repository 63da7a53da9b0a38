// Documents: rendered up when a flight takes off, published when it has landed, on change only.
//
// A hash of what was rendered up last stands beside every object. A document is published only if
// that hash is still its own: what was published at once meanwhile (a break) is newer.
#include "turn/internal.h"

#include "base/array.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// Drawn up at once at most; the rest when these are published.
#define RENDERED_MAX ((size_t)4 << 20)

enum kind { KIND_ALARM, KIND_JOB, KIND_POINT, KIND_POSITION };
static const char *const kind_names[] = {"alarm", "job", "point", "position"};

// A document rendered and not yet published. It is, only if nothing newer of it was meanwhile.
struct rendered {
    enum kind kind;
    uint32_t site;
    uint32_t index;         // of a point or position
    char id[MODEL_ID_SIZE]; // of an alarm or job
    uint64_t hash;          // 0: the topic is to be emptied
    size_t payload, length; // in turn_documents.text
};

// What was last published of a job or alarm.
struct published {
    char id[MODEL_ID_SIZE];
    uint64_t hash; // 0: nothing, or it must be published anew
    bool seen;
    bool final; // of a job that has ended
};

struct site {
    uint64_t *positions, *points; // hashes
    struct published *jobs, *alarms;
    size_t job_count, alarm_count;
    uint64_t changes; // the gate's count when all was rendered
    bool dirty;
};

struct turn_documents {
    struct site *sites; // as in the model
    struct json_out text;
    struct rendered *items;
    size_t count, capacity;
};

static void documents_free(struct turn_documents *documents, size_t site_count) {
    for (size_t s = 0; documents->sites != NULL && s < site_count; s++) {
        free(documents->sites[s].positions);
        free(documents->sites[s].points);
        free(documents->sites[s].jobs);
        free(documents->sites[s].alarms);
    }
    free(documents->sites);
    free(documents->items);
    json_out_free(&documents->text);
    free(documents);
}

void turn_documents_free(struct turn_documents *documents, const struct model *model) {
    if (documents != NULL) {
        documents_free(documents, model->site_count);
    }
}

struct turn_documents *turn_documents_new(const struct model *model) {
    struct turn_documents *documents = calloc(1, sizeof *documents);
    if (documents == NULL) {
        return NULL;
    }
    documents->sites = calloc(model->site_count + 1, sizeof *documents->sites);
    for (size_t s = 0; documents->sites != NULL && s < model->site_count; s++) {
        const struct model_site *site = &model->sites[s];
        struct site *published = &documents->sites[s];
        published->positions = calloc(site->position_count + 1, sizeof(uint64_t));
        published->points = calloc(site->point_count + 1, sizeof(uint64_t));
        published->dirty = true;
        if (published->positions == NULL || published->points == NULL) {
            documents_free(documents, model->site_count);
            return NULL;
        }
    }
    if (documents->sites == NULL) {
        free(documents);
        return NULL;
    }
    return documents;
}

static void topic_of(const struct turn *turn, const struct model_site *site, enum kind kind,
                     const char *id, char *topic, size_t size) {
    snprintf(topic, size, "%s/%s/%s/%s", turn->model->root, site->site, kind_names[kind], id);
}

// --- The hashes ---

static struct published *listed(struct published *list, size_t count, const char *id) {
    // The last ones are those that change.
    for (size_t i = count; i-- > 0;) {
        if (strcmp(list[i].id, id) == 0) {
            return &list[i];
        }
    }
    return NULL;
}

static struct published *list_add(struct published **list, size_t *count, const char *id) {
    struct published *entry = listed(*list, *count, id);
    if (entry != NULL) {
        return entry;
    }
    struct published *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    *list = grown;
    entry = &grown[(*count)++];
    memset(entry, 0, sizeof *entry);
    snprintf(entry->id, sizeof entry->id, "%s", id);
    return entry;
}

// Where the hash of an item document stands now; NULL: its object is gone from the list.
static uint64_t *hash_at(struct turn *turn, const struct rendered *item) {
    struct site *published = &turn->documents->sites[item->site];
    struct published *entry = NULL;
    switch (item->kind) {
    case KIND_POINT:
        return &published->points[item->index];
    case KIND_POSITION:
        return &published->positions[item->index];
    case KIND_JOB:
        entry = listed(published->jobs, published->job_count, item->id);
        break;
    case KIND_ALARM:
        entry = listed(published->alarms, published->alarm_count, item->id);
        break;
    }
    return entry != NULL ? &entry->hash : NULL;
}

// --- Drawing up ---

static struct rendered *item_new(struct turn_documents *documents) {
    return BASE_ARRAY_ROOM(documents->items, documents->count, documents->capacity)
               ? &documents->items[documents->count]
               : NULL;
}

// Adds the document in turn->out, unless it was rendered up before. False: no memory.
static bool render(struct turn *turn, struct rendered document, uint64_t *published) {
    struct turn_documents *documents = turn->documents;
    if (turn->out.failed || document.hash == *published) {
        return !turn->out.failed;
    }
    struct rendered *item = item_new(documents);
    document.payload = documents->text.length;
    document.length = turn->out.length;
    documents->text.comma = false;
    json_out_raw(&documents->text, turn->out.data, turn->out.length);
    if (item == NULL || documents->text.failed) {
        return false;
    }
    *item = document;
    documents->count++;
    *published = document.hash;
    return true;
}

// A document that memory did not suffice for is not published: one with a part missing would
// mislead.
static void whole(struct turn *turn, bool rendered) {
    turn->out.failed |= !rendered;
}

static uint64_t hash_out(const struct turn *turn) {
    return turn->out.failed ? 0 : tell_hash(turn->out.data, turn->out.length);
}

static bool render_points(struct turn *turn, const struct model_site *site) {
    struct rendered document = {.kind = KIND_POINT, .site = site->index};
    bool all = true;
    for (uint32_t p = 0; p < site->point_count; p++) {
        json_out_reset(&turn->out);
        whole(turn,
              tell_point(&turn->out, turn->gate, site->index, p, turn_now(turn), &document.hash));
        document.index = p;
        all &= render(turn, document, &turn->documents->sites[site->index].points[p]);
    }
    return all;
}

static bool render_positions(struct turn *turn, const struct model_site *site) {
    struct rendered document = {.kind = KIND_POSITION, .site = site->index};
    bool all = true;
    for (uint32_t p = 0; p < site->position_count; p++) {
        json_out_reset(&turn->out);
        whole(turn, tell_position(&turn->out, turn->gate, site->index, p));
        document.index = p;
        document.hash = hash_out(turn);
        all &= render(turn, document, &turn->documents->sites[site->index].positions[p]);
    }
    return all;
}

static bool render_listed(struct turn *turn, const struct model_site *site, enum kind kind,
                          const char *id, struct published *entry) {
    struct rendered document = {.kind = kind, .site = site->index, .hash = hash_out(turn)};
    if (entry == NULL) {
        return false;
    }
    entry->seen = true;
    snprintf(document.id, sizeof document.id, "%s", id);
    return render(turn, document, &entry->hash);
}

// What is on the list and was not seen is no longer true: its topic is to be emptied.
static bool render_empty(struct turn *turn, const struct model_site *site, enum kind kind,
                         struct published *list, size_t *count) {
    for (size_t i = *count; i-- > 0;) {
        bool seen = list[i].seen;
        list[i].seen = false;
        if (seen) {
            continue;
        }
        struct rendered *item = item_new(turn->documents);
        if (item == NULL) {
            return false;
        }
        *item = (struct rendered){.kind = kind, .site = site->index};
        snprintf(item->id, sizeof item->id, "%s", list[i].id);
        turn->documents->count++;
        list[i] = list[--*count];
    }
    return true;
}

static bool is_kept(const struct gate_job *job, struct gate_time now) {
    return gate_job_stands(job) || now.line - job->ended.line <= GATE_KEEP_ENDED_MS;
}

// An ended job is rendered up once: there may be a week of them, and they change no more.
static bool render_job(struct turn *turn, const struct model_site *site, const struct gate_job *job,
                       struct published *entry) {
    if (entry != NULL && entry->final && entry->hash != 0) {
        entry->seen = true;
        return true;
    }
    json_out_reset(&turn->out);
    whole(turn, tell_job(&turn->out, turn->gate, site->index, job, false, turn_now(turn)));
    bool rendered = render_listed(turn, site, KIND_JOB, job->job, entry);
    if (entry != NULL) {
        entry->final = rendered && !gate_job_stands(job);
    }
    return rendered;
}

static bool render_jobs(struct turn *turn, const struct model_site *site) {
    const struct gate_site *state = &turn->gate->sites[site->index];
    struct site *published = &turn->documents->sites[site->index];
    struct gate_time now = turn_now(turn);
    bool all = true;
    for (size_t i = 0; i < state->job_count; i++) {
        const struct gate_job *job = state->jobs[i];
        if (is_kept(job, now)) {
            all &= render_job(turn, site, job,
                              list_add(&published->jobs, &published->job_count, job->job));
        }
    }
    return render_empty(turn, site, KIND_JOB, published->jobs, &published->job_count) && all;
}

static bool render_alarms(struct turn *turn, const struct model_site *site) {
    const struct gate_site *state = &turn->gate->sites[site->index];
    struct site *published = &turn->documents->sites[site->index];
    bool all = true;
    for (size_t i = 0; i < state->alarm_count; i++) {
        const struct gate_alarm *alarm = &state->alarms[i];
        json_out_reset(&turn->out);
        whole(turn, tell_alarm(&turn->out, turn->gate, site->index, alarm));
        all &= render_listed(turn, site, KIND_ALARM, alarm->alarm,
                             list_add(&published->alarms, &published->alarm_count, alarm->alarm));
    }
    return render_empty(turn, site, KIND_ALARM, published->alarms, &published->alarm_count) && all;
}

static void render_site(struct turn *turn, const struct model_site *site) {
    struct site *published = &turn->documents->sites[site->index];
    uint64_t changes = turn->gate->sites[site->index].changes;
    if (!published->dirty && published->changes == changes) {
        return;
    }
    bool alarms = render_alarms(turn, site);
    bool jobs = render_jobs(turn, site);
    bool points = render_points(turn, site);
    bool positions = render_positions(turn, site);
    published->dirty = !(alarms && jobs && points && positions);
    published->changes = changes;
}

void turn_documents_render(struct turn *turn) {
    if (!turn->world->is_up(turn->user)) {
        return; // everything is published anew when it is up
    }
    size_t room = turn->world->room(turn->user);
    size_t most = room < RENDERED_MAX ? room : RENDERED_MAX;
    for (size_t s = 0; s < turn->model->site_count; s++) {
        if (turn->documents->text.length >= most) {
            return;
        }
        render_site(turn, &turn->model->sites[s]);
    }
}

bool turn_documents_current(const struct turn *turn) {
    for (size_t s = 0; s < turn->model->site_count; s++) {
        if (turn->documents->sites[s].dirty ||
            turn->documents->sites[s].changes != turn->gate->sites[s].changes) {
            return false;
        }
    }
    return turn->documents->count == 0;
}

bool turn_documents_complete(const struct turn *turn) {
    for (size_t s = 0; s < turn->model->site_count; s++) {
        if (turn->documents->sites[s].dirty) {
            return false;
        }
    }
    return turn->documents->count == 0;
}

// --- Telling ---

static const char *id_of(const struct model_site *site, const struct rendered *item) {
    return item->kind == KIND_POINT      ? site->points[item->index].point
           : item->kind == KIND_POSITION ? site->positions[item->index].position
                                         : item->id;
}

static void publish_one(struct turn *turn, const struct rendered *item) {
    const struct model_site *site = &turn->model->sites[item->site];
    uint64_t *published = hash_at(turn, item);
    bool newer =
        item->hash != 0 ? published == NULL || *published != item->hash : published != NULL;
    char topic[512];
    if (newer) {
        return;
    }
    topic_of(turn, site, item->kind, id_of(site, item), topic, sizeof topic);
    const char *payload = item->hash != 0 ? turn->documents->text.data + item->payload : NULL;
    if (turn_publish_retained(turn, topic, payload, item->hash != 0 ? item->length : 0, false)) {
        return;
    }
    turn->documents->sites[item->site].dirty = true; // the link went, or there was no room
    if (published != NULL) {
        *published = 0;
    }
}

void turn_documents_publish(struct turn *turn) {
    for (size_t i = 0; i < turn->documents->count; i++) {
        publish_one(turn, &turn->documents->items[i]);
    }
    turn->documents->count = 0;
    json_out_reset(&turn->documents->text);
}

static void publish_urgent(struct turn *turn, const struct model_site *site, enum kind kind,
                           const char *id, struct published *entry) {
    uint64_t hash = hash_out(turn);
    char topic[512];
    topic_of(turn, site, kind, id, topic, sizeof topic);
    if (entry == NULL || turn->out.failed || entry->hash == hash) {
        return;
    }
    if (turn_publish_retained(turn, topic, turn->out.data, turn->out.length, true)) {
        entry->hash = hash;
    }
}

void turn_documents_publish_now(struct turn *turn, const struct gate_site *site,
                                const struct gate_alarm *alarm, const struct gate_job *job) {
    struct site *published = &turn->documents->sites[site->model->index];
    json_out_reset(&turn->out);
    if (alarm != NULL) {
        whole(turn, tell_alarm(&turn->out, turn->gate, site->model->index, alarm));
        publish_urgent(turn, site->model, KIND_ALARM, alarm->alarm,
                       list_add(&published->alarms, &published->alarm_count, alarm->alarm));
    }
    json_out_reset(&turn->out);
    if (job != NULL) {
        whole(turn,
              tell_job(&turn->out, turn->gate, site->model->index, job, false, turn_now(turn)));
        publish_urgent(turn, site->model, KIND_JOB, job->job,
                       list_add(&published->jobs, &published->job_count, job->job));
    }
}

void turn_documents_forget(struct turn *turn) {
    turn->documents->count = 0;
    json_out_reset(&turn->documents->text);
    for (size_t s = 0; s < turn->model->site_count; s++) {
        const struct model_site *site = &turn->model->sites[s];
        struct site *published = &turn->documents->sites[s];
        memset(published->positions, 0, site->position_count * sizeof *published->positions);
        memset(published->points, 0, site->point_count * sizeof *published->points);
        for (size_t i = 0; i < published->job_count; i++) {
            published->jobs[i].hash = 0;
        }
        for (size_t i = 0; i < published->alarm_count; i++) {
            published->alarms[i].hash = 0;
        }
        published->dirty = true;
    }
    turn->all_published = false;
    turn->publishing_anew = true;
}
