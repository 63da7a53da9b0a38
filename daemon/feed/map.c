// One message through one feed: what it names first, then what it says of that.
#include "feed/badge.h"
#include "feed/internal.h"

#include <stdio.h>
#include <string.h>

// --- Captures ---

// A capture that names whose lock it is, and fails, says that it is nobody's: the lock hangs there
// all the same.
// Rule (3, Tags): A badge that the feed cannot capture is none, and its lock is listed.
// [captured-badge-missing]
// Rule (3, Tags): A badge that a capture's map does not have is nobody's. [captured-badge-foreign]
static bool is_badge(const struct feed_work *work, uint32_t index) {
    return work->feed->to == MODEL_FEED_TAG && index == work->feed->person_capture;
}

static bool badge_missing(struct feed_work *work, uint32_t index) {
    work->badge_missing = true;
    work->set->texts[index][0] = '\0';
    return true;
}

static bool translate(struct feed_work *work, uint32_t index) {
    const struct model_feed_capture *capture = &work->feed->captures[index];
    char *text = work->set->texts[index];
    if (!capture->mapped) {
        return true;
    }
    const char *to = feed_map_text(&capture->map, text);
    if (to == NULL && is_badge(work, index)) {
        work->badge_foreign = true;
        return true;
    }
    if (to == NULL) {
        return feed_wrong(work, FEED_CAPTURE, "{%s} is \"%.60s\", which its map does not have",
                          capture->name, text);
    }
    feed_step(work, "map", "{%s} \"%s\" stands for \"%s\"", capture->name, text, to);
    snprintf(text, FEED_TEXT_SIZE, "%s", to);
    return true;
}

static bool capture_topic(struct feed_work *work, uint32_t index) {
    const struct model_feed_capture *capture = &work->feed->captures[index];
    char *text = work->set->texts[index];
    const char *rest = work->message->topic;
    for (uint32_t level = 0; level < capture->level; level++) {
        rest += strcspn(rest, "/") + 1; // the topic matched, so it has the level
    }
    size_t length = strcspn(rest, "/");
    if ((length == 0 || length >= FEED_TEXT_SIZE) && is_badge(work, index)) {
        return badge_missing(work, index);
    }
    if (length == 0 || length >= FEED_TEXT_SIZE) {
        return feed_wrong(work, FEED_CAPTURE, "{%s} is %s", capture->name,
                          length == 0 ? "empty" : "too long");
    }
    memcpy(text, rest, length);
    text[length] = '\0';
    feed_step(work, "capture", "{%s} is \"%s\", level %u of the topic", capture->name, text,
              capture->level + 1);
    return translate(work, index);
}

static bool capture_payload(struct feed_work *work, uint32_t index) {
    const struct model_feed_capture *capture = &work->feed->captures[index];
    const struct json_node *node = feed_node_at(work, &capture->at);
    char *text = work->set->texts[index];
    bool read = node != NULL && feed_text_of(work, node, text, FEED_TEXT_SIZE);
    if (!read && is_badge(work, index)) {
        return badge_missing(work, index);
    }
    if (node == NULL) {
        return feed_wrong(work, FEED_CAPTURE, "nothing stands at %s for {%s}", capture->at.pointer,
                          capture->name);
    }
    if (!read) {
        return feed_wrong(work, FEED_CAPTURE, "%s is no text or whole number for {%s}",
                          capture->at.pointer, capture->name);
    }
    feed_step(work, "capture", "{%s} is \"%s\", %s of the payload", capture->name, text,
              capture->at.pointer);
    return translate(work, index);
}

static bool capture_all(struct feed_work *work, bool of_topic) {
    for (uint32_t i = 0; i < work->feed->capture_count; i++) {
        bool is_topic = work->feed->captures[i].level != MODEL_NONE;
        if (is_topic == of_topic &&
            !(is_topic ? capture_topic(work, i) : capture_payload(work, i))) {
            return false;
        }
    }
    return true;
}

static bool has_payload_captures(const struct model_feed *feed) {
    for (uint32_t i = 0; i < feed->capture_count; i++) {
        if (feed->captures[i].level == MODEL_NONE) {
            return true;
        }
    }
    return false;
}

// --- What it speaks of ---

static bool find_site(struct feed_work *work, const struct model_site **site) {
    const struct model *model = work->set->model;
    uint32_t capture = work->feed->site_capture;
    *site = capture != MODEL_NONE ? model_site_find(model, work->set->texts[capture])
                                  : &model->sites[0];
    if (*site == NULL) {
        return feed_wrong(work, FEED_ANOTHERS, "the site \"%.64s\" is not configured here",
                          work->set->texts[capture]);
    }
    work->reading->site = (*site)->index;
    return true;
}

static uint32_t find_thing(const struct model_site *site, enum model_feed_to to, const char *name) {
    switch (to) {
    case MODEL_FEED_SIGNAL:
        return model_sensor_find(site, name);
    case MODEL_FEED_TAG:
        return model_point_find(site, name);
    case MODEL_FEED_CONTROLLER:
        return model_controller_find(site, name);
    default:
        return model_measure_find(site, name);
    }
}

static bool name_thing(struct feed_work *work) {
    static const char *const whats[MODEL_FEED_TO_COUNT] = {"sensor", "point", "controller",
                                                           "measure"};
    const struct model_feed *feed = work->feed;
    const struct model_site *site;
    char name[MODEL_ID_SIZE];
    size_t used = 0;
    if (!find_site(work, &site)) {
        return false;
    }
    for (uint32_t i = 0; i < feed->piece_count; i++) {
        const char *text = feed->pieces[i].text != NULL ? feed->pieces[i].text
                                                        : work->set->texts[feed->pieces[i].capture];
        size_t length = strlen(text);
        if (length >= sizeof name - used) {
            return feed_wrong(work, FEED_UNCONFIGURED, "the name of the %s is too long for an id",
                              whats[feed->to]);
        }
        memcpy(name + used, text, length);
        used += length;
    }
    name[used] = '\0';
    work->reading->index = find_thing(site, feed->to, name);
    if (work->reading->index == MODEL_NONE) {
        return feed_wrong(work, FEED_UNCONFIGURED, "the site %s has no %s \"%s\"", site->site,
                          whats[feed->to], name);
    }
    feed_step(work, "name", "the %s %s of the site %s", whats[feed->to], name, site->site);
    return true;
}

// --- What it says ---

// Rule (2, feeds): A value on neither list, or a missing one, makes the sensor unknown; it is never
// guessed. [feed-neither-list-is-isolated]
// Rule (3, Hearing; R20): What the broker kept, without a time, is taken if it says live.
// [feed-kept-live-dropped]
// Rule (2, feeds): A reading whose time or number cannot be read is unreadable.
// [feed-unmarked-is-readable]
static void say_signal(struct feed_work *work) {
    struct feed_reading *reading = work->reading;
    struct gate_reading *signal = &reading->signal;
    *signal =
        (struct gate_reading){.retained = work->message->retained, .modulus = work->feed->modulus};
    reading->take = true;
    if (reading->outcome != FEED_MAPPED) {
        return; // unreadable as a whole
    }
    bool marked = feed_time_of(work, &signal->has_at, &signal->at);
    marked = feed_seq_of(work, &signal->has_seq, &signal->seq) && marked;
    int state = feed_state_of(work);
    signal->state = state == 0   ? MODEL_POINT_ISOLATED
                    : state == 1 ? MODEL_POINT_LIVE
                                 : MODEL_POINT_UNKNOWN;
    signal->readable = marked && state >= 0;
    signal->good = feed_quality_of(work);
    if (signal->retained && !signal->has_at && state == 0) {
        reading->take = feed_wrong(work, FEED_RETAINED,
                                   "kept by the broker, and without a time: "
                                   "no evidence");
    }
}

static void say_measure(struct feed_work *work) {
    struct feed_reading *reading = work->reading;
    struct gate_measure_reading *measure = &reading->measure;
    *measure = (struct gate_measure_reading){
        .bad = true, .retained = work->message->retained, .modulus = work->feed->modulus};
    reading->take = true;
    if (reading->outcome != FEED_MAPPED) {
        return;
    }
    bool good = feed_time_of(work, &measure->has_at, &measure->at);
    good = feed_seq_of(work, &measure->has_seq, &measure->seq) && good;
    good = feed_number_of(work, &measure->value) && good;
    measure->bad = !(feed_quality_of(work) && good);
    if (measure->retained && !measure->has_at) {
        reading->take = feed_wrong(work, FEED_RETAINED,
                                   "kept by the broker, and without a time: "
                                   "no evidence");
    }
}

// Rule (2, feeds): Whatever does not say that a controller is online is offline.
// [feed-offline-is-a-list]
static void say_controller(struct feed_work *work) {
    work->reading->take = true;
    work->reading->online = work->reading->outcome == FEED_MAPPED && feed_state_of(work) == 0;
}

// The badge as it stands there, or NULL: there is none.
static const char *read_badge(struct feed_work *work, char badge[FEED_TEXT_SIZE]) {
    const struct model_feed *feed = work->feed;
    if (feed->person_capture != MODEL_NONE) {
        return work->badge_missing ? NULL : work->set->texts[feed->person_capture];
    }
    const struct json_node *node = feed_node_at(work, &feed->person);
    return node != NULL && feed_text_of(work, node, badge, FEED_TEXT_SIZE) ? badge : NULL;
}

// Who has a badge; NULL: nobody known.
static const struct model_person *has_badge(const struct feed_work *work, const char *badge) {
    const struct model_feed *feed = work->feed;
    const char *person = feed->person_mapped ? feed_map_text(&feed->badges, badge) : badge;
    return person != NULL && !work->badge_foreign ? model_person_find(work->set->model, person)
                                                  : NULL;
}

// Whose lock it is. False: no badge can be read.
static bool find_person(struct feed_work *work) {
    struct feed_reading *reading = work->reading;
    char text[FEED_TEXT_SIZE] = "";
    const char *badge = read_badge(work, text);
    bool read = feed_badge_list(badge, reading->badge);
    const struct model_person *person = read ? has_badge(work, badge) : NULL;
    reading->tag.badge = reading->badge;
    reading->tag.person = person != NULL ? person->person : NULL;
    if (person != NULL) {
        feed_step(work, "person", "\"%s\" is the person %s", badge, person->person);
    } else if (read) {
        feed_step(work, "person", "\"%s\" is an unknown badge, listed as %s: it protects nobody",
                  badge, reading->badge);
    }
    return read;
}

// Rule (3, Tags): A lock hangs there whoever's it is: without a badge too it is listed.
// [badgeless-unlisted]
// Rule (3, Tags): A lock without a badge is not told to be off by another one's lifted.
// [badgeless-lifted-by-guess]
// Rule (3, Tags): A reader's event is never taken from what the broker kept. [feed-kept-tag-taken]
static void say_tag(struct feed_work *work) {
    struct feed_reading *reading = work->reading;
    struct gate_tagging *tag = &reading->tag;
    *tag = (struct gate_tagging){.modulus = work->feed->modulus};
    if (reading->outcome != FEED_MAPPED) {
        return;
    }
    if (work->message->retained) {
        feed_wrong(work, FEED_RETAINED, "a reader's event is never retained");
        return;
    }
    int state = feed_state_of(work);
    if (state < 0) {
        return;
    }
    tag->hung = state == 0;
    if (!find_person(work)) {
        const struct model_feed *feed = work->feed;
        feed_wrong(work, FEED_PERSON_WRONG, "%s is no badge",
                   feed->person_capture != MODEL_NONE ? "what the capture names"
                   : feed->person.pointer[0] != '\0'  ? feed->person.pointer
                                                      : "the payload");
    }
    if (work->reading->outcome == FEED_PERSON_WRONG && !tag->hung) {
        return; // nobody can tell which lock is off
    }
    bool marked = feed_time_of(work, &tag->has_at, &tag->at);
    marked = feed_seq_of(work, &tag->has_seq, &tag->seq) && marked;
    if (!marked) {
        tag->has_at = tag->has_seq = false;
    }
    tag->undated = !marked;
    reading->take = true; // a lock that was lifted is always taken, and one that hangs is listed
}

static void say(struct feed_work *work) {
    static void (*const says[MODEL_FEED_TO_COUNT])(struct feed_work *) = {
        say_signal, say_tag, say_controller, say_measure};
    says[work->feed->to](work);
}

// --- The message ---

const char *feed_state_text(const struct feed_reading *reading) {
    bool mapped = reading->outcome == FEED_MAPPED;
    switch (reading->to) {
    case MODEL_FEED_SIGNAL: // what is not mapped is heard as of bad quality
        return mapped ? model_feed_state_name(MODEL_FEED_SIGNAL,
                                              reading->signal.state == MODEL_POINT_ISOLATED ? 0 : 1)
                      : NULL;
    case MODEL_FEED_TAG:
        return reading->take ? model_feed_state_name(MODEL_FEED_TAG, reading->tag.hung ? 0 : 1)
                             : NULL;
    case MODEL_FEED_CONTROLLER:
        return reading->take ? model_feed_state_name(MODEL_FEED_CONTROLLER, reading->online ? 0 : 1)
                             : NULL;
    default:
        return NULL;
    }
}

static void finish(struct feed_work *work) {
    const struct feed_reading *reading = work->reading;
    if (reading->outcome == FEED_MAPPED && reading->to == MODEL_FEED_MEASURE) {
        feed_step(work, "result", "%.15g", reading->measure.value);
    } else if (reading->outcome == FEED_MAPPED) {
        feed_step(work, "result", "%s", feed_state_text(reading));
    } else if (reading->take) {
        feed_step(work, "result", "%s",
                  reading->to == MODEL_FEED_TAG
                      ? reading->tag.hung
                            ? "hung, at no time or by nobody that can be told: listed, and counts "
                              "for nothing"
                            : "lifted, whenever that was"
                  : reading->to == MODEL_FEED_CONTROLLER ? "offline"
                                                         : "unknown: of bad quality");
    }
    work->callbacks->reading(work->callbacks->user, reading);
}

static void begin(struct feed_work *work) {
    struct feed_reading *reading = work->reading;
    reading->outcome = FEED_MAPPED;
    reading->site = reading->index = MODEL_NONE;
    reading->take = reading->online = false;
    reading->why[0] = reading->badge[0] = '\0';
    work->badge_missing = work->badge_foreign = false;
}

// One reading; element is where its pointers start.
static void map_one(struct feed_work *work, const struct json_node *element) {
    begin(work);
    work->element = element;
    if (capture_all(work, true) && (element == NULL || capture_all(work, false)) &&
        name_thing(work)) {
        say(work);
    }
    finish(work);
}

// A payload that is no JSON: whatever the topic alone can name becomes unknown.
static void map_unreadable(struct feed_work *work) {
    const struct json_error *wrong = &work->set->wrong;
    begin(work);
    bool named = work->feed->each == NULL && !has_payload_captures(work->feed) &&
                 capture_all(work, true) && name_thing(work);
    feed_wrong(work, FEED_UNREADABLE, "the payload is no JSON: at byte %zu, %.160s", wrong->offset,
               wrong->what);
    if (named) {
        say(work);
    }
    finish(work);
}

static void map_each(struct feed_work *work) {
    const struct json_tape *tape = &work->set->tape;
    const char *each = work->feed->each;
    const struct json_node *list = json_at_from(tape, json_root(tape), each);
    if (list == NULL || list->kind != JSON_ARRAY || list->count == 0) {
        begin(work);
        feed_wrong(work, FEED_NO_LIST, "%s is %s", each[0] != '\0' ? each : "the payload",
                   list == NULL               ? "missing"
                   : list->kind == JSON_ARRAY ? "an empty list"
                                              : "no list");
        finish(work);
        return;
    }
    unsigned number = 0;
    for (const struct json_node *node = json_first(tape, list); node != NULL;
         node = json_next(tape, list, node)) {
        feed_step(work, "each", "reading %u of %u, at %s/%u", number + 1, list->count, each,
                  number);
        number++;
        map_one(work, node);
    }
}

static void map_text(struct feed_work *work) {
    // Equal to no value of a list, and no number.
    if (strlen(work->message->payload) != work->message->length) {
        snprintf(work->set->wrong.what, sizeof work->set->wrong.what, "a NUL is no text");
        work->set->wrong.offset = strlen(work->message->payload);
        map_unreadable(work);
    } else {
        map_one(work, NULL);
    }
}

static bool is_json(struct feed_set *set, const struct feed_message *message) {
    if (!set->scanned) {
        set->scanned = true;
        set->is_json = json_scan(&set->tape, message->payload, message->length,
                                 &json_message_limits, &set->wrong);
    }
    return set->is_json;
}

static void map_feed(struct feed_set *set, uint32_t index, const struct feed_message *message,
                     const struct feed_callbacks *callbacks) {
    const struct model_feed *feed = &set->model->feeds[index];
    struct feed_reading reading = {.feed = index, .to = feed->to};
    struct feed_work work = {.set = set,
                             .feed = feed,
                             .lists = &set->lists[index],
                             .message = message,
                             .callbacks = callbacks,
                             .reading = &reading};
    feed_step(&work, "topic", "matches %s", feed->topic);
    if (!feed->json) {
        map_text(&work);
    } else if (!is_json(set, message)) {
        map_unreadable(&work);
    } else if (feed->each != NULL) {
        map_each(&work);
    } else {
        map_one(&work, json_root(&set->tape));
    }
}

size_t feed_map(struct feed_set *set, const struct feed_message *message, unsigned which,
                const struct feed_callbacks *callbacks) {
    feed_match(set, message->topic, which);
    set->scanned = false;
    for (size_t i = 0; i < set->match_count; i++) {
        map_feed(set, set->matches[i], message, callbacks);
    }
    return set->match_count;
}
