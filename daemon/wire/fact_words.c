// One small function an enum, because their real ones differ in type.
#include "wire/fact_words.h"

#include "gate/words.h"

static const char *point_state(int value) {
    return gate_point_state_name((enum gate_point_state)value);
}

static const char *trust(int value) {
    return gate_trust_name((enum gate_trust)value);
}

static const char *lockout(int value) {
    return gate_lockout_name((enum gate_lockout)value);
}

static const char *phase(int value) {
    return gate_phase_name((enum gate_phase)value);
}

static const char *cause(int value) {
    return gate_cause_name((enum gate_cause)value);
}

static const char *code(int value) {
    return gate_code_name((enum gate_code)value);
}

static const char *alarm_kind(int value) {
    return gate_alarm_kind_name((enum gate_alarm_kind)value);
}

static const char *alarm_state(int value) {
    return gate_alarm_state_name((enum gate_alarm_state)value);
}

const struct fact_words fact_point_states = {point_state, GATE_POINT_STATE_COUNT};
const struct fact_words fact_trusts = {trust, GATE_TRUST_COUNT};
const struct fact_words fact_lockouts = {lockout, GATE_LOCKOUT_COUNT};
const struct fact_words fact_phases = {phase, GATE_PHASE_COUNT};
const struct fact_words fact_causes = {cause, GATE_CAUSE_COUNT};
const struct fact_words fact_codes = {code, GATE_CODE_COUNT};
const struct fact_words fact_alarm_kinds = {alarm_kind, GATE_ALARM_KIND_COUNT};
const struct fact_words fact_alarm_states = {alarm_state, GATE_ALARM_STATE_COUNT};

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
