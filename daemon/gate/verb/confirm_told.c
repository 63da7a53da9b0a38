// confirm-told: who was absent when a lock of theirs was removed says that they know of it (29 CFR
// 1910.147(e)(3)(iii)).
#include <string.h>

#include "gate/emit.h"
#include "gate/refusal_list.h"
#include "gate/untold.h"
#include "gate/verb/case.h"

#define POINTS_TOLD 64

// Rule (4, confirm-told; R16): Only whose lock was removed confirms it. [confirm-by-anybody]
static void decide(struct gate_case *c) {
    const char *asker = c->person->person;
    const char *point = gate_untold_of(c->site, asker);
    gate_list_put(&c->list, point != NULL, GATE_SAY_NOTHING_TOLD, asker,
                  GATE_ARGS(.person = asker));
    if (!gate_case_clear(c)) {
        return;
    }
    struct gate_fact fact = gate_fact_new(c->gate, c->site, GATE_FACT_TOLD_CONFIRMED, c->now);
    const char *points[POINTS_TOLD];
    for (size_t i = 0; i < c->site->untold_count && fact.point_count < POINTS_TOLD; i++) {
        if (strcmp(c->site->untold[i].person, asker) == 0) {
            points[fact.point_count++] = c->site->untold[i].point;
        }
    }
    fact.person = asker;
    fact.points = points;
    gate_emit(c->gate, &fact);
}

// Rule (5, last paragraph): A confirmation is refused while the journal cannot write.
// [confirm-while-down]
const struct gate_verb_row gate_verb_confirm_told = {
    .name = "confirm-told",
    .about = "Says that the asker knows that a lock of theirs was removed while they were absent.",
    .who = GATE_WHO_VERB,
    .asker = "whose lock was removed",
    .permits = true,
    .present = true,
    .untold = true,
    .decide = decide,
};
