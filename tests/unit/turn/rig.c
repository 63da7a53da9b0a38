// A turn, driven by hand.
#include "rig.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/time_text.h"
#include "rig_operations.h"

static struct rig *rig_make(void) {
    struct turn_options options = {.model = world_model(), .version = "test", .boot = "boot-1"};
    struct rig *rig = calloc(1, sizeof *rig);
    assert_non_null(rig);
    rig->clock = (struct base_time){.wall_ms = RIG_WALL, .mono_ms = 1000};
    rig->room = SIZE_MAX;
    rig->has_room = rig->surveys = true;
    rig->turn = turn_new(&options, &rig_operations, rig);
    assert_non_null(rig->turn);
    assert_int_equal(turn_open(rig->turn, true), TURN_FOLDED);
    turn_finish(rig->turn);
    return rig;
}

struct rig *rig_new_down(void) {
    return rig_make();
}

struct rig *rig_new(void) {
    struct rig *rig = rig_make();
    rig->up = true;
    rig_connect(rig, GATE_DURABLE);
    rig_connect(rig, GATE_LIVE);
    gate_hear_controller(turn_gate(rig->turn), 0, 0, true, turn_now(rig->turn));
    rig_settle(rig);
    rig_forget(rig);
    return rig;
}

void rig_free(struct rig *rig) {
    turn_free(rig->turn);
    rig_forget(rig);
    for (size_t i = 0; i < rig->row_count; i++) {
        free(rig->rows[i].data);
    }
    for (size_t i = 0; i < rig->request_count; i++) {
        free(rig->requests[i].answer);
    }
    free(rig);
}

void rig_connect(struct rig *rig, enum gate_connection which) {
    turn_connection(rig->turn, which, true, true);
    rig_echo(rig);
}

void rig_disconnect(struct rig *rig, enum gate_connection which) {
    turn_connection(rig->turn, which, false, false);
}

void rig_echo(struct rig *rig) {
    for (int i = 0; i < 3 && rig->word_count > 0; i++) { // what comes back may lead to more
        struct rig_word words[64];
        size_t count = rig->word_count;
        memcpy(words, rig->words, sizeof words);
        rig->word_count = 0;
        for (size_t w = 0; w < count; w++) {
            if (!rig->mute[words[w].which]) {
                turn_read(rig->turn, words[w].which);
                assert_true(turn_hear_own(rig->turn, words[w].which, words[w].topic,
                                          words[w].payload, strlen(words[w].payload)));
            }
        }
    }
}

void rig_turn(struct rig *rig) {
    rig_echo(rig);
    turn_end(rig->turn);
}

void rig_settle(struct rig *rig) {
    for (int i = 0; i < 20; i++) {
        rig_echo(rig);
        turn_end(rig->turn);
        if (rig->pending == NULL) {
            return;
        }
        rig_commit(rig, TURN_WRITTEN);
    }
    fail_msg("it does not come to rest");
}

void rig_pass(struct rig *rig, int64_t ms) {
    rig->clock.wall_ms += ms;
    rig->clock.mono_ms += ms;
}

// --- What comes in ---

void rig_ask_for(struct rig *rig, const struct wire_request_in *request) {
    turn_delivered(rig->turn);
    assert_true(turn_submit_request(rig->turn, request));
}

void rig_ask(struct rig *rig, const char *person, const char *verb, const char *body) {
    rig_ask_at(rig, person, verb, body, rig->clock.wall_ms);
}

void rig_ask_at(struct rig *rig, const char *person, const char *verb, const char *body,
                int64_t asked) {
    char at[BASE_TIME_SIZE], dated[1024];
    base_time_format(asked, at);
    int length = snprintf(dated, sizeof dated, "{\"asked\":\"%s\",%s", at, body + 1);
    assert_true(length > 0 && (size_t)length < sizeof dated && body[0] == '{' && body[1] != '}');
    rig_ask_undated(rig, person, verb, dated);
}

void rig_ask_undated(struct rig *rig, const char *person, const char *verb, const char *body) {
    const struct wire_request_in request = {
        .person = person, .verb = verb, .body = body, .length = strlen(body)};
    rig_ask_for(rig, &request);
}

void rig_post(struct rig *rig, uint64_t ticket, const char *person, const char *verb,
              const char *body) {
    const struct wire_request_in request = {
        .person = person, .verb = verb, .body = body, .length = strlen(body), .ticket = ticket};
    assert_true(turn_submit_request(rig->turn, &request));
}

void rig_hear(struct rig *rig, enum world_sensor sensor, enum model_point_state state) {
    const struct gate_reading reading = {.readable = true, .good = true, .state = state};
    gate_hear(turn_gate(rig->turn), 0, sensor, &reading, turn_now(rig->turn));
    turn_heard(rig->turn);
}

void rig_hear_all(struct rig *rig, enum model_point_state state) {
    for (int sensor = S_POWER3; sensor <= S_VALVE4; sensor++) {
        rig_hear(rig, (enum world_sensor)sensor, state);
    }
}

// --- A job ---

const struct gate_job *rig_job(const struct rig *rig, const char *job) {
    return gate_job_find(&turn_gate(rig->turn)->sites[0], job);
}

size_t rig_rows(const struct rig *rig, enum gate_fact_type type) {
    size_t count = 0;
    for (size_t i = 0; i < rig->row_count; i++) {
        count += rig->rows[i].type == type;
    }
    return count;
}

void rig_to_open(struct rig *rig) {
    rig_ask(rig, "k-1", "open-job", RIG_OPEN);
    rig_settle(rig);
    assert_non_null(rig_job(rig, "J-1"));
    rig_forget(rig);
}

void rig_prove(struct rig *rig) {
    static const struct {
        const char *person, *verb, *body;
    } steps[] = {
        {"t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"barricade\"}"},
        {"m-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"site-told\"}"},
        {"t-1", "witness-point", "{\"job\":\"J-1\",\"point\":\"3A-line\",\"state\":\"isolated\"}"},
        {"t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}"},
        {"t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3-valve\"}"},
        {"t-1", "hang-tag", "{\"job\":\"J-1\",\"point\":\"3A-line\"}"},
        {"t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"drained\",\"value\":2,\"unit\":\"L\"}"},
        {"t-1", "sign-check", "{\"job\":\"J-1\",\"check\":\"no-flow\"}"},
        {"t-1", "sign-check",
         "{\"job\":\"J-1\",\"check\":\"no-voltage\",\"value\":0,\"unit\":\"V\"}"},
    };
    rig_hear_all(rig, MODEL_POINT_ISOLATED);
    rig_pass(rig, WORLD_SETTLE_MS + 1000);
    turn_tick(rig->turn);
    for (size_t i = 0; i < sizeof steps / sizeof steps[0]; i++) {
        rig_ask(rig, steps[i].person, steps[i].verb, steps[i].body);
        rig_settle(rig);
    }
    assert_int_equal(rig_job(rig, "J-1")->lockout, MODEL_LOCKOUT_CONFIRMED);
    rig_forget(rig);
}

void rig_to_confirmed(struct rig *rig) {
    rig_to_open(rig);
    rig_prove(rig);
}

// --- What was asked of the world ---

void rig_forget(struct rig *rig) {
    for (size_t i = 0; i < rig->line_count; i++) {
        free(rig->lines[i].payload);
    }
    rig->line_count = 0;
}

int rig_find_from(const struct rig *rig, int from, const char *begin) {
    for (size_t i = (size_t)from; i < rig->line_count; i++) {
        if (strncmp(rig->lines[i].text, begin, strlen(begin)) == 0) {
            return (int)i;
        }
    }
    return -1;
}

int rig_find(const struct rig *rig, const char *begin) {
    return rig_find_from(rig, 0, begin);
}

int rig_count(const struct rig *rig, const char *begin) {
    int count = 0;
    for (int at = 0; (at = rig_find_from(rig, at, begin)) >= 0; at++) {
        count++;
    }
    return count;
}

const char *rig_payload(const struct rig *rig, const char *begin) {
    const char *payload = "";
    for (int at = 0; (at = rig_find_from(rig, at, begin)) >= 0; at++) {
        payload = rig->lines[at].payload != NULL ? rig->lines[at].payload : "";
    }
    return payload;
}

void rig_assert_order(const struct rig *rig, const char *const *begins) {
    int at = 0;
    for (size_t i = 0; begins[i] != NULL; i++) {
        int found = rig_find_from(rig, at, begins[i]);
        if (found < 0) {
            for (size_t k = 0; k < rig->line_count; k++) {
                print_message("%zu: %s\n", k, rig->lines[k].text);
            }
            fail_msg("no %s after %s", begins[i], i > 0 ? begins[i - 1] : "the beginning");
        }
        at = found + 1;
    }
}
