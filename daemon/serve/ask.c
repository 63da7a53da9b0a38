// Requests: read, looked up among those answered before, decided, answered after the commit.
#include "serve/daemon.h"

#include <stdlib.h>
#include <string.h>

#include "serve/book.h"
#include "trade/trade.h"

// An answer goes to the response topic if that is the person's reply topic or below it, else to the
// reply topic: who asks chooses the topic, and we publish it with our rights.
static char *answer_topic(struct daemon *daemon, uint32_t site, const char *person,
                          const struct daemon_message *message) {
    char prefix[512];
    int length = snprintf(prefix, sizeof prefix, "%s/%s/reply/%s", daemon->model->root,
                          daemon->model->sites[site].site, person);
    const char *wanted = message->response_topic;
    if (length < 0 || (size_t)length >= sizeof prefix) {
        return NULL;
    }
    if (wanted != NULL && strncmp(wanted, prefix, (size_t)length) == 0 &&
        (wanted[length] == '\0' || wanted[length] == '/') && strpbrk(wanted, "+#") == NULL) {
        return strdup(wanted);
    }
    if (wanted != NULL) {
        daemon_drop(daemon, DAEMON_DROP_RESPONSE_TOPIC, message->topic, "");
    }
    return strdup(prefix);
}

// Takes the answer that stands in daemon->out into the turn.
static void queue_answer(struct daemon *daemon, uint32_t site, const char *person,
                         const struct daemon_message *message) {
    struct daemon_turn *turn = &daemon->turn;
    struct daemon_answer *answer = daemon_answer_new(&turn->answers);
    if (answer == NULL || daemon->out.failed) {
        turn->failed = true;
        return;
    }
    answer->ticket = message->ticket;
    answer->refused = daemon->answer.refusal_count > 0;
    answer->status = tell_status(&daemon->answer);
    answer->topic = message->ticket == 0 ? answer_topic(daemon, site, person, message) : strdup("");
    answer->payload = strndup(daemon->out.data, daemon->out.length);
    answer->length = daemon->out.length;
    if (message->correlation != NULL) {
        answer->correlation = malloc(message->correlation_length + 1);
        answer->correlation_length = message->correlation_length;
        if (answer->correlation != NULL) {
            memcpy(answer->correlation, message->correlation, message->correlation_length);
        }
    }
    turn->answers.count++;
    turn->failed |= answer->topic == NULL || answer->payload == NULL ||
                    (message->correlation != NULL && answer->correlation == NULL);
}

// Remembers the request with the answer that stands in daemon->out.
static void remember(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                     const uint8_t body[32]) {
    struct daemon_turn *turn = &daemon->turn;
    size_t at = 0;
    if (!daemon_batch_text(&turn->batch, daemon->out.data, daemon->out.length, &at)) {
        turn->failed = true;
        return;
    }
    struct daemon_remembered *entry = daemon_batch_remember(&turn->batch);
    if (entry == NULL) {
        turn->failed = true;
        return;
    }
    entry->site = site;
    entry->at = daemon_now(daemon).wall;
    entry->answer = at;
    entry->length = daemon->out.length;
    memcpy(entry->body, body, 32);
    snprintf(entry->person, sizeof entry->person, "%s", person);
    snprintf(entry->verb, sizeof entry->verb, "%s", verb);
    snprintf(entry->id, sizeof entry->id, "%s", daemon->request.gate.id);
}

static void count(struct daemon *daemon, const char *verb, bool anew) {
    int known = gate_verb_of(verb);
    enum daemon_outcome outcome = anew                      ? DAEMON_ACCEPTED
                                  : daemon->answer.accepted ? DAEMON_AGAIN
                                                            : DAEMON_REFUSED;
    daemon->asked[known >= 0 ? known : GATE_VERB_COUNT][outcome]++;
}

static const struct daemon_remembered *in_batch(const struct daemon_batch *batch, uint32_t site,
                                                const char *person, const char *id) {
    for (size_t i = 0; i < batch->remembered_count; i++) {
        const struct daemon_remembered *entry = &batch->remembered[i];
        if (entry->site == site && strcmp(entry->person, person) == 0 &&
            strcmp(entry->id, id) == 0) {
            return entry;
        }
    }
    return NULL;
}

// What was answered before under this id: not written yet, or from the journal.
static enum book_found find_before(struct daemon *daemon, uint32_t site, const char *person,
                                   struct book_request *found) {
    const char *id = daemon->request.gate.id;
    const struct daemon_batch *batch = &daemon->turn.batch;
    const struct daemon_remembered *entry = in_batch(batch, site, person, id);
    if (entry == NULL) { // what could not be written yet
        batch = &daemon->flight.batch;
        entry = in_batch(batch, site, person, id);
    }
    if (entry == NULL) {
        return book_request_find(daemon, site, person, id, found);
    }
    snprintf(found->verb, sizeof found->verb, "%s", entry->verb);
    memcpy(found->body, entry->body, 32);
    found->answer = batch->text.data + entry->answer;
    found->length = entry->length;
    return BOOK_FOUND;
}

static void answer_again(struct daemon *daemon, uint32_t site, const struct book_request *found) {
    struct json_error error;
    json_out_reset(&daemon->out);
    if (!json_scan(&daemon->tape, found->answer, found->length, &json_config_limits, &error)) {
        daemon->turn.failed = true;
        return;
    }
    char job[MODEL_ID_SIZE];
    const struct json_node *node = json_present(&daemon->tape, json_root(&daemon->tape), "job");
    bool named = node != NULL && json_copy(&daemon->tape, node, job, sizeof job);
    daemon->answer.accepted = true; // it was
    tell_answer_again(&daemon->out, &daemon->tape,
                      named ? gate_job_find(&daemon->gate->sites[site], job) : NULL);
}

// True: the request was asked before, and what is to be answered stands in daemon->out.
static bool asked_before(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                         const uint8_t body[32]) {
    struct book_request found;
    switch (find_before(daemon, site, person, &found)) {
    case BOOK_NOT_FOUND:
        return false;
    case BOOK_UNREADABLE: // whether it was done before is unknown: it may not be done again
        gate_answer_refuse(&daemon->answer, MODEL_CODE_JOURNAL_DOWN, "", "a journal that reads",
                           "it cannot be read", "The journal cannot be read: ask again later.");
        tell_answer(&daemon->out, daemon->request.gate.id, verb, &daemon->answer);
        return true;
    default:
        break;
    }
    if (strcmp(found.verb, verb) == 0 && memcmp(found.body, body, 32) == 0) {
        answer_again(daemon, site, &found);
        return true;
    }
    gate_answer_refuse(&daemon->answer, MODEL_CODE_ID_REUSED, daemon->request.gate.id,
                       "a new id for a new request", found.verb,
                       "This request id was used for something else: take a new one.");
    tell_answer(&daemon->out, daemon->request.gate.id, verb, &daemon->answer);
    return true;
}

// The readings of a test become its result; false: they are malformed, and the answer says so.
static bool evaluate(struct daemon *daemon, uint32_t site, struct model_result *result) {
    struct gate_request *request = &daemon->request.gate;
    const struct model_test *test = NULL;
    struct trade_error error;
    bool fits = true;
    struct model_requirements *tests =
        gate_test_definition(daemon->gate, site, request->job, request->test, &test);
    if (test != NULL) {
        fits = trade_evaluate(test, daemon->request.readings, daemon->request.reading_count, result,
                              &error);
        request->result = fits ? result : NULL;
    }
    if (!fits) {
        char subject[64], say[200];
        snprintf(subject, sizeof subject, "/readings%s%s", error.reading[0] != '\0' ? "/" : "",
                 error.reading);
        snprintf(say, sizeof say, "%s", error.what);
        gate_answer_refuse(&daemon->answer, MODEL_CODE_MALFORMED, subject,
                           "readings that the test's rule can take", error.what, say);
    }
    free(tests);
    return fits;
}

static void answer_reset(struct daemon *daemon, const struct gate_request *request) {
    struct gate_answer *answer = &daemon->answer;
    answer->refusal_count = 0;
    answer->accepted = answer->has_phase = answer->has_result = false;
    answer->at = daemon_now(daemon);
    snprintf(answer->job, sizeof answer->job, "%s", request->job != NULL ? request->job : "");
}

static bool is_known(struct daemon *daemon, const char *person) {
    if (model_person_find(daemon->model, person) != NULL) {
        return true;
    }
    gate_answer_refuse(&daemon->answer, MODEL_CODE_UNKNOWN_PERSON, person,
                       "a person of the people file", "none", "You are not known here.");
    return false;
}

// Decides a whole request and writes its answer into daemon->out. True: it was accepted anew.
static bool decide(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                   const uint8_t body[32]) {
    struct gate_request *request = &daemon->request.gate;
    struct model_result result;
    request->person = person;
    answer_reset(daemon, request);
    bool known = is_known(daemon, person);
    if (known && request->id != NULL && asked_before(daemon, site, person, verb, body)) {
        return false;
    }
    if (known && (request->verb != GATE_VERB_RECORD_TEST || evaluate(daemon, site, &result))) {
        gate_decide(daemon->gate, site, request, daemon_now(daemon), &daemon->answer);
    }
    tell_answer(&daemon->out, request->id, verb, &daemon->answer);
    return daemon->answer.accepted;
}

void daemon_ask(struct daemon *daemon, uint32_t site, const char *person, const char *verb,
                const struct daemon_message *message) {
    uint8_t body[32] = {0};
    bool accepted = false;
    json_out_reset(&daemon->out);
    daemon->answer.at = daemon_now(daemon);
    if (!request_decode(&daemon->request, verb, message->payload, message->length,
                        &daemon->answer)) {
        daemon->answer.at = daemon_now(daemon);
        tell_answer(&daemon->out, daemon->request.gate.id, verb, &daemon->answer);
    } else if (!book_body_hash(daemon, body)) {
        daemon->turn.failed = true;
        return;
    } else {
        accepted = decide(daemon, site, person, verb, body);
    }
    count(daemon, verb, accepted);
    queue_answer(daemon, site, person, message);
    if (accepted && daemon->request.gate.id != NULL && !daemon->turn.failed) {
        remember(daemon, site, person, verb, body);
    }
}
