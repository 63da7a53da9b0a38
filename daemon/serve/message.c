// Messages and answers, kept while what they lead to is on its way to the disk.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

static void *copy_of(const void *bytes, size_t length) {
    char *copy = malloc(length + 1);
    if (copy != NULL) {
        memcpy(copy, bytes, length);
        copy[length] = '\0';
    }
    return copy;
}

static void message_free(struct daemon_message *message) {
    free(message->topic);
    free(message->payload);
    free(message->response_topic);
    free(message->correlation);
}

static bool message_copy(struct daemon_message *kept, const struct mqtt_message *message) {
    memset(kept, 0, sizeof *kept);
    kept->topic = copy_of(message->topic, strlen(message->topic));
    kept->payload = copy_of(message->payload, message->length);
    kept->length = message->length;
    bool whole = kept->topic != NULL && kept->payload != NULL;
    if (message->response_topic != NULL) {
        kept->response_topic = copy_of(message->response_topic, strlen(message->response_topic));
        whole &= kept->response_topic != NULL;
    }
    if (message->correlation != NULL) {
        kept->correlation = copy_of(message->correlation, message->correlation_length);
        kept->correlation_length = message->correlation_length;
        whole &= kept->correlation != NULL;
    }
    return whole;
}

struct daemon_message *daemon_message_keep(struct daemon_messages *messages,
                                           const struct mqtt_message *message) {
    if (messages->count == messages->capacity) {
        size_t capacity = messages->capacity == 0 ? 64 : messages->capacity * 2;
        struct daemon_message *grown = realloc(messages->items, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        messages->items = grown;
        messages->capacity = capacity;
    }
    struct daemon_message *kept = &messages->items[messages->count];
    if (!message_copy(kept, message)) {
        message_free(kept);
        return NULL;
    }
    messages->count++;
    return kept;
}

void daemon_messages_forget(struct daemon_messages *messages) {
    for (size_t i = 0; i < messages->count; i++) {
        message_free(&messages->items[i]);
    }
    messages->count = 0;
}

struct daemon_answer *daemon_answer_new(struct daemon_answers *answers) {
    if (answers->count == answers->capacity) {
        size_t capacity = answers->capacity == 0 ? 64 : answers->capacity * 2;
        struct daemon_answer *grown = realloc(answers->items, capacity * sizeof *grown);
        if (grown == NULL) {
            return NULL;
        }
        answers->items = grown;
        answers->capacity = capacity;
    }
    struct daemon_answer *answer = &answers->items[answers->count];
    memset(answer, 0, sizeof *answer);
    return answer;
}

void daemon_answer_forget(struct daemon_answer *answer) {
    free(answer->topic);
    free(answer->payload);
    free(answer->correlation);
    memset(answer, 0, sizeof *answer);
}

void daemon_answers_forget(struct daemon_answers *answers) {
    for (size_t i = 0; i < answers->count; i++) {
        daemon_answer_forget(&answers->items[i]);
    }
    answers->count = 0;
}
