// The search: breadth first, every step from every state, each held against the rules.
//
// The world lies in the arena. To visit a state, the steps that led there are taken again from the
// nearest copy on its way: as neighbors in the queue share most of their way, that is one step or
// two. After each step that is tried the copy is put back.
#include "search.h"

#include <stdlib.h>
#include <string.h>

#include "arena.h"
#include "honest.h"

#define REGION ((size_t)64 << 20)

static void end(const char *why) {
    fprintf(stderr, "explore: %s\n", why);
    exit(2);
}

// --- Standing in a state ---

// The journal only grows on the way to a state, so it lies outside of what is saved.
static void keep_fact(void *user, const struct gate_fact *fact) {
    arena_on(false);
    journal_keep(&((struct search *)user)->journal, fact);
    arena_on(true);
}

static struct gate *fold(struct world *world) {
    return journal_fold(&((struct search *)world->user)->journal, world_fact, world);
}

static void save(struct search *s, uint32_t state) {
    struct level *level = &s->levels[s->depth];
    level->state = state;
    level->facts = s->journal.count;
    level->size = arena_size();
    if (level->size > level->room) {
        free(level->copy);
        level->room = level->size * 2;
        level->copy = malloc(level->room);
    }
    if (level->copy == NULL) {
        end("out of memory");
    }
    arena_save(level->copy);
}

void search_back(struct search *s) {
    arena_restore(s->levels[s->depth].copy, s->levels[s->depth].size);
    journal_cut(&s->journal, s->levels[s->depth].facts);
}

bool search_step(struct search *s, const struct step *step, bool keep) {
    arena_on(true);
    s->world->keep = keep ? keep_fact : NULL;
    bool good = world_take(s->world, step);
    arena_on(false);
    return good;
}

void search_stand(struct search *s, uint32_t state) {
    uint32_t way[SEARCH_DEPTH_MAX];
    unsigned depth = s->table.states[state].depth;
    if (depth >= SEARCH_DEPTH_MAX) {
        end("the way to a state is too long");
    }
    for (uint32_t at = state, d = depth;; at = s->table.states[at].from, d--) {
        way[d] = at;
        if (d == 0) {
            break;
        }
    }
    unsigned same = 0; // levels[0] is the beginning
    while (same < depth && same < s->depth && s->levels[same + 1].state == way[same + 1]) {
        same++;
    }
    s->depth = same;
    search_back(s);
    while (s->depth < depth) {
        uint32_t next = way[s->depth + 1];
        // It held when it was found.
        (void)search_step(s, &s->steps.steps[s->table.states[next].step], true);
        s->depth++;
        save(s, next);
    }
}

// --- Telling the way ---

void search_print_way(const struct search *s, uint32_t state, const struct step *last) {
    uint32_t count = 0, *way = calloc((size_t)s->table.states[state].depth + 1, sizeof *way);
    for (uint32_t at = state; way != NULL && s->table.states[at].from != TABLE_NONE;
         at = s->table.states[at].from) {
        way[count++] = at;
    }
    printf("# %s: the shortest way\n", s->scene->plan.name);
    while (way != NULL && count > 0) {
        step_print(stdout, &s->steps.steps[s->table.states[way[--count]].step]);
    }
    if (last != NULL) {
        step_print(stdout, last);
    }
    free(way);
}

static bool violated(const struct search *s, const char *what, const struct step *last) {
    printf("explore: VIOLATION in %s: %s\n", s->scene->plan.name, what);
    search_print_way(s, s->here, last);
    return false;
}

// --- The search ---

static bool keep_edge(struct edges *edges, uint32_t from, uint32_t to) {
    if (edges->count == edges->capacity) {
        size_t more = edges->capacity == 0 ? 65536 : edges->capacity * 2;
        void *grown = realloc(edges->pairs, more * sizeof *edges->pairs);
        if (grown == NULL) {
            return false;
        }
        edges->pairs = grown;
        edges->capacity = more;
    }
    edges->pairs[edges->count][0] = from;
    edges->pairs[edges->count++][1] = to;
    return true;
}

static bool any_stands(const struct rules *rules) {
    for (unsigned s = 0; s < rules->forecourt->plan->positions; s++) {
        if (rules->jobs[s].stands) {
            return true;
        }
    }
    return false;
}

static uint64_t draw(struct search *s) {
    uint64_t z = s->transitions * 0x9E3779B97F4A7C15ULL;
    return (z ^ (z >> 29)) * 0xBF58476D1CE4E5B9ULL >> 16;
}

// Keeps some of the ways to forms that were known, whichever way the search goes.
static void keep_twin(struct search *s, uint32_t state, unsigned step) {
    uint64_t place = s->met++ < SEARCH_TWINS ? s->met - 1 : draw(s) % s->met;
    if (place < SEARCH_TWINS) {
        s->twins[place] = (struct twin){state, s->here, (uint16_t)step};
    }
}

// Notes the state that the world is in after a step.
static bool note(struct search *s, unsigned step) {
    unsigned char bytes[FORM_MAX];
    size_t length = form_write(s->world, bytes);
    if (length == 0) {
        return violated(s, "the state has no normal form", &s->steps.steps[step]);
    }
    struct table_state how = {.from = s->here, .step = (uint16_t)step};
    how.depth = (uint16_t)(s->here == TABLE_NONE ? 0 : s->table.states[s->here].depth + 1);
    bool fresh;
    uint32_t index = table_add(&s->table, bytes, length, &how, &fresh);
    if (index == TABLE_NONE) {
        s->cut = true;
        return true;
    }
    if (fresh) {
        s->settled[index] = !any_stands(&s->world->rules);
    } else if (index != s->here) {
        keep_twin(s, index, step);
    }
    if (!s->scene->nightly && s->here != TABLE_NONE && index != s->here &&
        scene_honest(&s->steps.steps[step]) && !keep_edge(&s->edges, s->here, index)) {
        end("out of memory");
    }
    return true;
}

static bool try_step(struct search *s, unsigned index) {
    const struct step *step = &s->steps.steps[index];
    if (!s->full && !scene_may(&s->world->rules, step)) {
        return true;
    }
    s->transitions++;
    if (!search_step(s, step, false)) {
        return violated(s, s->world->rules.wrong, step);
    }
    if (step->kind == STEP_ASK && !s->world->accepted && !s->world->rules.told_any) {
        // Nothing moved, which the account has seen to, but time where a step takes long.
        if (s->scene->plan.step_ms > 0) {
            search_back(s);
        }
        return true;
    }
    bool good = note(s, index);
    search_back(s);
    return good;
}

static bool visit(struct search *s) {
    search_stand(s, s->here);
    s->full = s->table.states[s->here].digest[1] % SCENE_FULL == 0;
    for (unsigned i = 0; i < s->steps.count; i++) {
        if (!try_step(s, i)) {
            return false;
        }
    }
    return true;
}

static bool out_of_time(const struct search *s) {
    return s->minutes > 0 && time(NULL) - s->begin > s->minutes * 60;
}

bool search_run(struct search *s) {
    s->here = TABLE_NONE;
    bool good = note(s, 0);
    // What is found is visited in the order in which it was found: breadth first.
    for (s->here = 0; good && !s->cut && s->here < s->table.count; s->here++) {
        if (s->scene->depth != 0 && s->table.states[s->here].depth >= s->scene->depth) {
            break; // and so are all that follow
        }
        good = visit(s);
        if ((s->here & 0xFFFFF) == 0xFFFFF) {
            fprintf(stderr, "explore: %s: %u states, %u visited, depth %u, %ld s\n",
                    s->scene->plan.name, s->table.count, s->here, s->table.states[s->here].depth,
                    (long)(time(NULL) - s->begin));
        }
        s->cut = s->cut || ((s->here & 0xFFF) == 0 && out_of_time(s));
    }
    return good;
}

// --- One scene ---

// Brings the first job to work.
static bool prologue(struct search *s) {
    struct step step;
    const struct rules *rules = &s->world->rules;
    for (unsigned i = 0; i < 100 && rules->jobs[0].phase != MODEL_PHASE_WORKING; i++) {
        if (!honest_step(s->world, 0, 0, &step) || !search_step(s, &step, true)) {
            return false;
        }
    }
    return rules->jobs[0].phase == MODEL_PHASE_WORKING;
}

static void begin_world(struct search *s) {
    s->journal.model = &s->forecourt.model;
    if (!arena_reserve(REGION)) {
        end("out of memory");
    }
    arena_on(true);
    s->world = calloc(1, sizeof *s->world);
    s->world->fold = fold;
    s->world->keep = keep_fact;
    s->world->user = s;
    bool good = world_begin(s->world, &s->forecourt);
    arena_on(false);
    if (!good) {
        end(s->world->rules.wrong);
    }
}

struct search *search_new(const struct scene *scene, uint32_t limit) {
    struct search *s = calloc(1, sizeof *s);
    if (s == NULL) {
        end("out of memory");
    }
    s->scene = scene;
    s->begin = time(NULL);
    forecourt_lay(&s->forecourt, &scene->plan);
    begin_world(s);
    s->settled = calloc(limit, 1);
    if (s->settled == NULL || !table_new(&s->table, limit)) {
        end("out of memory");
    }
    if (scene->at_work && !prologue(s)) {
        end(s->world->rules.wrong);
    }
    if (!scene_list(scene, &s->forecourt, &s->steps)) {
        end("a scene has too many steps");
    }
    save(s, 0);
    return s;
}

void search_free(struct search *s) {
    for (unsigned d = 0; d < SEARCH_DEPTH_MAX; d++) {
        free(s->levels[d].copy);
    }
    journal_clear(&s->journal);
    table_free(&s->table);
    free(s->edges.pairs);
    free(s->settled);
    free(s);
}
