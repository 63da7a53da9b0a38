// The command line, `check` and `token`.
#include "rig.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static struct rig_run run;

static void usage_errors(void **state) {
    static const struct {
        const char *line, *word;
    } rows[] = {
        {"", "usage:"},
        {"dance", "no command \"dance\""},
        {"journal burn -c CONFIG", "no command \"journal burn\""},
        {"journal -c CONFIG", "no command \"journal\""},
        {"check", "-c FILE"},
        {"gate -c CONFIG", "needs JOB"},
        {"gate -c CONFIG J-1 J-2", "\"J-2\""},
        {"explain -c CONFIG", "needs JOB"},
        {"token -c CONFIG", "needs PERSON"},
        {"check -c CONFIG --no-such", "--no-such"},
        {"check -c CONFIG --limit 3", "--limit"},
        {"check -c", "-c"},
        {"check -c CONFIG -c CONFIG", "twice"},
        {"journal show -c CONFIG --limit 0", "\"0\""},
        {"journal show -c CONFIG --from -3", "\"-3\""},
        {"journal show -c CONFIG --from 3x", "\"3x\""},
        {"calc", "rules:"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        rig_tool(*state, &run, rows[i].line);
        assert_int_equal(run.status, 2);
        assert_string_equal(run.out, "");
        assert_non_null(strstr(run.err, rows[i].word));
    }
}

static void help_and_version(void **state) {
    rig_tool(*state, &run, "--version");
    assert_int_equal(run.status, 0);
    assert_string_equal(run.out, "forelock 0.1.0\n");
    rig_tool(*state, &run, "--help");
    assert_int_equal(run.status, 0);
    rig_in_order(run.out,
                 (const char *const[]){"check", "gate", "explain", "journal verify", "calc",
                                       "token", "exit status", "no safety-rated function", NULL});
    rig_tool(*state, &run, "gate --help");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "usage: forelock gate JOB"));
}

static void calc_takes_words_and_json(void **state) {
    rig_tool(*state, &run, "calc range value=5 min=5 max=6 --json");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "\"limit\":{\"min\":5,\"max\":6}"));
    rig_tool(*state, &run, "calc range value=7 max=6");
    assert_int_equal(run.status, 1);
    rig_tool(*state, &run, "calc range max=6");
    assert_int_equal(run.status, 2);
}

static void check_sums_up(void **state) {
    rig_tool(*state, &run, "check -c CONFIG");
    assert_int_equal(run.status, 0);
    rig_in_order(run.out,
                 (const char *const[]){"instance edge-1", "site juniper",
                                       "4 positions, 7 points (3 without a sensor)",
                                       "procedure spout-and-boot", "6 people", "no errors", NULL});
}

static void check_json_is_json(void **state) {
    struct json_tape tape = {0};
    struct json_error error;
    int64_t people = 0;
    rig_tool(*state, &run, "check --json -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_true(json_scan(&tape, run.out, strlen(run.out), &json_config_limits, &error));
    assert_int_equal(json_at_from(&tape, json_root(&tape), "/ok")->kind, JSON_TRUE);
    assert_true(json_integer(&tape, json_at_from(&tape, json_root(&tape), "/people"), &people));
    assert_int_equal(people, 6);
    assert_true(json_equals(
        &tape, json_at_from(&tape, json_root(&tape), "/sites/0/sensors/0/heard"), "signal"));
    json_tape_free(&tape);
}

static void spoil(const struct rig *rig, const char *name, const char *text) {
    char path[128];
    snprintf(path, sizeof path, "%s/%s", rig->folder, name);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(text, file);
    fclose(file);
}

// Every command that needs the configuration says what is wrong with it, and where.
static void a_bad_configuration_is_named(void **state) {
    static const char *const lines[] = {"check -c CONFIG", "journal show -c CONFIG",
                                        "explain J-1 -c CONFIG", "gate J-1 -c CONFIG",
                                        "token t-104 -c CONFIG"};
    struct rig *rig = *state;
    spoil(rig, "people.json", "{\"people\": [\n");
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        rig_tool(rig, &run, lines[i]);
        assert_int_equal(run.status, 3);
        assert_string_equal(run.out, "");
        assert_non_null(strstr(run.err, "people.json:2:1: "));
    }
    rig_tool(rig, &run, "check -c CONFIG --json");
    assert_int_equal(run.status, 3);
    assert_non_null(strstr(run.out, "\"ok\":false"));
    assert_non_null(strstr(run.out, "\"line\":2"));
}

static void a_missing_configuration(void **state) {
    rig_tool(*state, &run, "check -c /nonexistent/forelock.json");
    assert_int_equal(run.status, 3);
    assert_non_null(strstr(run.err, "/nonexistent/forelock.json"));
}

static void claims_are_listed(void **state) {
    struct rig *rig = *state;
    char command[256];
    spoil(rig, "panel.json",
          "{\"feeds\": [{\"feed\": \"panel\", \"topic\": \"plant/{site}/{circuit}\","
          "\"to\": \"signal\", \"sensor\": \"{circuit}-power\", \"payload\": \"text\","
          "\"state\": {\"isolated\": [\"0\"], \"live\": [\"1\"]}}]}");
    snprintf(command, sizeof command,
             "sed -i 's/\"feeds\": \\[.*\\]/\"feeds\": [\"panel.json\"]/' '%s'", rig->config);
    assert_int_equal(system(command), 0);
    rig_tool(rig, &run, "check -c CONFIG");
    assert_int_equal(run.status, 0);
    rig_in_order(run.out, (const char *const[]){"2 claimed by feeds", "sensor 3-power of 3-power",
                                                "sensor 4-power of 4-power", NULL});
    assert_null(strstr(run.out, "sensor 3-regular"));
}

// --- token ---

static void the_hash_is_that_of_the_token(void **state) {
    uint8_t hash[JOURNAL_HASH_SIZE];
    char token[64], text[80], spelled[2 * JOURNAL_HASH_SIZE + 1];
    struct json_tape tape = {0};
    rig_tool(*state, &run, "token t-104 -c CONFIG --json");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.err, "warning: "));
    assert_true(json_scan(&tape, run.out, strlen(run.out), &json_message_limits, NULL));
    assert_true(
        json_copy(&tape, json_at_from(&tape, json_root(&tape), "/token"), token, sizeof token));
    assert_true(json_copy(&tape, json_at_from(&tape, json_root(&tape), "/token_sha256"), text,
                          sizeof text));
    assert_int_equal(strlen(token), 2 + 43); // 256 bits
    assert_true(journal_sha256(token, strlen(token), hash));
    for (size_t i = 0; i < sizeof hash; i++) {
        snprintf(spelled + 2 * i, 3, "%02x", hash[i]);
    }
    assert_string_equal(text, spelled);
    json_tape_free(&tape);
}

static void tokens_differ_and_are_shown_once(void **state) {
    char first[4096];
    rig_tool(*state, &run, "token t-104 -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "\"token_sha256\": \""));
    snprintf(first, sizeof first, "%.4000s", run.out);
    rig_tool(*state, &run, "token t-104 -c CONFIG");
    assert_string_not_equal(run.out, first);
}

static void an_unknown_person_gets_no_token(void **state) {
    rig_tool(*state, &run, "token ghost -c CONFIG");
    assert_int_equal(run.status, 1);
    assert_string_equal(run.out, "");
    assert_non_null(strstr(run.err, "\"ghost\""));
}

// --- gate, without a broker ---

static void without_a_broker_nothing_is_relied_on(void **state) {
    struct rig *rig = *state;
    char command[256];
    // The discard port: nothing answers there.
    snprintf(command, sizeof command, "sed -i 's/\"port\": 1883/\"port\": 9/' '%s'", rig->config);
    assert_int_equal(system(command), 0);
    rig_tool(rig, &run, "gate J-1 -c CONFIG");
    assert_int_equal(run.status, 4);
    assert_string_equal(run.out, "");
    assert_non_null(strstr(run.err, "127.0.0.1:9"));
    assert_non_null(strstr(run.err, "nothing is to be relied on"));
    rig_tool(rig, &run, "gate J+1 -c CONFIG");
    assert_int_equal(run.status, 1);
    rig_tool(rig, &run, "gate J-1 --site nowhere -c CONFIG");
    assert_int_equal(run.status, 1);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, rig_setup, rig_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(usage_errors),
        TEST(help_and_version),
        TEST(calc_takes_words_and_json),
        TEST(check_sums_up),
        TEST(check_json_is_json),
        TEST(a_bad_configuration_is_named),
        TEST(a_missing_configuration),
        TEST(claims_are_listed),
        TEST(the_hash_is_that_of_the_token),
        TEST(tokens_differ_and_are_shown_once),
        TEST(an_unknown_person_gets_no_token),
        TEST(without_a_broker_nothing_is_relied_on),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
