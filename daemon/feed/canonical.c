// Canonical topics and payloads. The hot path: one pass of the scanner, no object tree.
#include "feed/canonical.h"

#include <stdio.h>
#include <string.h>

#include "base/time_text.h"
#include "feed/badge.h"

static bool take_level(const char **topic, char *buffer, size_t size) {
    const char *end = strchr(*topic, '/');
    size_t length = end != NULL ? (size_t)(end - *topic) : strlen(*topic);
    if (length == 0 || length >= size) {
        return false;
    }
    memcpy(buffer, *topic, length);
    buffer[length] = '\0';
    *topic += length + (end != NULL ? 1 : 0);
    return end == NULL ? **topic == '\0' : true;
}

static bool take_id(const char **topic, char buffer[MODEL_ID_SIZE]) {
    return take_level(topic, buffer, MODEL_ID_SIZE) && model_id_valid(buffer, strlen(buffer));
}

static enum feed_topic_kind kind_of(const char *word) {
    static const struct {
        const char *word;
        enum feed_topic_kind kind;
    } kinds[] = {
        {"signal", FEED_TOPIC_SIGNAL},         {"tagging", FEED_TOPIC_TAGGING},
        {"controller", FEED_TOPIC_CONTROLLER}, {"request", FEED_TOPIC_REQUEST},
        {"measure", FEED_TOPIC_MEASURE},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        if (strcmp(kinds[i].word, word) == 0) {
            return kinds[i].kind;
        }
    }
    return FEED_TOPIC_NONE;
}

bool feed_topic_is_ours(const char *root, const char *topic) {
    size_t length = strlen(root);
    return strncmp(topic, root, length) == 0 && (topic[length] == '/' || topic[length] == '\0');
}

bool feed_topic_split(const char *root, const char *topic, struct feed_topic *split) {
    size_t length = strlen(root);
    split->kind = FEED_TOPIC_NONE;
    split->verb[0] = '\0';
    if (strncmp(topic, root, length) != 0 || topic[length] != '/') {
        return false;
    }
    const char *rest = topic + length + 1;
    char word[MODEL_ID_SIZE];
    if (!take_id(&rest, split->site)) {
        return false;
    }
    if (strcmp(split->site, "daemon") == 0 && strchr(rest, '/') == NULL) {
        split->site[0] = '\0';
        split->kind = take_id(&rest, split->name) ? FEED_TOPIC_DAEMON : FEED_TOPIC_NONE;
        return split->kind != FEED_TOPIC_NONE;
    }
    if (!take_level(&rest, word, sizeof word) || !take_id(&rest, split->name)) {
        return false;
    }
    enum feed_topic_kind kind = kind_of(word);
    if (kind == FEED_TOPIC_REQUEST && !take_level(&rest, split->verb, sizeof split->verb)) {
        return false;
    }
    split->kind = *rest == '\0' ? kind : FEED_TOPIC_NONE;
    return split->kind != FEED_TOPIC_NONE;
}

static void say(char *error, size_t size, const char *pointer, const char *what) {
    if (error != NULL) {
        snprintf(error, size, "%s: %s", pointer[0] != '\0' ? pointer : "(whole)", what);
    }
}

static bool scan_object(struct json_tape *tape, const char *payload, size_t length, char *error,
                        size_t error_size) {
    struct json_error wrong;
    if (!json_scan(tape, payload, length, &json_message_limits, &wrong)) {
        say(error, error_size, wrong.pointer, wrong.what);
        return false;
    }
    if (json_root(tape)->kind != JSON_OBJECT) {
        say(error, error_size, "", "an object is needed");
        return false;
    }
    return true;
}

// "at" and "seq": absent or null is none; anything else must be right. A seq beyond what a counter
// can hold is none we can order by.
static bool read_marks(const struct json_tape *tape, const struct json_node *root, bool *has_at,
                       int64_t *at, bool *has_seq, uint64_t *seq, char *error, size_t error_size) {
    const struct json_node *node = json_present(tape, root, "at");
    if (node != NULL) {
        char text[64];
        *has_at =
            json_copy(tape, node, text, sizeof text) && base_time_parse(text, strlen(text), at);
        if (!*has_at) {
            say(error, error_size, "/at", "an RFC 3339 time is needed");
            return false;
        }
    }
    node = json_present(tape, root, "seq");
    if (node != NULL) {
        int64_t value;
        *has_seq = json_integer(tape, node, &value) && value >= 0;
        if (!*has_seq) {
            say(error, error_size, "/seq", "a whole number of 0 or more is needed");
            return false;
        }
        *seq = (uint64_t)value;
    }
    return true;
}

static enum model_point_state state_of(const struct json_tape *tape, const struct json_node *node) {
    if (node == NULL || node->kind != JSON_STRING) {
        return MODEL_POINT_UNKNOWN;
    }
    return json_equals(tape, node, "isolated") ? MODEL_POINT_ISOLATED
           : json_equals(tape, node, "live")   ? MODEL_POINT_LIVE
                                               : MODEL_POINT_UNKNOWN;
}

void feed_signal_read(struct json_tape *tape, const char *payload, size_t length, bool retained,
                      struct gate_reading *reading, char *error, size_t error_size) {
    memset(reading, 0, sizeof *reading);
    reading->retained = retained;
    if (!scan_object(tape, payload, length, error, error_size)) {
        return;
    }
    const struct json_node *root = json_root(tape);
    const struct json_node *quality = json_present(tape, root, "quality");
    reading->good = quality == NULL || json_equals(tape, quality, "good");
    reading->state = state_of(tape, json_present(tape, root, "state"));
    if (reading->state == MODEL_POINT_UNKNOWN) {
        say(error, error_size, "/state", "\"isolated\" or \"live\" is needed");
    }
    reading->readable = read_marks(tape, root, &reading->has_at, &reading->at, &reading->has_seq,
                                   &reading->seq, error, error_size) &&
                        reading->state != MODEL_POINT_UNKNOWN;
}

void feed_measure_read(struct json_tape *tape, const char *payload, size_t length, bool retained,
                       const char *unit, struct gate_measure_reading *reading, char *error,
                       size_t error_size) {
    *reading = (struct gate_measure_reading){.bad = true, .retained = retained};
    if (!scan_object(tape, payload, length, error, error_size)) {
        return;
    }
    const struct json_node *root = json_root(tape);
    const struct json_node *quality = json_present(tape, root, "quality");
    const struct json_node *given = json_present(tape, root, "unit");
    bool number = json_double(tape, json_present(tape, root, "value"), &reading->value);
    bool same = given == NULL || json_equals(tape, given, unit);
    if (!number) {
        say(error, error_size, "/value", "a number is needed");
    } else if (!same) {
        say(error, error_size, "/unit", "it is not the unit of the measure");
    }
    bool marked = read_marks(tape, root, &reading->has_at, &reading->at, &reading->has_seq,
                             &reading->seq, error, error_size);
    reading->bad =
        !number || !same || !marked || (quality != NULL && !json_equals(tape, quality, "good"));
}

// Text of any length up to here is told from text that begins alike.
#define BADGE_SIZE 1024

// What stands for the person: a text, or the digits of a number. NULL: nothing that can be read.
static const char *read_who(const struct json_tape *tape, const struct json_node *person,
                            char text[BADGE_SIZE]) {
    if (person != NULL && person->kind == JSON_NUMBER && person->length < BADGE_SIZE) {
        snprintf(text, BADGE_SIZE, "%.*s", (int)person->length, tape->text + person->start);
        return text;
    }
    return person != NULL && json_copy(tape, person, text, BADGE_SIZE) ? text : NULL;
}

// Rule (3, Tags): A reader's hung of nobody who can be told, or of a badge of any length, is a lock
// that hangs there. [unread-badge-unlisted]
// Rule (3, Tags): A lifted of nobody who can be told lifts nothing. [unread-badge-lifts]
bool feed_tagging_read(const struct model *model, struct json_tape *tape, const char *payload,
                       size_t length, char badge[MODEL_ID_SIZE], struct gate_tagging *tagging,
                       char *error, size_t error_size) {
    memset(tagging, 0, sizeof *tagging);
    if (!scan_object(tape, payload, length, error, error_size)) {
        return false;
    }
    const struct json_node *root = json_root(tape);
    const struct json_node *state = json_present(tape, root, "state");
    bool hung = state != NULL && json_equals(tape, state, "hung");
    if (!hung && (state == NULL || !json_equals(tape, state, "lifted"))) {
        say(error, error_size, "/state", "\"hung\" or \"lifted\" is needed");
        return false;
    }
    char text[BADGE_SIZE];
    const char *who = read_who(tape, json_present(tape, root, "person"), text);
    bool read = feed_badge_list(who, badge);
    if (!read && !hung) {
        say(error, error_size, "/person", "a person or badge is needed: no lock is taken for it");
        return false;
    }
    const struct model_person *person = read ? model_person_find(model, who) : NULL;
    tagging->hung = hung;
    tagging->person = person != NULL ? person->person : NULL;
    tagging->badge = badge;
    tagging->undated = !read_marks(tape, root, &tagging->has_at, &tagging->at, &tagging->has_seq,
                                   &tagging->seq, error, error_size);
    if (tagging->undated) {
        tagging->has_at = tagging->has_seq = false;
    }
    return true; // a lock that was lifted is always taken, and one that hangs is listed
}

bool feed_controller_online(const char *payload, size_t length) {
    return length == 6 && memcmp(payload, "online", 6) == 0;
}
