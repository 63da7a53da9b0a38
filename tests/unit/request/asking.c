// Asking, and what every answer must be like.
#include "asking.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

int bench_new(void **state) {
    *state = calloc(1, sizeof(struct bench));
    return *state == NULL;
}

int bench_end(void **state) {
    struct bench *bench = *state;
    wire_request_free(&bench->request);
    gate_answer_free(&bench->answer);
    json_out_free(&bench->out);
    free(bench);
    return 0;
}

bool ask(struct bench *bench, const char *verb, const char *body) {
    return wire_request_decode(&bench->request, verb, body, strlen(body), &bench->answer) ==
           WIRE_REQUEST_WHOLE;
}

const struct gate_request *good(struct bench *bench, const char *verb, const char *body) {
    if (!ask(bench, verb, body)) {
        fail_msg("%s refused %s: %s", verb, body,
                 bench->answer.refusal_count > 0 ? bench->answer.refusals[0].say : "no reason");
    }
    assert_int_equal(bench->answer.refusal_count, 0);
    assert_string_equal(gate_verb_name(bench->request.gate.verb), verb);
    return &bench->request.gate;
}

const struct gate_refusal *bad(struct bench *bench, const char *verb, const char *body,
                               const char *pointer) {
    if (ask(bench, verb, body)) {
        fail_msg("%s took %s", verb, body);
    }
    assert_false(bench->answer.accepted);
    assert_int_equal(bench->answer.refusal_count, 1);
    const struct gate_refusal *refusal = &bench->answer.refusals[0];
    assert_int_equal(refusal->code, MODEL_CODE_MALFORMED);
    assert_string_equal(refusal->subject, pointer);
    assert_int_equal(refusal->age_ms, -1);
    assert_true(refusal->need[0] != '\0' && refusal->found[0] != '\0');
    assert_int_equal(refusal->say[strlen(refusal->say) - 1], '.');
    return refusal;
}

const char *body_with(const char *name, const char *character, size_t times, const char *rest) {
    static char body[8192];
    size_t length = (size_t)snprintf(body, sizeof body, "{\"job\":\"J\",\"%s\":\"", name);
    for (size_t i = 0; i < times; i++) {
        length += (size_t)snprintf(body + length, sizeof body - length, "%s", character);
    }
    snprintf(body + length, sizeof body - length, "\"%s}", rest);
    return body;
}
