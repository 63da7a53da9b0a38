// Which files are read, and where from; files that are no files; the example that ships; and the
// scale of a thousand sites.
#include "loaded.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

// The people alone, whatever stands in the other files; a lost phone is not kept in by a site that
// is being edited.
static void test_people_alone(void **state) {
    struct loaded *loaded = *state;
    const struct model *whole = loaded_model(state);
    tree_write("sites/juniper.json", "{ \"site\": ");
    setenv("TZ", "Asia/Tokyo", 1);
    struct model *alone = config_load_people("forelock.json", &loaded->report);
    assert_string_equal(getenv("TZ"), "Asia/Tokyo");
    unsetenv("TZ");
    assert_non_null(alone);
    assert_int_equal(loaded->report.error_count, 0);
    assert_int_equal(alone->person_count, whole->person_count);
    assert_int_equal(alone->site_count, 0);
    for (size_t i = 0; i < whole->person_count; i++) {
        const struct model_person *before = &whole->people[i];
        const struct model_person *now = model_person_find(alone, before->person);
        assert_non_null(now);
        assert_int_equal(now->has_token, before->has_token);
        assert_memory_equal(now->token_sha256, before->token_sha256, 32);
        assert_int_equal(now->roles, before->roles);
    }
    model_free(alone);
    tree_edit("people.json", "\"token_sha256\": \"", "\"token_sha256\": \"x");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_int_equal(loaded->report.error_count, 1);
    assert_string_equal(loaded->report.entries[0].file, "people.json");
    assert_true(loaded->report.entries[0].line > 1);
}

static void test_people_alone_broken(void **state) {
    struct loaded *loaded = *state;
    tree_edit("forelock.json", "\"people\": \"people.json\"", "\"people\": 7");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_int_equal(loaded->report.error_count, 1);
    tree_write("forelock.json", "");
    assert_null(config_load_people("forelock.json", &loaded->report));
    assert_null(config_load_people("nowhere.json", &loaded->report));
    assert_true(loaded->report.error_count >= 3);
}

static void test_folder_and_comments(void **state) {
    // Paths count from the file that names them, and a folder's own name is no pattern.
    struct loaded *loaded = *state;
    tree_write("odd [*]/forelock.json", "{}");
    tree_edit("forelock.json", "{\n", "{ // a comment\n /* and another */\n");
    assert_int_equal(rename("forelock.json", "odd [*]/forelock.json"), 0);
    assert_int_equal(rename("broker.secret", "odd [*]/broker.secret"), 0);
    assert_int_equal(rename("people.json", "odd [*]/people.json"), 0);
    assert_int_equal(rename("instruments.json", "odd [*]/instruments.json"), 0);
    assert_int_equal(rename("procedures", "odd [*]/procedures"), 0);
    assert_int_equal(rename("districts", "odd [*]/districts"), 0);
    assert_int_equal(rename("sites", "odd [*]/sites"), 0);
    loaded->model = config_load("odd [*]/forelock.json", &loaded->report);
    assert_non_null(loaded->model);
    assert_string_equal(loaded->model->journal, "odd [*]/forelock.db");
}

// One entry that says this text.
static void assert_only(const struct config_report *report, const char *file, const char *phrase) {
    assert_int_equal(report->count, 1);
    assert_string_equal(report->entries[0].file, file);
    assert_non_null(strstr(report->entries[0].text, phrase));
}

static void test_no_file(void **state) {
    struct loaded *loaded = *state;
    assert_null(config_load("nowhere.json", &loaded->report));
    assert_only(&loaded->report, "nowhere.json", "cannot be read: No such file");
    assert_int_equal(loaded->report.entries[0].line, 1);
    assert_string_equal(loaded->report.entries[0].pointer, "");
}

static void test_pipe(void **state) {
    // Opening a pipe that nobody writes must not hang the start.
    struct loaded *loaded = *state;
    assert_int_equal(unlink("people.json"), 0);
    assert_int_equal(mkfifo("people.json", 0600), 0);
    assert_null(config_load("forelock.json", &loaded->report));
    assert_only(&loaded->report, "forelock.json", "not a regular file");
}

static void test_too_large(void **state) {
    struct loaded *loaded = *state;
    assert_int_equal(truncate("people.json", 17 * 1024 * 1024), 0);
    assert_null(config_load("forelock.json", &loaded->report));
    assert_only(&loaded->report, "forelock.json", "too large");
}

static void test_two_globs_one_file(void **state) {
    tree_edit("forelock.json", "[\"sites/*.json\"]", "[\"sites/*.json\", \"sites/j*.json\"]");
    assert_int_equal(loaded_model(state)->site_count, 1);
}

static void test_example(void **state) {
    struct loaded *loaded = *state;
    loaded->model = config_load(FORELOCK_EXAMPLE "/forelock.json", &loaded->report);
    config_report_print(&loaded->report, stderr);
    assert_non_null(loaded->model);
    assert_int_equal(loaded->report.count, 0);
    const struct model_site *site = model_site_find(loaded->model, "juniper");
    assert_int_equal(site->position_count, 4);
    assert_string_equal(site->title, "Juniper Crossing");
    assert_non_null(model_requirements_find(loaded->model, site, "spout-and-boot", TODAY_MS));
    assert_non_null(model_person_find(loaded->model, "t-104"));
}

static void write_big_site(unsigned number) {
    char name[64], *text = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&text, &size);
    assert_non_null(out);
    fprintf(out,
            "{\"site\": \"s%u\", \"languages\": [\"en\"], \"title\": \"Site %u\", \"controllers\": "
            "[\"panel-1\"],",
            number, number);
    fprintf(out, "\"positions\": [");
    for (unsigned i = 0; i < 64; i++) {
        fprintf(out, "%s{\"position\": \"%u%c\", \"dispenser\": \"%u\", \"products\": [\"a\"]}",
                i > 0 ? "," : "", i / 2, 'A' + (int)(i % 2), i / 2);
    }
    fprintf(out, "], \"points\": [");
    for (unsigned i = 0; i < 64; i++) {
        fprintf(out,
                "%s{\"point\": \"%u-%s\", \"energy\": \"%s\", \"title\": \"Device %u of %u\","
                "\"controller\": \"panel-1\", \"isolates\": [\"%uA\", \"%uB\"]}",
                i > 0 ? "," : "", i / 2, i % 2 ? "power" : "fuel", i % 2 ? "electrical" : "product",
                i, number, i / 2, i / 2);
    }
    fprintf(out, "]}");
    fclose(out);
    snprintf(name, sizeof(name), "sites/s%u.json", number);
    tree_write(name, text);
    free(text);
}

static void test_scale(void **state) {
    tree_edit("people.json", "[\"juniper\", \"elsewhere\"]", "[\"*\"]");
    for (unsigned i = 0; i < 1000; i++) {
        write_big_site(i);
    }
    struct timespec before, after;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &before);
    const struct model *model = loaded_model(state);
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &after);
    double seconds =
        (double)(after.tv_sec - before.tv_sec) + (double)(after.tv_nsec - before.tv_nsec) / 1e9;
    double mebibytes = (double)model_memory(model) / 1048576;
    print_message("64,000 points: %.2f s of CPU, %.1f MiB\n", seconds, mebibytes);
    assert_int_equal(model->site_count, 1001);
    assert_true(mebibytes < 30);
#ifndef __SANITIZE_ADDRESS__
    assert_true(seconds < 2);
#endif
    const struct model_site *site = model_site_find(model, "s999");
    assert_int_equal(site->positions[model_position_find(site, "31B")].point_count, 2);
    assert_int_equal(model_sensor_find(site, "31-power"), 63);
}

#define TEST(f) cmocka_unit_test_setup_teardown(f, loaded_make, loaded_end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(test_people_alone),
        TEST(test_people_alone_broken),
        TEST(test_folder_and_comments),
        TEST(test_no_file),
        TEST(test_pipe),
        TEST(test_too_large),
        TEST(test_two_globs_one_file),
        TEST(test_example),
        TEST(test_scale),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
