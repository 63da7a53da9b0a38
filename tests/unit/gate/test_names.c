// The spellings of the contract, both ways.
#include "gate/words.h"
#include "world.h"

#define BOTH_WAYS(name_of, value_of, count)                                                        \
    do {                                                                                           \
        for (int i = 0; i < (int)(count); i++) {                                                   \
            assert_non_null(name_of(i));                                                           \
            assert_int_equal(value_of(name_of(i)), i);                                             \
        }                                                                                          \
        assert_null(name_of((int)(count)));                                                        \
        assert_int_equal(value_of("no-such-word"), -1);                                            \
    } while (0)

static void every_word_is_spelled_once(void **state) {
    (void)state;
    BOTH_WAYS(gate_phase_name, gate_phase_of, GATE_PHASE_COUNT);
    BOTH_WAYS(gate_lockout_name, gate_lockout_of, GATE_LOCKOUT_COUNT);
    BOTH_WAYS(gate_point_state_name, gate_point_state_of, GATE_POINT_STATE_COUNT);
    BOTH_WAYS(gate_trust_name, gate_trust_of, GATE_TRUST_COUNT);
    BOTH_WAYS(gate_alarm_kind_name, gate_alarm_kind_of, GATE_ALARM_KIND_COUNT);
    BOTH_WAYS(gate_alarm_state_name, gate_alarm_state_of, GATE_ALARM_STATE_COUNT);
    BOTH_WAYS(gate_code_name, gate_code_of, GATE_CODE_COUNT);
    BOTH_WAYS(gate_verb_name, gate_verb_of, GATE_VERB_COUNT);
    BOTH_WAYS(gate_fact_name, gate_fact_of, GATE_FACT_COUNT);
}

static void the_words_that_decide(void **state) {
    (void)state;
    assert_int_equal(gate_point_state_of("isolated"), GATE_POINT_ISOLATED);
    assert_int_equal(gate_point_state_of("live"), GATE_POINT_LIVE);
    assert_string_equal(gate_service_name(GATE_SERVICE_IN), "in-service");
    assert_string_equal(gate_service_name(GATE_SERVICE_OUT), "out-of-service");
    assert_string_equal(gate_phase_name(GATE_PHASE_WORKING), "working");
    assert_string_equal(gate_lockout_name(GATE_LOCKOUT_UNPROVEN), "unproven");
    assert_string_equal(gate_cause_name(GATE_CAUSE_UNTESTED), "untested");
    assert_null(gate_cause_name(GATE_CAUSE_NONE));
    assert_string_equal(gate_code_name(GATE_CODE_POINT_LIVE), "point-live");
    assert_string_equal(gate_trust_name(GATE_TRUST_DISAGREES), "disagrees");
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(every_word_is_spelled_once),
        cmocka_unit_test(the_words_that_decide),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
