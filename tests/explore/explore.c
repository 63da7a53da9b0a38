// The explorer: breadth first over every state that the real gate can reach on a small scene, each
// held against the independent rules.
//
// A state is known by its normal form (form.h) and stood in by taking the way to it again. The
// search is breadth first, so that the way to a violation is a shortest one; it is printed as a
// list that --replay takes. Where a scene was searched whole, the graph is walked backwards from
// the states in which no job stands: what that does not reach is a dead end for an honest crew.
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "search.h"

static double seconds(void) {
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec / 1e9;
}

static bool explore(const struct scene *scene, uint32_t limit, long minutes) {
    struct search *s = search_new(scene, limit);
    double before = seconds();
    s->minutes = minutes;
    bool good = search_run(s);
    bool whole = good && !s->cut;
    if (whole && !scene->nightly) {
        // To a depth there are ways on that were not taken, and a form may be coarser than its
        // state.
        good = scene->depth != 0 || (search_no_dead_end(s) && search_no_difference(s));
    }
    uint32_t deepest = s->table.count > 0 ? s->table.states[s->table.count - 1].depth : 0;
    printf("explore: %s: %u states, %llu transitions, depth %u, %s, %.1f s%s\n", scene->plan.name,
           s->table.count, (unsigned long long)s->transitions, deepest,
           !whole             ? "not complete"
           : scene->depth > 0 ? "complete to that"
                              : "complete",
           seconds() - before, good ? "" : ": FAILED");
    fflush(stdout);
    bool owed_whole = !scene->nightly && !whole;
    search_free(s);
    return good && !owed_whole;
}

// --- Replay ---

static bool replay(const struct scene *scene, const char *path) {
    struct search *s = search_new(scene, 1024);
    FILE *in = fopen(path, "r");
    char line[256];
    if (in == NULL) {
        fprintf(stderr, "explore: cannot replay %s\n", path);
        exit(2);
    }
    bool good = true;
    while (good && fgets(line, sizeof line, in) != NULL) {
        struct step step;
        if (!step_scan(line, &step)) {
            continue;
        }
        good = search_step(s, &step, true);
        printf("%s", line);
        if (step.kind == STEP_ASK && !s->world->accepted) {
            printf("   refused: %s\n", s->world->answer.refusals[0].say);
        }
    }
    printf("%s\n", good ? "all holds" : s->world->rules.wrong);
    fclose(in);
    search_free(s);
    return good;
}

struct options {
    const char *scene, *replay;
    uint32_t limit;
    long minutes;
    bool nightly;
    bool whole; // to the end, where a scene of the day is searched to a depth
};

static bool parse(int argc, char **argv, struct options *o) {
    *o = (struct options){.limit = 3000000};
    for (int i = 1; i < argc; i++) {
        bool more = i + 1 < argc;
        if (strcmp(argv[i], "--nightly") == 0) {
            o->nightly = true;
        } else if (strcmp(argv[i], "--whole") == 0) {
            o->whole = true;
        } else if (strcmp(argv[i], "--scene") == 0 && more) {
            o->scene = argv[++i];
        } else if (strcmp(argv[i], "--replay") == 0 && more) {
            o->replay = argv[++i];
        } else if (strcmp(argv[i], "--states") == 0 && more) {
            o->limit = (uint32_t)strtoul(argv[++i], NULL, 10);
        } else if (strcmp(argv[i], "--minutes") == 0 && more) {
            o->minutes = strtol(argv[++i], NULL, 10);
        } else {
            return false;
        }
    }
    return o->limit > 0 && (o->replay == NULL || o->scene != NULL);
}

int main(int argc, char **argv) {
    struct options o;
    if (!parse(argc, argv, &o)) {
        fprintf(stderr, "usage: explore [--scene NAME] [--nightly] [--whole] [--states N]\n"
                        "               [--minutes N] [--replay FILE]\n");
        return 2;
    }
    bool good = true, any = false;
    for (size_t i = 0; i < scene_count; i++) {
        struct scene scene = scenes[i];
        bool named = o.scene != NULL && strcmp(o.scene, scene.plan.name) == 0;
        if (!named && (o.scene != NULL || (scene.nightly && !o.nightly))) {
            continue;
        }
        any = true;
        scene.depth = o.whole ? 0 : scene.depth;
        if (o.replay != NULL) {
            good = replay(&scene, o.replay) && good;
        } else {
            good = explore(&scene, o.limit, o.minutes) && good;
        }
    }
    return good && any ? 0 : 1;
}
