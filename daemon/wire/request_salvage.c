// What can be read of a field that is not of its kind, where it may be a failure all the same.
#include "wire/request_salvage.h"

#include <string.h>
#include <strings.h>

// A number that was written as a text.
static bool number_of_text(const struct json_tape *tape, const struct json_node *value,
                           double *number) {
    struct json_tape inner = {0};
    char text[40];
    bool is = value->kind == JSON_STRING && json_copy(tape, value, text, sizeof text) &&
              json_scan(&inner, text, strlen(text), &json_message_limits, NULL) &&
              json_double(&inner, json_root(&inner), number);
    json_tape_free(&inner);
    return is;
}

static void number_add(struct gate_request *gate, double number) {
    if (!gate->has_value) {
        gate->has_value = true;
        gate->value = number;
        return;
    }
    double least = gate->has_other && gate->other < gate->value ? gate->other : gate->value;
    double most = gate->has_other && gate->other > gate->value ? gate->other : gate->value;
    gate->has_other = true;
    gate->value = number < least ? number : least;
    gate->other = number > most ? number : most;
}

// What can be read of a value that is no number: a text of one, or several, of which the least and
// the most tell whether one is outside. The request is not whole, and stands for nothing but a
// failure.
// Rule (4, a stop; R12): A value of a wrong kind is read as far as it can be.
// [request-number-in-text]
// Rule (4, a stop; R12): Of a value that is given twice each is heard. [request-number-twice]
void wire_request_number_salvage(struct request *request, const struct json_node *value) {
    const struct json_tape *tape = &request->tape;
    struct gate_request *gate = &request->gate;
    double number;
    if (value->kind != JSON_ARRAY) {
        if (number_of_text(tape, value, &number)) {
            number_add(gate, number);
        }
        return;
    }
    for (const struct json_node *one = json_first(tape, value); one != NULL;
         one = json_next(tape, value, one)) {
        if (json_double(tape, one, &number) || number_of_text(tape, one, &number)) {
            number_add(gate, number);
        }
    }
}

// Rule (4, a stop; R12): A verdict of a wrong kind that can only mean no is heard as that: the text
// of it, or nothing as a number. [request-no-in-text]
static bool is_no(const struct json_tape *tape, const struct json_node *value) {
    double number;
    char text[8];
    if (value->kind == JSON_STRING) {
        return json_copy(tape, value, text, sizeof text) && strcasecmp(text, "false") == 0;
    }
    return value->kind == JSON_FALSE || (json_double(tape, value, &number) && number == 0);
}

// Rule (4, a stop; R12): Of a verdict that is given twice the one that fails is heard.
// [request-pass-twice]
bool wire_request_says_false(const struct request *request, const struct json_node *value) {
    const struct json_tape *tape = &request->tape;
    if (value->kind != JSON_ARRAY) {
        return is_no(tape, value);
    }
    for (const struct json_node *one = json_first(tape, value); one != NULL;
         one = json_next(tape, value, one)) {
        if (is_no(tape, one)) {
            return true;
        }
    }
    return false;
}
