// One repair through the gate.
#include "story.h"

#include <stdio.h>

#define JOB .job = "J-1"

static const char *const points[] = {"3-power", "3-regular", "3-premium"};

void story_open(struct rig *rig) {
    rig_hear(rig, "3-power", MODEL_POINT_LIVE);
    rig_hear(rig, "3-regular", MODEL_POINT_LIVE);
    rig_must(rig, GATE_VERB_OPEN_JOB, "tracker-1",
             (struct gate_request){JOB, .position = "3A", .procedure = "spout-and-boot",
                                   .technician = "t-104", .kit_family = "k2", .note = STORY_NOTE});
}

static void say(struct rig *rig, const char *person, enum model_point_state state) {
    rig_must(rig, GATE_VERB_WITNESS_POINT, person,
             (struct gate_request){JOB, .point = "3-premium", .has_state = true, .state = state});
}

void story_isolate(struct rig *rig) {
    for (int i = 0; i < 4; i++) {
        rig_hear(rig, "3-power", MODEL_POINT_ISOLATED);
        rig_hear(rig, "3-regular", MODEL_POINT_ISOLATED);
        rig_pass(rig, 1000);
    }
    say(rig, "t-104", MODEL_POINT_ISOLATED);
    for (size_t i = 0; i < 3; i++) {
        rig_must(rig, GATE_VERB_HANG_TAG, "t-104", (struct gate_request){JOB, .point = points[i]});
    }
}

static void measure(struct rig *rig, const char *check, double value, const char *unit,
                    const char *instrument) {
    rig_must(rig, GATE_VERB_SIGN_CHECK, "t-104",
             (struct gate_request){JOB, .check = check, .has_value = true, .value = value,
                                   .unit = unit, .instrument = instrument});
}

void story_sign(struct rig *rig, const char *person, const char *check) {
    rig_must(rig, GATE_VERB_SIGN_CHECK, person, (struct gate_request){JOB, .check = check});
}

void story_confirm(struct rig *rig) {
    story_isolate(rig);
    story_sign(rig, "t-104", "barricade");
    story_sign(rig, "m-301", "site-told");
    measure(rig, "gas-before", 2, "%LEL", "gas-5");
    story_sign(rig, "t-104", "product-proof");
    rig_must(rig, GATE_VERB_SIGN_CHECK, "t-104",
             (struct gate_request){JOB, .check = "nozzle-label", .note = "k2"});
    measure(rig, "line-pressure", 0.25, "psi", "gauge-4");
    measure(rig, "drained", 1.5, "L", NULL);
    story_sign(rig, "t-104", "no-flow");
    story_sign(rig, "t-104", "dark");
}

void story_start(struct rig *rig) {
    rig_must(rig, GATE_VERB_START_WORK, "t-104", (struct gate_request){JOB});
}

void story_finish(struct rig *rig) {
    static const char *const fitted[] = {"o-rings", "sensing-port", "sealant", "boot-seated",
                                         "interlock-rod"};
    for (size_t i = 0; i < sizeof fitted / sizeof fitted[0]; i++) {
        story_sign(rig, "t-104", fitted[i]);
    }
    measure(rig, "spout-nut", 45, "N.m", "tw-3");
    story_sign(rig, "t-104", "tools-clear");
    story_sign(rig, "t-104", "people-clear");
    rig_must(rig, GATE_VERB_FINISH_WORK, "t-104", (struct gate_request){JOB});
}

void story_lift(struct rig *rig) {
    for (size_t i = 0; i < 3; i++) {
        rig_must(rig, GATE_VERB_LIFT_TAG, "t-104", (struct gate_request){JOB, .point = points[i]});
    }
}

void story_restore(struct rig *rig) {
    rig_hear(rig, "3-power", MODEL_POINT_LIVE);
    rig_hear(rig, "3-regular", MODEL_POINT_LIVE);
    say(rig, "t-104", MODEL_POINT_LIVE);
}

static void record(struct rig *rig, const char *test, const char *instrument,
                   struct model_result result) {
    result.has_pass = result.pass = true;
    rig_must(rig, GATE_VERB_RECORD_TEST, "t-104",
             (struct gate_request){
                 JOB,
                 .test = test,
                 .instrument = instrument,
                 .result = &result,
             });
}

void story_test(struct rig *rig) {
    rig_must(rig, GATE_VERB_BEGIN_TEST, "t-104", (struct gate_request){JOB});
    record(rig, "leak", NULL, (struct model_result){.rule = "pass-fail", .formula = "pass"});
    record(rig, "interlock", NULL, (struct model_result){.rule = "pass-fail", .formula = "pass"});
    record(rig, "shutoff", NULL, (struct model_result){.rule = "pass-fail", .formula = "pass"});
    record(rig, "vapor-free", "gas-5",
           (struct model_result){.rule = "range",
                                 .has_value = true,
                                 .value = 2,
                                 .limit_is_interval = true,
                                 .limits = {.has_max = true, .max = 9.9},
                                 .has_margin = true,
                                 .margin = 7.9,
                                 .formula = "min <= value <= max",
                                 .source = "limit from configuration"});
    record(rig, "continuity", "meg-1",
           (struct model_result){.rule = "range",
                                 .has_value = true,
                                 .value = 1200,
                                 .limit_is_interval = true,
                                 .limits = {.has_max = true, .max = 500000},
                                 .has_margin = true,
                                 .margin = 498800,
                                 .formula = "min <= value <= max",
                                 .source = "limit from configuration"});
    record(rig, "decay", "inwc-1",
           (struct model_result){.rule = "pressure-decay",
                                 .has_value = true,
                                 .value = 1.9,
                                 .limits = {.has_min = true, .min = 1.5},
                                 .formula = "2*exp(-K/V)",
                                 .source = "the method"});
}
