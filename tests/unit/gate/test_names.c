// The spellings of the contract, both ways.
#include "gate/fact/list.h"
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
    BOTH_WAYS(model_phase_name, model_phase_of, MODEL_PHASE_COUNT);
    BOTH_WAYS(model_lockout_name, model_lockout_of, MODEL_LOCKOUT_COUNT);
    BOTH_WAYS(model_point_state_name, model_point_state_of, MODEL_POINT_STATE_COUNT);
    BOTH_WAYS(model_trust_name, model_trust_of, MODEL_TRUST_COUNT);
    BOTH_WAYS(model_alarm_kind_name, model_alarm_kind_of, MODEL_ALARM_KIND_COUNT);
    BOTH_WAYS(model_alarm_state_name, model_alarm_state_of, MODEL_ALARM_STATE_COUNT);
    BOTH_WAYS(model_code_name, model_code_of, MODEL_CODE_COUNT);
    BOTH_WAYS(gate_verb_name, gate_verb_of, GATE_VERB_COUNT);
    BOTH_WAYS(gate_fact_name, gate_fact_of, GATE_FACT_COUNT);
}

static void the_words_that_decide(void **state) {
    (void)state;
    assert_int_equal(model_point_state_of("isolated"), MODEL_POINT_ISOLATED);
    assert_int_equal(model_point_state_of("live"), MODEL_POINT_LIVE);
    assert_string_equal(model_service_name(MODEL_SERVICE_IN), "in-service");
    assert_string_equal(model_service_name(MODEL_SERVICE_OUT), "out-of-service");
    assert_string_equal(model_phase_name(MODEL_PHASE_WORKING), "working");
    assert_string_equal(model_lockout_name(MODEL_LOCKOUT_UNPROVEN), "unproven");
    assert_string_equal(model_cause_name(MODEL_CAUSE_UNTESTED), "untested");
    assert_null(model_cause_name(MODEL_CAUSE_NONE));
    assert_string_equal(model_code_name(MODEL_CODE_POINT_LIVE), "point-live");
    assert_string_equal(model_trust_name(MODEL_TRUST_DISAGREES), "disagrees");
}

int main(void) {
    const struct CMUnitTest all[] = {
        cmocka_unit_test(every_word_is_spelled_once),
        cmocka_unit_test(the_words_that_decide),
    };
    return cmocka_run_group_tests(all, NULL, NULL);
}
