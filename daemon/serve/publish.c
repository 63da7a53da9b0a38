// Telling the broker: breaks ahead of all, the daemon itself, events and answers after the commit.
#include "serve/book.h"

#include <stdlib.h>
#include <string.h>

#include "forelock_version.h"

// Answers kept while the broker cannot be reached; those behind are given when asked again.
#define ANSWERS_WAITING_MAX 1000

static const struct gate_alarm *broken_alarm(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (site->alarms[i].kind == MODEL_ALARM_LOCKOUT_BROKEN &&
            strcmp(site->alarms[i].job, job) == 0) {
            return &site->alarms[i];
        }
    }
    return NULL;
}

static void stream_breaks(struct daemon *daemon, size_t count) {
    for (size_t i = 0; i < count && daemon->http != NULL; i++) {
        const struct daemon_break *entry = &daemon->turn.breaks[i];
        const struct gate_alarm *alarm =
            broken_alarm(&daemon->gate->sites[entry->site], entry->job);
        json_out_reset(&daemon->out);
        if (alarm != NULL && tell_alarm(&daemon->out, daemon->gate, entry->site, alarm)) {
            http_tell_alarm(daemon->http, entry->site, daemon->out.data, daemon->out.length);
        }
    }
}

void daemon_publish_breaks(struct daemon *daemon) {
    struct daemon_turn *turn = &daemon->turn;
    size_t count = turn->break_count;
    turn->break_count = 0;
    bool up = daemon->mqtt != NULL && mqtt_up(daemon->mqtt, MQTT_LIVE);
    for (size_t i = 0; i < count && up; i++) {
        const struct gate_site *site = &daemon->gate->sites[turn->breaks[i].site];
        daemon_tell_now(daemon, site, broken_alarm(site, turn->breaks[i].job),
                        gate_job_find(site, turn->breaks[i].job));
    }
    if (count > 0 && up) {
        mqtt_flush(daemon->mqtt); // before the streams, of which there may be a thousand
    }
    stream_breaks(daemon, count);
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
        daemon_send(daemon, topic, daemon->out.data, daemon->out.length, false);
    }
}

// --- Events ---

static bool publish_event(void *user, const struct tell_record *record) {
    struct daemon *daemon = user;
    bool told = !gate_fact_published(gate_fact_of(record->type)) || record->site == NULL;
    if (!told) {
        char topic[512];
        snprintf(topic, sizeof topic, "%s/%s/event", daemon->model->root, record->site);
        json_out_reset(&daemon->event);
        struct mqtt_publication publication = {.topic = topic,
                                               .qos = 1,
                                               .content_type = "application/cloudevents+json",
                                               .number = record->seq};
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
    const struct daemon_batch *batch = &daemon->flight.batch;
    const struct daemon_record *record = &batch->records[index];
    return (struct tell_record){
        .seq = first + index,
        .at = record->at.wall,
        .site = record->site != MODEL_NONE ? daemon->model->sites[record->site].site : NULL,
        .type = gate_fact_name(record->type),
        .subject = record->subject,
        .data = batch->text.data + record->data,
        .data_length = record->length};
}

void daemon_publish_events(struct daemon *daemon) {
    if (daemon->mqtt == NULL || !mqtt_up(daemon->mqtt, MQTT_LIVE) ||
        daemon->next_event >= daemon->next_seq) {
        return;
    }
    uint64_t first = daemon->next_seq - daemon->flight.batch.record_count;
    if (daemon->next_event < first) { // what was missed while the broker was away
        book_each(daemon, daemon->next_event, publish_event, daemon);
        return;
    }
    for (size_t i = (size_t)(daemon->next_event - first); i < daemon->flight.batch.record_count;
         i++) {
        struct tell_record record = record_of(daemon, i, first);
        if (!publish_event(daemon, &record)) {
            return;
        }
    }
}

int64_t daemon_told_so_far(const struct daemon *daemon) {
    uint64_t waiting = daemon->mqtt != NULL ? mqtt_oldest(daemon->mqtt) : 0;
    return (int64_t)(waiting != 0 ? waiting : daemon->next_event) - 1;
}

void daemon_publish_streams(struct daemon *daemon) {
    const struct daemon_batch *batch = &daemon->flight.batch;
    uint64_t first = daemon->next_seq - batch->record_count;
    for (size_t i = 0; i < batch->record_count && daemon->http != NULL; i++) {
        if (batch->records[i].site != MODEL_NONE) {
            struct tell_record record = record_of(daemon, i, first);
            http_tell_event(daemon->http, batch->records[i].site, &record);
        }
    }
}

// --- Answers ---

// Those to the HTTP API wait for no broker.
static void answer_http(struct daemon *daemon, struct daemon_answers *answers) {
    size_t kept = 0;
    for (size_t i = 0; i < answers->count; i++) {
        struct daemon_answer *answer = &answers->items[i];
        if (answer->ticket == 0) {
            answers->items[kept++] = *answer;
            continue;
        }
        if (daemon->http != NULL) {
            http_answer(daemon->http, answer->ticket, answer->status, answer->payload,
                        answer->length);
        }
        daemon_answer_forget(answer);
    }
    answers->count = kept;
}

static void publish_answer(struct daemon *daemon, const struct daemon_answer *answer) {
    const struct mqtt_publication publication = {.topic = answer->topic,
                                                 .payload = answer->payload,
                                                 .length = answer->length,
                                                 .qos = 1,
                                                 .content_type = "application/json",
                                                 .correlation = answer->correlation,
                                                 .correlation_length = answer->correlation_length};
    if (!mqtt_publish(daemon->mqtt, &publication)) {
        log_warn("publish", "answer_not_sent=%s (it stands; asked again, it is given again)",
                 answer->topic);
    }
}

// They wait while the live connection is down (it may come up after the durable one), and then for
// the documents that tell of what they answer.
// A refusal also waits until its request is acknowledged: told before, and killed, the broker would
// deliver the request again, and what was refused to somebody's face might be done behind their
// back.
void daemon_publish_answers(struct daemon *daemon) {
    struct daemon_answers *answers = &daemon->flight.answers;
    answer_http(daemon, answers);
    if (daemon->mqtt == NULL || ((!mqtt_up(daemon->mqtt, MQTT_LIVE) || daemon->telling_anew) &&
                                 answers->count < ANSWERS_WAITING_MAX)) {
        return;
    }
    size_t held = 0;
    for (size_t i = 0; i < answers->count; i++) {
        struct daemon_answer *answer = &answers->items[i];
        if (answer->refused && daemon->acknowledge_due) {
            answers->items[held++] = *answer;
        } else {
            publish_answer(daemon, answer);
            daemon_answer_forget(answer);
        }
    }
    answers->count = held;
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
        daemon_send(daemon, message->topic, NULL, 0, false);
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
