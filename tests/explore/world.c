// Taking steps: each is told to the account of the rules first, then to the gate, then compared.
#include "world.h"

#include <stdlib.h>
#include <string.h>

void world_fact(void *user, const struct gate_fact *fact) {
    struct world *world = user;
    world->told += ((uint64_t)fact->type + 1) * 0x9E3779B97F4A7C15ULL >> 8; // in any order
    if (world->keep != NULL) {
        world->keep(world->user, fact);
    }
    if (world->rules.step != NULL) {
        rules_fact(&world->rules, fact);
    }
}

bool world_begin(struct world *world, struct forecourt *forecourt) {
    world->forecourt = forecourt;
    world->now = (struct gate_time){WORLD_BEGIN, WORLD_BEGIN};
    world->gate = gate_new(&forecourt->model, world_fact, world);
    rules_new(&world->rules, forecourt, world->now);
    if (world->gate == NULL) {
        return false;
    }
    gate_start(world->gate, "boot", "test", 0, world->now);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    struct step online = {.kind = STEP_CONTROLLER, .ok = 1};
    return world_take(world, &online);
}

void world_end(struct world *world) {
    gate_free(world->gate);
    gate_answer_free(&world->answer);
    world->gate = NULL;
}

static void hear(struct world *world, const struct step *step) {
    struct gate_reading reading = {.readable = true,
                                   .good = step->item != STEP_BAD,
                                   .state = step->item == STEP_LIVE ? MODEL_POINT_LIVE
                                                                    : MODEL_POINT_ISOLATED,
                                   .retained = (step->how & STEP_KEPT) != 0,
                                   .has_at = (step->how & STEP_DATED) != 0,
                                   .at = world->now.wall - step->ms,
                                   .has_seq = step->job != 0,
                                   .seq = step->job};
    gate_hear(world->gate, 0, step->at, &reading, world->now);
}

static void measure(struct world *world, const struct step *step) {
    struct gate_measure_reading reading = {.value = step->item == STEP_LIVE ? 7 : 0.5,
                                           .bad = step->item == STEP_BAD,
                                           .has_at = (step->how & STEP_DATED) != 0,
                                           .at = world->now.wall - step->ms,
                                           .has_seq = step->job != 0,
                                           .seq = step->job};
    gate_hear_measure(world->gate, 0, step->at, &reading, world->now);
}

static void tag(struct world *world, const struct step *step) {
    const struct forecourt *f = world->forecourt;
    struct gate_tagging tagging = {
        .hung = step->ok,
        .waited = (step->how & STEP_WAITED) != 0,
        .has_at = (step->how & STEP_DATED) != 0,
        .at = world->now.wall - step->ms,
        .has_seq = step->job != 0,
        .seq = step->job,
        .person = step->who < f->model.person_count ? f->people[step->who].person : "b-9"};
    gate_hear_tagging(world->gate, 0, step->at, &tagging, world->now);
}

// --- Time ---

// Ticks whenever something is due, as the daemon does, with the account following.
static bool pass_quiet(struct world *world, const struct step *step, int64_t ms) {
    int64_t end = world->now.mono + ms;
    while (world->now.mono < end && world->rules.wrong[0] == '\0') {
        int64_t next = gate_deadline(world->gate);
        int64_t to = next > world->now.mono && next < end ? next : end;
        world->now.wall += to - world->now.mono;
        world->now.mono = to;
        rules_before(&world->rules, step, world->gate, world->now);
        gate_tick(world->gate, world->now);
        rules_after(&world->rules, world->gate, NULL);
    }
    return world->rules.wrong[0] == '\0';
}

static bool any_fresh(const struct world *world, const struct step *step) {
    for (unsigned s = 0; s < world->forecourt->site.sensor_count; s++) {
        if ((step->item >> s & 1u) == 0 && rules_fresh(&world->rules, s)) {
            return true;
        }
    }
    return false;
}

static bool pass(struct world *world, const struct step *step) {
    // Often enough that what repeats its word stays fresh.
    int64_t every = world->forecourt->plan->max_age_ms * 2 / 3;
    every = any_fresh(world, step) ? every : step->ms;
    for (int64_t left = step->ms; left > 0; left -= every) {
        for (unsigned s = 0; s < world->forecourt->site.sensor_count; s++) {
            bool quiet = (step->item >> s & 1u) != 0 || !rules_fresh(&world->rules, s);
            bool live = world->rules.sensors[s].word == MODEL_POINT_LIVE;
            struct step again = {
                .kind = STEP_HEAR, .at = (uint8_t)s, .item = live ? STEP_LIVE : STEP_ISOLATED};
            again.how = world->rules.sensors[s].order.at != 0 ? STEP_DATED : 0;
            again.job = (uint16_t)(world->rules.sensors[s].order.numbered
                                       ? world->rules.sensors[s].order.seq + 1
                                       : 0);
            if (!quiet) {
                rules_before(&world->rules, &again, world->gate, world->now);
                hear(world, &again);
            }
        }
        if (!pass_quiet(world, step, left < every ? left : every)) {
            return false;
        }
    }
    return true;
}

static void connect(struct world *world, enum gate_connection which, bool up) {
    if (which == GATE_DURABLE) {
        gate_outage(world->gate, up ? 0 : world->now.mono, world->now);
    }
    gate_link(world->gate, which, up, world->now);
}

// --- The end of a daemon and the next ---

struct heard {
    const struct world *world;
    int64_t at[FORECOURT_POINTS];
};

static void note_heard(void *user, const char *site, const char *point, int64_t at) {
    struct heard *heard = user;
    (void)site;
    heard->at[model_point_find(&heard->world->forecourt->site, point)] = at;
}

static bool restart(struct world *world, const struct step *step) {
    struct heard heard = {.world = world};
    int64_t newest = gate_keep_time(world->gate, world->now);
    struct gate *next = world->fold != NULL ? world->fold(world) : NULL;
    if (next == NULL) {
        rules_fail(&world->rules, "the journal could not be folded");
        return false;
    }
    // What the journal kept of earlier restarts, unless the point was heard since.
    for (unsigned p = 0; p < world->forecourt->plan->points; p++) {
        heard.at[p] = world->gate->sites[0].hearing[p].heard_before;
    }
    gate_each_watched(world->gate, world->now, note_heard, &heard);
    gate_free(world->gate);
    world->gate = next;
    world->now.wall += step->ms;
    world->now.mono += step->ms;
    for (uint32_t p = 0; p < world->forecourt->plan->points; p++) {
        if (heard.at[p] != 0) {
            gate_heard_before(world->gate, 0, p, heard.at[p], world->now);
        }
    }
    rules_before(&world->rules, step, world->gate, world->now);
    int64_t silent = world->rules.outage != 0 ? world->rules.outage : world->now.mono - step->ms;
    gate_start(world->gate, "boot", "test", newest, world->now);
    gate_outage(world->gate, silent, world->now);
    for (int which = 0; which < GATE_CONNECTION_COUNT && step->item == 0; which++) {
        connect(world, (enum gate_connection)which, true);
    }
    return true;
}

static void ask(struct world *world, const struct step *step) {
    struct step_names names;
    struct gate_request request =
        step_request(world->forecourt, step, &world->gate->sites[0], &names);
    gate_decide(world->gate, 0, &request, world->now, &world->answer);
    world->accepted = world->answer.accepted;
}

// The newest number of the sender of a word.
static unsigned newest_number(const struct rules *rules, const struct step *step) {
    const struct rules_order *order =
        step->kind == STEP_HEAR ? &rules->sensors[step->at].order
        : step->kind == STEP_MEASURE
            ? &rules->measures[step->at].order
            : &rules->points[step->at]
                   .events[step->who < RULES_ANYBODY ? step->who : RULES_ANYBODY];
    return order->numbered ? order->seq : 1000;
}

static void take(struct world *world, const struct step *step) {
    static const char *const unheard[] = {"juniper/signal/_pulse"};
    switch (step->kind) {
    case STEP_HEAR:
        hear(world, step);
        break;
    case STEP_MEASURE:
        measure(world, step);
        break;
    case STEP_CONTROLLER:
        gate_hear_controller(world->gate, 0, 0, step->ok, world->now);
        break;
    case STEP_LOCK:
        tag(world, step);
        break;
    case STEP_LINK:
        connect(world, (enum gate_connection)step->at, step->ok);
        break;
    case STEP_UNHEARD:
        gate_unheard(world->gate, 0, unheard, step->ok ? 0 : 1, world->now);
        break;
    case STEP_SESSION:
        gate_session_lost(world->gate, world->now);
        break;
    case STEP_CLOCK:
        gate_tick(world->gate, world->now);
        break;
    case STEP_JOURNAL:
        gate_journal(world->gate, step->ok, world->now);
        break;
    case STEP_CONTESTED:
        gate_contested(world->gate, 0, step->ok, world->now);
        break;
    case STEP_SUBSCRIBE:
        gate_subscribed(world->gate);
        break;
    default:
        ask(world, step);
        break;
    }
}

bool world_take(struct world *world, const struct step *meant) {
    struct step counted = *meant;
    const struct step *step = &counted;
    world->accepted = true;
    world->told = 0;
    if ((meant->how & STEP_COUNTED) != 0) {
        counted.job = (uint16_t)(newest_number(&world->rules, meant) + meant->job - 1);
    }
    if (step->kind != STEP_PASS && step->kind != STEP_RESTART) {
        static const struct step waiting = {.kind = STEP_PASS};
        int takes = world->forecourt->plan->step_ms;
        takes = takes == 0 && step->kind == STEP_ASK ? 1 : takes; // what is due comes before
        if (!pass_quiet(world, &waiting, takes)) {
            return false;
        }
        if (takes > 1) {
            gate_keep_time(world->gate, world->now);
        }
        world->now.wall += takes == 0; // no two steps fall on one instant
        world->now.mono += takes == 0;
    }
    if (meant->kind == STEP_HEAR && (meant->how & STEP_LAST) != 0) {
        const struct rules_sensor *sensor = &world->rules.sensors[meant->at];
        counted.how = (uint8_t)((meant->how & STEP_KEPT) | (sensor->live_at != 0 ? STEP_DATED : 0));
        counted.ms = sensor->live_at != 0 ? (int32_t)(world->now.wall - sensor->live_at) : 0;
        counted.job = (uint16_t)((meant->how & STEP_BARE) != 0 ? 0 : sensor->live_seq);
    } else if ((meant->how & STEP_AGAIN) != 0) {
        counted.how = (uint8_t)(meant->how | STEP_DATED);
        counted.ms = (int32_t)(world->now.wall - world->rules.sensors[meant->at].order.at);
    }
    if (step->kind == STEP_PASS) {
        bool held = pass(world, step);
        gate_keep_time(world->gate, world->now);
        return held;
    }
    if (step->kind == STEP_RESTART) {
        return restart(world, step) && rules_after(&world->rules, world->gate, NULL);
    }
    world->now.wall += step->kind == STEP_CLOCK ? step->ms : 0;
    rules_before(&world->rules, step, world->gate, world->now);
    take(world, step);
    bool good =
        rules_after(&world->rules, world->gate, step->kind == STEP_ASK ? &world->answer : NULL);
    if (world->told != 0) {
        gate_keep_time(world->gate, world->now); // it is written
    }
    return good;
}
