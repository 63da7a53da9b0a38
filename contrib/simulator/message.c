// Messages: the canonical topics and payloads, field by field as the device was declared.
#include "simulator/message.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

void sim_message_topic(const struct sim_world *world, const struct sim_device *device,
                       char topic[SIM_TOPIC_SIZE]) {
    static const char *const levels[SIM_KIND_COUNT] = {
        [SIM_SENSOR] = "signal", [SIM_READER] = "tagging", [SIM_CONTROLLER] = "controller"};
    snprintf(topic, SIM_TOPIC_SIZE, "%s/%s/%s/%s", world->root, world->site, levels[device->kind],
             device->id);
}

static void append(struct sim_payload *payload, const char *text) {
    size_t length = strlen(text);
    size_t room = SIM_PAYLOAD_SIZE - payload->length;
    if (length > room) {
        length = room;
    }
    memcpy(payload->bytes + payload->length, text, length);
    payload->length += length;
}

// Appends a JSON string. Bytes that are no UTF-8 stay as they are: they are a fault to play.
static void append_string(struct sim_payload *payload, const char *text) {
    append(payload, "\"");
    for (const char *c = text; *c != '\0'; c++) {
        char one[8] = {*c, '\0'};
        if (*c == '\\' || *c == '"') {
            append(payload, "\\");
        } else if ((unsigned char)*c < 0x20) {
            snprintf(one, sizeof one, "\\u%04x", (unsigned)(unsigned char)*c);
        }
        append(payload, one);
    }
    append(payload, "\"");
}

static void append_time(struct sim_payload *payload, int64_t wall) {
    time_t seconds = (time_t)(wall / 1000);
    struct tm utc;
    char day[32] = "";
    char text[48];
    if (gmtime_r(&seconds, &utc) != NULL) {
        strftime(day, sizeof day, "%Y-%m-%dT%H:%M:%S", &utc);
    }
    snprintf(text, sizeof text, "\"%s.%03dZ\"", day, (int)(wall % 1000));
    append(payload, ",\"at\":");
    append(payload, text);
}

static void append_marks(const struct sim_device *device, struct base_time now,
                         struct sim_payload *payload) {
    if (device->with_at) {
        append_time(payload, now.wall_ms + device->skew);
    }
    if (device->with_seq) {
        char text[32];
        snprintf(text, sizeof text, ",\"seq\":%" PRId64, device->seq);
        append(payload, text);
    }
    if (device->kind == SIM_SENSOR && (device->with_quality || device->quality[0] != '\0')) {
        append(payload, ",\"quality\":");
        append_string(payload, device->quality[0] != '\0' ? device->quality : "good");
    }
    append(payload, "}");
}

void sim_message_signal(const struct sim_device *sensor, struct base_time now,
                        struct sim_payload *payload) {
    const char *state = sensor->on ? "isolated" : "live";
    payload->length = 0;
    append(payload, "{\"state\":");
    append_string(payload, sensor->value[0] != '\0' ? sensor->value : state);
    append_marks(sensor, now, payload);
}

void sim_message_tagging(const struct sim_device *reader, bool hung, const char *person,
                         struct base_time now, struct sim_payload *payload) {
    payload->length = 0;
    append(payload, hung ? "{\"state\":\"hung\",\"person\":" : "{\"state\":\"lifted\",\"person\":");
    append_string(payload, person);
    append_marks(reader, now, payload);
}

void sim_message_controller(const struct sim_device *controller, struct sim_payload *payload) {
    payload->length = 0;
    append(payload, controller->on ? "online" : "offline");
}
