// Claims: what a feed's template can name. A claimed sensor or measure is heard from its feed
// alone, so two feeds must not claim one; and a feed that can name nothing, or only what another
// one names from the same topics, is a mistake.
#include "config/feed.h"

#include <string.h>

// Room for one feed more, in the model; those before it move.
struct model_feed *config_feed_new(struct config *config) {
    struct model *model = config->model;
    config_array_room(config, config_alloc, &model->feeds, model->feed_count, &config->feed_room,
                      sizeof(*model->feeds));
    return &model->feeds[model->feed_count++];
}

static const char *name_of(const struct model_site *site, enum model_feed_to to, size_t index) {
    switch (to) {
    case MODEL_FEED_SIGNAL:
        return index < site->sensor_count ? site->sensors[index].sensor : NULL;
    case MODEL_FEED_MEASURE:
        return index < site->measure_count ? site->measures[index].measure : NULL;
    case MODEL_FEED_CONTROLLER:
        return index < site->controller_count ? site->controllers[index] : NULL;
    default:
        return index < site->point_count ? site->points[index].point : NULL;
    }
}

static void mark(struct model_site *site, enum model_feed_to to, size_t index) {
    if (to == MODEL_FEED_SIGNAL) {
        site->sensors[index].claimed = true;
    } else if (to == MODEL_FEED_MEASURE) {
        site->measures[index].claimed = true;
    }
}

// Whether every topic of one is a topic of the other.
static bool is_covered(const struct model_feed *one, const struct model_feed *other) {
    bool covered = one->level_count == other->level_count;
    for (uint32_t i = 0; covered && i < one->level_count; i++) {
        const char *a = one->levels[i].text, *b = other->levels[i].text;
        covered = b == NULL || (a != NULL && strcmp(a, b) == 0);
    }
    return covered;
}

struct conflict {
    size_t count, named;
    const char *name, *site, *feed; // of the first
};

// Another feed before this one that names the same: for what is claimed an error, for what may have
// several sources only if the topics are the same.
static const char *rival_of(const struct model *model, const struct model_feed *feed,
                            const char *site, const char *name) {
    for (const struct model_feed *other = model->feeds; other < feed; other++) {
        if (other->to == feed->to && other->piece_count > 0 &&
            (model_feed_claims(feed->to) || is_covered(feed, other)) &&
            model_feed_names(other, site, name)) {
            return other->feed;
        }
    }
    return NULL;
}

static void claim_site(struct config *config, struct model_site *site,
                       const struct model_feed *feed, struct conflict *conflict) {
    const char *name;
    for (size_t i = 0; (name = name_of(site, feed->to, i)) != NULL; i++) {
        if (!model_feed_names(feed, site->site, name)) {
            continue;
        }
        mark(site, feed->to, i);
        conflict->named++;
        const char *rival = rival_of(config->model, feed, site->site, name);
        if (rival != NULL && conflict->count++ == 0) {
            conflict->name = name;
            conflict->site = site->site;
            conflict->feed = rival;
        }
    }
}

static void report(struct config_file *file, const struct json_node *node,
                   const struct model_feed *feed, const struct conflict *conflict) {
    static const char *const what[MODEL_FEED_TO_COUNT] = {"sensor", "point", "controller",
                                                          "measure"};
    const char *plural = conflict->count == 1 ? "" : "s";
    if (conflict->count > 0 && model_feed_claims(feed->to)) {
        config_error(file, node,
                     "claims the %s \"%s\" of site \"%s\", which the feed \"%s\" claims "
                     "already (%zu %s%s in all); one feed speaks for a %s",
                     what[feed->to], conflict->name, conflict->site, conflict->feed,
                     conflict->count, what[feed->to], plural, what[feed->to]);
    } else if (conflict->count > 0) {
        config_error(file, node,
                     "names the %s \"%s\" of site \"%s\" from topics that the feed \"%s\" reads "
                     "for it already (%zu %s%s in all); one of the two is enough",
                     what[feed->to], conflict->name, conflict->site, conflict->feed,
                     conflict->count, what[feed->to], plural);
    } else if (conflict->named == 0 && !file->config->sites_broken) {
        config_warn(file, node,
                    "can name no %s of this configuration, so nothing of this feed will ever be "
                    "taken",
                    what[feed->to]);
    }
}

void config_feed_claim(struct config_file *file, const struct json_node *node,
                       const struct model_feed *feed) {
    struct config *config = file->config;
    struct conflict conflict = {0};
    for (size_t i = 0; i < config->model->site_count; i++) {
        claim_site(config, &config->model->sites[i], feed, &conflict);
    }
    report(file, node, feed, &conflict);
}
