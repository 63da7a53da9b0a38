// The normal form, tested: an untouched gate walks at random, and before each step another is made
// anew of its normal form; after the step both must be in one form again.
#include <stdlib.h>
#include <string.h>

#include "journal.h"
#include "search.h"

static uint64_t draw_state = 7;

static uint32_t draw(uint32_t below) {
    draw_state = draw_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (uint32_t)(draw_state >> 33) % below;
}

static void print_form(const char *what, const unsigned char *bytes, size_t length) {
    printf("%-10s", what);
    for (size_t i = 0; i < length; i++) {
        printf(" %02x", bytes[i]);
    }
    putchar('\n');
}

// One step with the untouched gate, the same with the one made anew; both must end in one form.
static bool same_step(struct search *s, struct world *plain, const struct step *step) {
    unsigned char before[PACK_MAX], a[PACK_MAX], b[PACK_MAX];
    size_t length = pack(plain->gate, plain->now, before);
    struct step anew = *step;
    if (length == 0 || !search_stand(s, before)) {
        rules_fail(&plain->rules, "the state made anew does not stay as it was");
        return false;
    }
    search_account(s);
    if (!world_take(plain, step) || !world_take(&s->world, &anew)) {
        rules_fail(&plain->rules, "%s", s->world.rules.wrong);
        return false;
    }
    size_t of_a = pack(plain->gate, plain->now, a), of_b = pack(s->world.gate, s->world.now, b);
    if (of_a != of_b || memcmp(a, b, of_a) != 0 || plain->accepted != s->world.accepted) {
        print_form("before", before, length);
        print_form("untouched", a, of_a);
        print_form("made anew", b, of_b);
        rules_fail(&plain->rules, "the untouched gate and the one made anew differ");
        return false;
    }
    return true;
}

static void keep(void *user, const struct gate_fact *fact) {
    journal_keep(user, fact);
}

static struct gate *fold_journal(struct world *world) {
    return journal_fold(world->user, world_fact, world);
}

// Whether a step means the same to both gates. An alarm is named by its place in the list, which
// the normal form sorts, and leaves some out.
static bool is_even(const struct world *world, const struct step *step) {
    const struct gate_site *site = &world->gate->sites[0];
    return step->kind != STEP_ASK || step->verb != GATE_VERB_ACKNOWLEDGE_ALARM ||
           (site->alarm_count == 1 && site->alarms[0].job[0] != '\0');
}

static bool one_walk(struct search *s, unsigned length) {
    struct journal journal = {.model = &s->forecourt.model};
    struct world *plain = calloc(1, sizeof *plain);
    if (plain == NULL) {
        return false;
    }
    plain->keep = keep;
    plain->user = &journal;
    plain->fold = fold_journal;
    bool good = world_begin(plain, &s->forecourt);
    for (unsigned i = 0; good && i < length; i++) {
        const struct step *step = &s->steps.steps[draw(s->steps.count)];
        const struct step moment = {.kind = STEP_PASS, .ms = 1}; // no two steps fall on one instant
        good = world_take(plain, &moment);
        if (is_even(plain, step) && (scene_may(&plain->rules, step) || draw(SCENE_FULL) == 0)) {
            good = same_step(s, plain, step);
            if (!good) {
                printf("explore: %s: %s\n", s->scene->plan.name, plain->rules.wrong);
                step_print(stdout, step);
            }
        } else {
            i -= draw(8) != 0; // most walks are made of steps that may change something
        }
    }
    world_end(plain);
    journal_clear(&journal);
    free(plain);
    return good;
}

bool search_check_form(const struct scene *scene, unsigned walks) {
    struct search *s = search_new(scene, 1024);
    bool good = true;
    for (unsigned i = 0; good && i < walks; i++) {
        good = one_walk(s, 60);
    }
    printf("explore: %s: the normal form, %u walks of 60 steps%s\n", scene->plan.name, walks,
           good ? "" : ": FAILED");
    search_free(s);
    return good;
}
