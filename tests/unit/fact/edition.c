// The journal of the first edition, put into the world's.
#include "edition.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "wire/fact_codec.h"
#include "world_journal.h"

static void add_line(char *line, struct gate_time *at) {
    struct json_tape tape = {0};
    struct wire_fact_arena arena = {0};
    struct json_error error;
    struct gate_fact fact;
    char type[64], site[64];
    long long wall, mono;
    int used = 0;
    line[strcspn(line, "\n")] = '\0';
    assert_int_equal(sscanf(line, "%63s %63s %lld %lld %n", type, site, &wall, &mono, &used), 4);
    const char *text = line + used;
    *at = (struct gate_time){wall, mono};
    assert_true(json_scan(&tape, text, strlen(text), &json_message_limits, &error));
    assert_true(wire_fact_decode(&tape, json_root(&tape), (enum gate_fact_type)gate_fact_of(type),
                                 strcmp(site, "-") == 0 ? MODEL_NONE : 0, *at, &arena, &fact));
    world_journal_add(&fact);
    wire_fact_arena_free(&arena);
    json_tape_free(&tape);
}

void edition_journal(size_t count, struct gate_time *last) {
    char *line = NULL;
    size_t size = 0, taken = 0;
    FILE *facts = fopen(FIRST_EDITION "/first-edition.facts", "r");
    assert_non_null(facts);
    for (; taken < count && getline(&line, &size, facts) > 0; taken++) {
        add_line(line, last);
    }
    assert_int_equal(taken, count);
    fclose(facts);
    free(line);
}
