// What of the journal is an endpoint's; and the configuration's list of events against the words.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "config/webhook.h"
#include "gate/fact/list.h"
#include "webhook/feed.h"

#include <string.h>

static struct journal_row row(int64_t seq, const char *site, const char *type, const char *data) {
    return (struct journal_row){.seq = seq,
                                .at_ms = 1700000000000 + seq,
                                .site = site,
                                .type = type,
                                .subject = "3A",
                                .data = data,
                                .site_length = strlen(site),
                                .type_length = strlen(type),
                                .subject_length = 2,
                                .data_length = strlen(data)};
}

static bool wants(const struct model_webhook *hook, const char *site, const char *type) {
    struct journal_row fact = row(1, site, type, "{}");
    return webhook_wants(hook, &fact);
}

static void which_facts_are_sent(void **state) {
    const char *sites[] = {"juniper"}, *events[] = {"job.opened", "alarm.raised"};
    struct model_webhook hook = {.url = "https://tracker.example"};
    (void)state;
    assert_true(wants(&hook, "juniper", "job.opened"));
    assert_true(wants(&hook, "alder", "alarm.cleared"));
    assert_false(wants(&hook, "", "daemon.started"));
    assert_false(wants(&hook, "juniper", "hold.begun")); // of the journal only
    assert_false(wants(&hook, "juniper", "no.such"));
    hook.sites = sites;
    hook.site_count = 1;
    assert_false(wants(&hook, "alder", "job.opened"));
    hook.events = events;
    hook.event_count = 2;
    assert_true(wants(&hook, "juniper", "alarm.raised"));
    assert_false(wants(&hook, "juniper", "alarm.cleared"));
}

static void the_job_of_a_fact(void **state) {
    static const struct {
        const char *data, *job;
    } cases[] = {
        {"{\"job\":\"J-1\"}", "J-1"},
        {"{\"job\":null,\"x\":1}", ""},
        {"{}", ""},
        {"{\"x\":{\"job\":\"J-2\"}}", ""},
        {"{\"job\":7}", ""},
    };
    struct json_tape tape = {0};
    char job[MODEL_ID_SIZE];
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        struct journal_row fact = row(1, "juniper", "tag.hung", cases[i].data);
        assert_true(webhook_job_of(&tape, &fact, job));
        assert_string_equal(job, cases[i].job);
    }
    json_tape_free(&tape);
}

static void its_name_and_text(void **state) {
    struct journal_row fact = row(42, "juniper", "job.opened", "{\"job\":\"J-1\"}");
    struct json_out out = {0};
    char id[WEBHOOK_ID_SIZE];
    (void)state;
    webhook_id("edge-1", &fact, id);
    assert_string_equal(id, "edge-1:juniper:42");
    assert_true(webhook_body(&out, &fact));
    assert_string_equal(
        out.data, "{\"specversion\":\"1.0\",\"id\":\"42\",\"source\":\"/forelock/juniper\","
                  "\"type\":\"forelock.job.opened\",\"subject\":\"3A\","
                  "\"time\":\"2023-11-14T22:13:20.042Z\",\"datacontenttype\":\"application/json\","
                  "\"data\":{\"job\":\"J-1\"}}");
    json_out_free(&out);
}

static void the_configuration_knows_every_published_type(void **state) {
    size_t count = 0;
    const char *const *types = config_webhook_events(&count);
    (void)state;
    size_t at = 0;
    for (int type = 0; type < GATE_FACT_COUNT; type++) {
        if (gate_fact_published(type)) {
            assert_true(at < count);
            assert_string_equal(types[at++], gate_fact_name((enum gate_fact_type)type));
        }
    }
    assert_int_equal(at, count);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(which_facts_are_sent),
        cmocka_unit_test(the_job_of_a_fact),
        cmocka_unit_test(its_name_and_text),
        cmocka_unit_test(the_configuration_knows_every_published_type),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
