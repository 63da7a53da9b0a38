// Telling the broker: retained documents on change only, events after the commit, alarms ahead of
// all.
#include "serve/book.h"

#include <stdlib.h>
#include <string.h>

#include "forelock_version.h"

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
}

static bool send(struct daemon *daemon, const char *topic, const char *payload, size_t length,
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

static void topic_of(const struct daemon *daemon, const struct model_site *site, const char *kind,
                     const char *id, char *topic, size_t size) {
    snprintf(topic, size, "%s/%s/%s/%s", daemon->model->root, site->site, kind, id);
}

// Publishes the document in daemon->out unless it was told already. False: it could not be told.
static bool tell(struct daemon *daemon, const struct model_site *site, const char *kind,
                 const char *id, uint64_t hash, uint64_t *told, bool urgent) {
    if (daemon->out.failed || hash == *told) {
        return !daemon->out.failed;
    }
    char topic[512];
    topic_of(daemon, site, kind, id, topic, sizeof topic);
    if (!send(daemon, topic, daemon->out.data, daemon->out.length, urgent)) {
        return false;
    }
    *told = hash;
    return true;
}

static uint64_t hash_out(const struct daemon *daemon) {
    return daemon->out.failed ? 0 : tell_hash(daemon->out.data, daemon->out.length);
}

static bool tell_positions(struct daemon *daemon, const struct model_site *site) {
    bool all = true;
    for (uint32_t p = 0; p < site->position_count; p++) {
        json_out_reset(&daemon->out);
        tell_position(&daemon->out, daemon->gate, site->index, p);
        all &= tell(daemon, site, "position", site->positions[p].position, hash_out(daemon),
                    &daemon->sites[site->index].positions[p], false);
    }
    return all;
}

static bool tell_points(struct daemon *daemon, const struct model_site *site) {
    bool all = true;
    struct gate_time now = daemon_now(daemon);
    for (uint32_t p = 0; p < site->point_count; p++) {
        uint64_t hash = 0;
        json_out_reset(&daemon->out);
        tell_point(&daemon->out, daemon->gate, site->index, p, now, &hash);
        all &= tell(daemon, site, "point", site->points[p].point, hash,
                    &daemon->sites[site->index].points[p], false);
    }
    return all;
}

// --- Jobs and alarms come and go: what was published of them is listed by id ---

static struct daemon_published *published(struct daemon_published **list, size_t *count,
                                          const char *id) {
    for (size_t i = 0; i < *count; i++) {
        if (strcmp((*list)[i].id, id) == 0) {
            return &(*list)[i];
        }
    }
    struct daemon_published *grown = realloc(*list, (*count + 1) * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    *list = grown;
    struct daemon_published *entry = &grown[(*count)++];
    memset(entry, 0, sizeof *entry);
    snprintf(entry->id, sizeof entry->id, "%s", id);
    return entry;
}

static bool tell_one_job(struct daemon *daemon, const struct model_site *site,
                         const struct gate_job *job, bool urgent) {
    struct daemon_site *told = &daemon->sites[site->index];
    struct daemon_published *entry = published(&told->jobs, &told->job_count, job->job);
    if (entry == NULL) {
        return false;
    }
    entry->seen = true;
    json_out_reset(&daemon->out);
    tell_job(&daemon->out, daemon->gate, site->index, job, false, daemon_now(daemon));
    return tell(daemon, site, "job", job->job, hash_out(daemon), &entry->hash, urgent);
}

static bool tell_one_alarm(struct daemon *daemon, const struct model_site *site,
                           const struct gate_alarm *alarm, bool urgent) {
    struct daemon_site *told = &daemon->sites[site->index];
    struct daemon_published *entry = published(&told->alarms, &told->alarm_count, alarm->alarm);
    if (entry == NULL) {
        return false;
    }
    entry->seen = true;
    json_out_reset(&daemon->out);
    tell_alarm(&daemon->out, daemon->gate, site->index, alarm);
    return tell(daemon, site, "alarm", alarm->alarm, hash_out(daemon), &entry->hash, urgent);
}

// Empties the topics of what is no longer true and drops it from the list.
static bool empty_unseen(struct daemon *daemon, const struct model_site *site, const char *kind,
                         struct daemon_published *list, size_t *count) {
    bool all = true;
    for (size_t i = *count; i-- > 0;) {
        char topic[512];
        topic_of(daemon, site, kind, list[i].id, topic, sizeof topic);
        if (!list[i].seen && send(daemon, topic, NULL, 0, false)) {
            list[i] = list[--*count];
        } else {
            all &= list[i].seen;
            list[i].seen = false;
        }
    }
    return all;
}

static bool is_kept(const struct gate_job *job, struct gate_time now) {
    return gate_job_stands(job) || now.line - job->ended.line <= GATE_KEEP_ENDED_MS;
}

static bool tell_jobs(struct daemon *daemon, const struct model_site *site) {
    const struct gate_site *state = &daemon->gate->sites[site->index];
    struct daemon_site *told = &daemon->sites[site->index];
    bool all = true;
    for (size_t i = 0; i < state->job_count; i++) {
        if (is_kept(state->jobs[i], daemon_now(daemon))) {
            all &= tell_one_job(daemon, site, state->jobs[i], false);
        }
    }
    return empty_unseen(daemon, site, "job", told->jobs, &told->job_count) && all;
}

static bool tell_alarms(struct daemon *daemon, const struct model_site *site) {
    const struct gate_site *state = &daemon->gate->sites[site->index];
    struct daemon_site *told = &daemon->sites[site->index];
    bool all = true;
    for (size_t i = 0; i < state->alarm_count; i++) {
        all &= tell_one_alarm(daemon, site, &state->alarms[i], false);
    }
    return empty_unseen(daemon, site, "alarm", told->alarms, &told->alarm_count) && all;
}

static void tell_site(struct daemon *daemon, const struct model_site *site) {
    struct daemon_site *told = &daemon->sites[site->index];
    uint64_t changes = daemon->gate->sites[site->index].changes;
    if (!told->dirty && told->changes == changes) {
        return;
    }
    bool alarms = tell_alarms(daemon, site);
    bool jobs = tell_jobs(daemon, site);
    bool points = tell_points(daemon, site);
    bool positions = tell_positions(daemon, site);
    told->dirty = !(alarms && jobs && points && positions);
    told->changes = changes;
}

void daemon_publish_all(struct daemon *daemon) {
    if (daemon->mqtt == NULL || !mqtt_up(daemon->mqtt, MQTT_LIVE)) {
        return;
    }
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        if (mqtt_room(daemon->mqtt) == 0) {
            return; // the rest when there is room again
        }
        tell_site(daemon, &daemon->model->sites[s]);
    }
}

bool daemon_all_told(const struct daemon *daemon) {
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        if (daemon->sites[s].dirty || daemon->sites[s].changes != daemon->gate->sites[s].changes) {
            return false;
        }
    }
    return true;
}

void daemon_publish_anew(struct daemon *daemon) {
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
}

void daemon_publish_break(struct daemon *daemon) {
    if (daemon->mqtt == NULL || !mqtt_up(daemon->mqtt, MQTT_LIVE)) {
        return;
    }
    for (size_t s = 0; s < daemon->model->site_count; s++) {
        const struct gate_site *site = &daemon->gate->sites[s];
        for (size_t i = 0; i < site->alarm_count; i++) {
            const struct gate_alarm *alarm = &site->alarms[i];
            const struct gate_job *job = gate_job_find(site, alarm->job);
            if (alarm->kind != GATE_ALARM_LOCKOUT_BROKEN) {
                continue;
            }
            tell_one_alarm(daemon, site->model, alarm, true);
            if (job != NULL) {
                tell_one_job(daemon, site->model, job, true);
            }
        }
    }
    mqtt_flush(daemon->mqtt);
}

// --- The daemon itself ---

void daemon_publish_self(struct daemon *daemon) {
    struct tell_daemon self = {.online = true,
                               .version = FORELOCK_VERSION,
                               .boot = daemon->boot,
                               .since = daemon->since,
                               .at = daemon_now(daemon).wall};
    char topic[512];
    snprintf(topic, sizeof topic, "%s/daemon/%s", daemon->model->root, daemon->model->instance);
    json_out_reset(&daemon->out);
    if (tell_daemon(&daemon->out, daemon->model, &self)) {
        send(daemon, topic, daemon->out.data, daemon->out.length, false);
    }
}

// --- Events ---

static bool publish_event(void *user, const struct tell_record *record) {
    struct daemon *daemon = user;
    int type = gate_fact_of(record->type);
    bool told = type >= GATE_FACT_PUBLISHED_COUNT || record->site == NULL;
    if (!told) {
        char topic[512];
        snprintf(topic, sizeof topic, "%s/%s/event", daemon->model->root, record->site);
        json_out_reset(&daemon->event);
        struct mqtt_publication publication = {
            .topic = topic, .qos = 1, .content_type = "application/cloudevents+json"};
        if (tell_event(&daemon->event, record)) {
            publication.payload = daemon->event.data;
            publication.length = daemon->event.length;
            told = mqtt_room(daemon->mqtt) > 0 && mqtt_publish(daemon->mqtt, &publication);
        }
    }
    if (told) {
        daemon->next_event = record->seq + 1;
    }
    return told;
}

static struct tell_record record_of(const struct daemon *daemon, size_t index, uint64_t first) {
    const struct daemon_record *record = &daemon->turn.records[index];
    return (struct tell_record){
        .seq = first + index,
        .at = record->at.wall,
        .site = record->site != MODEL_NONE ? daemon->model->sites[record->site].site : NULL,
        .type = gate_fact_name(record->type),
        .subject = record->subject,
        .data = daemon->turn.text.data + record->data,
        .data_length = record->length};
}

// From the turn where that is what comes next, else from the journal (what was missed while the
// broker was away).
void daemon_publish_events(struct daemon *daemon) {
    if (daemon->mqtt == NULL || !mqtt_up(daemon->mqtt, MQTT_LIVE) ||
        daemon->next_event >= daemon->next_seq) {
        return;
    }
    uint64_t first = daemon->next_seq - daemon->turn.record_count;
    if (daemon->next_event < first) {
        book_each(daemon, daemon->next_event, publish_event, daemon);
        return;
    }
    for (size_t i = (size_t)(daemon->next_event - first); i < daemon->turn.record_count; i++) {
        struct tell_record record = record_of(daemon, i, first);
        if (!publish_event(daemon, &record)) {
            return;
        }
    }
}

// --- What the broker keeps of us and is no longer true ---

static bool still_true(const struct daemon *daemon, const struct model_site *site, const char *kind,
                       const char *id) {
    const struct gate_site *state = &daemon->gate->sites[site->index];
    if (strcmp(kind, "position") == 0) {
        return model_position_find(site, id) != MODEL_NONE;
    }
    if (strcmp(kind, "point") == 0) {
        return model_point_find(site, id) != MODEL_NONE;
    }
    if (strcmp(kind, "alarm") == 0) {
        return gate_alarm_find(state, id) != NULL;
    }
    return gate_job_find(state, id) != NULL;
}

static void on_retained(void *user, const struct mqtt_message *message) {
    struct daemon *daemon = user;
    char copy[512], *rest = NULL;
    size_t root = strlen(daemon->model->root);
    if (strlen(message->topic) >= sizeof copy || message->length == 0) {
        return;
    }
    snprintf(copy, sizeof copy, "%s", message->topic + root + 1);
    const char *site_id = strtok_r(copy, "/", &rest);
    const char *kind = strtok_r(NULL, "/", &rest);
    const char *id = strtok_r(NULL, "/", &rest);
    const struct model_site *site =
        site_id != NULL ? model_site_find(daemon->model, site_id) : NULL;
    if (site != NULL && kind != NULL && id != NULL && !still_true(daemon, site, kind, id)) {
        log_info("publish", "emptied=%s", message->topic);
        send(daemon, message->topic, NULL, 0, false);
    }
}

static void on_survey_end(void *user, bool complete) {
    struct daemon *daemon = user;
    daemon->surveyed = complete;
    if (!complete) {
        log_warn("publish", "what the broker keeps of us could not be read whole; trying again");
    }
}

void daemon_survey(struct daemon *daemon) {
    static const char *const kinds[] = {"position", "job", "point", "alarm"};
    size_t count = daemon->model->site_count * 4;
    char **filters = calloc(count + 1, sizeof *filters);
    bool whole = filters != NULL;
    for (size_t i = 0; whole && i < count; i++) {
        whole = asprintf(&filters[i], "%s/%s/%s/+", daemon->model->root,
                         daemon->model->sites[i / 4].site, kinds[i % 4]) >= 0;
    }
    daemon->surveyed = whole && mqtt_survey(daemon->mqtt, (const char *const *)filters, count,
                                            on_retained, on_survey_end, daemon);
    for (size_t i = 0; filters != NULL && i < count; i++) {
        free(filters[i]);
    }
    free(filters);
}
