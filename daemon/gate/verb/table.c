// The table of verbs, made of the list.
#include <string.h>

#include "gate/verb.h"

static const struct gate_verb_row *const rows[GATE_VERB_COUNT] = {
#define GATE_VERB_ROW(NAME, row) &gate_verb_##row,
    GATE_VERBS(GATE_VERB_ROW)
#undef GATE_VERB_ROW
};

const struct gate_verb_row *gate_verb_row(enum gate_verb verb) {
    return rows[verb];
}

enum gate_verb gate_verb_next(enum model_phase phase) {
    int verb = 0;
    while (verb < GATE_VERB_COUNT &&
           (rows[verb]->gate == NULL || (rows[verb]->phases >> phase & 1u) == 0)) {
        verb++;
    }
    return (enum gate_verb)verb;
}

const char *gate_verb_name(enum gate_verb verb) {
    return (unsigned)verb < GATE_VERB_COUNT ? rows[verb]->name : NULL;
}

const char *gate_verb_refused(enum gate_fact_type type, const char *named) {
    if (type == GATE_FACT_REQUEST_REFUSED) {
        return named;
    }
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        if (rows[verb]->refusal != 0 && rows[verb]->refusal == type) {
            return rows[verb]->name;
        }
    }
    return NULL;
}

int gate_verb_of(const char *name) {
    for (int verb = 0; verb < GATE_VERB_COUNT; verb++) {
        if (strcmp(rows[verb]->name, name) == 0) {
            return verb;
        }
    }
    return -1;
}
