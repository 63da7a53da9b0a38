// Texts by language: what is read, what is missing, and what a site says where it names several.
#include "config/config.h"

#include "tree.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

// 2026-06-01 12:00 UTC.
#define TODAY_MS 1780315200000

static struct tree tree;

static int make(void **state) {
    (void)state;
    tree_make(&tree);
    return 0;
}

static int end(void **state) {
    (void)state;
    tree_remove(&tree);
    return 0;
}

// Loads the tree as it is now edited; the report is as it is printed, in the caller's hands.
static struct model *loaded(char **text) {
    struct config_report report = {.now_ms = TODAY_MS};
    size_t size = 0;
    struct model *model = config_load("forelock.json", &report);
    FILE *out = open_memstream(text, &size);
    assert_non_null(out);
    config_report_print(&report, out);
    fclose(out);
    config_report_free(&report);
    return model;
}

static void assert_report(const char *expected) {
    char *text = NULL;
    struct model *model = loaded(&text);
    assert_string_equal(text, expected);
    free(text);
    model_free(model);
}

static const struct model_check *check_of(const struct model *model, const char *id) {
    const struct model_requirements *needs = model_site_find(model, "juniper")->requirements[0];
    for (size_t i = 0; i < needs->check_count; i++) {
        if (strcmp(needs->checks[i].check, id) == 0) {
            return &needs->checks[i];
        }
    }
    return NULL;
}

#define FLOW_EN "\"ask\": \"Nothing flows\""
#define FLOW_BOTH "\"ask\": {\"en\": \"Nothing flows\", \"es\": \"No sale nada\"}"

static void a_text_is_given_by_language(void **state) {
    (void)state;
    char *text = NULL;
    tree_edit("procedures/spout.json", FLOW_EN, FLOW_BOTH);
    struct model *model = loaded(&text);
    assert_string_equal(text, "");
    free(text);
    const struct model_check *check = check_of(model, "no-flow");
    assert_string_equal(check->ask, "Nothing flows");
    assert_non_null(check->asks);
    assert_string_equal(model_text_in(check->asks, "es", NULL), "No sale nada");
    assert_null(model_text_in(check->asks, "fr", NULL));
    assert_null(check_of(model, "no-voltage")->asks);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_int_equal(site->language_count, 1);
    assert_string_equal(site->languages[0], "en");
    model_free(model);
}

static void a_site_says_its_first_language(void **state) {
    (void)state;
    char *text = NULL;
    tree_edit("procedures/spout.json", FLOW_EN, FLOW_BOTH);
    tree_edit("sites/juniper.json", "\"languages\": [\"en\"]", "\"languages\": [\"es\"]");
    tree_edit("sites/juniper.json", "\"title\": \"Side A\"",
              "\"title\": {\"en\": \"Side A\", \"es\": \"Lado A\"}");
    struct model *model = loaded(&text);
    assert_string_equal(text, "");
    free(text);
    assert_string_equal(check_of(model, "no-flow")->ask, "No sale nada");
    assert_string_equal(check_of(model, "no-voltage")->ask, "No voltage"); // as it stands
    const struct model_site *site = model_site_find(model, "juniper");
    assert_string_equal(site->positions[0].title, "Lado A");
    model_free(model);
}

static void without_languages_a_site_reads_two(void **state) {
    (void)state;
    char *text = NULL;
    tree_edit("sites/juniper.json", "\"site\": \"juniper\", \"languages\": [\"en\"],",
              "\"site\": \"juniper\",");
    struct model *model = loaded(&text);
    const struct model_site *site = model_site_find(model, "juniper");
    assert_int_equal(site->language_count, 2);
    assert_string_equal(site->languages[0], "en");
    assert_string_equal(site->languages[1], "es");
    free(text);
    model_free(model);
}

static void a_missing_language_is_said_once_a_file(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", FLOW_EN, FLOW_BOTH);
    tree_edit("sites/juniper.json", "[\"en\"]", "[\"en\", \"es\"]");
    assert_report("procedures/spout.json:3:12: /title: warning: is not given in \"es\", a language "
                  "of the site \"juniper\", as are 8 more texts of this file; give an object of "
                  "texts by language\n"
                  "districts/basin.json:6:43: /adds/spout-and-boot/finish/0/ask: warning: is not "
                  "given in \"es\", a language of the site \"juniper\"; give an object of texts by "
                  "language\n"
                  "sites/juniper.json:8:51: /positions/0/title: warning: is not given in \"es\", a "
                  "language of the site \"juniper\"; give an object of texts by language\n");
}

static void an_object_lacks_a_language_too(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", FLOW_EN, "\"ask\": {\"fr\": \"Rien\"}");
    assert_report("procedures/spout.json:14:33: /verify/0/ask: warning: is not given in \"en\", a "
                  "language of the site \"juniper\"; give an object of texts by language\n");
}

static void what_is_no_text_is_refused(void **state) {
    (void)state;
    tree_edit("procedures/spout.json", FLOW_EN, "\"ask\": {}");
    assert_report("procedures/spout.json:14:33: /verify/0/ask: may not be empty; give it in one "
                  "language at least\n");
    tree_edit("procedures/spout.json", "\"ask\": {}", "\"ask\": {\"english\": \"Dry\"}");
    assert_report(
        "procedures/spout.json:14:34: /verify/0/ask/english: must be a language as \"en\", "
        "\"es\" or \"es-US\" (RFC 5646)\n");
    tree_edit("procedures/spout.json", "{\"english\": \"Dry\"}", "{\"en\": 7}");
    assert_report("procedures/spout.json:14:40: /verify/0/ask/en: must be a text\n");
    tree_edit("procedures/spout.json", "{\"en\": 7}", "7");
    assert_report("procedures/spout.json:14:33: /verify/0/ask: must be a text, or an object of "
                  "texts by language, not a number\n");
}

static void languages_are_named_once(void **state) {
    (void)state;
    tree_edit("sites/juniper.json", "[\"en\"]", "[\"en\", \"en\"]");
    assert_report("sites/juniper.json:2:42: /languages/1: the language \"en\" stands twice in this "
                  "list; name it once\n");
    tree_edit("sites/juniper.json", "[\"en\", \"en\"]", "[\"EN\"]");
    char *text = NULL;
    assert_null(loaded(&text));
    assert_non_null(strstr(text, "sites/juniper.json:2:36: /languages/0: must be a language"));
    free(text);
}

static void a_test_says_its_words(void **state) {
    (void)state;
    char *text = NULL;
    tree_edit("procedures/spout.json", "\"test\": \"leak\"",
              "\"title\": {\"en\": \"Leak\", \"es\": \"Fuga\"}, \"ask\": \"Dry\", \"method\": "
              "\"By eye\", \"edition\": \"2026\", \"test\": \"leak\"");
    struct model *model = loaded(&text);
    assert_string_equal(text, "");
    free(text);
    const struct model_requirements *needs = model_site_find(model, "juniper")->requirements[0];
    struct model_requirements *copy = model_requirements_copy(needs);
    model_free(model);
    assert_non_null(copy);
    assert_string_equal(copy->tests[0].title, "Leak");
    assert_string_equal(model_text_in(copy->tests[0].titles, "es", NULL), "Fuga");
    assert_string_equal(copy->tests[0].ask, "Dry");
    assert_string_equal(copy->tests[0].method, "By eye");
    assert_string_equal(copy->tests[0].edition, "2026");
    free(copy);
}

#define TEST(test) cmocka_unit_test_setup_teardown(test, make, end)

int main(void) {
    const struct CMUnitTest tests[] = {
        TEST(a_text_is_given_by_language),        TEST(a_site_says_its_first_language),
        TEST(without_languages_a_site_reads_two), TEST(a_missing_language_is_said_once_a_file),
        TEST(an_object_lacks_a_language_too),     TEST(what_is_no_text_is_refused),
        TEST(languages_are_named_once),           TEST(a_test_says_its_words),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
