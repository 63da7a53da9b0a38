// A journal that the first edition wrote: it is read, folded and written as it was then.
//
// first-edition.facts is one repair after the other over the forecourt of the gate's tests, every
// type of fact in it: type, site, wall clock, time line and data, one fact a line.
// first-edition.state is what that edition's gate had in memory at its end, but for what a job
// needs now: a limit in V bounds both sides of zero. Neither is ever written anew: a journal
// outlives the program that kept it.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#include "gate/gate.h"
#include "wire/fact_codec.h"
#include "world.h"
#include "world_journal.h"

#define FIRST_EDITION_TYPES 38 // all that it had

struct edition {
    struct gate *gate;
    struct json_tape tape;
    struct wire_fact_arena arena;
    struct json_out out;
    bool seen[GATE_FACT_COUNT];
};

static void ignore(void *user, const struct gate_fact *fact) {
    (void)user;
    (void)fact;
}

static FILE *open_kept(const char *name) {
    char path[4096];
    snprintf(path, sizeof path, "%s/%s", FIRST_EDITION, name);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    return file;
}

// One line of the journal: it folds, and is written again byte for byte.
static void fold_line(struct edition *edition, char *line) {
    char type[64], site[64], what[256] = "";
    long long wall, mono;
    int used = 0;
    struct json_error error;
    struct gate_fact fact;
    line[strcspn(line, "\n")] = '\0';
    assert_int_equal(sscanf(line, "%63s %63s %lld %lld %n", type, site, &wall, &mono, &used), 4);
    const char *text = line + used;
    int known = gate_fact_of(type);
    assert_true(known >= 0);
    edition->seen[known] = true;
    assert_true(json_scan(&edition->tape, text, strlen(text), &json_message_limits, &error));
    wire_fact_arena_reset(&edition->arena);
    assert_true(wire_fact_decode(&edition->tape, json_root(&edition->tape),
                                 (enum gate_fact_type)known,
                                 strcmp(site, "-") == 0 ? MODEL_NONE : 0,
                                 (struct gate_time){wall, mono}, &edition->arena, &fact));
    json_out_reset(&edition->out);
    assert_true(wire_fact_encode(&fact, world_model(), &edition->out));
    assert_string_equal(edition->out.data, text);
    if (!gate_apply(edition->gate, &fact, what, sizeof what)) {
        fail_msg("%s: %s", type, what);
    }
}

static void it_folds_as_it_did(void **state) {
    (void)state;
    struct edition edition = {.gate = gate_new(world_model(), ignore, NULL)};
    char *line = NULL, *kept = NULL, what[256] = "";
    size_t size = 0, kept_size = 0;
    assert_non_null(edition.gate);
    FILE *facts = open_kept("first-edition.facts");
    while (getline(&line, &size, facts) > 0) {
        fold_line(&edition, line);
    }
    fclose(facts);
    int types = 0;
    for (int type = 0; type < GATE_FACT_COUNT; type++) {
        types += edition.seen[type];
    }
    assert_int_equal(types, FIRST_EDITION_TYPES);
    assert_true(gate_fits(edition.gate, what, sizeof what));
    FILE *states = open_kept("first-edition.state");
    assert_true(getdelim(&kept, &kept_size, '\0', states) > 0);
    fclose(states);
    char *folded = world_state_text(edition.gate);
    assert_string_equal(folded, kept);
    free(folded);
    free(kept);
    free(line);
    gate_free(edition.gate);
    json_tape_free(&edition.tape);
    json_out_free(&edition.out);
    wire_fact_arena_free(&edition.arena);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_folds_as_it_did),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
