// Dead ends: the graph of a scene that was searched whole, walked backwards from the states in
// which no job stands. What that does not reach is a state from which an honest crew cannot end its
// job.
#include <stdlib.h>

#include "search.h"

// Marks everything from which a state without a standing job is reached.
static void walk_back(struct search *s, uint8_t *reaches, uint32_t *heads, uint32_t *from) {
    uint32_t *todo = calloc(s->table.count, sizeof *todo);
    uint32_t count = 0;
    for (size_t e = 0; e < s->edges.count; e++) {
        heads[s->edges.pairs[e][1] + 1]++;
    }
    for (uint32_t i = 0; i < s->table.count; i++) {
        heads[i + 1] += heads[i];
    }
    for (size_t e = s->edges.count; e-- > 0;) {
        uint32_t to = s->edges.pairs[e][1];
        from[--heads[to + 1]] = s->edges.pairs[e][0];
    }
    for (uint32_t i = 0; todo != NULL && i < s->table.count; i++) {
        if (s->settled[i]) {
            reaches[i] = 1;
            todo[count++] = i;
        }
    }
    while (todo != NULL && count > 0) {
        uint32_t at = todo[--count];
        uint32_t end = at + 2 <= s->table.count ? heads[at + 2] : (uint32_t)s->edges.count;
        for (uint32_t e = heads[at + 1]; e < end; e++) {
            if (!reaches[from[e]]) {
                reaches[from[e]] = 1;
                todo[count++] = from[e];
            }
        }
    }
    free(todo);
}

bool search_no_dead_end(struct search *s) {
    uint8_t *reaches = calloc(s->table.count, 1);
    uint32_t *heads = calloc((size_t)s->table.count + 2, sizeof *heads);
    uint32_t *from = calloc(s->edges.count + 1, sizeof *from);
    bool good = reaches != NULL && heads != NULL && from != NULL;
    uint32_t ends = 0;
    if (good) {
        walk_back(s, reaches, heads, from);
    }
    for (uint32_t i = 0; good && i < s->table.count; i++) {
        if (!reaches[i] && ends++ == 0) {
            printf("explore: DEAD END in %s: no job ends from here\n", s->scene->plan.name);
            search_print_way(s, i, NULL);
        }
    }
    if (ends > 0) {
        printf("explore: %s: %u dead ends\n", s->scene->plan.name, ends);
    }
    free(reaches);
    free(heads);
    free(from);
    return good && ends == 0;
}
