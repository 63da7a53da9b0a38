// One small function an enum, because their real ones differ in type.
#include "wire/fact_words.h"

#include "gate/words.h"

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

const struct fact_words fact_point_states = {point_state, MODEL_POINT_STATE_COUNT};
const struct fact_words fact_trusts = {trust, MODEL_TRUST_COUNT};
const struct fact_words fact_lockouts = {lockout, MODEL_LOCKOUT_COUNT};
const struct fact_words fact_phases = {phase, MODEL_PHASE_COUNT};
const struct fact_words fact_causes = {cause, MODEL_CAUSE_COUNT};
const struct fact_words fact_codes = {code, MODEL_CODE_COUNT};
const struct fact_words fact_alarm_kinds = {alarm_kind, MODEL_ALARM_KIND_COUNT};
const struct fact_words fact_alarm_states = {alarm_state, MODEL_ALARM_STATE_COUNT};

int fact_word_read(const struct fact_words *words, const struct json_tape *tape,
                   const struct json_node *node) {
    for (int i = 0; node != NULL && i < words->count; i++) {
        const char *name = words->name(i);
        bool same =
            name != NULL ? fact_spells(tape, node, name, strlen(name)) : node->kind == JSON_NULL;
        if (same) {
            return i;
        }
    }
    return -1;
}
