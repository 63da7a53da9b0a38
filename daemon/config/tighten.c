// What a district may say under an id that the procedure has: limits that come closer, and texts
// where there are none.
#include "config/requirement.h"

#include <string.h>

// Rule (2, limits; R4): A max below 0 without a min is an error where it bounds both signs.
// [negative-max-passed-over]
bool config_limits_meet(struct config_file *file, const struct config_value *min,
                        const struct config_value *max, const struct model_limits *limits) {
    if (!limits->has_min || !limits->has_max || limits->min <= limits->max) {
        return true;
    }
    if (!min->ok && max->ok && limits->min == -max->number) {
        config_error(file, max->node,
                     "in this unit a \"max\" without a \"min\" bounds both sides of zero, and "
                     "%.15g is below it: nothing would pass; give a \"min\" too",
                     max->number);
        return false;
    }
    config_error(file, min->ok ? min->node : max->node,
                 "the least allowed value, %.15g, is over the greatest, %.15g: nothing would pass",
                 limits->min, limits->max);
    return false;
}

// Rule (2, limits; R4): A configured limit bounds both sides of zero where its unit has two signs.
// [configured-one-sided]
struct model_limits config_limits_of(const struct config_value *min, const struct config_value *max,
                                     const char *unit) {
    struct model_limits given = {min->ok, max->ok, min->ok ? min->number : 0,
                                 max->ok ? max->number : 0};
    return model_limits_in(given, unit);
}

void config_same_or_new(struct config_file *file, const struct config_value *given,
                        const char **text) {
    if (!given->ok) {
        return;
    }
    if (*text == NULL) {
        *text = config_intern(file->config, given->text);
    } else if (strcmp(*text, given->text) != 0) {
        config_error(file, given->node,
                     "the procedure says \"%s\" under this id, and a district may only tighten its "
                     "limits; leave this out, or add one under another id",
                     *text);
    }
}

// Rule (2, limits; R4): A district's wider min loosens, also where the procedure has a max alone.
// [district-wider-min]
// Rule (2, limits; R4): A district's smaller max brings the other side closer too.
// [district-max-one-sided]
void config_limits_tighten(struct config_file *file, struct model_limits *limits,
                           const struct config_value *min, const struct config_value *max,
                           const char *unit) {
    struct model_limits given = config_limits_of(min, max, unit);
    if (min->ok && limits->has_min && min->number < limits->min) {
        config_error(file, min->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->min);
    }
    if (max->ok && limits->has_max && max->number > limits->max) {
        config_error(file, max->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->max);
    }
    *limits = model_limits_both(*limits, given);
    config_limits_meet(file, min, max, limits);
}

// Rule (2, districts): A district may shorten for how long a signature or record stands, or say it
// first. [district-lengthens]
void config_valid_tighten(struct config_file *file, int64_t *valid_ms,
                          const struct config_value *given) {
    if (given->ok && *valid_ms > 0 && given->integer > *valid_ms) {
        config_error(file, given->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     (double)*valid_ms / 1000);
    } else if (given->ok) {
        *valid_ms = given->integer;
    }
}
