// Long random histories on a larger site, each step held against the independent rules; what fails
// is shrunk to a short list that can be replayed.
//
// Half of the steps are what an honest crew would do next, so that histories reach the far phases;
// the others are anything at all, asked by anybody. From time to time the daemon restarts on its
// journal, and the journal is folded anew and compared with the live state bit for bit.
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include "honest.h"
#include "journal.h"

// The verbs behind these are of the day around a repair: they open no gate, and the second
// statement has none of them.
#define VERBS GATE_VERB_RECORD_FUEL

#define HISTORY 20000
#define FOLD_EVERY 2500

static const struct forecourt_plan plan = {
    .name = "random",
    .positions = 8,
    .dispenser = {1, 1, 1, 2, 2, 2, 3, 3},
    .points = 12,
    .point = {{.isolates = 0x07, .sensors = 1, .electrical = true, .controlled = true},
              {.isolates = 0x38, .sensors = 2, .electrical = true},
              {.isolates = 0xC0, .sensors = 1, .electrical = true},
              {.isolates = 0x07, .sensors = 2},
              {.isolates = 0x01, .witnesses = 1},
              {.isolates = 0x18, .sensors = 1, .controlled = true},
              {.isolates = 0x20, .witnesses = 2},
              {.isolates = 0x40, .sensors = 1},
              {.isolates = 0x80, .sensors = 1},
              {.isolates = 0x0A, .sensors = 1},
              {.isolates = 0x80, .witnesses = 1},
              {.isolates = 0x02, .sensors = 1}},
    .technicians = 5,
    .one_overseer = true,
    .late = true,
    .whole = true,
    .product = true,
    .measured = true,
    .bag = true,
    .max_age_ms = 30000,
    .settle_ms = 2000,
    .valid_ms = 600000,
    .check_in_ms = 300000,
};

struct history {
    struct step *steps;
    size_t count;
};

struct run {
    struct forecourt forecourt;
    struct world world;
    struct journal journal;
    unsigned opened; // job numbers given out
    unsigned taken;  // steps
};

static uint64_t random_state;

static uint32_t draw(uint32_t below) { // splitmix64
    uint64_t z = (random_state += 0x9E3779B97F4A7C15ULL);
    z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27)) * 0x94D049BB133111EBULL;
    return (uint32_t)((z ^ (z >> 31)) >> 32) % below;
}

static struct gate *fold(struct world *world) {
    struct run *run = world->user == NULL ? NULL : (struct run *)world->user;
    return run != NULL ? journal_fold(&run->journal, world_fact, world) : NULL;
}

static void keep(void *user, const struct gate_fact *fact) {
    journal_keep(&((struct run *)user)->journal, fact);
}

static struct run *run_begin(void) {
    struct run *run = calloc(1, sizeof *run);
    if (run == NULL) {
        return NULL;
    }
    forecourt_lay(&run->forecourt, &plan);
    run->journal.model = &run->forecourt.model;
    run->world.keep = keep;
    run->world.user = run;
    run->world.fold = fold;
    if (!world_begin(&run->world, &run->forecourt)) {
        fprintf(stderr, "random: cannot begin: %s\n", run->world.rules.wrong);
        exit(2);
    }
    return run;
}

static void run_end(struct run *run) {
    world_end(&run->world);
    journal_clear(&run->journal);
    free(run);
}

// One step, and the fold after it when it is due.
static bool take(struct run *run, const struct step *step, bool check_fold) {
    bool good = world_take(&run->world, step);
    if (good && (check_fold || run->journal.failed) &&
        !journal_agrees(&run->journal, run->world.gate)) {
        rules_fail(&run->world.rules, "invariant 9: the folded journal is not the live state");
        good = false;
    }
    return good;
}

// --- Making steps ---

static struct step any_word(const struct run *run) {
    uint32_t sensors = (uint32_t)run->forecourt.site.sensor_count;
    struct step step = {.kind = STEP_HEAR, .at = (uint8_t)draw(sensors)};
    step.item = draw(8) == 0 ? STEP_BAD : draw(2) == 0 ? STEP_LIVE : STEP_ISOLATED;
    if (draw(3) == 0) {
        step.how = STEP_DATED;
        step.ms = draw(10) != 0  ? 1 + (int32_t)draw(draw(4) == 0 ? 40000 : 3000)
                  : draw(3) == 0 ? -GATE_AHEAD_MS - (int32_t)draw(2)
                                 : -1 - (int32_t)draw(9000);
    }
    const struct rules_sensor *sensor = &run->world.rules.sensors[step.at];
    int64_t ago = run->world.now.wall - sensor->order.at;
    if (draw(6) == 0 && sensor->order.at != 0 && ago < 100000 && ago > -GATE_AHEAD_MS) {
        step.how = STEP_DATED;
        step.ms = (int32_t)ago + (int32_t)draw(3) - 1; // the newest one's time, or just beside it
    }
    if (draw(12) == 0) {
        step.how |= STEP_KEPT;
    }
    if (draw(3) == 0) {
        step.job = (uint16_t)(sensor->order.numbered ? sensor->order.seq + draw(4) - 1 : 1000);
    }
    return step;
}

// Mostly plain readings within the limits; else any word, dated and numbered at random.
static struct step any_measure(void) {
    struct step step = {.kind = STEP_MEASURE, .at = (uint8_t)draw(FORECOURT_MEASURES)};
    step.item = draw(10) == 0 ? STEP_LIVE : draw(20) == 0 ? STEP_BAD : STEP_ISOLATED;
    if (draw(4) == 0) {
        step.how = STEP_DATED;
        step.ms = draw(8) == 0 ? -1 - (int32_t)draw(9000) : (int32_t)draw(40000);
    }
    step.job = (uint16_t)(draw(4) == 0 ? 1000 + draw(8) : 0);
    return step;
}

// A tag reader's event, which may have waited, carry its time or a number.
static struct step any_lock(const struct run *run) {
    struct step step = {
        .kind = STEP_LOCK,
        .at = (uint8_t)draw(plan.points),
        .who = (uint8_t)(draw(8) == 0 ? STEP_STRANGER : 1 + draw(FORECOURT_PEOPLE - 1)),
        .ok = draw(2) == 0,
        .how = draw(6) == 0 ? STEP_WAITED : 0};
    unsigned who = step.who < RULES_ANYBODY ? step.who : RULES_ANYBODY;
    const struct rules_order *order = &run->world.rules.points[step.at].events[who];
    if (draw(3) == 0) {
        step.how |= STEP_DATED;
        step.ms = (int32_t)draw(draw(4) == 0 ? 40000 : 3000);
    }
    if (draw(3) == 0) {
        step.job = (uint16_t)(order->numbered ? order->seq + draw(4) - 1 : 1000);
    }
    return step;
}

static struct step any_condition(void) {
    static const uint8_t kinds[] = {STEP_LINK,    STEP_LINK,    STEP_JOURNAL,   STEP_CONTESTED,
                                    STEP_UNHEARD, STEP_SESSION, STEP_SUBSCRIBE, STEP_CLOCK};
    struct step step = {.kind = kinds[draw(8)], .ok = draw(3) != 0};
    if (step.kind == STEP_CLOCK) {
        step.ms = draw(2) == 0 ? (int32_t)draw(20000) : -(int32_t)draw(8000);
    }
    step.at = step.kind == STEP_LINK ? (uint8_t)draw(GATE_CONNECTION_COUNT) : 0;
    if (step.kind == STEP_CONTESTED) {
        step.ok = draw(3) == 0;
    }
    return step;
}

static struct step mend_condition(const struct rules *rules) {
    for (int which = 0; which < GATE_CONNECTION_COUNT; which++) {
        if (!rules->up[which]) {
            return (struct step){.kind = STEP_LINK, .at = (uint8_t)which, .ok = 1};
        }
    }
    if (rules->unheard || !rules->journal) {
        return (struct step){.kind = rules->unheard ? STEP_UNHEARD : STEP_JOURNAL, .ok = 1};
    }
    return (struct step){.kind = STEP_CONTESTED, .ok = 0};
}

static struct step any_time(void) {
    struct step step = {.kind = STEP_PASS, .ms = 1 + (int32_t)draw(3000)};
    uint32_t which = draw(20);
    if (which == 0 && draw(4) == 0) {
        step.ms = 100000 + (int32_t)draw(3000000);
    } else if (which < 6) {
        step.ms = 25000 + (int32_t)draw(10000);
        step.item = draw(4) == 0 ? 0xFFFF : 1u << draw(12);
    }
    return step;
}

static struct step any_request(const struct run *run) {
    unsigned slot = draw(plan.positions);
    const struct rules_job *job = &run->world.rules.jobs[slot];
    struct step step = {.kind = STEP_ASK,
                        .verb = (uint8_t)draw(VERBS),
                        .who = (uint8_t)draw(FORECOURT_PEOPLE),
                        .to = (uint8_t)draw(FORECOURT_PEOPLE),
                        .at = (uint8_t)draw(plan.points),
                        .ok = draw(4) != 0,
                        .item = draw(FORECOURT_CHECKS)};
    step.job = (uint16_t)(job->stands ? job->number : draw(run->opened + 1));
    if (job->stands && job->leader != RULES_NOBODY && draw(2) == 0) {
        step.who = job->leader;
    }
    static const unsigned hows[] = {STEP_WAITED, STEP_PAUSE, STEP_NOTE, STEP_NO, STEP_OF_READER};
    for (unsigned i = 0; i < sizeof hows / sizeof *hows; i++) {
        step.how |= draw(hows[i] == STEP_NOTE ? 2 : 8) == 0 ? hows[i] : 0;
    }
    const struct gate_site *site = &run->world.gate->sites[0];
    if (step.verb == GATE_VERB_ACKNOWLEDGE_ALARM && site->alarm_count > 0) {
        const struct gate_alarm *alarm = &site->alarms[draw((uint32_t)site->alarm_count)];
        step.item = alarm->kind;
        step.job =
            (uint16_t)(alarm->job[0] != '\0' ? strtoul(alarm->job + 1, NULL, 10) : STEP_NO_JOB);
    } else if (step.verb == GATE_VERB_OPEN_JOB) {
        step.at = (uint8_t)draw(plan.positions);
        step.job = (uint16_t)(draw(4) == 0 ? draw(run->opened + 1) : run->opened);
    } else if (step.verb == GATE_VERB_LEAVE_JOB && draw(2) == 0) {
        step.to = STEP_STRANGER;
    } else if (step.verb == GATE_VERB_LIFT_ABSENT_TAG && draw(4) == 0) {
        step.to = STEP_STRANGER;
    }
    return step;
}

static struct step any_step(struct run *run) {
    uint32_t which = draw(1000);
    run->taken++;
    struct step step;
    if (which < 2) {
        return (struct step){.kind = STEP_RESTART, .ms = draw(4) == 0 ? 35000 : (int)draw(5000)};
    }
    if (which < 600) {
        unsigned slot = draw(plan.positions);
        // One cabinet at a time is worked on in earnest, else every start waits for a test.
        slot = draw(4) == 0 ? slot : run->taken / 500 % plan.positions;
        if (honest_step(&run->world, slot, run->opened, &step)) {
            return step;
        }
    }
    if (which < 640) {
        return any_measure();
    }
    if (which < 700) {
        return any_word(run);
    }
    if (which < 710) {
        return (struct step){.kind = STEP_CONTROLLER, .ok = draw(3) != 0};
    }
    if (which < 740) {
        return any_lock(run);
    }
    if (which < 755) {
        bool mend = draw(2) == 0;
        return mend ? mend_condition(&run->world.rules) : any_condition();
    }
    return which < 830 ? any_time() : any_request(run);
}

// --- Shrinking ---

static bool fails(const struct history *history, char why[240]) {
    struct run *run = run_begin();
    bool good = run != NULL;
    for (size_t i = 0; good && i < history->count; i++) {
        good = take(run, &history->steps[i], i + 1 == history->count);
    }
    if (!good && run != NULL) {
        memcpy(why, run->world.rules.wrong, 240);
    }
    if (run != NULL) {
        run_end(run);
    }
    return !good;
}

// Whether two violations are of one kind: the same but for numbers.
static bool is_alike(const char *a, const char *b) {
    for (; *a != '\0' || *b != '\0'; a++, b++) {
        a += strspn(a, "0123456789");
        b += strspn(b, "0123456789");
        if (*a != *b) {
            return false;
        }
        if (*a == '\0') {
            return true;
        }
    }
    return true;
}

// Leaves out ever smaller pieces as long as what is left still fails in the same way.
static void shrink(struct history *history, const char *first) {
    char why[240];
    struct step *tried = calloc(history->count + 1, sizeof *tried);
    time_t until = time(NULL) + 120;
    for (size_t piece = history->count / 2; tried != NULL && piece > 0 && time(NULL) < until;) {
        bool shrunk = false;
        for (size_t from = 0; from + piece <= history->count && time(NULL) < until;) {
            size_t rest = history->count - from - piece;
            memcpy(tried, history->steps, from * sizeof *tried);
            memcpy(tried + from, history->steps + from + piece, rest * sizeof *tried);
            struct history shorter = {tried, from + rest};
            if (fails(&shorter, why) && is_alike(why, first)) {
                memcpy(history->steps, tried, shorter.count * sizeof *tried);
                history->count = shorter.count;
                shrunk = true;
            } else {
                from += piece;
            }
        }
        piece = shrunk && piece == 1 ? 1 : piece / 2;
    }
    free(tried);
}

static void report(struct history *history, uint64_t seed, const char *first) {
    char why[240] = "";
    fprintf(stderr, "random: seed %llu, step %zu: %s\n", (unsigned long long)seed, history->count,
            first);
    shrink(history, first);
    if (!fails(history, why)) {
        snprintf(why, sizeof why, "it does not fail when replayed alone");
    }
    fprintf(stderr, "random: %zu steps are enough: %s\n", history->count, why);
    for (size_t i = 0; i < history->count; i++) {
        step_print(stdout, &history->steps[i]);
    }
}

// --- Running ---

struct tally {
    uint64_t steps, facts, returned, started, broken;
};

static void count_facts(struct tally *tally, struct run *run) {
    const struct gate_site *site = &run->world.gate->sites[0];
    tally->facts += run->journal.count;
    for (size_t i = 0; i < site->job_count; i++) {
        tally->returned += site->jobs[i]->phase == MODEL_PHASE_RETURNED;
        tally->started += site->jobs[i]->started;
    }
    tally->broken += site->alarms_raised;
}

static bool one_history(uint64_t seed, struct tally *tally) {
    struct run *run = run_begin();
    struct history history = {calloc(HISTORY, sizeof(struct step)), 0};
    bool good = run != NULL && history.steps != NULL;
    random_state = seed;
    while (good && history.count < HISTORY) {
        struct step step = any_step(run);
        run->opened +=
            step.kind == STEP_ASK && step.verb == GATE_VERB_OPEN_JOB && step.job == run->opened;
        history.steps[history.count++] = step;
        good = take(run, &step, history.count % FOLD_EVERY == 0);
        tally->steps++;
    }
    if (!good && run != NULL) {
        report(&history, seed, run->world.rules.wrong);
    }
    if (run != NULL) {
        count_facts(tally, run);
        run_end(run);
    }
    free(history.steps);
    return good;
}

static int replay(const char *path) {
    FILE *in = fopen(path, "r");
    char line[256];
    struct run *run = run_begin();
    bool good = in != NULL && run != NULL;
    for (unsigned number = 1; good && fgets(line, sizeof line, in) != NULL; number++) {
        struct step step;
        if (!step_scan(line, &step)) {
            continue;
        }
        good = take(run, &step, true);
        printf("%u: %s", number, line);
        if (step.kind == STEP_ASK && !run->world.accepted) {
            printf("   refused: %s\n", run->world.answer.refusals[0].say);
        }
    }
    if (run != NULL) {
        printf("%s\n", run->world.rules.wrong[0] != '\0' ? run->world.rules.wrong : "all holds");
        run_end(run);
    }
    if (in != NULL) {
        fclose(in);
    }
    return good ? 0 : 1;
}

int main(int argc, char **argv) {
    uint64_t seed = 1;
    long seconds = 0;
    unsigned long histories = 8;
    for (int i = 1; i + 1 < argc; i += 2) {
        if (strcmp(argv[i], "--replay") == 0) {
            return replay(argv[i + 1]);
        } else if (strcmp(argv[i], "--seed") == 0) {
            seed = strtoull(argv[i + 1], NULL, 10);
        } else if (strcmp(argv[i], "--seconds") == 0) {
            seconds = strtol(argv[i + 1], NULL, 10);
        } else if (strcmp(argv[i], "--histories") == 0) {
            histories = strtoul(argv[i + 1], NULL, 10);
        }
    }
    if (argc % 2 == 0) {
        fprintf(stderr, "usage: random [--seed N] [--histories N | --seconds N] [--replay FILE]\n");
        return 2;
    }
    struct tally tally = {0};
    time_t begin = time(NULL);
    uint64_t first = seed;
    do {
        if (!one_history(seed++, &tally)) {
            return 1;
        }
    } while (seconds > 0 ? time(NULL) - begin < seconds : seed - first < histories);
    printf("random: seeds %llu to %llu, %llu steps, %llu facts, %llu jobs started, %llu returned, "
           "%llu alarms, %ld s\n",
           (unsigned long long)first, (unsigned long long)seed - 1, (unsigned long long)tally.steps,
           (unsigned long long)tally.facts, (unsigned long long)tally.started,
           (unsigned long long)tally.returned, (unsigned long long)tally.broken,
           (long)(time(NULL) - begin));
    return 0;
}
