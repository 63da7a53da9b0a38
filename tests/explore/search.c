// The search: breadth first, every step from every state, each held against the rules.
#include "search.h"

#include <stdlib.h>
#include <string.h>

#include "honest.h"

// --- States made of their normal form ---

// What comes up after a restart. The world stands at WORLD_BEGIN, as it does before every step.
static struct gate *fold(struct world *world) {
    unsigned char bytes[PACK_MAX];
    if (pack(world->gate, world->now, bytes) == 0) {
        return NULL;
    }
    struct gate *gate = unpack(world->forecourt, bytes, world_fact, world);
    if (gate == NULL) {
        return NULL;
    }
    struct gate_site *site = &gate->sites[0]; // the folded part stays, what was heard is lost
    memset(site->sensors, 0, site->model->sensor_count * sizeof *site->sensors);
    memset(site->controllers, 0, site->model->controller_count * sizeof *site->controllers);
    memset(site->hearing, 0, site->model->point_count * sizeof *site->hearing);
    gate->link_up = site->contested = false;
    gate->journal_up = true;
    return gate;
}

static void restless(void *user, const struct gate_fact *fact) {
    struct search *s = user;
    (void)fact;
    s->restless = true;
}

bool search_stand(struct search *s, const unsigned char *bytes) {
    struct world *world = &s->world;
    unpack_free(world->gate);
    world->gate = unpack(&s->forecourt, bytes, restless, s);
    world->now = (struct gate_time){WORLD_BEGIN, WORLD_BEGIN};
    if (world->gate == NULL) {
        return false;
    }
    gate_tick(world->gate, world->now);
    world->gate->fact = world_fact;
    world->gate->user = world;
    return !s->restless;
}

void search_account(struct search *s) {
    rules_adopt(&s->world.rules, s->world.gate, s->world.now);
    memcpy(&s->rules_here, &s->world.rules, sizeof s->rules_here);
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

static bool any_stands(const struct gate *gate) {
    for (size_t i = 0; i < gate->sites[0].job_count; i++) {
        if (gate_job_stands(gate->sites[0].jobs[i])) {
            return true;
        }
    }
    return false;
}

// Notes the state that the world is in after a step.
static bool note(struct search *s, unsigned step) {
    unsigned char bytes[PACK_MAX];
    size_t length = pack(s->world.gate, s->world.now, bytes);
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
        s->settled[index] = !any_stands(s->world.gate);
        if (!queue_put(&s->queue, index, bytes, length)) {
            return violated(s, "out of memory", NULL);
        }
    }
    bool kept = s->scene->nightly || s->here == TABLE_NONE || index == s->here ||
                !scene_honest(&s->steps.steps[step]) || keep_edge(&s->edges, s->here, index);
    return kept || violated(s, "out of memory", NULL);
}

// Takes one step from the state. *moved: the gate is no longer in it.
static bool try_step(struct search *s, unsigned index, bool *moved) {
    const struct step *step = &s->steps.steps[index];
    if (!s->full && !scene_may(&s->rules_here, step)) {
        return true;
    }
    s->transitions++;
    *moved = true;
    if (!world_take(&s->world, step)) {
        return violated(s, s->world.rules.wrong, step);
    }
    if (step->kind == STEP_ASK && !s->world.accepted && !s->world.rules.told_any) {
        *moved = false; // the account says so; that the gate did not move is tested by --check
        return true;
    }
    return note(s, index);
}

static bool visit(struct search *s, const unsigned char *bytes) {
    bool moved = true;
    for (unsigned i = 0; i < s->steps.count; i++) {
        if (moved && !search_stand(s, bytes)) {
            return violated(s, "a state made anew does not stay as it was", NULL);
        }
        if (i == 0) {
            search_account(s);
            s->full = s->table.states[s->here].digest[1] % SCENE_FULL == 0;
        } else if (moved) {
            memcpy(&s->world.rules, &s->rules_here, sizeof s->rules_here);
        }
        moved = false;
        if (!try_step(s, i, &moved)) {
            return false;
        }
    }
    return true;
}

static bool out_of_time(const struct search *s) {
    return s->minutes > 0 && time(NULL) - s->begin > s->minutes * 60;
}

bool search_run(struct search *s) {
    unsigned char bytes[PACK_MAX];
    size_t length;
    s->here = TABLE_NONE;
    bool good = note(s, 0);
    while (good && queue_take(&s->queue, &s->here, bytes, &length)) {
        good = visit(s, bytes);
        if ((s->here & 0xFFFFF) == 0xFFFFF) {
            fprintf(stderr, "explore: %s: %u states, %llu to visit, depth %u, %ld s\n",
                    s->scene->plan.name, s->table.count, (unsigned long long)s->queue.length,
                    s->table.states[s->here].depth, (long)(time(NULL) - s->begin));
        }
        s->cut = s->cut || ((s->here & 0xFFF) == 0 && out_of_time(s));
        if (s->cut) {
            break;
        }
    }
    return good;
}

// --- One scene ---

// Brings the first job to work.
static bool prologue(struct world *world) {
    struct step step;
    for (unsigned i = 0; i < 100 && world->rules.jobs[0].phase != MODEL_PHASE_WORKING; i++) {
        if (!honest_step(world, 0, 0, &step) || !world_take(world, &step)) {
            return false;
        }
    }
    return world->rules.jobs[0].phase == MODEL_PHASE_WORKING;
}

struct search *search_new(const struct scene *scene, uint32_t limit) {
    struct search *s = calloc(1, sizeof *s);
    if (s == NULL) {
        fprintf(stderr, "explore: out of memory\n");
        exit(2);
    }
    s->scene = scene;
    s->begin = time(NULL);
    forecourt_lay(&s->forecourt, &scene->plan);
    s->world.fold = fold;
    s->world.drop = unpack_free;
    s->settled = calloc(limit, 1);
    if (s->settled == NULL || !table_new(&s->table, limit) ||
        !world_begin(&s->world, &s->forecourt)) {
        fprintf(stderr, "explore: cannot begin: %s\n", s->world.rules.wrong);
        exit(2);
    }
    if (scene->at_work && !prologue(&s->world)) {
        fprintf(stderr, "explore: %s: no work: %s\n", scene->plan.name, s->world.rules.wrong);
        exit(2);
    }
    if (!scene_list(scene, &s->forecourt, &s->steps)) {
        fprintf(stderr, "explore: %s has too many steps\n", scene->plan.name);
        exit(2);
    }
    return s;
}

void search_free(struct search *s) {
    unpack_free(s->world.gate);
    gate_answer_free(&s->world.answer);
    queue_free(&s->queue);
    table_free(&s->table);
    free(s->edges.pairs);
    free(s->settled);
    free(s);
}
