// The values of a payload: found by pointer, read strictly, never guessed.
#include "feed/internal.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include "base/time_text.h"

// The last instant that RFC 3339 can say, Unix ms.
#define TIME_MAX_MS 253402300799999

void feed_step(struct feed_work *work, const char *what, const char *format, ...) {
    char text[512];
    va_list arguments;
    if (work->callbacks->step == NULL) {
        return;
    }
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    work->callbacks->step(work->callbacks->user, work->reading->feed, what, text);
}

bool feed_wrong(struct feed_work *work, enum feed_outcome outcome, const char *format, ...) {
    struct feed_reading *reading = work->reading;
    va_list arguments;
    if (reading->outcome == FEED_MAPPED) {
        reading->outcome = outcome;
        va_start(arguments, format);
        vsnprintf(reading->why, sizeof reading->why, format, arguments);
        va_end(arguments);
        feed_step(work, feed_outcome_name(outcome), "%s", reading->why);
    }
    return false;
}

const struct json_node *feed_node_at(const struct feed_work *work, const struct model_feed_at *at) {
    const struct json_tape *tape = &work->set->tape;
    const struct json_node *node =
        json_at_from(tape, at->outer ? json_root(tape) : work->element, at->pointer);
    return node != NULL && node->kind != JSON_NULL ? node : NULL;
}

bool feed_text_of(const struct feed_work *work, const struct json_node *node, char *buffer,
                  size_t size) {
    const struct json_tape *tape = &work->set->tape;
    int64_t number;
    if (node->kind == JSON_NUMBER && json_integer(tape, node, &number)) {
        int length = snprintf(buffer, size, "%lld", (long long)number);
        return length > 0 && (size_t)length < size;
    }
    return json_copy(tape, node, buffer, size) && buffer[0] != '\0';
}

const char *feed_map_text(const struct model_feed_map *map, const char *text) {
    for (uint32_t i = 0; i < map->count; i++) {
        if (strcmp(map->from[i], text) == 0) {
            return map->to[i];
        }
    }
    return NULL;
}

// A value as it stands in the payload, cut, for people.
static const char *quote(const struct feed_work *work, const struct json_node *node,
                         char buffer[64]) {
    if (node == NULL) {
        snprintf(buffer, 64, "\"%.*s\"",
                 (int)(work->message->length < 40 ? work->message->length : 40),
                 work->message->payload);
    } else if (node->kind == JSON_ARRAY || node->kind == JSON_OBJECT) {
        snprintf(buffer, 64, "%s", node->kind == JSON_ARRAY ? "a list" : "an object");
    } else {
        const char *mark = node->kind == JSON_STRING ? "\"" : "";
        int length = (int)(node->length < 40 ? node->length : 40);
        snprintf(buffer, 64, "%s%.*s%s", mark, length, work->set->tape.text + node->start, mark);
    }
    return buffer;
}

static const char *place(const struct model_feed_at *at) {
    return at->pointer[0] != '\0' ? at->pointer : "the payload";
}

// --- Lists ---

// Rule (2, feeds): A value that no list holds says no state. [feed-unlisted-is-the-first]
static bool list_has(const struct feed_work *work, const struct json_tape *list,
                     const struct json_node *node) {
    const struct json_node *values = json_root(list);
    for (const struct json_node *value = json_first(list, values); value != NULL;
         value = json_next(list, values, value)) {
        bool same = node != NULL ? json_same(list, value, &work->set->tape, node)
                                 : json_equals(list, value, work->message->payload);
        if (same) {
            return true;
        }
    }
    return false;
}

// The value that a list is asked about. False: said. A payload of text has no node.
static bool listed_value(struct feed_work *work, const struct model_feed_at *at,
                         const struct json_node **node) {
    *node = work->feed->json ? feed_node_at(work, at) : NULL;
    return *node != NULL || !work->feed->json;
}

int feed_state_of(struct feed_work *work) {
    const struct model_feed *feed = work->feed;
    const struct json_node *node;
    char quoted[64], lists[70 * MODEL_FEED_STATES] = "";
    if (!listed_value(work, &feed->state, &node)) {
        feed_wrong(work, FEED_MISSING, "nothing stands at %s", place(&feed->state));
        return -1;
    }
    for (int i = 0; i < MODEL_FEED_STATES; i++) {
        if (feed->values[i] != NULL && list_has(work, &work->lists->values[i], node)) {
            feed_step(work, "state", "%s is %s, which is listed as %s", place(&feed->state),
                      quote(work, node, quoted), model_feed_state_name(feed->to, i));
            return i;
        }
    }
    size_t length = 0;
    for (int i = 0; i < MODEL_FEED_STATES && length < sizeof lists; i++) {
        if (feed->values[i] == NULL) {
            continue;
        }
        length += (size_t)snprintf(lists + length, sizeof lists - length, "%s in %.60s",
                                   i == 0 ? "neither" : " nor", feed->values[i]);
    }
    feed_wrong(work, FEED_UNKNOWN_VALUE, "%s is %s, which is %s", place(&feed->state),
               quote(work, node, quoted), lists);
    return -1;
}

// Rule (2, feeds): A quality that is not among the good ones is bad. [feed-quality-unlisted-good]
// Rule (2, feeds): A quality that is asked for and absent is bad. [feed-quality-missing-good]
bool feed_quality_of(struct feed_work *work) {
    const struct model_feed *feed = work->feed;
    char quoted[64];
    if (feed->quality.pointer == NULL) {
        return true;
    }
    const struct json_node *node = feed_node_at(work, &feed->quality);
    if (node == NULL) {
        return feed_wrong(work, FEED_BAD_QUALITY, "nothing stands at %s", place(&feed->quality));
    }
    if (!list_has(work, &work->lists->good, node)) {
        return feed_wrong(work, FEED_BAD_QUALITY, "%s is %s, which is not in %.80s",
                          place(&feed->quality), quote(work, node, quoted), feed->good);
    }
    feed_step(work, "quality", "%s is %s, which is good", place(&feed->quality),
              quote(work, node, quoted));
    return true;
}

// --- Numbers ---

struct number {
    const struct json_tape *tape;
    const struct json_node *node;
    char text[64];
};

// A number, or a text that is one JSON number and nothing else. False: it is neither.
static bool number_of(struct feed_work *work, const struct json_node *node, struct number *number) {
    struct feed_set *set = work->set;
    number->tape = &set->tape;
    number->node = node;
    if (node != NULL && node->kind == JSON_NUMBER) {
        return true;
    }
    size_t length = work->message->length;
    if (node != NULL ? !json_copy(&set->tape, node, number->text, sizeof number->text)
                     : length >= sizeof number->text) {
        return false;
    }
    if (node == NULL) {
        memcpy(number->text, work->message->payload, length + 1);
    } else {
        length = strlen(number->text);
    }
    if (!json_scan(&set->number, number->text, length, &json_message_limits, NULL)) {
        return false;
    }
    number->tape = &set->number;
    number->node = json_root(&set->number);
    return number->node->kind == JSON_NUMBER;
}

// Rule (2, feeds): A time that is no instant after 1970 is none. [feed-time-of-nothing]
static bool unix_ms(const struct number *number, int64_t scale, int64_t *ms) {
    int64_t whole;
    double value;
    if (json_integer(number->tape, number->node, &whole)) {
        *ms = whole > 0 && whole <= TIME_MAX_MS / scale ? whole * scale : 0;
    } else if (json_double(number->tape, number->node, &value) && value > 0 &&
               value * (double)scale <= (double)TIME_MAX_MS) {
        *ms = (int64_t)(value * (double)scale);
    } else {
        *ms = 0;
    }
    return *ms > 0;
}

bool feed_time_of(struct feed_work *work, bool *has_at, int64_t *at) {
    const struct model_feed *feed = work->feed;
    struct number number;
    char text[64], quoted[64];
    bool good;
    if (feed->time.pointer == NULL) {
        return true;
    }
    const struct json_node *node = feed_node_at(work, &feed->time);
    if (node == NULL) {
        return feed_wrong(work, FEED_TIME_WRONG, "nothing stands at %s", place(&feed->time));
    }
    if (feed->time_as == MODEL_FEED_RFC3339) {
        good = json_copy(&work->set->tape, node, text, sizeof text) &&
               base_time_parse(text, strlen(text), at) && *at > 0;
    } else {
        good = number_of(work, node, &number) &&
               unix_ms(&number, feed->time_as == MODEL_FEED_UNIX_S ? 1000 : 1, at);
    }
    if (!good) {
        return feed_wrong(work, FEED_TIME_WRONG, "%s is %s, which is no %s", place(&feed->time),
                          quote(work, node, quoted),
                          feed->time_as == MODEL_FEED_RFC3339  ? "RFC 3339 time with its offset"
                          : feed->time_as == MODEL_FEED_UNIX_S ? "Unix time in seconds"
                                                               : "Unix time in milliseconds");
    }
    *has_at = true;
    base_time_format(*at, text);
    feed_step(work, "time", "%s is %s: read at %s", place(&feed->time), quote(work, node, quoted),
              text);
    return true;
}

bool feed_seq_of(struct feed_work *work, bool *has_seq, uint64_t *seq) {
    const struct model_feed *feed = work->feed;
    struct number number;
    char quoted[64];
    int64_t value;
    if (feed->seq.pointer == NULL) {
        return true;
    }
    const struct json_node *node = feed_node_at(work, &feed->seq);
    if (node == NULL) {
        return feed_wrong(work, FEED_SEQ_WRONG, "nothing stands at %s", place(&feed->seq));
    }
    if (!number_of(work, node, &number) || !json_integer(number.tape, number.node, &value) ||
        value < 0 || (feed->modulus != 0 && (uint64_t)value >= feed->modulus)) {
        return feed_wrong(work, FEED_SEQ_WRONG, "%s is %s, which is no value of such a counter",
                          place(&feed->seq), quote(work, node, quoted));
    }
    *has_seq = true;
    *seq = (uint64_t)value;
    feed_step(work, "seq", "%s is %lld", place(&feed->seq), (long long)value);
    return true;
}

bool feed_number_of(struct feed_work *work, double *value) {
    const struct model_feed *feed = work->feed;
    const struct json_node *node;
    struct number number;
    char quoted[64];
    double read;
    if (!listed_value(work, &feed->value, &node)) {
        return feed_wrong(work, FEED_MISSING, "nothing stands at %s", place(&feed->value));
    }
    if (!number_of(work, node, &number) || !json_double(number.tape, number.node, &read)) {
        return feed_wrong(work, FEED_UNKNOWN_VALUE, "%s is %s, which is no number",
                          place(&feed->value), quote(work, node, quoted));
    }
    *value = read * feed->scale + feed->offset;
    if (!isfinite(*value)) {
        return feed_wrong(work, FEED_UNKNOWN_VALUE, "%s is %s, which is out of range",
                          place(&feed->value), quote(work, node, quoted));
    }
    feed_step(work, "value", "%s is %.15g, times %.15g, plus %.15g: %.15g", place(&feed->value),
              read, feed->scale, feed->offset, *value);
    return true;
}
