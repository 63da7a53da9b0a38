// The table of verbs and their fields (contract, section 4), and the body as a whole.
#include "wire/request.h"

#include "wire/request_field.h"
#include "wire/request_text.h"

#include <stdio.h>
#include <string.h>

#define ID_CHARACTERS 64
#define FIELDS_MAX 9

#define MUST(member, as)                                                                           \
    { #member, as, true, offsetof(struct gate_request, member) }
#define MAY(member, as)                                                                            \
    { #member, as, false, offsetof(struct gate_request, member) }
// `person` in a body is never who asks: it is another of the crew, or whose tag it is.
#define PERSON                                                                                     \
    { "person", REQUEST_ID, false, offsetof(struct gate_request, member) }
#define PLAIN(member, as, required)                                                                \
    { #member, as, required, 0 }

static const struct request_field fields[GATE_VERB_COUNT][FIELDS_MAX] = {
    [GATE_VERB_OPEN_JOB] = {MUST(job, REQUEST_ID), MUST(position, REQUEST_ID),
                            MUST(procedure, REQUEST_ID), MAY(technician, REQUEST_ID),
                            MAY(kit_family, REQUEST_NAME), MAY(part, REQUEST_NAME),
                            MAY(defect, REQUEST_NOTE), MAY(note, REQUEST_NOTE)},
    [GATE_VERB_ASSIGN_JOB] = {MUST(job, REQUEST_ID), MUST(technician, REQUEST_ID),
                              MAY(kit_family, REQUEST_NAME)},
    [GATE_VERB_JOIN_JOB] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_LEAVE_JOB] = {MUST(job, REQUEST_ID), PERSON},
    [GATE_VERB_WITNESS_POINT] = {MAY(job, REQUEST_ID), MUST(point, REQUEST_ID),
                                 PLAIN(state, REQUEST_STATE, true)},
    [GATE_VERB_HANG_TAG] = {MUST(job, REQUEST_ID), MUST(point, REQUEST_ID)},
    [GATE_VERB_LIFT_TAG] = {MUST(job, REQUEST_ID), MUST(point, REQUEST_ID)},
    [GATE_VERB_LIFT_ABSENT_TAG] = {MAY(job, REQUEST_ID), MUST(point, REQUEST_ID), PERSON,
                                   MAY(badge, REQUEST_NAME), MUST(reason, REQUEST_REASON),
                                   PLAIN(attest, REQUEST_ATTEST, false)},
    [GATE_VERB_SIGN_CHECK] = {MUST(job, REQUEST_ID), MUST(check, REQUEST_ID),
                              PLAIN(value, REQUEST_NUMBER, false), MAY(unit, REQUEST_UNIT),
                              MAY(instrument, REQUEST_ID), MAY(note, REQUEST_NOTE)},
    [GATE_VERB_START_WORK] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_STOP_WORK] = {MUST(job, REQUEST_ID), MUST(reason, REQUEST_REASON)},
    [GATE_VERB_FINISH_WORK] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_BEGIN_TEST] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_RECORD_TEST] = {MUST(job, REQUEST_ID), MUST(test, REQUEST_TEST_ID),
                               PLAIN(readings, REQUEST_READINGS, true), MAY(instrument, REQUEST_ID),
                               MAY(note, REQUEST_NOTE)},
    [GATE_VERB_REWORK] = {MUST(job, REQUEST_ID), MUST(reason, REQUEST_REASON)},
    [GATE_VERB_SET_ASIDE] = {MUST(job, REQUEST_ID), MUST(reason, REQUEST_REASON)},
    [GATE_VERB_RETURN_POSITION] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_HAND_OVER] = {MUST(job, REQUEST_ID), MUST(to, REQUEST_ID)},
    [GATE_VERB_ACCEPT_LEAD] = {MUST(job, REQUEST_ID)},
    [GATE_VERB_CANCEL_JOB] = {MUST(job, REQUEST_ID), MUST(reason, REQUEST_REASON)},
    [GATE_VERB_ACKNOWLEDGE_ALARM] = {MUST(alarm, REQUEST_ID)},
};

const struct request_field *request_fields(enum gate_verb verb) {
    return fields[verb];
}

static void start(struct request *request, struct gate_answer *answer) {
    memset(&request->gate, 0, sizeof request->gate);
    request->reading_count = 0;
    fact_arena_reset(&request->arena);
    answer->accepted = false;
    answer->job[0] = '\0';
    answer->has_phase = false;
    answer->has_result = false;
    answer->refusal_count = 0;
}

// The text itself is no JSON: one refusal, with its line and column.
static bool scan(struct request_reading *reading, const char *payload, size_t length) {
    struct json_error error;
    unsigned line, column;
    char found[64], say[240];
    if (json_scan(&reading->request->tape, payload, length, &json_message_limits, &error)) {
        return true;
    }
    json_position(payload, length, error.offset, &line, &column);
    request_cut(error.pointer, sizeof error.pointer - 1);
    snprintf(found, sizeof found, "line %u, column %u", line, column);
    snprintf(say, sizeof say, "The request cannot be read: %s.", error.what);
    request_malformed(reading, error.pointer, "a JSON object (RFC 8259)", found, say);
    return false;
}

static void id_read(struct request_reading *reading, const struct json_node *value) {
    struct request *request = reading->request;
    if (value == NULL) {
        return;
    }
    const char *id = value->kind == JSON_STRING ? request_text_copy(request, value) : NULL;
    if (id == NULL || id[0] == '\0' || request_characters(id) > ID_CHARACTERS) {
        request_malformed(reading, "/id", "a text of 1 to 64 characters",
                          value->kind == JSON_STRING ? "another" : "no text",
                          "The id of a request must be a text of 1 to 64 characters.");
        return;
    }
    request->gate.id = id;
}

// A tag has one owner: a person, or a badge that nobody is known by.
static void owner_check(struct request_reading *reading, const struct json_node *root) {
    const struct json_tape *tape = &reading->request->tape;
    bool person = json_present(tape, root, "person") != NULL;
    bool badge = json_present(tape, root, "badge") != NULL;
    if (person && badge) {
        request_malformed(reading, "/badge", "person or badge, not both", "both",
                          "Name the tag's owner by person or by badge, not by both.");
    } else if (!person && !badge) {
        request_malformed(reading, "/person", "person or badge", "neither",
                          "Name the tag's owner, by person or by badge.");
    }
}

static void body_read(struct request_reading *reading, enum gate_verb verb) {
    struct request *request = reading->request;
    const struct json_node *root = json_root(&request->tape);
    if (root->kind != JSON_OBJECT) {
        request_malformed(reading, "", "a JSON object", "another JSON value",
                          "The body of a request must be a JSON object.");
        return;
    }
    id_read(reading, json_present(&request->tape, root, "id"));
    for (const struct request_field *field = fields[verb]; field->name != NULL; field++) {
        request_field_read(reading, field, json_present(&request->tape, root, field->name));
    }
    if (verb == GATE_VERB_LIFT_ABSENT_TAG) {
        owner_check(reading, root);
    }
}

bool request_decode(struct request *request, const char *verb, const char *payload, size_t length,
                    struct gate_answer *answer) {
    struct request_reading reading = {.request = request, .answer = answer, .good = true};
    int known = gate_verb_of(verb);
    start(request, answer);
    if (known < 0) {
        // A name that is no id may be anything, even no text; it is not repeated.
        const char *name = model_id_valid(verb, strlen(verb)) ? verb : "";
        (void)gate_answer_refuse(answer, MODEL_CODE_UNKNOWN_VERB, name, "a known verb", name,
                                 "There is no request of this name.");
        return false;
    }
    request->gate.verb = (enum gate_verb)known;
    if (!scan(&reading, payload, length)) {
        return false;
    }
    body_read(&reading, request->gate.verb);
    if (request->gate.job != NULL) {
        memcpy(answer->job, request->gate.job, strlen(request->gate.job) + 1);
    }
    return reading.good;
}

// Copies every member but the id, each as it stands in the payload.
static void copy_rest(struct request *request, const struct json_node *root) {
    const struct json_tape *tape = &request->tape;
    json_out_reset(&request->rest);
    json_out_object(&request->rest);
    const struct json_node *key = json_first(tape, root);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, root, key);
        if (!json_equals(tape, key, "id")) {
            size_t start = key->start - 1; // the quotes belong to the text, not to the node
            size_t end = (size_t)value->start + value->length + (value->kind == JSON_STRING);
            json_out_raw(&request->rest, tape->text + start, end - start);
        }
        key = json_next(tape, root, value);
    }
    json_out_object_end(&request->rest);
}

bool request_canonical(struct request *request, struct json_out *out) {
    const struct json_node *root = json_root(&request->tape);
    const struct json_limits limits = {.max_length = SIZE_MAX, .max_depth = 64};
    struct json_error error;
    if (json_member(&request->tape, root, "id") == NULL) {
        json_out_canonical(out, &request->tape, root);
        return !out->failed;
    }
    copy_rest(request, root);
    if (request->rest.failed || !json_scan(&request->rest_tape, request->rest.data,
                                           request->rest.length, &limits, &error)) {
        return false;
    }
    json_out_canonical(out, &request->rest_tape, json_root(&request->rest_tape));
    return !out->failed;
}

void request_free(struct request *request) {
    json_tape_free(&request->tape);
    json_tape_free(&request->rest_tape);
    json_out_free(&request->rest);
    fact_arena_free(&request->arena);
    memset(request, 0, sizeof *request);
}
