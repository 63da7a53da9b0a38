// Answers: given once what they tell of is committed, and the broker may have it.
#include "turn/internal.h"

#include "base/array.h"

#include <stdlib.h>
#include <string.h>

// Answers kept while the broker cannot be reached; those behind are given when asked again.
#define WAITING_MAX 1000

static char *put(char **at, const void *bytes, size_t length) {
    char *copy = *at;
    if (length > 0) {
        memcpy(copy, bytes, length);
    }
    copy[length] = '\0';
    *at += length + 1;
    return copy;
}

bool turn_answers_add(struct turn_answers *answers, const struct turn_answer *answer) {
    size_t topic = strlen(answer->topic);
    char *texts = malloc(topic + answer->length + answer->correlation_length + 3);
    if (texts == NULL || !BASE_ARRAY_ROOM(answers->items, answers->count, answers->capacity)) {
        free(texts);
        return false;
    }
    struct turn_answer *kept = &answers->items[answers->count++];
    *kept = *answer;
    kept->texts = texts;
    kept->topic = put(&texts, answer->topic, topic);
    kept->payload = put(&texts, answer->payload, answer->length);
    if (answer->correlation != NULL) {
        kept->correlation = put(&texts, answer->correlation, answer->correlation_length);
    }
    return true;
}

bool turn_answers_merge(struct turn_answers *to, struct turn_answers *from) {
    if (!BASE_ARRAY_RESERVE(to->items, to->count, from->count, to->capacity)) {
        return false;
    }
    for (size_t i = 0; i < from->count; i++) {
        to->items[to->count++] = from->items[i];
    }
    from->count = 0;
    return true;
}

void turn_answers_clear(struct turn_answers *answers) {
    for (size_t i = 0; i < answers->count; i++) {
        free(answers->items[i].texts);
    }
    answers->count = 0;
}

void turn_answers_free(struct turn_answers *answers) {
    turn_answers_clear(answers);
    free(answers->items);
    *answers = (struct turn_answers){0};
}

// The text of an answer as it is to be given now, in turn->out where it is another than was
// decided: meanwhile the lockout may have broken, and everybody was told.
// Rule (4, the answer): An answer says what its job is when it is given, though a break overtook
// it. [turn-answer-overtaken]
static void bring_up_to_date(struct turn *turn, struct turn_answer *answer) {
    const struct gate_site *site = &turn->gate->sites[answer->site];
    const struct gate_job *job = answer->job[0] != '\0' ? gate_job_find(site, answer->job) : NULL;
    struct json_tape tape = {0};
    struct json_error error;
    if (job == NULL || (job->phase == answer->phase && job->lockout == answer->lockout)) {
        return;
    }
    json_out_reset(&turn->out);
    if (json_scan(&tape, answer->payload, answer->length, &json_config_limits, &error) &&
        wire_answer_now(&turn->out, &tape, job, false)) {
        answer->payload = turn->out.data;
        answer->length = turn->out.length;
    } else {
        turn->failed = true;
    }
    json_tape_free(&tape);
}

// Those to the HTTP API wait for no broker.
static void answer_tickets(struct turn *turn, struct turn_answers *answers) {
    size_t kept = 0;
    for (size_t i = 0; i < answers->count; i++) {
        struct turn_answer *answer = &answers->items[i];
        if (answer->ticket == 0) {
            answers->items[kept++] = *answer;
            continue;
        }
        bring_up_to_date(turn, answer);
        turn->world->answer(turn->user, answer->ticket, answer->status, answer->payload,
                            answer->length);
        free(answer->texts);
    }
    answers->count = kept;
}

static void publish_answer(struct turn *turn, struct turn_answer *answer) {
    bring_up_to_date(turn, answer);
    const struct turn_publication publication = {.topic = answer->topic,
                                                 .payload = answer->payload,
                                                 .length = answer->length,
                                                 .content_type = "application/json",
                                                 .correlation = answer->correlation,
                                                 .correlation_length = answer->correlation_length};
    if (!turn->world->publish(turn->user, &publication)) {
        turn_notice(turn, TURN_NOTICE_NOT_ANSWERED, answer->topic);
    }
}

// They wait while the live connection is down (it may come up after the durable one), and then for
// the documents that tell of what they answer.
// A refusal also waits until its request is acknowledged: given before, and killed, the broker
// would deliver the request again, and what was refused to somebody's face might be done behind
// their back.
// Rule (4, the answer): A refusal waits until its request is acknowledged: else what was refused
// might be done behind somebody's back. [turn-refusal-before-acknowledgement]
// Rule (4, the answer): Answers wait for the documents that tell of what they answer.
// [turn-answer-before-documents]
// Rule (4, the answer): Answers that wait for the broker are bounded. [turn-answers-without-bound]
// Rule (4, the answer): An answer to the HTTP API waits for no broker.
// [turn-ticket-waits-for-broker]
void turn_publish_answers(struct turn *turn) {
    struct turn_answers *answers = &turn->committed_answers;
    answer_tickets(turn, answers);
    bool may_go = turn->world->is_up(turn->user) && !turn->publishing_anew;
    if (!may_go && answers->count < WAITING_MAX) {
        return;
    }
    size_t held = 0;
    for (size_t i = 0; i < answers->count; i++) {
        struct turn_answer *answer = &answers->items[i];
        if (answer->refused && turn->acknowledge_due) {
            answers->items[held++] = *answer;
        } else {
            publish_answer(turn, answer);
            free(answer->texts);
        }
    }
    answers->count = held;
}
