// Fields by kind: each is taken whole, or refused with its place, what it must be and what it is.
#include "wire/request_field.h"

#include "base/nearest.h"
#include "base/text.h"
#include "base/time_text.h"
#include "gate/distrust.h"
#include "model/unit.h"
#include "wire/request_salvage.h"
#include "wire/request_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define POINTER_SIZE 256
#define POINTER_BYTES 100 // what is told of it
#define NAME_BYTES (MODEL_ID_SIZE - 1)
#define UNIT_BYTES 31 // what a signature has room for
#define NOTE_CHARACTERS 500
#define OBJECT_BYTES 8192
#define LINK_BYTES 2000
#define SHA256_DIGITS 64
#define UNKNOWN_TOLD 16 // more than a person misspells, fewer than an answer has no room for

void wire_request_malformed(struct wire_request_reading *reading, const char *pointer,
                            enum gate_say sentence, const struct gate_args *args) {
    reading->good = false;
    // Without memory for the refusal the request is refused all the same.
    (void)gate_answer_refuse(reading->answer, sentence, pointer, args);
}

char *wire_request_text_copy(struct request *request, const struct json_node *value) {
    size_t size = (size_t)value->length + 1;
    char *copy = wire_fact_arena_alloc(&request->arena, size);
    return copy != NULL && json_copy(&request->tape, value, copy, size) ? copy : NULL;
}

// What stands there, in a few words.
static void describe(const struct json_tape *tape, const struct json_node *value, char *buffer,
                     size_t size) {
    static const char *const names[] = {
        [JSON_NULL] = "null",        [JSON_FALSE] = "false",     [JSON_TRUE] = "true",
        [JSON_NUMBER] = "a number",  [JSON_STRING] = "a string", [JSON_ARRAY] = "an array",
        [JSON_OBJECT] = "an object",
    };
    char text[41];
    if (value->kind == JSON_STRING && json_copy(tape, value, text, sizeof text)) {
        snprintf(buffer, size, "\"%s\"", text);
    } else if (value->kind == JSON_STRING) {
        snprintf(buffer, size, "a string of %zu bytes", json_text_length(tape, value));
    } else if (value->kind == JSON_NUMBER && value->length < sizeof text) {
        snprintf(buffer, size, "%.*s", (int)value->length, tape->text + value->start);
    } else {
        snprintf(buffer, size, "%s", names[value->kind]);
    }
}

// The value at a place is not what it must be.
static void wrong(struct wire_request_reading *reading, const struct json_node *value,
                  const char *need) {
    const struct json_tape *tape = &reading->request->tape;
    char pointer[POINTER_SIZE], found[128];
    json_pointer_of(tape, value, pointer, sizeof pointer);
    wire_request_cut(pointer, POINTER_BYTES);
    describe(tape, value, found, sizeof found);
    wire_request_malformed(reading, pointer, GATE_SAY_FIELD_WRONG,
                           GATE_ARGS(.need = need, .found = found));
}

static void missing(struct wire_request_reading *reading, const char *name) {
    char pointer[POINTER_SIZE];
    snprintf(pointer, sizeof pointer, "/%s", name);
    wire_request_malformed(reading, pointer, GATE_SAY_FIELD_MISSING, NULL);
}

// --- Names ---

static bool is_one_of(const struct json_tape *tape, const struct json_node *key,
                      const char *const *names, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (json_equals(tape, key, names[i])) {
            return true;
        }
    }
    return false;
}

// Says that a name is none of those that may stand there, and which of them is nearest.
static void unknown(struct wire_request_reading *reading, const struct json_node *key,
                    const struct json_node *value, const char *const *names, size_t count) {
    const struct json_tape *tape = &reading->request->tape;
    char pointer[POINTER_SIZE], name[BASE_NAME_COMPARED + 1];
    bool comparable = json_copy(tape, key, name, sizeof name);
    json_pointer_of(tape, value, pointer, sizeof pointer);
    wire_request_cut(pointer, POINTER_BYTES);
    wire_request_malformed(
        reading, pointer, GATE_SAY_FIELD_UNKNOWN,
        GATE_ARGS(.nearest = comparable ? base_closest(name, names, count) : NULL));
}

// Rule (1, unknown fields): A field that the request does not have is refused, with the nearest
// name. [request-unknown-ignored]
// Rule (1, unknown fields): `null` is absent, under whatever name. [request-unknown-null]
void wire_request_names_check(struct wire_request_reading *reading, const struct json_node *object,
                              const char *const *names, size_t count) {
    const struct json_tape *tape = &reading->request->tape;
    size_t told = 0;
    const struct json_node *key = json_first(tape, object);
    while (key != NULL && told < UNKNOWN_TOLD) {
        const struct json_node *value = json_next(tape, object, key);
        if (value->kind != JSON_NULL && !is_one_of(tape, key, names, count)) {
            unknown(reading, key, value, names, count);
            told++;
        }
        key = json_next(tape, object, value);
    }
}

// --- Texts ---

// A day of the calendar as RFC 3339 writes it (its full-date), and nothing beside it.
static bool is_day(const char *text) {
    char noon[32];
    int64_t unix_ms;
    size_t length = strlen(text);
    snprintf(noon, sizeof noon, "%.10sT12:00:00Z", text);
    return length == 10 && base_time_parse(noon, strlen(noon), &unix_ms);
}

// Rule (4, attach): A link is followed by http or https alone, and has no room for a blank.
// [link-of-any-scheme]
static bool is_link(const char *text) {
    size_t scheme = strncmp(text, "https://", 8) == 0  ? 8
                    : strncmp(text, "http://", 7) == 0 ? 7
                                                       : 0;
    return scheme > 0 && text[scheme] != '\0' && strlen(text) <= LINK_BYTES &&
           strpbrk(text, " \t\r\n\"<>\\") == NULL && !wire_request_garbled(text);
}

// Rule (4, fields): A reason says something. [request-reason-blank]
// Rule (4, fields): A name has at most 64 bytes. [request-name-of-any-length]
// Rule (4, a stop; R12): A unit that cannot be read is none, so that what fails without one fails.
// [request-unit-garbled]
static bool text_good(enum gate_field_kind kind, const char *text) {
    size_t length = strlen(text);
    switch (kind) {
    case GATE_FIELD_ID:
        return model_id_valid(text, length);
    case GATE_FIELD_TEST_ID:
        return wire_request_test_id(text);
    case GATE_FIELD_NAME:
        return length <= NAME_BYTES && !base_text_blank(text);
    case GATE_FIELD_UNIT:
        return length <= UNIT_BYTES && !base_text_blank(text) && !wire_request_garbled(text);
    case GATE_FIELD_REASON:
        return wire_request_characters(text) <= NOTE_CHARACTERS && !base_text_blank(text);
    case GATE_FIELD_MEASURE:
        return model_unit_of_fuel(text);
    case GATE_FIELD_DAY:
        return is_day(text);
    case GATE_FIELD_LINK:
        return is_link(text);
    case GATE_FIELD_SHA256:
        return strlen(text) == SHA256_DIGITS &&
               strspn(text, "0123456789abcdefABCDEF") == SHA256_DIGITS;
    default:
        return wire_request_characters(text) <= NOTE_CHARACTERS;
    }
}

static const char *text_need(enum gate_field_kind kind) {
    switch (kind) {
    case GATE_FIELD_ID:
    case GATE_FIELD_TEST_ID:
        return "an id: 1 to 64 letters, digits, '.', '_' and '-', a letter or digit first";
    case GATE_FIELD_NAME:
        return "a text of 1 to 64 bytes";
    case GATE_FIELD_UNIT:
        return "a text of 1 to 31 bytes";
    case GATE_FIELD_REASON:
        return "a text of at most 500 characters that is not blank";
    case GATE_FIELD_MEASURE:
        return "\"gal\" or \"L\"";
    case GATE_FIELD_DAY:
        return "a day: YYYY-MM-DD";
    case GATE_FIELD_LINK:
        return "an address that begins with http:// or https://, of at most 2000 bytes";
    case GATE_FIELD_SHA256:
        return "64 hexadecimal digits";
    default:
        return "a text of at most 500 characters";
    }
}

// A note or reason that is too long, as far as there is room for it: of a request that is taken
// whatever its form.
// Rule (4, a stop; R12): Of a stop a reason that is too long is cut. [stop-reason-dropped]
static bool text_cut(enum gate_field_kind kind, char *text) {
    bool may = kind == GATE_FIELD_NOTE || kind == GATE_FIELD_REASON;
    if (may) {
        wire_request_cut_characters(text, NOTE_CHARACTERS);
    }
    return may && text_good(kind, text);
}

static void text_read(struct wire_request_reading *reading, const struct gate_field *field,
                      const struct json_node *value) {
    char *text =
        value->kind == JSON_STRING ? wire_request_text_copy(reading->request, value) : NULL;
    bool good = text != NULL && text_good(field->kind, text);
    if (!good) {
        wrong(reading, value, text_need(field->kind));
    }
    if (good || (text != NULL && text_cut(field->kind, text))) {
        memcpy((char *)&reading->request->gate + field->offset, &text, sizeof text);
    }
}

// --- The other kinds ---

// Rule (4, fields): What is no number is refused as a value. [request-number-of-nothing]
static void number_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    gate->has_value =
        json_double(&reading->request->tape, value, &gate->value) && isfinite(gate->value);
    if (!gate->has_value) {
        wrong(reading, value, "a number");
        wire_request_number_salvage(reading->request, value);
    }
}

static void flag_read(struct wire_request_reading *reading, const struct gate_field *field,
                      const struct json_node *value) {
    bool flag = value->kind == JSON_TRUE;
    if (!flag && value->kind != JSON_FALSE) {
        wrong(reading, value, "true or false");
        return;
    }
    memcpy((char *)&reading->request->gate + field->offset, &flag, sizeof flag);
}

// Rule (4, distrust-sensor; R27): Hours are more than none and at most 12. [request-hours-of-any]
static void hours_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    if (!json_double(&reading->request->tape, value, &gate->hours) ||
        !(gate->hours > 0 && gate->hours <= GATE_DISTRUST_HOURS)) {
        gate->hours = 0;
        wrong(reading, value, "a number of hours above 0, at most 12");
    }
}

// Rule (4, fields): A state is isolated or live, and nothing else. [request-state-of-anything]
static void state_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    bool string = value->kind == JSON_STRING;
    bool live = string && json_equals(&reading->request->tape, value, "live");
    gate->has_state = live || (string && json_equals(&reading->request->tape, value, "isolated"));
    gate->state = live ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    if (!gate->has_state) {
        gate->state = MODEL_POINT_UNKNOWN;
        wrong(reading, value, "\"isolated\" or \"live\"");
    }
}

// Rule (4, fields): A time is one of RFC 3339, or refused. [request-time-of-anything]
static void time_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    char text[64];
    gate->has_raised = value->kind == JSON_STRING &&
                       json_copy(&reading->request->tape, value, text, sizeof text) &&
                       base_time_parse(text, strlen(text), &gate->raised);
    if (!gate->has_raised) {
        wrong(reading, value, "an RFC 3339 time");
    }
}

// The same into a place of its own.
static void instant_read(struct wire_request_reading *reading, const struct gate_field *field,
                         const struct json_node *value) {
    char text[64];
    int64_t unix_ms;
    if (value->kind == JSON_STRING &&
        json_copy(&reading->request->tape, value, text, sizeof text) &&
        base_time_parse(text, strlen(text), &unix_ms) && unix_ms > 0) {
        memcpy((char *)&reading->request->gate + field->offset, &unix_ms, sizeof unix_ms);
    } else {
        wrong(reading, value, "an RFC 3339 time after 1970-01-01");
    }
}

// Rule (4, record-fuel): A volume is a number that a meter can show. [request-volume-of-anything]
static void volume_read(struct wire_request_reading *reading, const struct gate_field *field,
                        const struct json_node *value) {
    struct gate_volume volume = {.given = true};
    bool below = field->kind == GATE_FIELD_CHANGE;
    double least = below ? -GATE_VOLUME_MAX : 0;
    if (json_double(&reading->request->tape, value, &volume.value) && volume.value >= least &&
        volume.value <= GATE_VOLUME_MAX) {
        memcpy((char *)&reading->request->gate + field->offset, &volume, sizeof volume);
    } else {
        wrong(reading, value, below ? "a number from -1e9 to 1e9" : "a number from 0 to 1e9");
    }
}

// Rule (4, sign-check; R32): A verdict is true or false, and nothing else.
// [request-pass-of-anything]
static void pass_read(struct wire_request_reading *reading, const struct json_node *value) {
    struct gate_request *gate = &reading->request->gate;
    gate->pass = value->kind == JSON_TRUE;
    gate->has_pass = gate->pass || value->kind == JSON_FALSE;
    if (!gate->has_pass) {
        wrong(reading, value, "true or false");
        gate->has_pass = wire_request_says_false(reading->request, value);
    }
}

static void attest_one(struct wire_request_reading *reading, const struct json_node *object,
                       const char *name, bool *attested) {
    const struct json_node *value = json_present(&reading->request->tape, object, name);
    *attested = value != NULL && value->kind == JSON_TRUE;
    if (value != NULL && value->kind != JSON_TRUE && value->kind != JSON_FALSE) {
        wrong(reading, value, "true or false");
    }
}

static void attest_read(struct wire_request_reading *reading, const struct json_node *value) {
    static const char *const names[] = {"not_on_site", "contact_tried", "will_be_told", "seen_off"};
    struct gate_request *gate = &reading->request->gate;
    if (value->kind != JSON_OBJECT) {
        wrong(reading, value, "an object");
        return;
    }
    wire_request_names_check(reading, value, names, sizeof names / sizeof *names);
    attest_one(reading, value, "not_on_site", &gate->not_on_site);
    attest_one(reading, value, "contact_tried", &gate->contact_tried);
    attest_one(reading, value, "will_be_told", &gate->will_be_told);
    attest_one(reading, value, "seen_off", &gate->seen_off);
}

// One reading's value. False: it is none of the three kinds, or a text too long for a word.
static bool reading_value(const struct json_tape *tape, const struct json_node *value,
                          struct model_reading *into) {
    switch (value->kind) {
    case JSON_NUMBER:
        into->kind = MODEL_READING_NUMBER;
        return json_double(tape, value, &into->number) && isfinite(into->number);
    case JSON_TRUE:
    case JSON_FALSE:
        into->kind = MODEL_READING_FLAG;
        into->flag = value->kind == JSON_TRUE;
        return true;
    case JSON_STRING:
        into->kind = MODEL_READING_TEXT;
        return json_copy(tape, value, into->text, sizeof into->text);
    default:
        return false;
    }
}

static void reading_read(struct wire_request_reading *reading, const struct json_node *key,
                         const struct json_node *value) {
    struct request *request = reading->request;
    struct model_reading one = {0};
    if (value->kind == JSON_NULL) {
        return;
    }
    if (!json_copy(&request->tape, key, one.name, sizeof one.name) || one.name[0] == '\0') {
        wrong(reading, value, "a reading of its rule, whose names have at most 31 bytes");
    } else if (!reading_value(&request->tape, value, &one)) {
        wrong(reading, value, "a number, true, false, or a word of at most 31 bytes");
    } else if (request->reading_count == MODEL_READINGS_MAX) {
        wrong(reading, value, "left out: no rule takes more than 8 readings");
    } else {
        request->readings[request->reading_count++] = one;
    }
}

static void readings_read(struct wire_request_reading *reading, const struct json_node *object) {
    const struct json_tape *tape = &reading->request->tape;
    if (object->kind != JSON_OBJECT) {
        wrong(reading, object, "an object");
        return;
    }
    const struct json_node *key = json_first(tape, object);
    while (key != NULL) {
        const struct json_node *value = json_next(tape, object, key);
        reading_read(reading, key, value);
        key = json_next(tape, object, value);
    }
}

// Rule (4, open-job): An object of the tracker's own has at most 8 KiB. [data-of-any-length]
static void object_check(struct wire_request_reading *reading, const struct json_node *value) {
    if (value->kind != JSON_OBJECT || value->length > OBJECT_BYTES) {
        wrong(reading, value, "an object of at most 8 KiB");
    }
}

static void value_read(struct wire_request_reading *reading, const struct gate_field *field,
                       const struct json_node *value) {
    switch (field->kind) {
    case GATE_FIELD_NUMBER:
        number_read(reading, value);
        break;
    case GATE_FIELD_FLAG:
        flag_read(reading, field, value);
        break;
    case GATE_FIELD_HOURS:
        hours_read(reading, value);
        break;
    case GATE_FIELD_STATE:
        state_read(reading, value);
        break;
    case GATE_FIELD_TIME:
        time_read(reading, value);
        break;
    case GATE_FIELD_INSTANT:
        instant_read(reading, field, value);
        break;
    case GATE_FIELD_VOLUME:
    case GATE_FIELD_CHANGE:
        volume_read(reading, field, value);
        break;
    case GATE_FIELD_PASS:
        pass_read(reading, value);
        break;
    case GATE_FIELD_ATTEST:
        attest_read(reading, value);
        break;
    case GATE_FIELD_READINGS:
        readings_read(reading, value);
        break;
    case GATE_FIELD_OBJECT:
        object_check(reading, value);
        break;
    default:
        text_read(reading, field, value);
        break;
    }
}

void wire_request_field_read(struct wire_request_reading *reading, const struct gate_field *field,
                             const struct json_node *value) {
    bool before = reading->good;
    reading->good = true;
    if (value != NULL) {
        value_read(reading, field, value);
    } else if (field->required) {
        missing(reading, field->name);
    }
    reading->readable = reading->readable && (reading->good || !field->required);
    reading->good = reading->good && before;
}
