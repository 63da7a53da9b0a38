// Lists of requirements and the refusals of an answer.
#include "gate/internal.h"

#include <stdlib.h>

struct gate_refusal *gate_list_put(struct gate_list *list, bool met, enum gate_say sentence,
                                   const char *subject, const struct gate_args *args) {
    if (met && list->unmet_only) {
        return NULL;
    }
    struct gate_requirement *items =
        gate_grown(list->items, list->count, &list->capacity, sizeof *items);
    if (items == NULL) {
        list->failed = true;
        return NULL;
    }
    list->items = items;
    struct gate_requirement *requirement = &list->items[list->count++];
    requirement->met = met;
    gate_refusal_make(&requirement->refusal, met, sentence, subject, args);
    return &requirement->refusal;
}

void gate_list_free(struct gate_list *list) {
    free(list->items);
    memset(list, 0, sizeof *list);
}

// Room for one refusal more; NULL: no memory.
static struct gate_refusal *refusal_next(struct gate_answer *answer) {
    answer->accepted = false;
    struct gate_refusal *refusals = gate_grown(answer->refusals, answer->refusal_count,
                                               &answer->refusal_capacity, sizeof *refusals);
    if (refusals == NULL) {
        return NULL;
    }
    answer->refusals = refusals;
    return &answer->refusals[answer->refusal_count++];
}

bool gate_answer_refuse(struct gate_answer *answer, enum gate_say sentence, const char *subject,
                        const struct gate_args *args) {
    struct gate_refusal *refusal = refusal_next(answer);
    if (refusal != NULL) {
        gate_refusal_make(refusal, false, sentence, subject, args);
    }
    return refusal != NULL;
}

bool gate_answer_add(struct gate_answer *answer, const struct gate_refusal *refusal) {
    struct gate_refusal *added = refusal_next(answer);
    if (added != NULL) {
        *added = *refusal;
    }
    return added != NULL;
}

void gate_answer_free(struct gate_answer *answer) {
    free(answer->refusals);
    memset(answer, 0, sizeof *answer);
}
