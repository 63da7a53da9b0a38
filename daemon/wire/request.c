// The body of a request as a whole: which fields a verb takes, its row says (contract, section 4).
#include "wire/request.h"

#include "base/time_text.h"
#include "wire/request_field.h"
#include "wire/request_text.h"

#include <stdio.h>
#include <string.h>

#define ID_CHARACTERS 64

static void start(struct request *request, struct gate_answer *answer) {
    memset(&request->gate, 0, sizeof request->gate);
    request->reading_count = 0;
    wire_fact_arena_reset(&request->arena);
    answer->accepted = answer->again = false;
    answer->job[0] = '\0';
    answer->has_phase = false;
    answer->has_result = answer->has_signed = answer->has_spill = false;
    answer->refusal_count = 0;
}

// Rule (4, a stop; R12): A stop is read though its text is no JSON: a raw tab, a byte that is no
// UTF-8 and the half of a character in its reason refuse nothing. [stop-refused-for-its-text]
static bool salvage(struct request *request, const struct gate_verb_row *row, const char *payload,
                    size_t length) {
    return row->ends != NULL && json_salvage(&request->salvaged, payload, length) &&
           json_scan(&request->tape, request->salvaged.data, request->salvaged.length,
                     &json_message_limits, NULL);
}

// The text itself is no JSON: one refusal, with its line and column.
static bool scan(struct wire_request_reading *reading, const struct gate_verb_row *row,
                 const char *payload, size_t length) {
    struct json_error error;
    unsigned line, column;
    if (json_scan(&reading->request->tape, payload, length, &json_message_limits, &error)) {
        return true;
    }
    json_position(payload, length, error.offset, &line, &column);
    wire_request_cut(error.pointer, sizeof error.pointer - 1);
    wire_request_malformed(reading, error.pointer, GATE_SAY_UNREADABLE,
                           GATE_ARGS(.line = line, .column = column, .what = error.what));
    return salvage(reading->request, row, payload, length);
}

static void id_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct request *request = reading->request;
    if (value == NULL) {
        return;
    }
    const char *id = value->kind == JSON_STRING ? wire_request_text_copy(request, value) : NULL;
    if (id == NULL || id[0] == '\0' || wire_request_characters(id) > ID_CHARACTERS) {
        wire_request_malformed(
            reading, "/id", GATE_SAY_BAD_ID,
            GATE_ARGS(.found = value->kind == JSON_STRING ? "another" : "no text"));
        return;
    }
    request->gate.id = id;
}

// When it was asked, by the clock of who asks.
// Rule (4, Only the present is permitted; R11): `asked` is an RFC 3339 time. [asked-anything]
static void asked_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    char text[64];
    if (value == NULL) {
        return;
    }
    gate->has_asked = value->kind == JSON_STRING &&
                      json_copy(&reading->request->tape, value, text, sizeof text) &&
                      base_time_parse(text, strlen(text), &gate->asked);
    if (!gate->has_asked) {
        wire_request_malformed(reading, "/asked", GATE_SAY_FIELD_WRONG,
                               GATE_ARGS(.need = "a time (RFC 3339)", .found = "another value"));
    }
}

// Of two fields of which one says the same by other means, exactly one is given.
static void one_of_check(struct wire_request_reading *reading, const struct json_node *root,
                         const char *const one_of[3]) {
    const struct json_tape *tape = &reading->request->tape;
    bool first = json_present(tape, root, one_of[0]) != NULL;
    bool second = json_present(tape, root, one_of[1]) != NULL;
    char pointer[80];
    snprintf(pointer, sizeof pointer, "/%s", one_of[first && second ? 1 : 0]);
    if (first == second) {
        wire_request_malformed(
            reading, pointer, first ? GATE_SAY_ONE_OF_BOTH : GATE_SAY_ONE_OF_NEITHER,
            GATE_ARGS(.first = one_of[0], .second = one_of[1], .what = one_of[2]));
    }
}

// What the body says beside what its verb takes.
static void names_check(struct wire_request_reading *reading, const struct json_node *root,
                        const struct gate_verb_row *row) {
    const char *names[2 + GATE_FIELDS_MAX] = {"id", "asked"};
    size_t count = 2;
    for (const struct gate_field *field = row->fields; field->name != NULL; field++) {
        names[count++] = field->name;
    }
    wire_request_names_check(reading, root, names, count);
}

static void body_read(struct wire_request_reading *reading, const struct gate_verb_row *row) {
    struct request *request = reading->request;
    const struct json_node *root = json_root(&request->tape);
    if (root->kind != JSON_OBJECT) {
        reading->readable = false;
        wire_request_malformed(reading, "", GATE_SAY_NO_OBJECT, NULL);
        return;
    }
    id_read(reading, json_present(&request->tape, root, "id"));
    asked_read(reading, json_present(&request->tape, root, "asked"));
    for (const struct gate_field *field = row->fields; field->name != NULL; field++) {
        wire_request_field_read(reading, field, json_present(&request->tape, root, field->name));
    }
    if (row->one_of[0] != NULL) {
        one_of_check(reading, root, row->one_of);
    }
    names_check(reading, root, row);
}

// Rule (4, a stop; R12): What ends or stops may be taken though something of its body is wrong: all
// but what it is about. [stop-refused-for-form]
enum wire_request_read wire_request_decode(struct request *request, const char *verb,
                                           const char *payload, size_t length,
                                           struct gate_answer *answer) {
    struct wire_request_reading reading = {
        .request = request, .answer = answer, .good = true, .readable = true};
    int known = gate_verb_of(verb);
    start(request, answer);
    if (known < 0) {
        // A name that is no id may be anything, even no text; it is not repeated.
        const char *name = model_id_valid(verb, strlen(verb)) ? verb : "";
        (void)gate_answer_refuse(answer, GATE_SAY_UNKNOWN_VERB, name, GATE_ARGS(.verb = name));
        return WIRE_REQUEST_UNREADABLE;
    }
    const struct gate_verb_row *row = gate_verb_row((enum gate_verb)known);
    request->gate.verb = (enum gate_verb)known;
    if (!scan(&reading, row, payload, length)) {
        return WIRE_REQUEST_UNREADABLE;
    }
    body_read(&reading, row);
    if (request->gate.job != NULL) {
        memcpy(answer->job, request->gate.job, strlen(request->gate.job) + 1);
    }
    return reading.good                            ? WIRE_REQUEST_WHOLE
           : reading.readable && row->ends != NULL ? WIRE_REQUEST_IN_PART
                                                   : WIRE_REQUEST_UNREADABLE;
}

// What a request is, beside how and when it is asked.
// Rule (4; R11): `asked` is no part of the body that is compared. [asked-compared]
static bool is_of_body(const struct json_tape *tape, const struct json_node *key) {
    return !json_equals(tape, key, "id") && !json_equals(tape, key, "asked");
}

// Copies every member of the body, each as it stands in the payload.
static void copy_rest(struct request *request, const struct json_node *root) {
    const struct json_tape *tape = &request->tape;
    json_out_reset(&request->rest);
    json_out_object(&request->rest);
    const struct json_node *key = json_first(tape, root);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, root, key);
        if (is_of_body(tape, key)) {
            size_t start = key->start - 1; // the quotes belong to the text, not to the node
            size_t end = (size_t)value->start + value->length + (value->kind == JSON_STRING);
            json_out_raw(&request->rest, tape->text + start, end - start);
        }
        key = json_next(tape, root, value);
    }
    json_out_object_end(&request->rest);
}

bool wire_request_canonical(struct request *request, struct json_out *out) {
    const struct json_node *root = json_root(&request->tape);
    const struct json_limits limits = {.max_length = SIZE_MAX, .max_depth = 64};
    struct json_error error;
    if (json_member(&request->tape, root, "id") == NULL &&
        json_member(&request->tape, root, "asked") == NULL) {
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

void wire_request_free(struct request *request) {
    json_tape_free(&request->tape);
    json_tape_free(&request->rest_tape);
    json_out_free(&request->salvaged);
    json_out_free(&request->rest);
    wire_fact_arena_free(&request->arena);
    memset(request, 0, sizeof *request);
}
