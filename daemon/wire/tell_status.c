// The status of an answer, from the codes of its refusals.
#include "wire/tell.h"

static int status_of_code(enum model_code code) {
    switch (code) {
    case MODEL_CODE_JOURNAL_DOWN:
        return 503;
    case MODEL_CODE_NOT_ALLOWED:
        return 403;
    case MODEL_CODE_MALFORMED:
        return 400;
    case MODEL_CODE_UNKNOWN_SITE:
    case MODEL_CODE_UNKNOWN_VERB:
        return 404;
    default:
        return 409;
    }
}

int wire_status(const struct gate_answer *answer) {
    static const int order[] = {503, 403, 400, 404, 409};
    if (answer->accepted) {
        return 200;
    }
    for (size_t o = 0; o < sizeof order / sizeof order[0]; o++) {
        for (size_t i = 0; i < answer->refusal_count; i++) {
            if (status_of_code(answer->refusals[i].code) == order[o]) {
                return order[o];
            }
        }
    }
    return 503;
}
