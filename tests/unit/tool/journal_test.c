// `journal verify`, `journal show` and `journal export`.
#include "story.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static struct rig_run run;

static size_t line_count(const char *text) {
    size_t count = 0;
    for (; *text != '\0'; text++) {
        count += *text == '\n';
    }
    return count;
}

static int64_t last_seq(struct rig *rig) {
    struct journal_head head;
    assert_int_equal(journal_last(rig->journal, &head), JOURNAL_OK);
    return head.seq;
}

// While the daemon has the journal open.
static void a_sound_journal(void **state) {
    struct rig *rig = *state;
    char expected[64];
    story_open(rig);
    snprintf(expected, sizeof expected, "ok, %lld facts", (long long)last_seq(rig));
    rig_tool(rig, &run, "journal verify -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, expected));
    assert_string_equal(run.err, "");
    rig_tool(rig, &run, "journal verify -c CONFIG --json");
    assert_int_equal(run.status, 0);
    assert_non_null(strstr(run.out, "{\"ok\":true,"));
}

// Changes the first occurrence of a text in the closed journal's file.
static void change(struct rig *rig, const char *from, const char *to) {
    static char bytes[4 << 20];
    FILE *file = fopen(rig->model->journal, "r+");
    assert_non_null(file);
    size_t length = fread(bytes, 1, sizeof bytes, file);
    const char *at = memmem(bytes, length, from, strlen(from));
    assert_non_null(at);
    assert_int_equal(fseek(file, at - bytes, SEEK_SET), 0);
    assert_int_equal(fwrite(to, 1, strlen(to), file), strlen(to));
    fclose(file);
}

static void a_changed_fact_is_named(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_must(rig, GATE_VERB_SIGN_CHECK, "t-104",
             (struct gate_request){.job = "J-1", .check = "barricade", .note = "MARKER-ALPHA"});
    int64_t seq = last_seq(rig);
    char name[32];
    snprintf(name, sizeof name, "fact %lld", (long long)seq);
    rig_close(rig);
    change(rig, "MARKER-ALPHA", "MARKER-OMEGA");
    rig_tool(rig, &run, "journal verify -c CONFIG");
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.err, name));
    rig_tool(rig, &run, "journal verify -c CONFIG --json");
    assert_int_equal(run.status, 1);
    assert_non_null(strstr(run.out, "\"fault\":\"changed\""));
    // What follows a bad fact is not shown as if it were good, and no story is told from it.
    rig_tool(rig, &run, "journal show -c CONFIG");
    assert_int_equal(run.status, 4);
    assert_null(strstr(run.out, "MARKER"));
    rig_tool(rig, &run, "explain J-1 -c CONFIG");
    assert_int_equal(run.status, 4);
}

static void a_missing_journal(void **state) {
    static const char *const lines[] = {"journal verify -c CONFIG", "journal show -c CONFIG",
                                        "journal export -c CONFIG", "explain J-1 -c CONFIG"};
    struct rig *rig = *state;
    rig_close(rig);
    unlink(rig->model->journal);
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++) {
        rig_tool(rig, &run, lines[i]);
        assert_int_equal(run.status, 4);
        assert_string_equal(run.out, "");
        assert_non_null(strstr(run.err, "forelock.db"));
        assert_int_equal(access(rig->model->journal, F_OK), -1);
    }
}

static void a_file_that_is_no_journal(void **state) {
    struct rig *rig = *state;
    rig_close(rig);
    FILE *file = fopen(rig->model->journal, "w");
    assert_non_null(file);
    for (int i = 0; i < 400; i++) {
        fputs("this is not a journal\n", file);
    }
    fclose(file);
    rig_tool(rig, &run, "journal verify -c CONFIG");
    assert_true(run.status == 1 || run.status == 4);
    assert_non_null(strstr(run.err, "forelock.db"));
}

static void show_has_one_line_a_fact(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    rig_tool(rig, &run, "journal show -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_int_equal(line_count(run.out), last_seq(rig));
    rig_in_order(run.out, (const char *const[]){"forelock.daemon.started", "forelock.job.opened",
                                                "tracker-1 opened job J-1 on 3A", NULL});
    assert_null(strchr(run.out, 0x1b)); // the note's
}

static void show_narrows(void **state) {
    struct rig *rig = *state;
    story_open(rig);
    story_isolate(rig);
    rig_tool(rig, &run, "journal show -c CONFIG --from 3 --limit 2");
    assert_int_equal(line_count(run.out), 2);
    assert_int_equal(strncmp(run.out, "3  ", 3), 0);
    rig_tool(rig, &run, "journal show -c CONFIG --job J-1 --limit 2");
    assert_int_equal(line_count(run.out), 2);
    rig_in_order(run.out, (const char *const[]){"job.opened", "out-of-service", NULL});
    rig_tool(rig, &run, "journal show -c CONFIG --job J-2");
    assert_int_equal(run.status, 0);
    assert_string_equal(run.out, "");
    rig_tool(rig, &run, "journal show -c CONFIG --site juniper");
    assert_int_equal(run.status, 0);
    assert_null(strstr(run.out, "daemon.started"));
    assert_non_null(strstr(run.out, "job.opened"));
}

static void show_json_has_its_names(void **state) {
    struct rig *rig = *state;
    struct json_tape tape = {0};
    const char *const names[] = {"seq", "at", "type", "site", "subject", "data"};
    story_open(rig);
    rig_tool(rig, &run, "journal show -c CONFIG --json --job J-1 --limit 1");
    assert_int_equal(run.status, 0);
    assert_true(json_scan(&tape, run.out, strlen(run.out), &json_config_limits, NULL));
    const struct json_node *root = json_root(&tape), *key = json_first(&tape, root);
    for (size_t i = 0; i < 6; i++) {
        assert_non_null(key);
        assert_true(json_equals(&tape, key, names[i]));
        key = json_next(&tape, root, json_next(&tape, root, key));
    }
    assert_null(key);
    assert_true(
        json_equals(&tape, json_at_from(&tape, json_root(&tape), "/type"), "forelock.job.opened"));
    assert_true(json_equals(&tape, json_at_from(&tape, json_root(&tape), "/subject"), "3A"));
    assert_true(json_equals(&tape, json_at_from(&tape, json_root(&tape), "/data/job"), "J-1"));
    json_tape_free(&tape);
}

static void export_writes_all_facts(void **state) {
    struct rig *rig = *state;
    char line[256], path[128];
    story_open(rig);
    rig_tool(rig, &run, "journal export -c CONFIG");
    assert_int_equal(run.status, 0);
    assert_int_equal(line_count(run.out), last_seq(rig));
    rig_in_order(run.out, (const char *const[]){"{\"seq\":1,", "\"hash\":\"", NULL});
    snprintf(path, sizeof path, "%s/facts.jsonl", rig->folder);
    snprintf(line, sizeof line, "journal export %s -c CONFIG", path);
    rig_tool(rig, &run, line);
    assert_int_equal(run.status, 0);
    assert_string_equal(run.out, "");
    assert_int_equal(access(path, R_OK), 0);
    rig_tool(rig, &run, line); // nothing is written over
    assert_int_equal(run.status, 4);
    assert_non_null(strstr(run.err, path));
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, rig_setup, rig_teardown)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_sound_journal),           TEST(a_changed_fact_is_named),  TEST(a_missing_journal),
        TEST(a_file_that_is_no_journal), TEST(show_has_one_line_a_fact), TEST(show_narrows),
        TEST(show_json_has_its_names),   TEST(export_writes_all_facts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
