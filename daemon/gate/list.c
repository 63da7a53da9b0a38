// Lists of requirements and the refusals of an answer.
#include "gate/internal.h"

#include <stdlib.h>

struct gate_refusal *gate_list_add(struct gate_list *list, bool met, enum model_code code,
                                   const char *subject) {
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
    memset(requirement, 0, sizeof *requirement);
    requirement->met = met;
    requirement->refusal.code = code;
    requirement->refusal.age_ms = -1;
    gate_text(requirement->refusal.subject, sizeof requirement->refusal.subject, "%s",
              subject != NULL ? subject : "");
    return &requirement->refusal;
}

void gate_list_require(struct gate_list *list, bool met, enum model_code code, const char *subject,
                       const char *need, const char *found, const char *say) {
    struct gate_refusal *refusal = gate_list_add(list, met, code, subject);
    if (refusal != NULL) {
        gate_text(refusal->need, sizeof refusal->need, "%s", need);
        gate_text(refusal->found, sizeof refusal->found, "%s", found);
        gate_text(refusal->say, sizeof refusal->say, "%s", say);
    }
}

void gate_list_free(struct gate_list *list) {
    free(list->items);
    memset(list, 0, sizeof *list);
}

bool gate_answer_refuse(struct gate_answer *answer, enum model_code code, const char *subject,
                        const char *need, const char *found, const char *say) {
    answer->accepted = false;
    struct gate_refusal *refusals = gate_grown(answer->refusals, answer->refusal_count,
                                               &answer->refusal_capacity, sizeof *refusals);
    if (refusals == NULL) {
        return false;
    }
    answer->refusals = refusals;
    struct gate_refusal *refusal = &answer->refusals[answer->refusal_count++];
    memset(refusal, 0, sizeof *refusal);
    refusal->code = code;
    refusal->age_ms = -1;
    gate_text(refusal->subject, sizeof refusal->subject, "%s", subject != NULL ? subject : "");
    gate_text(refusal->need, sizeof refusal->need, "%s", need);
    gate_text(refusal->found, sizeof refusal->found, "%s", found);
    gate_text(refusal->say, sizeof refusal->say, "%s", say);
    return true;
}

void gate_answer_free(struct gate_answer *answer) {
    free(answer->refusals);
    memset(answer, 0, sizeof *answer);
}
