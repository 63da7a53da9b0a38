// The canonical topic of measures.
#include "feed/canonical.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

static struct gate_measure_reading read_measure(const char *payload, char error[256]) {
    struct json_tape tape = {0};
    struct gate_measure_reading reading;
    error[0] = '\0';
    feed_measure_read(&tape, payload, strlen(payload), false, "psi", &reading, error, 256);
    json_tape_free(&tape);
    return reading;
}

static void test_good(void **state) {
    char error[256];
    (void)state;
    struct gate_measure_reading reading =
        read_measure("{\"value\": 1.5, \"unit\": \"psi\", \"seq\": 4, \"at\": "
                     "\"2026-06-01T12:00:00Z\", \"quality\": \"good\"}",
                     error);
    assert_true(!reading.bad && reading.value == 1.5 && reading.has_seq && reading.seq == 4);
    assert_true(reading.has_at && reading.at == 1780315200000);
    assert_false(read_measure("{\"value\": -2}", error).bad);
    assert_string_equal(error, "");
}

static void test_bad(void **state) {
    static const char *const payloads[] = {"",
                                           "1.5",
                                           "{}",
                                           "{\"value\": \"1.5\"}",
                                           "{\"value\": null}",
                                           "{\"value\": 1, \"unit\": \"kPa\"}",
                                           "{\"value\": 1, \"unit\": 7}",
                                           "{\"value\": 1, \"at\": \"noon\"}",
                                           "{\"value\": 1, \"seq\": -1}"};
    char error[256];
    (void)state;
    for (size_t i = 0; i < sizeof payloads / sizeof payloads[0]; i++) {
        assert_true(read_measure(payloads[i], error).bad);
        assert_true(error[0] != '\0');
    }
    assert_true(read_measure("{\"value\": 1, \"quality\": \"poor\"}", error).bad);
}

static void test_topic(void **state) {
    struct feed_topic topic;
    (void)state;
    assert_true(feed_topic_split("a/b", "a/b/juniper/measure/3-psi", &topic));
    assert_int_equal(topic.kind, FEED_TOPIC_MEASURE);
    assert_string_equal(topic.name, "3-psi");
    assert_true(feed_topic_is_ours("a/b", "a/b/x"));
    assert_true(feed_topic_is_ours("a/b", "a/b"));
    assert_false(feed_topic_is_ours("a/b", "a/bc/x"));
    assert_false(feed_topic_is_ours("a/b", "a"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_good),
        cmocka_unit_test(test_bad),
        cmocka_unit_test(test_topic),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
