// Notices: tests that an authority wants announced some hours ahead, and the check that is signed
// when it was told.
#include "config/requirement.h"

#include <math.h>
#include <string.h>

#define HOUR_MS 3600000.0

// Rule (2, notice_h): A district may ask for a longer notice, not for a shorter one.
// [district-shortens-notice]
void config_notice_read(struct config_file *file, const struct json_node *node,
                        struct model_test *test, const struct config_value *notice,
                        const struct config_value *hours) {
    if (notice->ok && test->notice[0] != '\0' && strcmp(test->notice, notice->id) != 0) {
        config_error(file, notice->node,
                     "the procedure announces this test by the check \"%s\"; leave this out",
                     test->notice);
    } else if (notice->ok) {
        memcpy(test->notice, notice->id, sizeof(test->notice));
    }
    int64_t ms = hours->ok ? llround(hours->number * HOUR_MS) : 0;
    if (hours->ok && ms < test->notice_ms) {
        config_error(file, hours->node,
                     "loosens the procedure, which asks for %.15g hours; a district may only "
                     "lengthen the notice",
                     (double)test->notice_ms / HOUR_MS);
    } else if (hours->ok) {
        test->notice_ms = ms;
    }
    if (notice->node != NULL && hours->node == NULL && test->notice_ms == 0) {
        config_missing(file, node, "a test with \"notice\"", "notice_h");
    } else if (hours->node != NULL && notice->node == NULL && test->notice[0] == '\0') {
        config_missing(file, node, "a test with \"notice_h\"", "notice");
    }
}

// The member of the element of a list that has this id; else the element; NULL: there is none.
static const struct json_node *member_of(struct config_file *file, const struct config_value *list,
                                         const char *key, const char *id, const char *member) {
    const struct json_tape *tape = &file->tape;
    const struct json_node *node = list->ok ? json_first(tape, list->node) : NULL;
    for (; node != NULL; node = json_next(tape, list->node, node)) {
        const struct json_node *named =
            node->kind == JSON_OBJECT ? json_present(tape, node, key) : NULL;
        if (named != NULL && json_equals(tape, named, id)) {
            const struct json_node *at = json_present(tape, node, member);
            return at != NULL ? at : node;
        }
    }
    return NULL;
}

// Where the file at hand says what does not fit: at the test, else at the check that it tightens.
// NULL: it says nothing of either, and the procedure's own file was reported.
static const struct json_node *place_of(const struct config_building *building,
                                        const struct model_test *test,
                                        const struct config_value *tests,
                                        const struct config_value *prepare, const char *member) {
    struct config_file *file = building->file;
    const struct json_node *at = member_of(file, tests, "test", test->test, member);
    return at != NULL ? at : member_of(file, prepare, "check", test->notice, "valid_s");
}

// Rule (2, notice_h): The notice of a test is a prepare check of its procedure.
// [notice-of-no-check]
// Rule (2, notice_h): A notice that stands for no longer than is waited for it is an error.
// [notice-too-short]
void config_notices_fit(const struct config_building *building, const struct config_value *tests,
                        const struct config_value *prepare) {
    struct model_requirements all = building->all;
    for (size_t i = 0; i < all.test_count; i++) {
        const struct model_test *test = &all.tests[i];
        if (test->notice_ms == 0 || test->notice[0] == '\0') {
            continue; // none, or said already
        }
        const struct model_check *check = model_check_named(&all, test->notice);
        bool known = check != NULL && check->group == MODEL_GROUP_PREPARE;
        const struct json_node *at =
            place_of(building, test, tests, prepare, known ? "notice_h" : "notice");
        if (at == NULL) {
            continue;
        }
        if (!known) {
            config_error(building->file, at,
                         "there is no check \"%s\" in \"prepare\", which is to be signed when the "
                         "test \"%s\" was announced",
                         test->notice, test->test);
        } else if (check->valid_ms <= test->notice_ms) {
            config_error(building->file, at,
                         "the check \"%s\" stands for %.15g hours and the test \"%s\" waits for "
                         "%.15g after it: give the check a longer \"valid_s\"",
                         test->notice, (double)check->valid_ms / HOUR_MS, test->test,
                         (double)test->notice_ms / HOUR_MS);
        }
    }
}
