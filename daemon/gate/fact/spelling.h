// The names that fields of a fact have as values, by number: every enum behind one shape.
#pragma once

struct gate_spelling {
    const char *(*name)(int value); // NULL: the value has no spelling and is written as null
    int count;
};

extern const struct gate_spelling gate_spelling_point_states;
extern const struct gate_spelling gate_spelling_trusts;
extern const struct gate_spelling gate_spelling_lockouts;
extern const struct gate_spelling gate_spelling_phases;
extern const struct gate_spelling gate_spelling_causes;
extern const struct gate_spelling gate_spelling_codes;
extern const struct gate_spelling gate_spelling_alarm_kinds;
extern const struct gate_spelling gate_spelling_alarm_states;
