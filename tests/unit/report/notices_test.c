// Notices: what ends, what has ended, what is silent; in the order of urgency.
#include "report/notices.h"

#include "model/feed.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#define DAY (24 * 3600 * 1000LL)
#define NOW (1795624634000LL) // 2026-11-25T16:37:14.000Z

static int64_t ends[4];
static struct model_credential papers[3] = {
    {.credential = "vapor-a", .until = {.set = true, .day = "2026-12-01", .end_ms = &ends[0]}},
    {.credential = "vapor-b", .until = {.set = true, .day = "2026-11-01", .end_ms = &ends[1]}},
    {.credential = "vapor-c"}};
static struct model_person people[2] = {{.person = "t-1",
                                         .title = "Technician \"1\"",
                                         .every_site = true,
                                         .credentials = papers,
                                         .credential_count = 3},
                                        {.person = "t-2",
                                         .title = "Elsewhere",
                                         .at_site = (bool[]){false},
                                         .credentials = papers,
                                         .credential_count = 3}};
static struct model_instrument instruments[2] = {
    {.instrument = "tw-1",
     .kind = "torque-wrench",
     .calibrated_until = {.set = true, .day = "2026-11-20", .end_ms = &ends[2]}},
    {.instrument = "tw-2",
     .kind = "torque-wrench",
     .calibrated_until = {.set = true, .day = "2026-12-20", .end_ms = &ends[3]}}};
static char controllers[2][MODEL_ID_SIZE] = {"panel-1", "panel-2"};
static struct model_site site = {
    .site = "juniper", .controllers = controllers, .controller_count = 2};
static struct model_feed feeds[3] = {{.feed = "panel"}, {.feed = "rack"}, {.feed = "locks"}};
static const int64_t *heard; // by feed
static const struct model model = {.sites = &site,
                                   .site_count = 1,
                                   .feeds = feeds,
                                   .feed_count = 3,
                                   .people = people,
                                   .person_count = 2,
                                   .instruments = instruments,
                                   .instrument_count = 2};

static void set_ends(int64_t a, int64_t b, int64_t c, int64_t d) {
    const int64_t days[4] = {a, b, c, d};
    for (int i = 0; i < 4; i++) {
        ends[i] = NOW + days[i];
    }
}

// The notices and their subjects, one a line.
static void assert_notices(const char *expected) {
    enum gate_controller states[2] = {GATE_CONTROLLER_ONLINE, GATE_CONTROLLER_OFFLINE};
    struct gate_site at = {.model = &site, .controllers = states};
    const struct gate gate = {.model = &model, .sites = &at};
    struct json_out out = {0};
    struct json_tape tape = {0};
    char got[1000] = "", notice[64], subject[64], say[400];
    assert_true(
        report_notices_write(&out, &gate, 0, heard, (struct gate_time){.wall = NOW, .mono = NOW}));
    assert_true(json_scan(&tape, out.data, out.length, &json_message_limits, NULL));
    const struct json_node *all = json_root(&tape);
    for (const struct json_node *one = json_first(&tape, all); one != NULL;
         one = json_next(&tape, all, one)) {
        assert_true(json_copy(&tape, json_member(&tape, one, "notice"), notice, sizeof notice));
        assert_true(json_copy(&tape, json_member(&tape, one, "subject"), subject, sizeof subject));
        assert_true(json_copy(&tape, json_member(&tape, one, "say"), say, sizeof say));
        assert_true(say[strlen(say) - 1] == '.');
        size_t length = strlen(got);
        snprintf(got + length, sizeof got - length, "%s %s\n", notice, subject);
    }
    assert_string_equal(got, expected);
    json_tape_free(&tape);
    json_out_free(&out);
}

static void in_the_order_of_urgency(void **state) {
    (void)state;
    set_ends(6 * DAY, -24 * DAY, -5 * DAY, 25 * DAY);
    assert_notices("controller-offline panel-2\ncalibration-ended tw-1\ncredential-ended t-1\n"
                   "calibration-ends tw-2\ncredential-ends t-1\n");
}

static void the_soonest_first(void **state) {
    (void)state;
    set_ends(9 * DAY, 3 * DAY, 20 * DAY, 10 * DAY);
    assert_notices("controller-offline panel-2\ncalibration-ends tw-2\ncalibration-ends tw-1\n"
                   "credential-ends t-1\ncredential-ends t-1\n");
}

static void from_thirty_days_before_and_to_the_instant(void **state) {
    (void)state;
    set_ends(30 * DAY, 30 * DAY + 1, 0, 1);
    assert_notices("controller-offline panel-2\ncalibration-ended tw-1\ncalibration-ends tw-2\n"
                   "credential-ends t-1\n");
}

static void a_feed_that_brings_nothing(void **state) {
    const int64_t minutes = 60 * 1000LL;
    const int64_t last[3] = {NOW - 5 * minutes, NOW - 5 * minutes - 1, -1};
    (void)state;
    set_ends(31 * DAY, 31 * DAY, 31 * DAY, 31 * DAY);
    heard = last;
    assert_notices("controller-offline panel-2\nfeed-silent rack\n");
    heard = NULL;
    assert_notices("controller-offline panel-2\n");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(in_the_order_of_urgency),
        cmocka_unit_test(the_soonest_first),
        cmocka_unit_test(a_feed_that_brings_nothing),
        cmocka_unit_test(from_thirty_days_before_and_to_the_instant),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
