// Requests and tag events, kept while what they lead to is on its way to the disk.
#include "turn/internal.h"

#include "base/array.h"

#include <stdlib.h>
#include <string.h>

// Copies bytes with a NUL behind them to *at, which moves on. NULL stays NULL.
static const char *put(char **at, const void *bytes, size_t length) {
    if (bytes == NULL) {
        return NULL;
    }
    char *copy = *at;
    memcpy(copy, bytes, length);
    copy[length] = '\0';
    *at += length + 1;
    return copy;
}

static const char *put_text(char **at, const char *text) {
    return put(at, text, text != NULL ? strlen(text) : 0);
}

static size_t size_of(const char *text) {
    return text != NULL ? strlen(text) + 1 : 0;
}

// Room for one input more, with so many bytes of texts. It counts once count is raised.
static struct turn_input *input_new(struct turn_inputs *inputs, size_t size) {
    if (!BASE_ARRAY_ROOM(inputs->items, inputs->count, inputs->capacity)) {
        return NULL;
    }
    struct turn_input *input = &inputs->items[inputs->count];
    *input = (struct turn_input){.texts = malloc(size)};
    return input->texts != NULL ? input : NULL;
}

struct turn_input *turn_inputs_add_request(struct turn_inputs *inputs,
                                           const struct wire_request_in *request) {
    size_t size = size_of(request->person) + size_of(request->verb) + request->length + 1 +
                  size_of(request->response_topic) + request->correlation_length + 1;
    struct turn_input *input = input_new(inputs, size);
    if (input == NULL) {
        return NULL;
    }
    char *at = input->texts;
    input->request = *request;
    input->request.person = put_text(&at, request->person);
    input->request.verb = put_text(&at, request->verb);
    input->request.body = put(&at, request->body, request->length);
    input->request.response_topic = put_text(&at, request->response_topic);
    input->request.correlation = put(&at, request->correlation, request->correlation_length);
    inputs->count++;
    return input;
}

struct turn_input *turn_inputs_add_tagging(struct turn_inputs *inputs,
                                           const struct turn_tagging *tagging) {
    const char *person = tagging->tagging.person, *badge = tagging->tagging.badge;
    struct turn_input *input = input_new(inputs, size_of(person) + size_of(badge));
    if (input == NULL) {
        return NULL;
    }
    char *at = input->texts;
    input->is_tagging = true;
    input->tagging = *tagging;
    input->tagging.tagging.person = person != NULL ? put_text(&at, person) : NULL;
    input->tagging.tagging.badge = badge != NULL ? put_text(&at, badge) : NULL;
    inputs->count++;
    return input;
}

void turn_inputs_clear(struct turn_inputs *inputs) {
    for (size_t i = 0; i < inputs->count; i++) {
        free(inputs->items[i].texts);
    }
    inputs->count = 0;
}

void turn_inputs_free(struct turn_inputs *inputs) {
    turn_inputs_clear(inputs);
    free(inputs->items);
    *inputs = (struct turn_inputs){0};
}

void turn_inputs_swap(struct turn_inputs *one, struct turn_inputs *other) {
    struct turn_inputs swap = *one;
    *one = *other;
    *other = swap;
}

static bool is_of_http(const struct turn_input *input) {
    return !input->is_tagging && input->request.ticket != 0;
}

bool turn_inputs_move(struct turn_inputs *to, struct turn_inputs *from, bool of_http) {
    size_t left = 0;
    if (!BASE_ARRAY_RESERVE(to->items, to->count, from->count, to->capacity)) {
        return false;
    }
    for (size_t i = 0; i < from->count; i++) {
        if (is_of_http(&from->items[i]) == of_http) {
            to->items[to->count++] = from->items[i];
        } else {
            from->items[left++] = from->items[i];
        }
    }
    from->count = left;
    return true;
}
