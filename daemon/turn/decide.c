// What came in, decided: a request is looked up among those answered before, judged by the gate,
// and answered once it is committed.
#include "turn/internal.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "trade/trade.h"
#include "wire/request.h"

// Reused from request to request, so that a steady state allocates little.
struct turn_decider {
    struct request request;
    struct gate_answer answer;
    struct json_tape tape;
};

// One request being decided. Its answer is written into turn->out.
struct asking {
    struct turn *turn;
    const struct wire_request_in *in;
    struct gate_request *request; // decoded
    struct gate_answer *answer;
    struct turn_input *input;
    bool ends; // it ends or stops something: no memory and no form keeps it from being done
    bool kept; // what is accepted of it is to be remembered
    uint8_t body[32];
};

struct turn_decider *turn_decider_new(void) {
    return calloc(1, sizeof(struct turn_decider));
}

void turn_decider_free(struct turn_decider *decider) {
    if (decider != NULL) {
        gate_answer_free(&decider->answer);
        wire_request_free(&decider->request);
        json_tape_free(&decider->tape);
        free(decider);
    }
}

// --- The answer and its way ---

#define REPLY_BELOW_MOST 2
#define REPLY_BYTES_MOST 128

// Whether a response topic is the person's reply topic, of so many bytes, or a little below it.
// Rule (3, topics): An answer goes to the person's reply topic or below it, nowhere else.
// [turn-foreign-reply-topic]
// Rule (3, topics): No wildcard stands in a reply topic. [turn-wildcard-reply-topic]
// Rule (3, topics): A reply topic is at most two levels below the person's and 128 bytes long: a
// broker ends the connection over one that is deeper than it bears. [turn-deep-reply-topic,
// turn-long-reply-topic]
static bool may_reply_on(const char *wanted, const char *reply, size_t length) {
    size_t below = 0;
    if (strncmp(wanted, reply, length) != 0 || (wanted[length] != '\0' && wanted[length] != '/') ||
        strpbrk(wanted, "+#") != NULL) {
        return false;
    }
    for (const char *at = wanted + length; *at != '\0'; at++) {
        below += *at == '/';
    }
    return below <= REPLY_BELOW_MOST && (below == 0 || strlen(wanted) <= REPLY_BYTES_MOST);
}

// An answer goes to the response topic if that may be, else to the reply topic: who asks chooses
// the topic, and we publish it with our rights. NULL: it is too long.
static const char *answer_topic(const struct asking *asking, char *reply, size_t size) {
    const struct model *model = asking->turn->model;
    const struct wire_request_in *in = asking->in;
    const char *site = model->sites[in->site].site, *wanted = in->response_topic;
    int length = snprintf(reply, size, "%s/%s/reply/%s", model->root, site, in->person);
    if (length < 0 || (size_t)length >= size) {
        return NULL;
    }
    if (wanted != NULL && may_reply_on(wanted, reply, (size_t)length)) {
        return wanted;
    }
    if (wanted != NULL) {
        char request[512];
        snprintf(request, sizeof request, "%s/%s/request/%s/%s", model->root, site, in->person,
                 in->verb);
        turn_notice(asking->turn, TURN_NOTICE_FOREIGN_REPLY, request);
    }
    return reply;
}

// Takes the answer that stands in turn->out into the turn.
static void queue_answer(const struct asking *asking) {
    struct turn *turn = asking->turn;
    char reply[512];
    const char *topic = asking->in->ticket == 0 ? answer_topic(asking, reply, sizeof reply) : "";
    struct turn_answer answer = {.ticket = asking->in->ticket,
                                 .status = wire_status(asking->answer),
                                 .refused = asking->answer->refusal_count > 0,
                                 .site = asking->in->site,
                                 .phase = asking->answer->phase,
                                 .lockout = asking->answer->lockout,
                                 .topic = topic,
                                 .payload = turn->out.data,
                                 .length = turn->out.length,
                                 .correlation = asking->in->correlation,
                                 .correlation_length = asking->in->correlation_length};
    snprintf(answer.job, sizeof answer.job, "%s",
             asking->answer->has_phase ? asking->answer->job : "");
    if (topic == NULL || turn->out.failed || !turn_answers_add(&turn->answers, &answer)) {
        turn->failed = true;
    }
}

// Remembers the request with the answer that stands in turn->out.
static void remember(const struct asking *asking) {
    struct turn *turn = asking->turn;
    struct turn_remembered entry = {.site = asking->in->site, .at = turn_now(turn).wall};
    memcpy(entry.body, asking->body, sizeof entry.body);
    snprintf(entry.person, sizeof entry.person, "%s", asking->in->person);
    snprintf(entry.verb, sizeof entry.verb, "%s", asking->in->verb);
    snprintf(entry.id, sizeof entry.id, "%s", asking->request->id);
    turn->failed |= !turn_batch_remember(&turn->batch, &entry, &turn->out);
}

static void write_answer(const struct asking *asking) {
    wire_answer(&asking->turn->out, asking->request->id, asking->in->verb, asking->answer);
}

static void count(const struct asking *asking, bool anew) {
    int known = gate_verb_of(asking->in->verb);
    enum turn_decision decision = anew                       ? TURN_ACCEPTED
                                  : asking->answer->accepted ? TURN_AGAIN
                                                             : TURN_REFUSED;
    asking->turn->figures.requests[known >= 0 ? known : GATE_VERB_COUNT][decision]++;
}

// --- Asked before ---

// What was answered before under this id: not written yet, or from the journal.
// Rule (4, the answer): A request asked twice in one turn is done once. [turn-twice-in-one-turn]
// Rule (4, the answer): A request asked again before it could be written is done once.
// [turn-twice-before-written]
static enum turn_found find_before(const struct asking *asking, struct turn_answered *found) {
    struct turn *turn = asking->turn;
    const struct wire_request_in *in = asking->in;
    const char *id = asking->request->id;
    const struct turn_batch *batch = &turn->batch;
    const struct turn_remembered *entry = turn_batch_find(batch, in->site, in->person, id);
    if (entry == NULL) { // what could not be written yet
        batch = &turn->commit.batch;
        entry = turn_batch_find(batch, in->site, in->person, id);
    }
    if (entry == NULL) {
        return turn->world->find_request(turn->user, in->site, in->person, id, found);
    }
    snprintf(found->verb, sizeof found->verb, "%s", entry->verb);
    memcpy(found->body, entry->body, sizeof found->body);
    found->answer = batch->text.data + entry->answer;
    found->length = entry->length;
    return TURN_FOUND;
}

static void answer_again(const struct asking *asking, const struct turn_answered *found) {
    struct turn *turn = asking->turn;
    struct json_tape *tape = &turn->decider->tape;
    struct json_error error;
    json_out_reset(&turn->out);
    if (!json_scan(tape, found->answer, found->length, &json_config_limits, &error)) {
        turn->failed = true;
        return;
    }
    char job[MODEL_ID_SIZE];
    const struct json_node *node = json_present(tape, json_root(tape), "job");
    bool named = node != NULL && json_copy(tape, node, job, sizeof job);
    const struct gate_job *now =
        named ? gate_job_find(&turn->gate->sites[asking->in->site], job) : NULL;
    struct gate_answer *answer = asking->answer;
    answer->accepted = true; // it was
    answer->has_phase = now != NULL;
    if (now != NULL) {
        memcpy(answer->job, job, sizeof answer->job);
        answer->phase = now->phase;
        answer->lockout = now->lockout;
    }
    wire_answer_now(&turn->out, tape, now, true);
}

// True: the request was asked before, and what is to be answered stands in turn->out.
// Rule (4, the answer): Where the journal cannot be read, nothing is done that may have been done
// before. [turn-unreadable-is-new]
// Rule (4, the answer): An id used for another request is refused. [turn-id-of-another-verb]
// Rule (4, the answer): An id used with another body is refused. [turn-id-of-another-body]
static bool asked_before(const struct asking *asking) {
    struct turn_answered found;
    switch (find_before(asking, &found)) {
    case TURN_NOT_FOUND:
        return false;
    case TURN_UNREADABLE: // whether it was done before is unknown: it may not be done again
        gate_answer_refuse(asking->answer, GATE_SAY_JOURNAL_UNREADABLE, NULL, NULL);
        write_answer(asking);
        return true;
    default:
        break;
    }
    if (strcmp(found.verb, asking->in->verb) == 0 &&
        memcmp(found.body, asking->body, sizeof found.body) == 0) {
        answer_again(asking, &found);
        return true;
    }
    gate_answer_refuse(asking->answer, GATE_SAY_ID_REUSED, asking->request->id,
                       GATE_ARGS(.verb = found.verb));
    write_answer(asking);
    return true;
}

// --- Deciding ---

// What the uncertainty of the instrument makes of the verdict.
// Rule (8, decision): A recorded test says what its instrument's uncertainty makes of the verdict.
// [turn-undecided]
static void decide_by(const struct model *model, const struct model_test *test, const char *id,
                      struct model_result *result) {
    const struct model_instrument *with = id != NULL ? model_instrument_find(model, id) : NULL;
    if (with != NULL && with->uncertainty > 0) {
        trade_decide(with->uncertainty, with->uncertainty_unit,
                     trade_value_unit(test->rule, test->unit), result);
    }
}

// The readings of a test become its result; false: they are malformed, and the answer says so.
static bool evaluate(const struct asking *asking, struct model_result *result) {
    const struct turn *turn = asking->turn;
    const struct request *decoded = &turn->decider->request;
    struct gate_request *request = asking->request;
    const struct model_test *test = NULL;
    struct trade_error error;
    bool fits = true;
    struct model_requirements *tests =
        gate_test_definition(turn->gate, asking->in->site, request->job, request->test, &test);
    if (test != NULL) {
        fits = trade_evaluate(test, turn->model->sites[asking->in->site].vapor, decoded->readings,
                              decoded->reading_count, result, &error);
        request->result = fits ? result : NULL;
    }
    if (request->result != NULL) {
        decide_by(turn->model, test, request->instrument, result);
    }
    if (!fits) {
        char subject[64];
        snprintf(subject, sizeof subject, "/readings%s%s", error.reading[0] != '\0' ? "/" : "",
                 error.reading);
        gate_answer_refuse(asking->answer, GATE_SAY_READING_WRONG, subject,
                           GATE_ARGS(.test = request->test, .what = error.what));
    }
    free(tests);
    return fits;
}

static bool has_end(const struct turn_batch *batch, uint32_t site, const char *position,
                    struct gate_time at) {
    for (size_t i = 0; i < batch->record_count; i++) {
        const struct turn_record *record = &batch->records[i];
        bool ends =
            record->type == GATE_FACT_JOB_RETURNED || record->type == GATE_FACT_JOB_CANCELLED;
        if (ends && record->site == site && record->subject == position &&
            record->at.mono == at.mono) {
            return true;
        }
    }
    return false;
}

// Whether the end of the job that is asked about is not written, and so was told to nobody.
// Rule (5, last paragraph; R3, R32): A cancellation that is not written has ended nothing either.
// [turn-cancelled-before-written]
static bool is_ending(const struct turn *turn, uint32_t site, const char *id) {
    const struct gate_job *job = id != NULL ? gate_job_find(&turn->gate->sites[site], id) : NULL;
    if (job == NULL || gate_job_stands(job)) {
        return false;
    }
    const char *position = turn->model->sites[site].positions[job->position].position;
    return has_end(&turn->batch, site, position, job->ended) ||
           has_end(&turn->commit.batch, site, position, job->ended);
}

// Who asks, and when.
static void place(const struct asking *asking) {
    struct gate_request *request = asking->request;
    request->person = asking->in->person;
    request->came = asking->input->came;
    request->done = asking->input->done;
    request->done_at = asking->input->done_at;
    request->before = false;
    request->ending = is_ending(asking->turn, asking->in->site, request->job);
    request->waited = turn_waited(asking->turn, asking->in, request);
    request->undated = asking->in->ticket == 0 && !request->has_asked;
}

// One that ends is done again whatever its id; of some it matters that they were accepted before.
// Rule (4, a stop; R12): That a lift was accepted is remembered, once. [turn-lift-forgotten]
// Rule (4, a stop; R12): The same lift with another body is another. [turn-lift-of-another-body]
static void recall(struct asking *asking) {
    struct turn_answered found;
    const char *id = asking->request->id;
    asking->kept = !asking->ends && id != NULL;
    if (asking->ends && id != NULL && gate_verb_row(asking->request->verb)->recalls) {
        enum turn_found is = find_before(asking, &found);
        asking->kept = is == TURN_NOT_FOUND;
        asking->request->before = is == TURN_FOUND && strcmp(found.verb, asking->in->verb) == 0 &&
                                  memcmp(found.body, asking->body, sizeof found.body) == 0;
    }
}

// Rule (4, a stop; R12): What ended or stopped something is done: decided once more, after a commit
// that failed or in its turn, it counts no second time. [turn-done-forgotten]
static void note_done(const struct asking *asking) {
    struct turn_input *input = asking->input;
    if (asking->ends && asking->answer->accepted && !input->done) {
        input->done = true;
        input->done_at = asking->answer->at;
        input->done_again = asking->answer->again;
    }
}

// Decides a request and writes its answer. True: it was accepted anew.
// Rule (4, a stop; R12): What ends or stops is never answered from memory: it is done again,
// whatever its id. [turn-stop-from-memory]
// Rule (4, the answer): What was done while a commit was pending is answered with that time.
// [turn-early-stop-redated]
static bool decide(struct asking *asking) {
    struct turn *turn = asking->turn;
    struct gate_request *request = asking->request;
    struct model_result result;
    uint32_t site = asking->in->site;
    place(asking);
    bool admitted = gate_admit(turn->gate, site, request, turn_now(turn), asking->answer);
    if (admitted) {
        recall(asking);
    }
    if (admitted && !asking->ends && request->id != NULL && asked_before(asking)) {
        return false;
    }
    if (admitted && (request->verb != GATE_VERB_RECORD_TEST || evaluate(asking, &result))) {
        gate_decide(turn->gate, site, request, turn_now(turn), asking->answer);
        if (asking->answer->again && asking->input->done) { // that was this one
            asking->answer->again = asking->input->done_again;
            asking->answer->at = asking->input->done_at;
        }
        note_done(asking);
    }
    write_answer(asking);
    return asking->answer->accepted && !asking->answer->again;
}

// Digests the body in one spelling, so that the same request is known again. False: no memory.
// Rule (4, the answer): The same id with another body is another request. [turn-digest-of-nothing]
static bool digest_body(struct asking *asking) {
    struct turn *turn = asking->turn;
    json_out_reset(&turn->event);
    return wire_request_canonical(&turn->decider->request, &turn->event) &&
           turn->world->digest(turn->user, turn->event.data, turn->event.length, asking->body);
}

// Rule (4, a stop; R12): What ends or stops is taken though something of its form is wrong.
// [turn-stop-refused-for-form]
static bool read_request(struct asking *asking) {
    struct turn *turn = asking->turn;
    const struct wire_request_in *in = asking->in;
    enum wire_request_read read = wire_request_decode(&turn->decider->request, in->verb, in->body,
                                                      in->length, asking->answer);
    asking->ends = read != WIRE_REQUEST_UNREADABLE &&
                   gate_ends(turn->gate, in->site, &turn->decider->request.gate);
    return read == WIRE_REQUEST_WHOLE || (read == WIRE_REQUEST_IN_PART && asking->ends);
}

// Heard once more in its turn: a lock hung before it, and decided after it, is off as well.
// Rule (5, last paragraph; R12): A lock that its reader saw lifted is off at once, also while a
// commit is pending. [turn-lift-waits-for-the-disk]
// Rule (5, last paragraph): A lock that its reader saw hung waits for its turn, as what permits
// does. [turn-hung-ahead-of-the-disk]
static void hear_early(struct turn *turn, const struct turn_tagging *tagging) {
    if (!tagging->tagging.hung) {
        (void)gate_hear_tagging(turn->gate, tagging->site, tagging->point, &tagging->tagging,
                                turn_now(turn));
    }
}

// Rule (5, last paragraph; R12): What ends or stops takes effect at once, also while a commit is
// pending that may take long. [turn-stop-waits-for-the-disk]
// Rule (4, a stop; R12): What was asked before it, and is decided after it, does not undo it: it is
// decided once more in its turn. [turn-stop-undone-by-the-waiting]
void turn_decide_early(struct turn *turn, struct turn_input *input) {
    struct turn_decider *decider = turn->decider;
    struct gate_request *request = &decider->request.gate;
    const struct wire_request_in *in = &input->request;
    struct asking asking = {
        .turn = turn, .in = in, .input = input, .request = request, .answer = &decider->answer};
    if (input->is_tagging) {
        hear_early(turn, &input->tagging);
        return;
    }
    int verb = gate_verb_of(in->verb);
    if (verb < 0 || gate_verb_row((enum gate_verb)verb)->ends == NULL || !read_request(&asking) ||
        !asking.ends) {
        return;
    }
    place(&asking);
    gate_decide_early(turn->gate, in->site, request, turn_now(turn), asking.answer);
    note_done(&asking);
}

bool turn_ends(struct turn *turn, const struct wire_request_in *in) {
    struct asking asking = {.turn = turn,
                            .in = in,
                            .request = &turn->decider->request.gate,
                            .answer = &turn->decider->answer};
    return read_request(&asking) && asking.ends;
}

// Rule (4, the answer): A refusal leaves its id free. [turn-refusal-remembered]
// Rule (4, the answer): An accepted request with an id is remembered with its answer.
// [turn-answer-forgotten]
static void decide_request(struct turn *turn, struct turn_input *input) {
    const struct wire_request_in *in = &input->request;
    struct turn_decider *decider = turn->decider;
    struct asking asking = {.turn = turn,
                            .in = in,
                            .input = input,
                            .request = &decider->request.gate,
                            .answer = &decider->answer};
    bool accepted = false;
    json_out_reset(&turn->out);
    if (!read_request(&asking)) {
        decider->answer.at = turn_now(turn);
        write_answer(&asking);
    } else if (!digest_body(&asking)) {
        turn->failed = true;
        return;
    } else {
        accepted = decide(&asking);
    }
    count(&asking, accepted);
    queue_answer(&asking);
    if (accepted && asking.kept && !turn->failed) {
        remember(&asking);
    }
}

void turn_decide(struct turn *turn, struct turn_input *input) {
    if (!input->is_tagging) {
        decide_request(turn, input);
        return;
    }
    const struct turn_tagging *tagging = &input->tagging;
    enum gate_heard heard = gate_hear_tagging(turn->gate, tagging->site, tagging->point,
                                              &tagging->tagging, turn_now(turn));
    if (tagging->from_feed) {
        turn->figures.taggings[heard]++;
    }
}
