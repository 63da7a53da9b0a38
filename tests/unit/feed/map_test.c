// Dialects of hardware, mapped: what is named, what is said, and that nothing is guessed.
#include "feeds.h"

#define SIGNAL_AT(more)                                                                            \
    "{\"feeds\": [{\"feed\": \"panel\", \"topic\": \"plant/{site}/panel/{c}/status\", "            \
    "\"to\": \"signal\", \"sensor\": \"{c}-power\", \"payload\": \"json\", "                       \
    "\"state\": {\"at\": \"/contact\", \"isolated\": [\"open\", 0, false], "                       \
    "\"live\": [\"closed\", 1, true]}" more "}]}"
#define TOPIC "plant/juniper/panel/3/status"

static void on_reading(void *user, const struct feed_reading *reading) {
    struct feeds *feeds = user;
    assert_true(feeds->count < READINGS_MAX);
    feeds->readings[feeds->count++] = *reading;
}

static void on_step(void *user, uint32_t feed, const char *what, const char *text) {
    struct feeds *feeds = user;
    assert_true(feed < feeds->model->feed_count);
    assert_true(what[0] != '\0' && text[0] != '\0');
    feeds->steps++;
}

static size_t hear_n(struct feeds *feeds, const char *topic, const char *payload, size_t length,
                     bool retained) {
    const struct feed_message message = {
        .topic = topic, .payload = payload, .length = length, .retained = retained};
    struct feed_callbacks callbacks = {.reading = on_reading, .user = feeds};
    struct feed_reading plain[READINGS_MAX];
    feeds->count = feeds->steps = 0;
    size_t matched = feed_map(feeds->set, &message, FEED_LIVE | FEED_DURABLE, &callbacks);
    size_t count = feeds->count;
    memcpy(plain, feeds->readings, sizeof plain);
    // Asking for the steps changes nothing of the result.
    callbacks.step = on_step;
    feeds->count = 0;
    assert_int_equal(feed_map(feeds->set, &message, FEED_LIVE | FEED_DURABLE, &callbacks), matched);
    assert_int_equal(feeds->count, count);
    assert_true(matched == 0 || feeds->steps > 0);
    for (size_t i = 0; i < count; i++) {
        assert_int_equal(plain[i].outcome, feeds->readings[i].outcome);
        assert_int_equal(plain[i].take, feeds->readings[i].take);
        assert_int_equal(plain[i].index, feeds->readings[i].index);
    }
    return matched;
}

// The one reading of a message.
static const struct feed_reading *hear(struct feeds *feeds, const char *topic,
                                       const char *payload) {
    assert_int_equal(hear_n(feeds, topic, payload, strlen(payload), false), 1);
    assert_int_equal(feeds->count, 1);
    return &feeds->readings[0];
}

static void is_wrong(struct feeds *feeds, const char *topic, const char *payload,
                     enum feed_outcome outcome, bool take) {
    const struct feed_reading *reading = hear(feeds, topic, payload);
    assert_string_equal(feed_outcome_name(reading->outcome), feed_outcome_name(outcome));
    assert_true(reading->why[0] != '\0');
    assert_int_equal(reading->take, take);
    assert_false(take && reading->to == MODEL_FEED_SIGNAL && reading->signal.readable &&
                 reading->signal.good);
    assert_false(outcome == FEED_UNKNOWN_VALUE && reading->to == MODEL_FEED_SIGNAL &&
                 reading->signal.state != MODEL_POINT_UNKNOWN);
    assert_false(take && reading->to == MODEL_FEED_MEASURE && !reading->measure.bad);
    assert_false(take && reading->to == MODEL_FEED_CONTROLLER && reading->online);
}

static void is_state(struct feeds *feeds, const char *payload, enum model_point_state state) {
    const struct feed_reading *reading = hear(feeds, TOPIC, payload);
    assert_int_equal(reading->outcome, FEED_MAPPED);
    assert_true(reading->take && reading->signal.readable && reading->signal.good);
    assert_int_equal(reading->signal.state, state);
    assert_string_equal(feeds->model->sites[0].sensors[reading->index].sensor, "3-power");
}

static void test_values(void **state) {
    struct feeds *feeds = feeds_load(state, SIGNAL_AT(""));
    is_state(feeds, "{\"contact\": \"open\"}", MODEL_POINT_ISOLATED);
    is_state(feeds, "{\"contact\": 0}", MODEL_POINT_ISOLATED);
    is_state(feeds, "{\"contact\": 0.0}", MODEL_POINT_ISOLATED);
    is_state(feeds, "{\"contact\": false}", MODEL_POINT_ISOLATED);
    is_state(feeds, "{\"contact\": true}", MODEL_POINT_LIVE);
    is_state(feeds, "{\"contact\": \"cl\\u006fsed\"}", MODEL_POINT_LIVE);
}

static void test_values_unlisted(void **state) {
    static const char *const payloads[] = {"{\"contact\": \"Open\"}", "{\"contact\": \"0\"}",
                                           "{\"contact\": 2}",        "{\"contact\": \"\"}",
                                           "{\"contact\": []}",       "{\"contact\": {}}",
                                           "{\"contact\": 1e-400}",   "{\"contact\": \"open \"}"};
    struct feeds *feeds = feeds_load(state, SIGNAL_AT(""));
    for (size_t i = 0; i < sizeof payloads / sizeof payloads[0]; i++) {
        if (i != 6) { // a number that is none for the scanner
            is_wrong(feeds, TOPIC, payloads[i], FEED_UNKNOWN_VALUE, true);
        }
    }
    is_wrong(feeds, TOPIC, payloads[6], FEED_UNREADABLE, true);
    is_wrong(feeds, TOPIC, "{\"contact\": null}", FEED_MISSING, true);
    is_wrong(feeds, TOPIC, "{}", FEED_MISSING, true);
    is_wrong(feeds, TOPIC, "[]", FEED_MISSING, true);
    is_wrong(feeds, TOPIC, "7", FEED_MISSING, true);
    is_wrong(feeds, TOPIC, "", FEED_UNREADABLE, true);
    is_wrong(feeds, TOPIC, "open", FEED_UNREADABLE, true);
    is_wrong(feeds, TOPIC, "{\"contact\": \"open\", \"contact\": \"closed\"}", FEED_UNREADABLE,
             true);
}

static void test_names(void **state) {
    struct feeds *feeds = feeds_load(state, SIGNAL_AT(""));
    is_wrong(feeds, "plant/juniper/panel/4/status", "{\"contact\": 0}", FEED_UNCONFIGURED, false);
    is_wrong(feeds, "plant/willow/panel/3/status", "{\"contact\": 0}", FEED_ANOTHERS, false);
    is_wrong(feeds, "plant/juniper/panel//status", "{\"contact\": 0}", FEED_CAPTURE, false);
    assert_int_equal(hear_n(feeds, "plant/juniper/panel/3", "{}", 2, false), 0);
    assert_int_equal(hear_n(feeds, "plant/juniper/panel/3/status/x", "{}", 2, false), 0);
    assert_int_equal(hear_n(feeds, "plant/juniper/panels/3/status", "{}", 2, false), 0);
    char topic[600] = "plant/juniper/panel/";
    memset(topic + strlen(topic), 'a', 400);
    strncat(topic, "/status", sizeof topic - strlen(topic) - 1);
    is_wrong(feeds, topic, "{\"contact\": 0}", FEED_CAPTURE, false);
}

static void test_time(void **state) {
    struct feeds *feeds =
        feeds_load(state, SIGNAL_AT(", \"time\": {\"at\": \"/ts\", \"as\": \"unix-ms\"}"));
    const struct feed_reading *reading =
        hear(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1780315200123}");
    assert_true(reading->signal.has_at && reading->signal.at == 1780315200123);
    reading = hear(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"1780315200123\"}");
    assert_true(reading->signal.has_at && reading->signal.at == 1780315200123);
    is_wrong(feeds, TOPIC, "{\"contact\": 0}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": null}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": -1}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": 0}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1e300}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"1780315200123x\"}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"\"}", FEED_TIME_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"2026-06-01T12:00:00Z\"}", FEED_TIME_WRONG,
             true);
}

static void test_time_seconds(void **state) {
    struct feeds *feeds =
        feeds_load(state, SIGNAL_AT(", \"time\": {\"at\": \"/ts\", \"as\": \"unix-s\"}"));
    assert_true(hear(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1780315200}")->signal.at ==
                1780315200000);
    assert_true(hear(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1780315200.25}")->signal.at ==
                1780315200250);
    // Milliseconds where seconds are meant are no time of any year that can be written.
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1780315200123}", FEED_TIME_WRONG, true);
}

static void test_time_text(void **state) {
    struct feeds *feeds =
        feeds_load(state, SIGNAL_AT(", \"time\": {\"at\": \"/ts\", \"as\": \"rfc3339\"}"));
    assert_true(
        hear(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"2026-06-01T06:00:00-06:00\"}")->signal.at ==
        1780315200000);
    // Without an offset it is no instant.
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": \"2026-06-01T12:00:00\"}", FEED_TIME_WRONG,
             true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"ts\": 1780315200}", FEED_TIME_WRONG, true);
}

static void test_seq_and_quality(void **state) {
    struct feeds *feeds =
        feeds_load(state, SIGNAL_AT(", \"seq\": {\"at\": \"/n\", \"modulus\": 256}, \"quality\": "
                                    "{\"at\": \"/q\", \"good\": [\"GOOD\", 192]}"));
    const struct feed_reading *reading =
        hear(feeds, TOPIC, "{\"contact\": 0, \"n\": 255, \"q\": 192}");
    assert_true(reading->signal.has_seq && reading->signal.seq == 255 &&
                reading->signal.modulus == 256 && reading->signal.good);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": 256, \"q\": 192}", FEED_SEQ_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": 1.5, \"q\": 192}", FEED_SEQ_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": -1, \"q\": 192}", FEED_SEQ_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"q\": 192}", FEED_SEQ_WRONG, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": 1, \"q\": \"192\"}", FEED_BAD_QUALITY, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": 1, \"q\": \"good\"}", FEED_BAD_QUALITY, true);
    is_wrong(feeds, TOPIC, "{\"contact\": 0, \"n\": 1}", FEED_BAD_QUALITY, true);
}

static void test_retained(void **state) {
    struct feeds *feeds = feeds_load(state, SIGNAL_AT(""));
    assert_int_equal(hear_n(feeds, TOPIC, "{\"contact\": 0}", 14, true), 1);
    assert_int_equal(feeds->readings[0].outcome, FEED_RETAINED);
    assert_false(feeds->readings[0].take);
    assert_int_equal(hear_n(feeds, TOPIC, "{\"contact\": 1}", 14, true), 1);
    assert_int_equal(feeds->readings[0].outcome, FEED_MAPPED);
    assert_true(feeds->readings[0].take && feeds->readings[0].signal.retained);
    assert_int_equal(feeds->readings[0].signal.state, MODEL_POINT_LIVE);
}

static void test_retained_timed(void **state) {
    static const char payload[] = "{\"contact\": 0, \"ts\": 1780315200123}";
    struct feeds *feeds =
        feeds_load(state, SIGNAL_AT(", \"time\": {\"at\": \"/ts\", \"as\": \"unix-ms\"}"));
    assert_int_equal(hear_n(feeds, TOPIC, payload, strlen(payload), true), 1);
    assert_int_equal(feeds->readings[0].outcome, FEED_MAPPED);
    assert_true(feeds->readings[0].take && feeds->readings[0].signal.retained);
}

static void test_text(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"t\", \"topic\": \"p/{c}\", \"to\": \"signal\", "
               "\"sensor\": \"{c}-power\", \"payload\": \"text\", \"state\": "
               "{\"isolated\": [\"0\", \"AUS \\u00fc\"], \"live\": [\"1\"]}}]}");
    assert_int_equal(hear(feeds, "p/3", "0")->signal.state, MODEL_POINT_ISOLATED);
    assert_int_equal(hear(feeds, "p/3", "AUS \xc3\xbc")->signal.state, MODEL_POINT_ISOLATED);
    assert_int_equal(hear(feeds, "p/3", "1")->signal.state, MODEL_POINT_LIVE);
    is_wrong(feeds, "p/3", "01", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "1\n", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "\xff", FEED_UNKNOWN_VALUE, true);
    assert_int_equal(hear_n(feeds, "p/3", "0\0junk", 6, false), 1);
    assert_int_equal(feeds->readings[0].outcome, FEED_UNREADABLE);
    assert_false(feeds->readings[0].signal.readable);
}

static void test_nested(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"n\", \"topic\": \"p/{c}\", \"to\": \"signal\", "
               "\"sensor\": \"{c}-power\", \"payload\": \"json\", \"state\": {\"at\": "
               "\"/io/a~1b/1/v\", \"isolated\": [\"0\"], \"live\": [\"1\"]}}]}");
    assert_int_equal(hear(feeds, "p/3", "{\"io\": {\"a/b\": [{}, {\"v\": \"0\"}]}}")->signal.state,
                     MODEL_POINT_ISOLATED);
    is_wrong(feeds, "p/3", "{\"io\": {\"a/b\": [{\"v\": \"0\"}]}}", FEED_MISSING, true);
    is_wrong(feeds, "p/3", "{\"io\": {\"a/b\": {\"1\": {\"v\": 0}}}}", FEED_UNKNOWN_VALUE, true);
}

static void test_each(void **state) {
    static const char payload[] =
        "{\"t\": 1780315200, \"r\": [{\"id\": 3, \"v\": 0}, {\"id\": \"3\", \"v\": 9}, "
        "{\"v\": 0}, {\"id\": 3.5, \"v\": 0}, {\"id\": 9, \"v\": 0}, 7]}";
    static const enum feed_outcome outcomes[] = {FEED_MAPPED,  FEED_UNKNOWN_VALUE, FEED_CAPTURE,
                                                 FEED_CAPTURE, FEED_CAPTURE,       FEED_CAPTURE};
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"b\", \"topic\": \"p/{site}/all\", \"to\": \"signal\", "
               "\"sensor\": \"{c}-power\", \"payload\": \"json\", \"each\": \"/r\", \"captures\": "
               "{\"c\": {\"at\": \"/id\", \"map\": {\"3\": \"3\"}}}, \"time\": {\"at\": \"/t\", "
               "\"as\": \"unix-s\", \"from\": \"message\"}, \"state\": {\"at\": \"/v\", "
               "\"isolated\": [0], \"live\": [1]}}]}");
    assert_int_equal(hear_n(feeds, "p/juniper/all", payload, strlen(payload), false), 1);
    assert_int_equal(feeds->count, 6);
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(feeds->readings[i].outcome, outcomes[i]);
        assert_int_equal(feeds->readings[i].take, i < 2);
    }
    assert_true(feeds->readings[0].signal.at == 1780315200000);
    is_wrong(feeds, "p/juniper/all", "{\"r\": {}}", FEED_NO_LIST, false);
    is_wrong(feeds, "p/juniper/all", "{\"r\": []}", FEED_NO_LIST, false);
    is_wrong(feeds, "p/juniper/all", "[]", FEED_NO_LIST, false);
    is_wrong(feeds, "p/juniper/all", "[", FEED_UNREADABLE, false);
}

static void test_map_of_topic(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"m\", \"topic\": \"{site}/{c}\", \"to\": \"signal\", "
               "\"sensor\": \"{c}\", \"payload\": \"text\", \"captures\": {\"c\": {\"map\": "
               "{\"K 17\": \"3-power\"}}, \"site\": {\"map\": {\"0815\": \"juniper\"}}}, "
               "\"state\": {\"isolated\": [\"0\"], \"live\": [\"1\"]}}]}");
    assert_int_equal(hear(feeds, "0815/K 17", "0")->outcome, FEED_MAPPED);
    is_wrong(feeds, "0815/3-power", "0", FEED_CAPTURE, false);
    is_wrong(feeds, "juniper/K 17", "0", FEED_CAPTURE, false);
    const struct model_site *site = &feeds->model->sites[0];
    assert_true(site->sensors[model_sensor_find(site, "3-power")].claimed);
    assert_false(site->sensors[model_sensor_find(site, "3-aux")].claimed);
}

static void test_controller(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"c\", \"topic\": \"p/{k}/alive\", \"to\": \"controller\", "
               "\"controller\": \"{k}\", \"payload\": \"text\", \"state\": {\"online\": [\"1\"], "
               "\"offline\": [\"0\"]}}]}");
    assert_true(hear(feeds, "p/panel-1/alive", "1")->online);
    assert_false(hear(feeds, "p/panel-1/alive", "0")->online);
    assert_int_equal(hear(feeds, "p/panel-1/alive", "0")->outcome, FEED_MAPPED);
    is_wrong(feeds, "p/panel-1/alive", "", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/panel-1/alive", "2", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/panel-2/alive", "1", FEED_UNCONFIGURED, false);
}

#define READER(person)                                                                             \
    "{\"feeds\": [{\"feed\": \"r\", \"topic\": \"p/{point}\", \"to\": \"tag\", \"payload\": "      \
    "\"json\", \"point\": \"{point}\", \"person\": {\"at\": \"/b\"" person                         \
    "}, \"state\": {\"at\": \"/e\", \"hung\": [\"in\"], \"lifted\": [\"out\"]}, "                  \
    "\"time\": {\"at\": \"/t\", \"as\": \"unix-s\"}}]}"

static void test_tag(void **state) {
    struct feeds *feeds = feeds_load(state, READER(", \"map\": {\"0451\": \"t-104\"}"));
    const struct feed_reading *reading =
        hear(feeds, "p/3-power", "{\"b\": \"0451\", \"e\": \"in\", \"t\": 1780315200}");
    assert_int_equal(reading->outcome, FEED_MAPPED);
    assert_true(reading->take && reading->tag.hung && reading->tag.has_at);
    assert_string_equal(reading->tag.person, "t-104");
    assert_string_equal(reading->badge, "0451");
    // Nobody's badge is nobody, also one that reads like a person's id.
    reading = hear(feeds, "p/3-power", "{\"b\": \"9999\", \"e\": \"in\", \"t\": 1780315200}");
    assert_true(reading->take);
    assert_string_equal(reading->badge, "9999");
    reading = hear(feeds, "p/3-power", "{\"b\": \"t-104\", \"e\": \"in\", \"t\": 1780315200}");
    assert_null(reading->tag.person);
    assert_string_equal(reading->badge, "t-104");
    reading = hear(feeds, "p/3-power", "{\"b\": \"04 51\", \"e\": \"in\", \"t\": 1780315200}");
    assert_string_equal(reading->badge, "04 51");
    reading = hear(feeds, "p/3-power", "{\"b\": 451, \"e\": \"in\", \"t\": 1780315200}");
    assert_string_equal(reading->badge, "451");
}

static void test_tag_wrong(void **state) {
    struct feeds *feeds = feeds_load(state, READER(""));
    const struct feed_reading *reading =
        hear(feeds, "p/3-power", "{\"b\": \"t-104\", \"e\": \"in\", \"t\": 1780315200}");
    assert_string_equal(reading->tag.person, "t-104");
    is_wrong(feeds, "p/3-power", "{\"b\": \"x\", \"e\": \"on\", \"t\": 1}", FEED_UNKNOWN_VALUE,
             false);
    is_wrong(feeds, "p/3-power", "{\"b\": \"x\", \"t\": 1}", FEED_MISSING, false);
    // A lock hung at no time that can be told is listed and counts for nothing.
    is_wrong(feeds, "p/3-power", "{\"b\": \"x\", \"e\": \"in\"}", FEED_TIME_WRONG, true);
    assert_true(feeds->readings[0].tag.hung && feeds->readings[0].tag.undated);
    is_wrong(feeds, "p/3-power", "{\"b\": \"x\", \"e\": \"out\"}", FEED_TIME_WRONG, true);
    static const char kept[] = "{\"b\": \"x\", \"e\": \"out\", \"t\": 1780315200}";
    assert_int_equal(hear_n(feeds, "p/3-power", kept, strlen(kept), true), 1);
    assert_int_equal(feeds->readings[0].outcome, FEED_RETAINED);
    assert_false(feeds->readings[0].take);
}

// A lock hangs there, whoever's it is; which one is off, nobody can tell.
static void test_tag_without_a_badge(void **state) {
    struct feeds *feeds = feeds_load(state, READER(""));
    static const char *const none[] = {"", "\"b\": null, ", "\"b\": [], ", "\"b\": \" \", "};
    for (size_t i = 0; i < sizeof none / sizeof none[0]; i++) {
        char payload[80];
        snprintf(payload, sizeof payload, "{%s\"e\": \"in\", \"t\": 1}", none[i]);
        is_wrong(feeds, "p/3-power", payload, FEED_PERSON_WRONG, true);
        assert_null(feeds->readings[0].tag.person);
        assert_string_equal(feeds->readings[0].badge, "unreadable");
        snprintf(payload, sizeof payload, "{%s\"e\": \"out\", \"t\": 1}", none[i]);
        is_wrong(feeds, "p/3-power", payload, FEED_PERSON_WRONG, false);
    }
}

#define CAPTURED                                                                                   \
    "{\"feeds\": [{\"feed\": \"r\", \"topic\": \"p/{point}\", \"to\": \"tag\", \"payload\": "      \
    "\"json\", \"point\": \"{point}\", \"captures\": {\"who\": {\"at\": \"/b\", \"map\": "         \
    "{\"0451\": \"t-104\"}}}, \"person\": {\"capture\": \"who\"}, \"state\": {\"at\": \"/e\", "    \
    "\"hung\": [\"in\"], \"lifted\": [\"out\"]}}]}"

static void test_tag_of_a_capture(void **state) {
    struct feeds *feeds = feeds_load(state, CAPTURED);
    const struct feed_reading *reading =
        hear(feeds, "p/3-power", "{\"b\": \"0451\", \"e\": \"in\"}");
    assert_string_equal(reading->tag.person, "t-104");
    reading = hear(feeds, "p/3-power", "{\"b\": \"t-104\", \"e\": \"in\"}");
    assert_true(reading->take);
    assert_null(reading->tag.person); // its map does not have it
    assert_string_equal(reading->badge, "t-104");
    is_wrong(feeds, "p/3-power", "{\"e\": \"in\"}", FEED_PERSON_WRONG, true);
    is_wrong(feeds, "p/3-power", "{\"e\": \"out\"}", FEED_PERSON_WRONG, false);
}

static void test_tag_of_text(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"r\", \"topic\": \"p/{point}/{badge}\", \"to\": \"tag\", "
               "\"payload\": \"text\", \"point\": \"{point}\", \"person\": {\"capture\": "
               "\"badge\", \"map\": {\"0451\": \"t-104\"}}, \"state\": {\"hung\": [\"in\"], "
               "\"lifted\": [\"out\"]}}]}");
    const struct feed_reading *reading = hear(feeds, "p/3-power/0451", "in");
    assert_true(reading->take && reading->tag.hung);
    assert_string_equal(reading->tag.person, "t-104");
    reading = hear(feeds, "p/3-power/0452", "out");
    assert_true(reading->take && !reading->tag.hung);
    assert_string_equal(reading->badge, "0452");
    is_wrong(feeds, "p/3-power/0451", "on", FEED_UNKNOWN_VALUE, false);
}

static void test_measure(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"psi\", \"topic\": \"p/{m}\", \"to\": \"measure\", "
               "\"measure\": \"{m}-psi\", \"payload\": \"json\", \"value\": {\"at\": \"/pct\", "
               "\"scale\": 0.5, \"offset\": -10}, \"quality\": {\"at\": \"/q\", \"good\": "
               "[true]}}]}");
    const struct feed_reading *reading = hear(feeds, "p/3", "{\"pct\": 50, \"q\": true}");
    assert_int_equal(reading->outcome, FEED_MAPPED);
    assert_true(!reading->measure.bad && reading->measure.value == 15);
    assert_true(hear(feeds, "p/3", "{\"pct\": \"50.0\", \"q\": true}")->measure.value == 15);
    assert_true(feeds->model->sites[0].measures[0].claimed);
    is_wrong(feeds, "p/3", "{\"pct\": \"50 %\", \"q\": true}", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "{\"pct\": \"0x32\", \"q\": true}", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "{\"pct\": \"nan\", \"q\": true}", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "{\"pct\": true, \"q\": true}", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "{\"q\": true}", FEED_MISSING, true);
    is_wrong(feeds, "p/3", "{\"pct\": 50, \"q\": 1}", FEED_BAD_QUALITY, true);
    is_wrong(feeds, "p/3", "{", FEED_UNREADABLE, true);
}

static void test_measure_text(void **state) {
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": [{\"feed\": \"psi\", \"topic\": \"p/{m}\", \"to\": \"measure\", "
               "\"measure\": \"{m}-psi\", \"payload\": \"text\", \"value\": {}}]}");
    assert_true(hear(feeds, "p/3", "-1.5e1")->measure.value == -15);
    is_wrong(feeds, "p/3", "", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "1,5", FEED_UNKNOWN_VALUE, true);
    is_wrong(feeds, "p/3", "1.5 psi", FEED_UNKNOWN_VALUE, true);
}

static void test_two_feeds_of_one_message(void **state) {
    static const char payload[] = "{\"main\": 0, \"aux\": 1}";
    struct feeds *feeds = feeds_load(
        state, "{\"feeds\": ["
               "{\"feed\": \"b\", \"topic\": \"p/{c}\", \"to\": \"signal\", \"sensor\": "
               "\"{c}-aux\", \"payload\": \"json\", \"state\": {\"at\": \"/aux\", \"isolated\": "
               "[0], \"live\": [1]}},"
               "{\"feed\": \"a\", \"topic\": \"p/{c}\", \"to\": \"signal\", \"sensor\": "
               "\"{c}-power\", \"payload\": \"json\", \"state\": {\"at\": \"/main\", "
               "\"isolated\": [0], \"live\": [1]}}]}");
    assert_int_equal(hear_n(feeds, "p/3", payload, strlen(payload), false), 2);
    assert_int_equal(feeds->count, 2);
    assert_int_equal(feeds->readings[0].feed, 0);
    assert_int_equal(feeds->readings[0].signal.state, MODEL_POINT_LIVE);
    assert_int_equal(feeds->readings[1].signal.state, MODEL_POINT_ISOLATED);
}

// Every byte of a good message changed and every length of it: it crashes nothing, and what is
// taken as a state is one of the lists' values at the pointer.
static void test_damaged(void **state) {
    static const char good[] = "{\"contact\": \"open\", \"ts\": 1780315200123, \"n\": 7}";
    struct feeds *feeds = feeds_load(
        state, SIGNAL_AT(", \"time\": {\"at\": \"/ts\", \"as\": \"unix-ms\"}, \"seq\": {\"at\": "
                         "\"/n\"}"));
    char payload[sizeof good];
    for (size_t at = 0; at < sizeof good - 1; at++) {
        for (int byte = 0; byte < 256; byte++) {
            memcpy(payload, good, sizeof good);
            payload[at] = (char)byte;
            hear_n(feeds, TOPIC, payload, sizeof good - 1, false);
            assert_int_equal(feeds->count, 1);
            assert_true(feeds->readings[0].outcome != FEED_MAPPED ||
                        feeds->readings[0].signal.state == MODEL_POINT_ISOLATED);
        }
        memcpy(payload, good, at);
        payload[at] = '\0';
        hear_n(feeds, TOPIC, payload, at, false);
        assert_int_equal(feeds->readings[0].outcome, FEED_UNREADABLE);
    }
}

#define TEST(function) cmocka_unit_test_setup_teardown(function, feeds_make, feeds_end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_values),
        TEST(test_values_unlisted),
        TEST(test_names),
        TEST(test_time),
        TEST(test_time_seconds),
        TEST(test_time_text),
        TEST(test_seq_and_quality),
        TEST(test_retained),
        TEST(test_retained_timed),
        TEST(test_text),
        TEST(test_nested),
        TEST(test_each),
        TEST(test_map_of_topic),
        TEST(test_controller),
        TEST(test_tag),
        TEST(test_tag_wrong),
        TEST(test_tag_without_a_badge),
        TEST(test_tag_of_a_capture),
        TEST(test_tag_of_text),
        TEST(test_measure),
        TEST(test_measure_text),
        TEST(test_two_feeds_of_one_message),
        TEST(test_damaged),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
