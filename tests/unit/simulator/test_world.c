// The world and the steps of the simulator, with a time that is set and an output in memory.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#include "simulator/step.h"

#define SAID_MAX 64

struct said {
    char topic[SIM_TOPIC_SIZE];
    char payload[SIM_PAYLOAD_SIZE + 1];
    bool retain;
};

struct fixture {
    struct sim_world world;
    struct base_time now;
    struct said said[SAID_MAX];
    size_t count;
    bool down;
};

static bool keep(void *context, const struct sim_message *message) {
    struct fixture *f = context;
    if (f->down || f->count == SAID_MAX) {
        return false;
    }
    struct said *said = &f->said[f->count++];
    snprintf(said->topic, sizeof said->topic, "%s", message->topic);
    memcpy(said->payload, message->payload, message->length);
    said->payload[message->length] = '\0';
    said->retain = message->retain;
    return true;
}

static void begin(struct fixture *f, uint64_t seed) {
    *f = (struct fixture){.now = {.mono_ms = 1000, .wall_ms = INT64_C(1767225600500)}};
    sim_world_init(&f->world, "forelock", "juniper", seed, (struct sim_output){f, keep});
}

// Reads and, where there is something to run, runs one line.
static bool try_line(struct fixture *f, const char *line, struct sim_note *note) {
    struct sim_step step;
    return sim_step_read(&f->world, line, &step, note) &&
           (step.action != SIM_RUN || sim_step_run(&f->world, &step, f->now, note));
}

static void run(struct fixture *f, const char *line) {
    struct sim_note note = {""};
    if (!try_line(f, line, &note)) {
        fail_msg("%s: %s", line, note.text);
    }
}

static void pass(struct fixture *f, int64_t ms) {
    f->now.mono_ms += ms;
    f->now.wall_ms += ms;
    sim_world_tick(&f->world, f->now);
}

static void assert_said(const struct fixture *f, size_t index, const char *topic,
                        const char *payload) {
    assert_true(index < f->count);
    assert_string_equal(f->said[index].topic, topic);
    assert_string_equal(f->said[index].payload, payload);
}

#define POWER "forelock/juniper/signal/3-power"
#define PANEL "forelock/juniper/controller/panel-1"

static void speaks_with_the_declared_fields(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live every 1s with at,seq,quality");
    run(&f, "reader 3-power with seq");
    run(&f, "controller panel-1 starts online");
    pass(&f, 0);
    run(&f, "hang 3-power \"t 104\"");
    run(&f, "lift 3-power t-\"4\\");
    assert_int_equal(f.count, 4);
    assert_said(&f, 0, PANEL, "online");
    assert_said(&f, 1, POWER,
                "{\"state\":\"live\",\"at\":\"2026-01-01T00:00:00.500Z\",\"seq\":1,"
                "\"quality\":\"good\"}");
    assert_said(&f, 2, "forelock/juniper/tagging/3-power",
                "{\"state\":\"hung\",\"person\":\"t 104\",\"seq\":1}");
    assert_said(&f, 3, "forelock/juniper/tagging/3-power",
                "{\"state\":\"lifted\",\"person\":\"t-\\\"4\\\\\",\"seq\":2}");
    sim_world_free(&f.world);
}

static void repeats_itself_on_its_period(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "valve v starts isolated every 1s");
    run(&f, "valve once starts live");
    pass(&f, 0);
    assert_int_equal(f.count, 2);
    assert_int_equal(sim_world_due(&f.world), f.now.mono_ms + 1000);
    pass(&f, 999);
    assert_int_equal(f.count, 2);
    pass(&f, 1);
    assert_int_equal(f.count, 3);
    run(&f, "set v live"); // a change restarts the period
    pass(&f, 999);
    assert_int_equal(f.count, 4);
    pass(&f, 1);
    assert_said(&f, 4, "forelock/juniper/signal/v", "{\"state\":\"live\"}");
    sim_world_free(&f.world);
}

static void silence_ends_by_word_or_by_time(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live every 1s");
    run(&f, "reader r");
    pass(&f, 0);
    run(&f, "silence 3-power for 3s");
    run(&f, "silence reader/r for 1s");
    run(&f, "hang r t-1");
    run(&f, "set 3-power isolated");
    pass(&f, 2999);
    assert_int_equal(f.count, 1);
    pass(&f, 1);
    assert_int_equal(f.count, 2);
    assert_said(&f, 1, POWER, "{\"state\":\"isolated\"}");
    assert_true(sim_world_due(&f.world) > f.now.mono_ms);
    run(&f, "silence 3-power");
    pass(&f, 10000);
    assert_int_equal(f.count, 2);
    run(&f, "speak 3-power");
    pass(&f, 0);
    assert_int_equal(f.count, 3);
    sim_world_free(&f.world);
}

static void a_dead_controller_takes_its_sensors_along(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "controller panel-1 starts online every 1s");
    run(&f, "breaker 3-power starts live every 1s on panel-1");
    pass(&f, 0);
    run(&f, "offline panel-1");
    pass(&f, 5000);
    run(&f, "set 3-power isolated");
    assert_int_equal(f.count, 3);
    assert_said(&f, 2, PANEL, "offline");
    run(&f, "online panel-1");
    pass(&f, 0);
    assert_int_equal(f.count, 5);
    assert_said(&f, 3, PANEL, "online");
    assert_said(&f, 4, POWER, "{\"state\":\"isolated\"}");
    sim_world_free(&f.world);
}

static void a_controller_may_start_offline(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "controller panel-1 starts offline every 1s");
    pass(&f, 0);
    pass(&f, 3000);
    assert_int_equal(f.count, 1);
    assert_said(&f, 0, PANEL, "offline");
    sim_world_free(&f.world);
}

static void flaps_and_comes_to_rest(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live");
    pass(&f, 0);
    run(&f, "flap 3-power 3 every 100ms");
    for (int i = 0; i < 6; i++) {
        pass(&f, 100);
    }
    assert_int_equal(f.count, 4);
    assert_said(&f, 1, POWER, "{\"state\":\"isolated\"}");
    assert_said(&f, 2, POWER, "{\"state\":\"live\"}");
    assert_said(&f, 3, POWER, "{\"state\":\"isolated\"}");
    assert_int_equal(sim_world_due(&f.world), INT64_MAX);
    sim_world_free(&f.world);
}

static void copies_and_disorder(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live with seq");
    pass(&f, 0);
    run(&f, "repeat 3-power 2");
    assert_int_equal(f.count, 3);
    assert_said(&f, 2, POWER, "{\"state\":\"live\",\"seq\":1}");
    run(&f, "hold 3-power");
    run(&f, "set 3-power isolated");
    run(&f, "set 3-power live");
    assert_int_equal(f.count, 3);
    run(&f, "release 3-power reverse");
    assert_int_equal(f.count, 5);
    assert_said(&f, 3, POWER, "{\"state\":\"live\",\"seq\":3}");
    assert_said(&f, 4, POWER, "{\"state\":\"isolated\",\"seq\":2}");
    sim_world_free(&f.world);
}

static void holds_no_more_than_its_memory(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live with seq");
    run(&f, "hold 3-power");
    for (int i = 0; i < SIM_HELD_MAX + 5; i++) {
        run(&f, "tell 3-power");
    }
    run(&f, "release 3-power forward");
    assert_int_equal(f.count, SIM_HELD_MAX);
    assert_said(&f, SIM_HELD_MAX - 1, POWER, "{\"state\":\"live\",\"seq\":64}");
    sim_world_free(&f.world);
}

static void wrong_words_qualities_clocks_and_counters(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live with at,seq");
    run(&f, "skew 3-power -1.5s");
    run(&f, "seq 3-power 7");
    run(&f, "quality 3-power uncertain");
    run(&f, "quality 3-power good");
    run(&f, "value 3-power ajar");
    run(&f, "set 3-power isolated");
    run(&f, "lie 3-power live");
    run(&f, "tell 3-power");
    run(&f, "raw 3-power { \"state\": # }");
#define DATED ",\"at\":\"2025-12-31T23:59:59.000Z\",\"seq\":"
    static const char *const payloads[] = {
        ("{\"state\":\"live\"" DATED "7,\"quality\":\"uncertain\"}"),
        ("{\"state\":\"live\"" DATED "8}"),
        ("{\"state\":\"ajar\"" DATED "9}"),
        ("{\"state\":\"isolated\"" DATED "10}"),
        ("{\"state\":\"live\"" DATED "11}"),
        ("{\"state\":\"isolated\"" DATED "12}"),
        "{ \"state\": # }",
    };
    size_t expected = sizeof payloads / sizeof payloads[0];
    assert_int_equal(f.count, expected);
    for (size_t i = 0; i < expected; i++) {
        assert_said(&f, i, POWER, payloads[i]);
    }
    sim_world_free(&f.world);
}

static void retained_and_cleared(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live");
    run(&f, "tell 3-power");
    run(&f, "retain 3-power on");
    run(&f, "tell 3-power");
    run(&f, "clear 3-power");
    assert_int_equal(f.count, 3);
    assert_false(f.said[0].retain);
    assert_true(f.said[1].retain);
    assert_true(f.said[2].retain);
    assert_string_equal(f.said[2].payload, "");
    sim_world_free(&f.world);
}

// Garbage, losses and a shuffle of one seed, as one number.
static size_t play_by_chance(struct fixture *f, uint64_t seed) {
    begin(f, seed);
    run(f, "breaker 3-power starts live with seq");
    run(f, "garbage 3-power 5");
    run(f, "lose 3-power 50");
    for (int i = 0; i < 20; i++) {
        run(f, "tell 3-power");
    }
    run(f, "lose 3-power 0");
    run(f, "hold 3-power");
    for (int i = 0; i < 8; i++) {
        run(f, "tell 3-power");
    }
    run(f, "release 3-power shuffled");
    sim_world_free(&f->world);
    return f->count;
}

static void chance_is_the_same_for_one_seed(void **state) {
    (void)state;
    static struct fixture a;
    static struct fixture b;
    static struct fixture c;
    size_t count = play_by_chance(&a, 3);
    assert_true(count > 5 + 8 && count < 5 + 20 + 8);
    assert_int_equal(play_by_chance(&b, 3), count);
    assert_memory_equal(a.said, b.said, sizeof a.said);
    play_by_chance(&c, 4);
    assert_memory_not_equal(a.said, c.said, sizeof a.said);
}

static void counts_what_could_not_be_sent(void **state) {
    (void)state;
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker 3-power starts live");
    f.down = true;
    run(&f, "tell 3-power");
    assert_int_equal(f.world.unsent, 1);
    sim_world_free(&f.world);
}

static void refuses_what_it_does_not_understand(void **state) {
    (void)state;
    static const struct {
        const char *line, *reason;
    } bad[] = {
        {"breaker", "needs an id"},
        {"breaker .x starts live", "needs an id"},
        {"breaker b", "starts isolated, or starts live"},
        {"breaker b starts open", "\"open\" is neither isolated nor live"},
        {"breaker b starts live starts live", "said twice"},
        {"breaker b starts live every", "nothing behind"},
        {"breaker b starts live every 5", "no duration"},
        {"breaker b starts live every 1ms", "10ms"},
        {"breaker b starts live on nowhere", "no controller \"nowhere\""},
        {"breaker b starts live with at,colour", "no \"colour\""},
        {"breaker b starts live with at,", "comma"},
        {"breaker a starts live", "declared twice"},
        {"controller c starts live", "neither online nor offline"},
        {"reader r starts live", "has no \"starts\""},
        {"frobnicate a", "no declaration and no step"},
        {"set b live", "no sensor \"b\""},
        {"set a open", "neither isolated nor live"},
        {"set a", "something is missing"},
        {"set a live now", "too much"},
        {"tell reader/a", "no state"},
        {"tell thing/a", "begins with no kind"},
        {"hang a t-1 t-2", "too much"},
        {"hang a \"\"", "not a word"},
        {"online a", "no controller \"a\""},
        {"flap a 3 for 1s", "\"for\" stands where \"every\" belongs"},
        {"flap a -3 every 1s", "no whole number"},
        {"flap a 3 every 25h", "longer than 24 h"},
        {"flap a 3 every 1.2.3s", "no duration"},
        {"lose a 101", "more than 100"},
        {"release a backwards", "neither forward"},
        {"release a forward", "holds nothing back"},
        {"repeat a 2", "said nothing yet"},
        {"silence a for", "something is missing"},
        {"set \"a live", "quote"},
        {"after 1s wait 1s", "cannot come later"},
        {"after 1s breaker z starts live", "cannot come later"},
        {"after 1s set z live", "no sensor \"z\""},
    };
    static struct fixture f;
    begin(&f, 1);
    run(&f, "breaker a starts live");
    run(&f, "reader a");
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct sim_note note = {""};
        assert_false(try_line(&f, bad[i].line, &note));
        if (strstr(note.text, bad[i].reason) == NULL) {
            fail_msg("%s: \"%s\" has no \"%s\"", bad[i].line, note.text, bad[i].reason);
        }
    }
    assert_int_equal(f.count, 0);
    sim_world_free(&f.world);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(speaks_with_the_declared_fields),
        cmocka_unit_test(repeats_itself_on_its_period),
        cmocka_unit_test(silence_ends_by_word_or_by_time),
        cmocka_unit_test(a_dead_controller_takes_its_sensors_along),
        cmocka_unit_test(a_controller_may_start_offline),
        cmocka_unit_test(flaps_and_comes_to_rest),
        cmocka_unit_test(copies_and_disorder),
        cmocka_unit_test(holds_no_more_than_its_memory),
        cmocka_unit_test(wrong_words_qualities_clocks_and_counters),
        cmocka_unit_test(retained_and_cleared),
        cmocka_unit_test(chance_is_the_same_for_one_seed),
        cmocka_unit_test(counts_what_could_not_be_sent),
        cmocka_unit_test(refuses_what_it_does_not_understand),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
