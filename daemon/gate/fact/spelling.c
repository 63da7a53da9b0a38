// One small function an enum, because their real ones differ in type.
#include "gate/fact/spelling.h"

#include "model/words.h"

static const char *point_state(int value) {
    return model_point_state_name((enum model_point_state)value);
}

static const char *trust(int value) {
    return model_trust_name((enum model_trust)value);
}

static const char *lockout(int value) {
    return model_lockout_name((enum model_lockout)value);
}

static const char *phase(int value) {
    return model_phase_name((enum model_phase)value);
}

static const char *cause(int value) {
    return model_cause_name((enum model_cause)value);
}

static const char *code(int value) {
    return model_code_name((enum model_code)value);
}

static const char *alarm_kind(int value) {
    return model_alarm_kind_name((enum model_alarm_kind)value);
}

static const char *alarm_state(int value) {
    return model_alarm_state_name((enum model_alarm_state)value);
}

const struct gate_spelling gate_spelling_point_states = {point_state, MODEL_POINT_STATE_COUNT};
const struct gate_spelling gate_spelling_trusts = {trust, MODEL_TRUST_COUNT};
const struct gate_spelling gate_spelling_lockouts = {lockout, MODEL_LOCKOUT_COUNT};
const struct gate_spelling gate_spelling_phases = {phase, MODEL_PHASE_COUNT};
const struct gate_spelling gate_spelling_causes = {cause, MODEL_CAUSE_COUNT};
const struct gate_spelling gate_spelling_codes = {code, MODEL_CODE_COUNT};
const struct gate_spelling gate_spelling_alarm_kinds = {alarm_kind, MODEL_ALARM_KIND_COUNT};
const struct gate_spelling gate_spelling_alarm_states = {alarm_state, MODEL_ALARM_STATE_COUNT};
