// Readings in words and as JSON.
#include "tool/feed_text.h"

#include "base/time_text.h"
#include "feed/canonical.h"
#include "tool/print.h"

#include <string.h>

static const char *name_of(const struct model *model, const struct feed_reading *reading) {
    if (reading->site == MODEL_NONE || reading->index == MODEL_NONE) {
        return NULL;
    }
    const struct model_site *site = &model->sites[reading->site];
    switch (reading->to) {
    case MODEL_FEED_SIGNAL:
        return site->sensors[reading->index].sensor;
    case MODEL_FEED_TAG:
        return site->points[reading->index].point;
    case MODEL_FEED_CONTROLLER:
        return site->controllers[reading->index];
    default:
        return site->measures[reading->index].measure;
    }
}

struct marks {
    bool has_at, has_seq;
    int64_t at;
    uint64_t seq;
};

static struct marks marks_of(const struct feed_reading *reading) {
    const struct gate_reading *signal = &reading->signal;
    const struct gate_measure_reading *measure = &reading->measure;
    const struct gate_tagging *tag = &reading->tag;
    switch (reading->to) {
    case MODEL_FEED_SIGNAL:
        return (struct marks){signal->has_at, signal->has_seq, signal->at, signal->seq};
    case MODEL_FEED_TAG:
        return (struct marks){tag->has_at, tag->has_seq, tag->at, tag->seq};
    case MODEL_FEED_MEASURE:
        return (struct marks){measure->has_at, measure->has_seq, measure->at, measure->seq};
    default:
        return (struct marks){0};
    }
}

// Whose lock a tag's event is of: a person, or a badge that is nobody's.
static const char *owner_of(const struct feed_reading *reading) {
    return reading->tag.person != NULL ? reading->tag.person : reading->badge;
}

static void add_said(struct tool_text *text, const struct model *model,
                     const struct feed_reading *reading) {
    if (reading->to == MODEL_FEED_MEASURE) {
        tool_text_add(text, " is %.15g %s", reading->measure.value,
                      model->sites[reading->site].measures[reading->index].unit);
    } else {
        tool_text_add(text, " is %s", feed_state_text(reading));
    }
    if (reading->to == MODEL_FEED_TAG) {
        tool_text_add(text, " by %s", owner_of(reading));
    }
    struct marks marks = marks_of(reading);
    if (marks.has_at) {
        char time[BASE_TIME_SIZE];
        base_time_format(marks.at, time);
        tool_text_add(text, ", read at %s", time);
    }
    if (marks.has_seq) {
        tool_text_add(text, ", seq %llu", (unsigned long long)marks.seq);
    }
}

void tool_feed_text_reading(struct tool_text *text, const struct model *model,
                            const struct feed_reading *reading) {
    static const char *const whats[MODEL_FEED_TO_COUNT] = {"sensor", "point", "controller",
                                                           "measure"};
    static const char *const becomes[MODEL_FEED_TO_COUNT] = {
        "the sensor becomes unknown", "it is taken as lifted all the same",
        "the controller becomes offline", "the measure becomes unknown"};
    const char *name = name_of(model, reading);
    tool_text_add(text, "feed %s: ", model->feeds[reading->feed].feed);
    if (name != NULL) {
        tool_text_add(text, "%s %s of %s", whats[reading->to], name,
                      model->sites[reading->site].site);
    }
    if (name != NULL && reading->outcome == FEED_MAPPED) {
        add_said(text, model, reading);
        return;
    }
    tool_text_add(text, "%s%s: %s", name != NULL ? ": " : "", feed_outcome_name(reading->outcome),
                  reading->why);
    if (reading->take) {
        tool_text_add(text, "; %s", becomes[reading->to]);
    }
}

static void marks_json(struct json_out *out, const struct feed_reading *reading) {
    struct marks marks = marks_of(reading);
    char time[BASE_TIME_SIZE];
    if (marks.has_at) {
        base_time_format(marks.at, time);
    }
    tool_text_member(out, "at", marks.has_at ? time : NULL);
    json_out_key(out, "seq");
    if (marks.has_seq) {
        json_out_int(out, (int64_t)marks.seq);
    } else {
        json_out_null(out);
    }
}

void tool_feed_text_json(struct json_out *out, const struct model *model,
                         const struct feed_reading *reading) {
    bool mapped = reading->outcome == FEED_MAPPED;
    tool_text_member(out, "feed", model->feeds[reading->feed].feed);
    tool_text_member(out, "to", model_feed_to_name(reading->to));
    tool_text_member(out, "outcome", feed_outcome_name(reading->outcome));
    json_out_key(out, "taken");
    json_out_bool(out, reading->take);
    tool_text_member(out, "site",
                     reading->site != MODEL_NONE ? model->sites[reading->site].site : NULL);
    tool_text_member(out, "name", name_of(model, reading));
    if (reading->to == MODEL_FEED_MEASURE) {
        json_out_key(out, "value");
        if (mapped) {
            json_out_double(out, reading->measure.value);
        } else {
            json_out_null(out);
        }
        tool_text_member(out, "unit",
                         reading->index != MODEL_NONE
                             ? model->sites[reading->site].measures[reading->index].unit
                             : NULL);
    } else {
        tool_text_member(out, "state", feed_state_text(reading));
    }
    if (reading->to == MODEL_FEED_TAG) {
        tool_text_member(out, "person", reading->take ? owner_of(reading) : NULL);
    }
    marks_json(out, reading);
    tool_text_member(out, "why", mapped ? NULL : reading->why);
}

bool tool_feed_text_is_ours(const struct model *model, const char *topic) {
    return feed_topic_is_ours(model->root, topic);
}
