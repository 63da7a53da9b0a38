// What a district may say under an id that the procedure has: limits that come closer, and texts
// where there are none.
#include "config/requirement.h"

#include <string.h>

bool config_limits_meet(struct config_file *file, const struct config_value *min,
                        const struct config_value *max, const struct model_limits *limits) {
    if (!limits->has_min || !limits->has_max || limits->min <= limits->max) {
        return true;
    }
    config_error(file, min->ok ? min->node : max->node,
                 "the least allowed value, %.15g, is over the greatest, %.15g: nothing would pass",
                 limits->min, limits->max);
    return false;
}

struct model_limits config_limits_of(const struct config_value *min,
                                     const struct config_value *max) {
    return (struct model_limits){min->ok, max->ok, min->ok ? min->number : 0,
                                 max->ok ? max->number : 0};
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

void config_limits_tighten(struct config_file *file, struct model_limits *limits,
                           const struct config_value *min, const struct config_value *max) {
    if (min->ok && limits->has_min && min->number < limits->min) {
        config_error(file, min->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->min);
    } else if (min->ok) {
        limits->has_min = true;
        limits->min = min->number;
    }
    if (max->ok && limits->has_max && max->number > limits->max) {
        config_error(file, max->node,
                     "loosens the procedure's limit of %.15g, and a district may only tighten it",
                     limits->max);
    } else if (max->ok) {
        limits->has_max = true;
        limits->max = max->number;
    }
    config_limits_meet(file, min, max, limits);
}
