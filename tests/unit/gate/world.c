// A world: a gate over the forecourt of world_model.c, its clock, its hearing and its requests.
#include "world.h"

#include <stdlib.h>
#include <string.h>

#include "gate/fact/row.h"
#include "world_journal.h"

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

static void on_fact(void *user, const struct gate_fact *fact) {
    struct world *world = user;
    assert_true(gate_fact_strays(fact) == 0); // its row names every field that it has
    world_journal_add(fact);
    assert_true(world->fact_count < COUNT(world->facts));
    struct world_fact *told = &world->facts[world->fact_count++];
    *told = (struct world_fact){.type = fact->type,
                                .why = fact->why,
                                .has_why = fact->has_why,
                                .counts = fact->counts,
                                .pass = fact->pass,
                                .cause = fact->cause};
    for (size_t i = 0; i < fact->refusal_count; i++) {
        told->codes[fact->refusals[i].code] = true;
    }
    const char *from[] = {fact->job, fact->position, fact->point, fact->person, fact->alarm};
    char *to[] = {told->job, told->position, told->point, told->person, told->alarm};
    for (size_t i = 0; i < COUNT(from); i++) {
        strncpy(to[i], from[i] != NULL ? from[i] : "", MODEL_ID_SIZE - 1);
    }
}

// --- Making and restarting ---

static void come_up(struct world *world) {
    char what[256];
    world->gate = gate_new(world->model, on_fact, world);
    assert_non_null(world->gate);
    world_journal_fold(world->gate);
    assert_true(gate_fits(world->gate, what, sizeof what));
}

struct world *world_new(void) {
    return world_new_of(world_model());
}

struct world *world_new_of(struct model *model) {
    struct world *world = calloc(1, sizeof *world);
    assert_non_null(world);
    world_journal_clear();
    world->model = model;
    world->now = (struct gate_time){1800000000000, 1800000000000};
    come_up(world);
    gate_start(world->gate, "boot-1", "test", 0, world->now);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    world_controller(world, true);
    world_forget(world);
    return world;
}

struct world *world_new_over(struct model *model, struct gate_time last, int64_t away_ms) {
    struct world *world = calloc(1, sizeof *world);
    assert_non_null(world);
    world->model = model;
    world->now = (struct gate_time){last.wall + away_ms, last.mono + away_ms};
    come_up(world);
    for (uint32_t p = 0; p < WORLD_POINTS; p++) {
        gate_heard_before(world->gate, 0, p, last.mono, world->now);
    }
    gate_start(world->gate, "boot-2", "test", last.wall, world->now);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
    return world;
}

bool world_fits(struct world *world, const struct model *model, char what[256]) {
    struct gate *gate = gate_new(model, on_fact, world);
    assert_non_null(gate);
    world_journal_fold(gate);
    bool fits = gate_fits(gate, what, 256);
    gate_free(gate);
    return fits;
}

static void no_fact(void *user, const struct gate_fact *fact) {
    (void)user;
    fail_msg("a fold tells nothing, yet told %s", gate_fact_name(fact->type));
}

void world_check_fold(struct world *world) {
    struct gate *again = gate_new(world->model, no_fact, NULL);
    assert_non_null(again);
    world_journal_fold(again);
    for (int added = 0; added < 2; added++) {
        char *live = added ? world_added_text(world->gate) : world_state_text(world->gate);
        char *folded = added ? world_added_text(again) : world_state_text(again);
        assert_string_equal(live, folded);
        free(live);
        free(folded);
    }
    gate_free(again);
}

void world_free(struct world *world) {
    world_check_fold(world);
    world_end(world);
}

void world_end(struct world *world) {
    gate_free(world->gate);
    gate_answer_free(&world->answer);
    world_journal_clear();
    free(world);
}

// What the journal notes every second: when each watched point was last heard.
static void note_heard(void *user, const char *site, const char *point, int64_t at) {
    struct world *world = user;
    (void)site;
    world->heard[model_point_find(&world_model()->sites[0], point)] = at;
}

void world_restart(struct world *world, int64_t away_ms) {
    world_restart_clocks(world, away_ms, away_ms > 0 ? away_ms : 0);
}

void world_restart_with(struct world *world, struct model *model, int64_t away_ms) {
    world->next = model;
    world_restart(world, away_ms);
}

void world_restart_clocks(struct world *world, int64_t wall_ms, int64_t line_ms) {
    int64_t newest = gate_keep_time(world->gate, world->now);
    world_check_fold(world);
    gate_each_watched(world->gate, world->now, note_heard, world);
    gate_free(world->gate);
    world->model = world->next != NULL ? world->next : world->model;
    world->now.wall += wall_ms;
    world->now.mono += line_ms;
    come_up(world);
    for (uint32_t p = 0; p < WORLD_POINTS; p++) {
        if (world->heard[p] != 0) {
            gate_heard_before(world->gate, 0, p, world->heard[p], world->now);
        }
    }
    gate_start(world->gate, "boot-2", "test", newest, world->now);
    gate_link(world->gate, GATE_DURABLE, true, world->now);
    gate_link(world->gate, GATE_LIVE, true, world->now);
}

// --- Time and hearing ---

void world_pass(struct world *world, int64_t ms) {
    int64_t end = world->now.mono + ms;
    while (world->now.mono < end) {
        int64_t next = gate_deadline(world->gate);
        int64_t to = next > world->now.mono && next < end ? next : end;
        world->now.wall += to - world->now.mono;
        world->now.mono = to;
        gate_tick(world->gate, world->now);
    }
}

void world_review(struct world *world) {
    gate_contested(world->gate, 0, world_site(world)->contested, world->now);
}

enum gate_heard world_hear(struct world *world, enum world_sensor sensor,
                           enum model_point_state state) {
    struct gate_reading reading = {.readable = true, .good = true, .state = state};
    return gate_hear(world->gate, 0, sensor, &reading, world->now);
}

enum gate_heard world_say(struct world *world, enum world_sensor sensor,
                          struct gate_reading reading) {
    reading.readable = reading.good = true;
    return gate_hear(world->gate, 0, sensor, &reading, world->now);
}

enum gate_heard world_hear_at(struct world *world, enum world_sensor sensor,
                              enum model_point_state state, int64_t at) {
    return world_say(world, sensor,
                     (struct gate_reading){.state = state, .has_at = true, .at = at});
}

enum gate_heard world_hear_seq(struct world *world, enum world_sensor sensor,
                               enum model_point_state state, uint64_t seq) {
    return world_say(world, sensor,
                     (struct gate_reading){.state = state, .has_seq = true, .seq = seq});
}

void world_bad(struct world *world, enum world_sensor sensor) {
    struct gate_reading reading = {.readable = true, .state = MODEL_POINT_ISOLATED};
    assert_int_equal(gate_hear(world->gate, 0, sensor, &reading, world->now), GATE_HEARD_BAD);
}

void world_pass_heard(struct world *world, int64_t ms) {
    for (int64_t gone = 0; gone < ms; gone += 1000) {
        for (int s = 0; s < (int)world_model()->sites[0].sensor_count; s++) {
            const struct gate_sensor *sensor = &world_site(world)->sensors[s];
            if (sensor->heard != 0 && !sensor->bad) {
                world_hear(world, (enum world_sensor)s, (enum model_point_state)sensor->state);
            }
        }
        world_pass(world, ms - gone < 1000 ? ms - gone : 1000);
    }
}

void world_hear_all(struct world *world, enum model_point_state state) {
    world_hear(world, S_POWER3, state);
    world_hear(world, S_VALVE3A, state);
    world_hear(world, S_VALVE3B, state);
}

void world_controller(struct world *world, bool online) {
    gate_hear_controller(world->gate, 0, 0, online, world->now);
}

void world_reader(struct world *world, enum world_point point, const char *who, bool hung) {
    struct gate_tagging tagging = {.hung = hung, .person = who};
    gate_hear_tagging(world->gate, 0, point, &tagging, world->now);
}

void world_reader_at(struct world *world, enum world_point point, const char *who, bool hung,
                     int64_t at) {
    struct gate_tagging tagging = {.hung = hung, .person = who, .has_at = true, .at = at};
    gate_hear_tagging(world->gate, 0, point, &tagging, world->now);
}

void world_reader_seq(struct world *world, enum world_point point, const char *who, bool hung,
                      uint64_t seq) {
    struct gate_tagging tagging = {.hung = hung, .person = who, .has_seq = true, .seq = seq};
    gate_hear_tagging(world->gate, 0, point, &tagging, world->now);
}

// --- Requests ---

bool world_ask(struct world *world, struct gate_request request) {
    struct world_may before;
    world_may_before(world, &request, &before);
    gate_decide(world->gate, 0, &request, world->now, &world->answer);
    world_may_after(world, &request, &before);
    return world->answer.accepted;
}

bool world_open(struct world *world, const char *job, const char *position,
                const char *technician) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_OPEN_JOB,
                                                  .person = "k-1",
                                                  .job = job,
                                                  .position = position,
                                                  .procedure = "spout",
                                                  .kit_family = position[0] == '4' ? "k4" : "k2",
                                                  .technician = technician});
}

bool world_verb(struct world *world, enum gate_verb verb, const char *person, const char *job) {
    bool reasoned = verb == GATE_VERB_STOP_WORK || verb == GATE_VERB_SET_ASIDE ||
                    verb == GATE_VERB_REWORK || verb == GATE_VERB_CANCEL_JOB;
    return world_ask(world, (struct gate_request){.verb = verb,
                                                  .person = person,
                                                  .job = job,
                                                  .reason = reasoned ? "a reason" : NULL});
}

bool world_sign(struct world *world, const char *person, const char *job, const char *check) {
    return world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_SIGN_CHECK, .person = person, .job = job, .check = check});
}

bool world_sign_value(struct world *world, const char *person, const char *job, const char *check,
                      double value, const char *unit) {
    return world_ask(world, (struct gate_request){
                                .verb = GATE_VERB_SIGN_CHECK,
                                .person = person,
                                .job = job,
                                .check = check,
                                .has_value = true,
                                .value = value,
                                .unit = unit,
                                .instrument = strcmp(check, "spout-nut") == 0 ? "tw-3" : NULL});
}

bool world_pause(struct world *world, const char *person, const char *job) {
    return world_ask(world,
                     (struct gate_request){
                         .verb = GATE_VERB_STOP_WORK, .person = person, .job = job, .pause = true});
}

bool world_stop(struct world *world, const char *person, const char *job, const char *reason) {
    return world_ask(
        world, (struct gate_request){
                   .verb = GATE_VERB_STOP_WORK, .person = person, .job = job, .reason = reason});
}

bool world_tag(struct world *world, const char *person, const char *job, enum world_point point) {
    return world_ask(world,
                     (struct gate_request){.verb = GATE_VERB_HANG_TAG,
                                           .person = person,
                                           .job = job,
                                           .point = world_model()->sites[0].points[point].point});
}

bool world_lift(struct world *world, const char *person, const char *job, enum world_point point) {
    return world_ask(world,
                     (struct gate_request){.verb = GATE_VERB_LIFT_TAG,
                                           .person = person,
                                           .job = job,
                                           .point = world_model()->sites[0].points[point].point});
}

bool world_witness(struct world *world, const char *person, const char *job,
                   enum model_point_state state) {
    return world_word(world, person, job, "3A-line", state);
}

bool world_word(struct world *world, const char *person, const char *job, const char *point,
                enum model_point_state state) {
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_WITNESS_POINT,
                                                  .person = person,
                                                  .job = job,
                                                  .point = point,
                                                  .has_state = true,
                                                  .state = state});
}

bool world_test(struct world *world, const char *person, const char *job, const char *test,
                bool pass) {
    struct model_result result = {.has_pass = true, .pass = pass};
    return world_ask(world, (struct gate_request){.verb = GATE_VERB_RECORD_TEST,
                                                  .person = person,
                                                  .job = job,
                                                  .test = test,
                                                  .note = "what was changed",
                                                  .result = &result});
}

// --- Looking ---

struct gate_site *world_site(struct world *world) {
    return &world->gate->sites[0];
}

struct gate_job *world_job(struct world *world, const char *job) {
    struct gate_job *found = gate_job_find(world_site(world), job);
    assert_non_null(found);
    return found;
}

bool world_refused(const struct world *world, enum model_code code, const char *subject) {
    for (size_t i = 0; i < world->answer.refusal_count; i++) {
        const struct gate_refusal *refusal = &world->answer.refusals[i];
        if (refusal->code == code && (subject == NULL || !strcmp(refusal->subject, subject))) {
            return true;
        }
    }
    return false;
}

static bool lists(const enum model_code *codes, enum model_code code) {
    for (; *codes != MODEL_CODE_COUNT; codes++) {
        if (*codes == code) {
            return true;
        }
    }
    return false;
}

void world_assert_refusals(const struct world *world, const enum model_code *codes) {
    assert_false(world->answer.accepted);
    for (size_t i = 0; i < world->answer.refusal_count; i++) {
        const struct gate_refusal *refusal = &world->answer.refusals[i];
        if (!lists(codes, refusal->code)) {
            fail_msg("refused also by %s of %s: %s", model_code_name(refusal->code),
                     refusal->subject, refusal->say);
        }
        assert_true(refusal->say[0] != '\0');
        assert_true(refusal->need[0] != '\0');
    }
    for (; *codes != MODEL_CODE_COUNT; codes++) {
        if (!world_refused(world, *codes, NULL)) {
            fail_msg("not refused by %s", model_code_name(*codes));
        }
    }
}

const struct world_fact *world_fact(const struct world *world, enum gate_fact_type type) {
    for (size_t i = 0; i < world->fact_count; i++) {
        if (world->facts[i].type == type) {
            return &world->facts[i];
        }
    }
    return NULL;
}

bool world_told(const struct world *world, enum gate_fact_type type) {
    return world_fact(world, type) != NULL;
}

size_t world_times_told(const struct world *world, enum gate_fact_type type) {
    size_t times = 0;
    for (size_t i = 0; i < world->fact_count; i++) {
        times += world->facts[i].type == type;
    }
    return times;
}

const struct gate_point *world_point(struct world *world, enum world_point point) {
    return &world_site(world)->points[point];
}

const struct gate_tag *world_tag_of(struct world *world, enum world_point point, const char *job,
                                    const char *who) {
    const struct gate_point *state = world_point(world, point);
    for (size_t i = 0; i < state->tag_count; i++) {
        const struct gate_tag *tag = &state->tags[i];
        const char *owner = tag->person[0] != '\0' ? tag->person : tag->badge;
        if (strcmp(tag->job, job) == 0 && strcmp(owner, who) == 0) {
            return tag;
        }
    }
    return NULL;
}

enum model_cause world_cause(struct world *world, enum world_position position) {
    char with[MODEL_ID_SIZE];
    return gate_position_cause(world->gate, world_site(world), position, with);
}

const struct gate_alarm *world_alarm(struct world *world, enum model_alarm_kind kind) {
    for (size_t i = 0; i < world_site(world)->alarm_count; i++) {
        if (world_site(world)->alarms[i].kind == kind) {
            return &world_site(world)->alarms[i];
        }
    }
    return NULL;
}

void world_forget(struct world *world) {
    world->fact_count = 0;
}
