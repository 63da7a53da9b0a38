// What a test was read with, and what its uncertainty makes of the verdict.
#include "rig.h"

#include <string.h>

static void ask_all(struct rig *rig, const char *const (*steps)[2]) {
    for (; (*steps)[0] != NULL; steps++) {
        rig_ask(rig, "t-1", (*steps)[0], (*steps)[1]);
        rig_settle(rig);
    }
}

static void to_testing(struct rig *rig) {
    static const char *const down[][2] = {
        {"start-work", "{\"job\":\"J-1\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"spout-nut\",\"value\":45,\"unit\":\"N.m\","
                       "\"instrument\":\"tw-3\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"tools-clear\"}"},
        {"sign-check", "{\"job\":\"J-1\",\"check\":\"people-clear\"}"},
        {"finish-work", "{\"job\":\"J-1\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3-power\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3-valve\"}"},
        {"lift-tag", "{\"job\":\"J-1\",\"point\":\"3A-line\"}"},
        {"witness-point", "{\"job\":\"J-1\",\"point\":\"3A-line\",\"state\":\"live\"}"},
        {NULL},
    };
    rig_to_confirmed(rig);
    ask_all(rig, down);
    rig_hear_all(rig, MODEL_POINT_LIVE);
    rig_settle(rig);
    rig_ask(rig, "t-1", "begin-test", "{\"job\":\"J-1\"}");
    rig_settle(rig);
    rig_forget(rig);
}

// 900 kilohm under 1 megohm, by an instrument that errs by 150 kilohm.
RIG_TEST(the_uncertainty_of_an_instrument_is_told_beside_the_verdict) {
    to_testing(rig);
    rig_ask(rig, "t-1", "record-test",
            "{\"job\":\"J-1\",\"test\":\"continuity\",\"readings\":{\"value\":900000},"
            "\"instrument\":\"gauge-1\"}");
    rig_settle(rig);
    const char *reply = rig_payload(rig, "reply");
    assert_non_null(strstr(reply, "\"pass\":true"));
    assert_non_null(strstr(reply, "\"decision\":\"conditional pass\",\"uncertainty\":150000"));
}

RIG_TEST(an_instrument_without_one_decides_nothing) {
    to_testing(rig);
    rig_ask(rig, "t-1", "record-test",
            "{\"job\":\"J-1\",\"test\":\"continuity\",\"readings\":{\"value\":900000},"
            "\"instrument\":\"tw-3\"}");
    rig_settle(rig);
    assert_null(strstr(rig_payload(rig, "reply"), "decision"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_uncertainty_of_an_instrument_is_told_beside_the_verdict),
        cmocka_unit_test(an_instrument_without_one_decides_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
