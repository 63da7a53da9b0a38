// Lists of requirements and the refusals of an answer.
#include "gate/refusal_list.h"

#include <stdlib.h>
#include <string.h>

#include "base/array.h"
#include "gate/gate.h"
#include "gate/refusal.h"
#include "gate/text.h"

// Rule (4, the answer; R34): Every reason of a refusal is listed, not the first.
// [first-reason-only]
struct gate_refusal *gate_list_put(struct gate_list *list, bool met, enum gate_say sentence,
                                   const char *subject, const struct gate_args *args) {
    if (met && list->unmet_only) {
        return NULL;
    }
    if (!BASE_ARRAY_ROOM(list->items, list->count, list->capacity)) {
        list->failed = true;
        return NULL;
    }
    struct gate_requirement *requirement = &list->items[list->count++];
    requirement->met = met;
    gate_refusal_make(&requirement->refusal, met, sentence, subject, args);
    return &requirement->refusal;
}

void gate_list_free(struct gate_list *list) {
    free(list->items);
    free(list->tests);
    memset(list, 0, sizeof *list);
}

// Room for one refusal more; NULL: no memory.
static struct gate_refusal *refusal_next(struct gate_answer *answer) {
    answer->accepted = false;
    if (!BASE_ARRAY_ROOM(answer->refusals, answer->refusal_count, answer->refusal_capacity)) {
        return NULL;
    }
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
    free(answer->tests);
    memset(answer, 0, sizeof *answer);
}
