// Checks: the questions of a procedure, new ones and those that a district asks more strictly.
#include "config/requirement.h"

#include <string.h>

#include "model/unit.h"

// A signature is kept with its unit, in as much room.
#define UNIT_MAX 31

enum {
    CHECK,
    CHECK_ASK,
    CHECK_UNIT,
    CHECK_MIN,
    CHECK_MAX,
    CHECK_INSTRUMENT,
    CHECK_BY,
    CHECK_VALID,
    CHECK_MEASURE,
    CHECK_NOTE,
    CHECK_EQUALS,
    CHECK_RULE,
    CHECK_TWIN,
    CHECK_COUNT,
};
static const struct config_field check_fields[CHECK_COUNT] = {
    [CHECK] = {"check", CONFIG_ID, true, 0, 0, 0},
    [CHECK_ASK] = {"ask", CONFIG_SAID, false, 0, 0, 0},
    [CHECK_UNIT] = {"unit", CONFIG_TEXT, false, 1, UNIT_MAX, 0},
    [CHECK_MIN] = {"min", CONFIG_NUMBER, false, 0, 0, 0},
    [CHECK_MAX] = {"max", CONFIG_NUMBER, false, 0, 0, 0},
    [CHECK_INSTRUMENT] = {"instrument", CONFIG_ID, false, 0, 0, 0},
    [CHECK_BY] = {"by", CONFIG_TEXT, false, 0, 0, 0},
    [CHECK_VALID] = {"valid_s", CONFIG_SECONDS, false, 0.001, CONFIG_VALID_MAX_S, 28800},
    [CHECK_MEASURE] = {"measure", CONFIG_ID, false, 0, 0, 0},
    [CHECK_NOTE] = {"note", CONFIG_FLAG, false, 0, 0, 0},
    [CHECK_EQUALS] = {"equals", CONFIG_TEXT, false, 0, 0, 0},
    [CHECK_RULE] = {"rule", CONFIG_TEXT, false, 0, 0, 0},
    [CHECK_TWIN] = {"twin", CONFIG_FLAG, false, 0, 0, 0},
};

// Groups whose signatures may age; those of prepare always do.
static bool may_age(enum model_group group) {
    return group == MODEL_GROUP_PREPARE || group == MODEL_GROUP_RELIEVE ||
           group == MODEL_GROUP_VERIFY;
}

// Rule (2, valid_s): A prepare check without valid_s stands for 8 h; any other without end.
// [valid-for-ever]
static int64_t valid_of(const struct config_value *valid, enum model_group group) {
    return group == MODEL_GROUP_PREPARE || (valid->ok && may_age(group)) ? valid->integer : 0;
}

static unsigned read_by(struct config_file *file, const struct config_value *by) {
    unsigned role = by->ok ? model_role_of(by->text) : 0;
    if (by->ok && role == 0) {
        config_error(file, by->node,
                     "must be a role: technician, supervisor, manager, tracker or viewer, not "
                     "\"%s\"",
                     by->text);
    }
    return role;
}

// Rule (2, verify; R15): A measure for a check in V is an error. [configured-measure-of-voltage]
// Rule (2, checks; torque-applied): A measure answers no check of a wrench. [wrench-by-hardware]
static void read_measure(struct config_file *file, struct model_check *check,
                         const struct config_value *given) {
    if (!given->ok) {
        return;
    }
    bool fits = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY ||
                check->group == MODEL_GROUP_WORK || check->group == MODEL_GROUP_FINISH;
    if (!fits) {
        config_error(file, given->node,
                     "a measure answers checks in \"relieve\", \"verify\", \"work\" and \"finish\" "
                     "only; leave it out");
    } else if (check->unit == NULL) {
        config_error(file, given->node, "a measure needs the check's \"unit\" beside it");
    } else if (model_is_voltage(check->unit)) {
        config_error(file, given->node,
                     "no measure answers a check in V: a person proves the absence of voltage, at "
                     "the conductors, with a meter proved before and after; leave it out");
    } else if (!check->limits.has_min && !check->limits.has_max) {
        config_error(file, given->node,
                     "a measure needs \"min\", \"max\" or both: without a limit it would prove "
                     "nothing");
    } else if (check->torque_applied) {
        config_error(file, given->node,
                     "no measure reads the wrench of a check by \"torque-applied\"; leave it out");
    } else if (check->by != 0 || check->note) {
        config_error(file, given->node,
                     "a check that a role signs, or that is answered in words, is not answered by "
                     "a measure; leave it out");
    } else if (check->measure != NULL && strcmp(check->measure, given->id) != 0) {
        config_error(file, given->node,
                     "the procedure takes the measure \"%s\" under this id; leave this out",
                     check->measure);
    } else {
        check->measure = config_intern(file->config, given->id);
    }
}

// An answer that is held against what is known is an answer in words, and no reading.
// Rule (2, checks): An answer that must equal the nozzle's family is asked for in words.
// [equals-without-words]
static void read_equals(struct config_file *file, struct model_check *check,
                        const struct config_value *given) {
    if (!given->ok) {
        return;
    }
    if (strcmp(given->text, "nozzle_family") != 0) {
        config_error(file, given->node, "must be \"nozzle_family\" or left out, not \"%s\"",
                     given->text);
    } else if (check->unit != NULL || check->measure != NULL) {
        config_error(file, given->node,
                     "goes with an answer in words, and this check has a reading; leave it out");
    } else {
        check->equals_family = true;
        check->note = true;
    }
}

// The first instrument of the kind that does not say how long it is; NULL: all do.
static const struct model_instrument *without_length(const struct model *model, const char *kind) {
    for (size_t i = 0; i < model->instrument_count; i++) {
        const struct model_instrument *instrument = &model->instruments[i];
        if (strcmp(instrument->kind, kind) == 0 && instrument->wrench_in <= 0) {
            return instrument;
        }
    }
    return NULL;
}

// What a wrench reads is not what it applies where an adapter is on it.
// Rule (2, checks; torque-applied): A check by this rule has a torque, an instrument and no
// measure. [torque-of-any-check]
// Rule (2, checks; torque-applied): And a least torque over 0. [torque-of-none]
// Rule (2, checks; torque-applied): Every instrument of its kind says how long it is.
// [torque-of-any-wrench]
static void read_rule(struct config_file *file, struct model_check *check,
                      const struct config_value *given) {
    double torque;
    if (!given->ok) {
        return;
    }
    bool in_place = check->group == MODEL_GROUP_WORK || check->group == MODEL_GROUP_FINISH;
    if (strcmp(given->text, "torque-applied") != 0) {
        config_error(file, given->node,
                     "the rule of a check is \"torque-applied\" or left out, not \"%s\"",
                     given->text);
    } else if (!in_place) {
        config_error(file, given->node,
                     "goes with checks in \"work\" and \"finish\"; leave it out");
    } else if (check->unit == NULL || !model_unit_convert(1, check->unit, "N.m", &torque)) {
        config_error(file, given->node,
                     "needs a \"unit\" of torque beside it: N.m, ft.lbf or in.lbf");
    } else if (check->instrument == NULL || check->measure != NULL) {
        config_error(file, given->node,
                     "needs the kind of \"instrument\" beside it, a wrench, and no \"measure\"");
    } else if (!check->limits.has_min || !(check->limits.min > 0)) {
        config_error(file, given->node,
                     "needs a \"min\" over 0 beside it: else a nut that nobody turned passes");
    } else {
        const struct model_instrument *bare =
            without_length(file->config->model, check->instrument);
        if (bare != NULL) {
            config_error(file, given->node,
                         "needs the length of every %s, and the instrument \"%s\" has no "
                         "\"wrench_in\"",
                         check->instrument, bare->instrument);
        }
        check->torque_applied = true;
    }
}

// Rule (2, checks): A twin goes with a unit that has one. [twin-of-no-unit]
static void read_twin(struct config_file *file, struct model_check *check,
                      const struct config_value *given) {
    if (given->ok && given->flag && model_unit_twin(check->unit) == NULL) {
        config_error(file, given->node,
                     "goes with a \"unit\" that has one: ft.lbf or N.m, gal or L, psi or kPa");
    }
    check->twin = check->twin || given->flag;
}

static void new_check(struct config_building *building, const struct json_node *node,
                      enum model_group group, const struct config_value *values, unsigned role) {
    struct config_file *file = building->file;
    const struct config_value *min = &values[CHECK_MIN], *max = &values[CHECK_MAX];
    if (values[CHECK_ASK].node == NULL) {
        config_missing(file, node, "a check", "ask");
    }
    if (values[CHECK_UNIT].node == NULL && (min->ok || max->ok)) {
        config_error(file, min->ok ? min->node : max->node,
                     "a limit needs the \"unit\" it is in, beside it");
    }
    struct model_check check = {
        .group = group,
        .ask = values[CHECK_ASK].text,
        .asks = values[CHECK_ASK].texts,
        .unit = values[CHECK_UNIT].text,
        .limits = config_limits_of(min, max, values[CHECK_UNIT].text),
        .by = role,
        .valid_ms = valid_of(&values[CHECK_VALID], group),
    };
    memcpy(check.check, values[CHECK].id, sizeof(check.check));
    if (values[CHECK_INSTRUMENT].ok) {
        check.instrument = config_intern(file->config, values[CHECK_INSTRUMENT].id);
    }
    check.note = values[CHECK_NOTE].flag;
    config_limits_meet(file, min, max, &check.limits);
    read_measure(file, &check, &values[CHECK_MEASURE]);
    read_equals(file, &check, &values[CHECK_EQUALS]);
    read_rule(file, &check, &values[CHECK_RULE]);
    read_twin(file, &check, &values[CHECK_TWIN]);
    model_check_insert(&building->all, &check);
}

// What is asked goes by the procedure, so that the technician reads one wording everywhere.
static void same_ask(struct config_file *file, const struct config_value *given, const char *ask) {
    if (given->ok && ask != NULL && strcmp(ask, given->text) != 0) {
        config_warn(file, given->node,
                    "the procedure asks \"%s\" under this id, and so it stays; leave this out",
                    ask);
    }
}

static void tighten_check(struct config_file *file, struct model_check *check,
                          const struct config_value *given, unsigned role) {
    const struct config_value *by = &given[CHECK_BY], *valid = &given[CHECK_VALID];
    const struct config_value *min = &given[CHECK_MIN], *max = &given[CHECK_MAX];
    same_ask(file, &given[CHECK_ASK], check->ask);
    config_same_or_new(file, &given[CHECK_UNIT], &check->unit);
    config_same_or_new(file, &given[CHECK_INSTRUMENT], &check->instrument);
    if (role != 0 && check->by != 0 && role != check->by) {
        config_error(file, by->node, "the procedure has it signed by a %s; leave this out",
                     model_role_name(check->by));
    } else if (role != 0) {
        check->by = role;
    }
    if (may_age(check->group)) {
        config_valid_tighten(file, &check->valid_ms, valid);
    }
    if (check->unit == NULL && (min->ok || max->ok)) {
        config_error(file, min->ok ? min->node : max->node,
                     "a limit needs the \"unit\" it is in, beside it");
    } else {
        config_limits_tighten(file, &check->limits, min, max, check->unit);
    }
    check->note = check->note || given[CHECK_NOTE].flag;
    read_measure(file, check, &given[CHECK_MEASURE]);
    read_equals(file, check, &given[CHECK_EQUALS]);
    read_rule(file, check, &given[CHECK_RULE]);
    read_twin(file, check, &given[CHECK_TWIN]);
}

void config_check_add(struct config_building *building, const struct json_node *node,
                      enum model_group group) {
    struct config_file *file = building->file;
    struct config_value values[CHECK_COUNT];
    if (!config_read(file, node, "a check", check_fields, CHECK_COUNT, values)) {
        return;
    }
    unsigned role = read_by(file, &values[CHECK_BY]);
    if (values[CHECK_VALID].node != NULL && !may_age(group)) {
        config_error(file, values[CHECK_VALID].node,
                     "\"valid_s\" goes with checks in \"prepare\", \"relieve\" and \"verify\", and "
                     "with tests; leave it out");
    }
    const char *id = values[CHECK].id;
    if (!values[CHECK].ok) {
        return;
    }
    if (config_names_add(file->config, &building->checks, id, 0) != MODEL_NONE) {
        config_error(file, values[CHECK].node,
                     "the check \"%s\" stands twice; ids are unique in a procedure", id);
        return;
    }
    struct model_check *known = model_check_named(&building->all, id);
    if (known == NULL) {
        new_check(building, node, group, values, role);
    } else if (known->group != group) {
        config_error(file, values[CHECK].node,
                     "the procedure has the check \"%s\" in \"%s\"; add one under another id", id,
                     model_group_name(known->group));
    } else {
        tighten_check(file, known, values, role);
    }
}
