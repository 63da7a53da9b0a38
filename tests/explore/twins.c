// Twins: two histories that led to one normal form. Every step is taken after both: it has to be
// accepted or refused after both, tell the same facts, and lead to one form again.
#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "search.h"

// What came of a step.
struct outcome {
    bool accepted;
    uint64_t facts; // a digest of their kinds
    size_t length;
    unsigned char form[FORM_MAX];
};

static void outcome_of(struct search *s, const struct step *step, struct outcome *outcome) {
    (void)search_step(s, step, false);
    outcome->accepted = s->world->accepted;
    outcome->facts = s->world->told;
    outcome->length = form_write(s->world, outcome->form);
    search_back(s);
}

static void print_form(const char *what, const struct outcome *outcome) {
    printf("%-10s", what);
    for (size_t i = 0; i < outcome->length; i++) {
        printf(" %02x", outcome->form[i]);
    }
    putchar('\n');
}

// Whether an alarm of no job was acknowledged is left out of the form, and so may differ.
static bool alike(const struct step *step, const struct outcome *a, const struct outcome *b) {
    bool left_out = step->kind == STEP_ASK && step->verb == GATE_VERB_ACKNOWLEDGE_ALARM &&
                    step->job == STEP_NO_JOB;
    bool same = left_out || (a->accepted == b->accepted && a->facts == b->facts);
    return same && a->length == b->length && memcmp(a->form, b->form, a->length) == 0;
}

static bool differs(const struct search *s, const struct twin *twin, const struct step *step,
                    const struct outcome *a, const struct outcome *b) {
    printf("explore: DIFFERENCE in %s: two histories of one form part\n", s->scene->plan.name);
    search_print_way(s, twin->state, step);
    print_form(a->accepted ? "accepted" : "refused", a);
    search_print_way(s, twin->from, &s->steps.steps[twin->step]);
    step_print(stdout, step);
    print_form(b->accepted ? "accepted" : "refused", b);
    return false;
}

static bool compare(struct search *s, const struct twin *twin, struct outcome *outcomes) {
    struct outcome other;
    search_stand(s, twin->state);
    for (unsigned i = 0; i < s->steps.count; i++) {
        outcome_of(s, &s->steps.steps[i], &outcomes[i]);
    }
    for (unsigned i = 0; i < s->steps.count; i++) {
        search_stand(s, twin->from);
        (void)search_step(s, &s->steps.steps[twin->step], true);
        outcome_of(s, &s->steps.steps[i], &other);
        if (!alike(&s->steps.steps[i], &outcomes[i], &other)) {
            return differs(s, twin, &s->steps.steps[i], &outcomes[i], &other);
        }
    }
    return true;
}

bool search_no_difference(struct search *s) {
    struct outcome *outcomes = calloc(s->steps.count, sizeof *outcomes);
    bool good = outcomes != NULL;
    for (uint64_t i = 0; good && i < s->met && i < SEARCH_TWINS; i++) {
        good = compare(s, &s->twins[i], outcomes);
    }
    free(outcomes);
    return good;
}
