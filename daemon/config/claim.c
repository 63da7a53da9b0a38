// Claims: which configured sensors a feed's template can name. A claimed sensor is heard from its
// feed alone, so two feeds must not claim one.
#include "config/internal.h"

#include <string.h>

// A template as a pattern: a capture is some text, at least one byte of it.
#define SOME '\1'
#define PATTERN_MAX 1024

static bool pattern_add(char *pattern, size_t *used, const char *text, size_t length) {
    if (length >= PATTERN_MAX - *used) {
        return false;
    }
    memcpy(pattern + *used, text, length);
    *used += length;
    pattern[*used] = '\0';
    return true;
}

static bool pattern_make(const char *format, const char *site, char *pattern) {
    size_t used = 0;
    pattern[0] = '\0';
    while (*format != '\0') {
        size_t length = strcspn(format, "{");
        if (!pattern_add(pattern, &used, format, length)) {
            return false;
        }
        format += length;
        const char *end = *format == '{' ? strchr(format, '}') : NULL;
        if (end == NULL) {
            return *format == '\0';
        }
        bool is_site = end - format == 5 && strncmp(format, "{site", 5) == 0;
        const char some[] = {SOME, '\0'};
        const char *put = is_site ? site : some;
        if (!pattern_add(pattern, &used, put, strlen(put))) {
            return false;
        }
        format = end + 1;
    }
    return true;
}

// Goes back to the last SOME only, which is enough for patterns of this kind.
static bool pattern_fits(const char *pattern, const char *text) {
    const char *again = NULL, *taken = NULL;
    while (*text != '\0') {
        if (*pattern == SOME) {
            again = ++pattern;
            taken = ++text;
        } else if (*pattern == *text) {
            pattern++;
            text++;
        } else if (again != NULL) {
            pattern = again;
            text = ++taken;
        } else {
            return false;
        }
    }
    return *pattern == '\0';
}

bool config_template_names(const char *format, const char *site, const char *text) {
    char pattern[PATTERN_MAX];
    return pattern_make(format, site, pattern) && pattern_fits(pattern, text);
}

static void make_claims(struct config *config) {
    const struct model *model = config->model;
    if (config->claims != NULL) {
        return;
    }
    config->claims = config_scratch(config, model->site_count, sizeof(*config->claims));
    for (size_t i = 0; i < model->site_count; i++) {
        config->claims[i] =
            config_scratch(config, model->sites[i].sensor_count, sizeof(**config->claims));
    }
}

struct conflict {
    size_t count;
    const char *sensor, *site, *feed; // of the first
};

static void claim_one(struct config *config, struct model_site *site, size_t sensor,
                      const char *feed, struct conflict *conflict) {
    const char **owner = &config->claims[site->index][sensor];
    site->sensors[sensor].claimed = true;
    if (*owner == NULL) {
        *owner = feed;
    } else if (conflict->count++ == 0) {
        *conflict = (struct conflict){1, site->sensors[sensor].sensor, site->site, *owner};
    }
}

void config_claim(struct config_file *file, const struct json_node *node, const char *feed,
                  const char *sensor) {
    struct config *config = file->config;
    struct conflict conflict = {0};
    make_claims(config);
    for (size_t i = 0; i < config->model->site_count; i++) {
        struct model_site *site = &config->model->sites[i];
        for (size_t k = 0; k < site->sensor_count; k++) {
            if (config_template_names(sensor, site->site, site->sensors[k].sensor)) {
                claim_one(config, site, k, feed, &conflict);
            }
        }
    }
    if (conflict.count > 0) {
        config_error(file, node,
                     "claims the sensor \"%s\" of site \"%s\", which the feed \"%s\" claims "
                     "already (%zu sensor%s in all); one feed speaks for a sensor",
                     conflict.sensor, conflict.site, conflict.feed, conflict.count,
                     conflict.count == 1 ? "" : "s");
    }
}
