// Facts out and back: every field, every type, and what must not be taken.
#include "whole.h"

#include "failing_memory.h"
#include "gate/fact/row.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof((array)[0]))

// --- Out and back ---

static void every_field_is_written_in_order(void **state) {
    const struct gate_fact fact = whole_fact();
    assert_string_equal(encode(*state, &fact), whole_text());
}

static void every_type_comes_back(void **state) {
    struct bench *bench = *state;
    for (int type = 0; type < GATE_FACT_COUNT; type++) {
        if ((gate_fact_row((enum gate_fact_type)type)->carries & GATE_HAS(reader_of)) != 0) {
            continue; // two of its keys are other fields
        }
        assert_true(decode(bench, whole_text(), (enum gate_fact_type)type));
        assert_int_equal(bench->fact.type, type);
        assert_string_equal(encode(bench, &bench->fact), whole_text());
    }
}

// A reader is told by its point, and why a sensor is trusted again by none of the codes: the keys
// are those of a flag and a code elsewhere.
static void a_key_is_read_as_its_fact_has_it(void **state) {
    struct bench *bench = *state;
    const char *text = "{\"job\":null,\"position\":null,\"at\":\"2026-11-25T16:37:14.123Z\","
                       "\"evidence\":[],\"point\":\"3-power\",\"reader\":\"3-power\","
                       "\"why\":\"ended\"}";
    assert_true(decode(bench, text, GATE_FACT_SENSOR_TRUSTED));
    assert_string_equal(bench->fact.reader_of, "3-power");
    assert_string_equal(bench->fact.trusted_why, "ended");
    assert_false(bench->fact.reader || bench->fact.has_why);
    assert_string_equal(encode(bench, &bench->fact), text);
    assert_false(decode(bench, text, GATE_FACT_TAG_HUNG));
}

static void what_comes_back_is_the_fact(void **state) {
    struct bench *bench = *state;
    const struct gate_fact *fact = &bench->fact;
    assert_true(decode(bench, whole_text(), GATE_FACT_TEST_RECORDED));
    assert_int_equal(fact->site, 0);
    assert_int_equal(fact->at.mono, 777);
    assert_int_equal(fact->at.wall, 1795624634123);
    assert_int_equal(fact->hung, 1795624600000);
    assert_int_equal(fact->until, 1795624700000);
    assert_true(fact->has_value && fact->value == 45.25);
    assert_true(fact->has_pass && !fact->pass && fact->has_overseer && !fact->overseer);
    assert_true(fact->absent && fact->reader && fact->adopted);
    assert_int_equal(fact->why, MODEL_CODE_POINT_LIVE);
    assert_int_equal(fact->trust, MODEL_TRUST_DISAGREES);
    assert_int_equal(fact->alarm_state, MODEL_ALARM_UNACKNOWLEDGED);
    assert_int_equal(fact->count, 3);
    assert_int_equal(fact->args->sentence, GATE_SAY_ALARM_TAG_LEFT);
    assert_string_equal(gate_refusal_text(fact->args, 0), "t-9"); // the first of all is the person
    assert_string_equal(fact->note, "line\nbreak \"quoted\" \xc3\xa9");
    assert_int_equal(fact->refusals[0].age_ms, 31250);
    assert_int_equal(fact->refusals[1].age_ms, -1);
    assert_string_equal(fact->refusals[1].need, "");
    assert_int_equal(fact->evidence[0].heard, 1795624634000);
    assert_int_equal(fact->evidence[1].heard, 0);
    const struct model_requirements *back = fact->requirements;
    assert_int_equal(back->inspection, whole_needs.inspection);
    assert_int_equal(back->check_count, whole_needs.check_count);
    for (size_t i = 0; i < whole_needs.check_count; i++) {
        assert_string_equal(back->checks[i].check, whole_needs.checks[i].check);
        assert_int_equal(back->checks[i].group, whole_needs.checks[i].group);
        assert_int_equal(back->checks[i].valid_ms, whole_needs.checks[i].valid_ms);
        assert_int_equal(back->checks[i].by, whole_needs.checks[i].by);
        assert_int_equal(back->checks[i].note, whole_needs.checks[i].note);
    }
    assert_int_equal(back->tests[0].valid_ms, 5400000);
    assert_int_equal(back->tests[1].valid_ms, 0);
    assert_string_equal(back->tests[0].notice, "told");
    assert_int_equal(back->tests[0].notice_ms, 259200000);
    assert_int_equal(back->tests[1].notice_ms, 0);
    assert_true(back->tests[0].powered && !back->tests[1].powered);
    assert_null(back->tests[0].unit);
    assert_false(back->tests[0].limits.has_min || back->tests[0].limits.has_max);
    assert_true(fact->result->limit_is_interval && fact->result->limits.min == 0.5);
    assert_int_equal(fact->result->inputs[2].kind, MODEL_READING_TEXT);
}

// The first four are always told, null or empty where there is nothing.
static void every_field_stands_alone(void **state) {
    static const char *const always[] = {"\"job\":null", "\"position\":null",
                                         "\"at\":\"2026-11-25T16:37:14.123Z\"", "\"evidence\":[]"};
    struct bench *bench = *state;
    for (size_t i = 0; i < whole_member_count; i++) {
        char text[4096];
        const char *first[4];
        for (size_t f = 0; f < 4; f++) {
            first[f] = f == i ? whole_members[i] : always[f];
        }
        snprintf(text, sizeof text, "{%s,%s,%s,%s%s%s}", first[0], first[1], first[2], first[3],
                 i < 4 ? "" : ",", i < 4 ? "" : whole_members[i]);
        assert_true(decode(bench, text, GATE_FACT_TAG_HUNG));
        assert_string_equal(encode(bench, &bench->fact), text);
        // Left out altogether, they are as if null.
        snprintf(text, sizeof text, "{%s}", whole_members[i]);
        char *told = strdup(bench->out.data);
        assert_true(decode(bench, text, GATE_FACT_TAG_HUNG));
        assert_string_equal(encode(bench, &bench->fact), told);
        free(told);
    }
}

static void the_order_does_not_matter(void **state) {
    struct bench *bench = *state;
    char text[8192] = "{";
    size_t length = 1;
    for (size_t i = whole_member_count; i-- > 0;) {
        length += (size_t)snprintf(text + length, sizeof text - length, "%s%c", whole_members[i],
                                   i > 0 ? ',' : '}');
    }
    assert_true(decode(bench, text, GATE_FACT_WORK_REFUSED));
    assert_string_equal(encode(bench, &bench->fact), whole_text());
}

static void an_empty_fact_has_what_every_fact_has(void **state) {
    struct bench *bench = *state;
    const struct gate_fact fact = {
        .type = GATE_FACT_DAEMON_STARTED, .site = MODEL_NONE, .at = {1795624634123, 777}};
    assert_string_equal(
        encode(bench, &fact),
        "{\"job\":null,\"position\":null,\"at\":\"2026-11-25T16:37:14.123Z\",\"evidence\":[]}");
    assert_true(decode(bench, bench->out.data, GATE_FACT_DAEMON_STARTED));
    assert_null(bench->fact.job);
    assert_false(bench->fact.has_cause || bench->fact.has_state || bench->fact.has_value);
}

static void a_text_that_is_null_is_absent(void **state) {
    struct bench *bench = *state;
    assert_true(decode(bench, "{\"job\":null,\"person\":null,\"say\":\"\"}", GATE_FACT_TAG_HUNG));
    assert_null(bench->fact.job);
    assert_null(bench->fact.person);
    assert_string_equal(bench->fact.say, "");
}

static void every_word_comes_back(void **state) {
    struct bench *bench = *state;
    for (int value = 0; value < MODEL_CODE_COUNT; value++) {
        const struct gate_fact fact = {.at = {1, 1},
                                       .site = 0,
                                       .has_why = true,
                                       .why = (enum model_code)value,
                                       .has_cause = value < MODEL_CAUSE_COUNT,
                                       .cause = (enum model_cause)value,
                                       .has_trust = value < MODEL_TRUST_COUNT,
                                       .trust = (enum model_trust)value,
                                       .has_state = value < MODEL_POINT_STATE_COUNT,
                                       .state = (enum model_point_state)value,
                                       .has_phase = value < MODEL_PHASE_COUNT,
                                       .phase = (enum model_phase)value,
                                       .has_lockout = value < MODEL_LOCKOUT_COUNT,
                                       .lockout = (enum model_lockout)value,
                                       .has_kind = value < MODEL_ALARM_KIND_COUNT,
                                       .kind = (enum model_alarm_kind)value,
                                       .has_alarm_state = value < MODEL_ALARM_STATE_COUNT,
                                       .alarm_state = (enum model_alarm_state)value};
        assert_true(decode(bench, encode(bench, &fact), GATE_FACT_ALARM_RAISED));
        assert_int_equal(bench->fact.why, value);
        assert_int_equal(bench->fact.has_cause, fact.has_cause);
        assert_int_equal(bench->fact.has_kind, fact.has_kind);
        assert_true(!fact.has_cause || bench->fact.cause == fact.cause);
        assert_true(!fact.has_trust || bench->fact.trust == fact.trust);
        assert_true(!fact.has_state || bench->fact.state == fact.state);
        assert_true(!fact.has_phase || bench->fact.phase == fact.phase);
        assert_true(!fact.has_lockout || bench->fact.lockout == fact.lockout);
        assert_true(!fact.has_kind || bench->fact.kind == fact.kind);
        assert_true(!fact.has_alarm_state || bench->fact.alarm_state == fact.alarm_state);
    }
}

static void a_flag_is_true_false_or_absent(void **state) {
    struct bench *bench = *state;
    for (int which = 0; which < 3; which++) {
        const bool has = which > 0, yes = which > 1;
        const struct gate_fact fact = {.at = {1, 1},
                                       .has_pass = has,
                                       .pass = yes,
                                       .has_counts = has,
                                       .counts = yes,
                                       .has_overseer = has,
                                       .overseer = yes};
        assert_true(decode(bench, encode(bench, &fact), GATE_FACT_TAG_HUNG));
        assert_true(bench->fact.has_pass == has && bench->fact.pass == yes);
        assert_true(bench->fact.has_counts == has && bench->fact.counts == yes);
        assert_true(bench->fact.has_overseer == has && bench->fact.overseer == yes);
    }
}

static void a_value_without_a_word_is_not_written(void **state) {
    struct bench *bench = *state;
    const struct gate_fact fact = {.has_trust = true, .trust = MODEL_TRUST_COUNT};
    assert_false(wire_fact_encode(&fact, &whole_model, &bench->out));
}

static void numbers_keep_every_bit(void **state) {
    struct bench *bench = *state;
    static const double values[] = {0.1, 1.0 / 3, -2.5, 5e-324, 1.7976931348623157e308, 45.3};
    for (size_t i = 0; i < COUNT(values); i++) {
        const struct gate_fact fact = {.at = {1, 1}, .has_value = true, .value = values[i]};
        assert_true(decode(bench, encode(bench, &fact), GATE_FACT_CHECK_SIGNED));
        assert_memory_equal(&bench->fact.value, &values[i], sizeof values[i]);
    }
}

static void a_limit_of_one_number_stays_one(void **state) {
    struct bench *bench = *state;
    const char *text = "{\"job\":null,\"position\":null,\"at\":\"2026-11-25T16:37:14.123Z\","
                       "\"evidence\":[],\"result\":{\"rule\":\"flow-rate\","
                       "\"inputs\":{},\"value\":null,\"limit\":10,\"margin\":null,\"pass\":null,"
                       "\"formula\":\"f\",\"source\":\"s\"}}";
    assert_true(decode(bench, text, GATE_FACT_TEST_RECORDED));
    assert_false(bench->fact.result->limit_is_interval);
    assert_false(bench->fact.result->has_pass || bench->fact.result->has_value);
    assert_string_equal(encode(bench, &bench->fact), text);
}

// --- What is not taken ---

static const char *const wrong[] = {
    "[]",
    "\"x\"",
    "{\"color\":\"red\"}",
    "{\"job\":1}",
    "{\"person\":[]}",
    "{\"job\":\"J\\u00001\"}",
    "{\"at\":17}",
    "{\"value\":\"45\"}",
    "{\"value\":null}",
    "{\"pass\":1}",
    "{\"absent\":\"yes\"}",
    "{\"state\":\"closed\"}",
    "{\"state\":null}",
    "{\"state\":2}",
    "{\"trust\":\"good\"}",
    "{\"cause\":\"none\"}",
    "{\"why\":\"because\"}",
    "{\"hung\":\"yesterday\"}",
    "{\"hung\":1795624600000}",
    "{\"jobs\":\"J-1\"}",
    "{\"jobs\":[1]}",
    "{\"evidence\":{}}",
    "{\"evidence\":[1]}",
    "{\"evidence\":[{\"point\":\"p\",\"state\":\"isolated\",\"trust\":\"fresh\"}]}",
    "{\"evidence\":[{\"state\":\"isolated\",\"trust\":\"fresh\",\"heard\":null}]}",
    "{\"evidence\":[{\"point\":\"p\",\"state\":\"off\",\"trust\":\"fresh\",\"heard\":null}]}",
    "{\"refusals\":[{\"code\":\"nonsense\"}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"age_s\":-1}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"need\":7}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":7}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"say\":7}}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"person\":7}}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"value\":\"7\"}}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"of\":-1}}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"phases\":[\"nonsense\"]}}]}",
    "{\"refusals\":[{\"code\":\"link-down\",\"args\":{\"any\":[7]}}]}",
    "{\"result\":[]}",
    "{\"result\":{\"rule\":\"range\"}}",
    "{\"result\":{\"inputs\":{\"a\":[]}}}",
    "{\"result\":{\"inputs\":{},\"pass\":\"yes\"}}",
    ("{\"result\":{\"inputs\":{\"a\":1,\"b\":1,\"c\":1,\"d\":1,\"e\":1,\"f\":1,\"g\":1,\"h\":1,"
     "\"i\":1}}}"),
    "{\"requirements\":{}}",
    "{\"requirements\":{\"procedure\":\"p\",\"district\":1}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"c\",\"measure\":1}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"c\",\"note\":1}]}}",
    ("{\"requirements\":{\"procedure\":\"p\","
     "\"tests\":[{\"test\":\"t\",\"rule\":\"r\",\"runs\":2.5}]}}"),
    ("{\"requirements\":{\"procedure\":\"p\","
     "\"tests\":[{\"test\":\"t\",\"rule\":\"r\",\"each\":\"x\"}]}}"),
    ("{\"requirements\":{\"procedure\":\"p\",\"tests\":[{\"test\":\"t\",\"rule\":\"r\",\"fails\":"
     "\"x\"}]}}"),
    "{\"requirements\":{\"procedure\":\"p\",\"match\":\"color\"}}",
    "{\"requirements\":{\"procedure\":\"p\",\"takes\":\"street\"}}",
    "{\"requirements\":{\"procedure\":\"p\",\"isolate\":\"electrical\"}}",
    "{\"requirements\":{\"procedure\":\"p\",\"credentials\":[\"a\"]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":{}}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"\"}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"c\",\"by\":\"boss\"}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"c\",\"valid_s\":-1}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"work\":[{\"check\":\"c\",\"max\":\"1\"}]}}",
    "{\"requirements\":{\"procedure\":\"p\",\"tests\":[{\"test\":\"t\"}]}}",
    ("{\"requirements\":{\"procedure\":\"p\",\"tests\":[{\"test\":\"t\",\"rule\":\"r\",\"powered\":"
     "0}]}}"),
};

static void what_no_fact_has_is_refused(void **state) {
    for (size_t i = 0; i < COUNT(wrong); i++) {
        if (decode(*state, wrong[i], GATE_FACT_TAG_HUNG)) {
            fail_msg("taken for a fact: %s", wrong[i]);
        }
    }
}

static void no_type_is_refused(void **state) {
    assert_false(decode(*state, "{}", GATE_FACT_COUNT));
    assert_true(decode(*state, "{}", GATE_FACT_REQUEST_REFUSED));
}

// --- Subject ---

static void the_subject_is_a_position_or_nothing(void **state) {
    struct gate_fact fact = {.site = 0, .position = "3B", .point = "3-power"};
    assert_string_equal(wire_fact_subject(&fact, &whole_model), "3B");
    fact.position = NULL;
    assert_null(wire_fact_subject(&fact, &whole_model));
    fact.point = "3A-line";
    assert_string_equal(wire_fact_subject(&fact, &whole_model), "3A");
    fact.at.wall = 1795624634123;
    assert_string_equal(encode(*state, &fact),
                        "{\"job\":null,\"position\":\"3A\",\"at\":\"2026-11-25T16:37:14.123Z\","
                        "\"evidence\":[],\"point\":\"3A-line\"}");
    fact.point = "gone";
    assert_null(wire_fact_subject(&fact, &whole_model));
    fact.point = "3A-line";
    fact.site = MODEL_NONE;
    assert_null(wire_fact_subject(&fact, &whole_model));
}

// --- Memory ---

static void memory_is_used_again(void **state) {
    struct bench *bench = *state;
    assert_true(decode(bench, whole_text(), GATE_FACT_JOB_OPENED));
    const char *job = bench->fact.job;
    failing_memory_left = 0;
    for (int i = 0; i < 100; i++) {
        wire_fact_arena_reset(&bench->arena);
        assert_true(wire_fact_decode(&bench->tape, json_root(&bench->tape), GATE_FACT_JOB_OPENED, 0,
                                     (struct gate_time){1, 1}, &bench->arena, &bench->fact));
        assert_ptr_equal(bench->fact.job, job);
    }
    failing_memory_left = -1;
}

static void memory_that_fails_is_said(void **state) {
    struct bench *bench = *state;
    long failures = 0;
    assert_true(decode(bench, whole_text(), GATE_FACT_JOB_OPENED));
    for (bool good = false; !good; failures += !good) {
        wire_fact_arena_free(&bench->arena);
        failing_memory_left = failures;
        good =
            wire_fact_decode(&bench->tape, json_root(&bench->tape), GATE_FACT_JOB_OPENED, 0,
                             (struct gate_time){1795624634123, 777}, &bench->arena, &bench->fact);
        failing_memory_left = -1;
    }
    assert_true(failures >= 1);
    assert_string_equal(encode(bench, &bench->fact), whole_text());
}

static void an_arena_takes_any_size(void **state) {
    struct bench *bench = *state;
    struct wire_fact_arena *arena = &bench->arena;
    assert_null(wire_fact_arena_array(arena, SIZE_MAX / 2, 3));
    assert_null(wire_fact_arena_alloc(arena, SIZE_MAX));
    assert_non_null(wire_fact_arena_alloc(arena, 0));
    for (size_t round = 0; round < 3; round++) {
        wire_fact_arena_reset(arena);
        for (size_t size = 1; size < 200000; size = size * 3 + 1) {
            unsigned char *memory = wire_fact_arena_array(arena, size, 1);
            assert_non_null(memory);
            assert_int_equal((uintptr_t)memory % _Alignof(max_align_t), 0);
            for (size_t i = 0; i < size; i++) {
                assert_int_equal(memory[i], 0);
            }
            memset(memory, 0xff, size);
        }
    }
}

// A chunk that is too small for what comes next is passed over, not overrun.
static void an_arena_that_is_used_otherwise(void **state) {
    struct wire_fact_arena *arena = &((struct bench *)*state)->arena;
    for (size_t size = 16000; size <= 64000; size += 16000) {
        unsigned char *parts[4];
        wire_fact_arena_reset(arena);
        for (size_t i = 0; i < 4; i++) {
            parts[i] = wire_fact_arena_alloc(arena, size);
            assert_non_null(parts[i]);
            memset(parts[i], (int)i, size);
        }
        for (size_t i = 0; i < 4; i++) {
            assert_int_equal(parts[i][0], i);
            assert_int_equal(parts[i][size - 1], i);
        }
    }
}

int main(void) {
#define TEST(name) cmocka_unit_test_setup_teardown(name, bench_new, bench_end)
    const struct CMUnitTest all[] = {
        TEST(every_field_is_written_in_order),
        TEST(every_type_comes_back),
        TEST(a_key_is_read_as_its_fact_has_it),
        TEST(what_comes_back_is_the_fact),
        TEST(every_field_stands_alone),
        TEST(the_order_does_not_matter),
        TEST(an_empty_fact_has_what_every_fact_has),
        TEST(a_text_that_is_null_is_absent),
        TEST(every_word_comes_back),
        TEST(a_flag_is_true_false_or_absent),
        TEST(a_value_without_a_word_is_not_written),
        TEST(numbers_keep_every_bit),
        TEST(a_limit_of_one_number_stays_one),
        TEST(what_no_fact_has_is_refused),
        TEST(no_type_is_refused),
        TEST(the_subject_is_a_position_or_nothing),
        TEST(memory_is_used_again),
        TEST(memory_that_fails_is_said),
        TEST(an_arena_takes_any_size),
        TEST(an_arena_that_is_used_otherwise),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
