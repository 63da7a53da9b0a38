// Two sets of requirements at once, the stricter of each: what a job keeps from its opening when a
// later configuration asks for more, and what a position still owes beside a new job.
#include "model/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool same_text(const char *a, const char *b) {
    return a == b || (a != NULL && b != NULL && strcmp(a, b) == 0);
}

// Rule (4, owed tests): Of two procedures under one id the stricter limit counts. [looser-of-two]
struct model_limits model_limits_both(struct model_limits a, struct model_limits b) {
    struct model_limits both = a;
    if (b.has_min && (!a.has_min || b.min > a.min)) {
        both.has_min = true;
        both.min = b.min;
    }
    if (b.has_max && (!a.has_max || b.max < a.max)) {
        both.has_max = true;
        both.max = b.max;
    }
    return both;
}

// Rule (8, test rules): A test without a least value of its own has the one that its rule stands in
// with. [replaced-least-forgotten]
// Rule (8, test rules): A test without a greatest value of its own has the one that its rule stands
// in with. [replaced-greatest-forgotten]
// Rule (8, test rules): A configured limit goes before the one that a rule stands in with.
// [replaced-over-configured]
struct model_limits model_test_limits(const struct model_test *test) {
    struct model_limits limits = test->limits;
    if (!limits.has_min && test->rule_limits.has_min) {
        limits.has_min = true;
        limits.min = test->rule_limits.min;
    }
    if (!limits.has_max && test->rule_limits.has_max) {
        limits.has_max = true;
        limits.max = test->rule_limits.max;
    }
    return limits;
}

static bool has_text(const char *const *texts, size_t count, const char *text) {
    for (size_t i = 0; i < count; i++) {
        if (same_text(texts[i], text)) {
            return true;
        }
    }
    return false;
}

static bool same_choice(const struct model_credential_choice *a,
                        const struct model_credential_choice *b) {
    if (a->count != b->count) {
        return false;
    }
    for (size_t i = 0; i < a->count; i++) {
        if (!has_text(b->any, b->count, a->any[i])) {
            return false;
        }
    }
    return true;
}

static void unite_credentials(struct model_requirements *all, const struct model_requirements *b) {
    for (size_t i = 0; i < b->credential_count; i++) {
        bool known = false;
        for (size_t k = 0; k < all->credential_count && !known; k++) {
            known = same_choice(&all->credentials[k], &b->credentials[i]);
        }
        if (!known) {
            all->credentials[all->credential_count++] = b->credentials[i];
        }
    }
}

static void unite_energies(struct model_requirements *all, const struct model_requirements *b) {
    for (size_t i = 0; i < b->isolate_count; i++) {
        if (!has_text(all->isolate, all->isolate_count, b->isolate[i])) {
            all->isolate[all->isolate_count++] = b->isolate[i];
        }
    }
}

// Rule (1; 2, valid_s): Of two periods for which a signature or record stands the shorter counts.
// [longer-of-two]
// Rule (1; 2, check_in_s): Of two periods within which to check in the shorter counts.
// [looser-check-in]
int64_t model_period_shorter(int64_t a, int64_t b) {
    return a == 0 || (b != 0 && b < a) ? b : a;
}

static void tighten_check(struct model_check *check, const struct model_check *by) {
    if (check->unit == NULL) {
        check->unit = by->unit;
        check->limits = by->limits;
    } else if (same_text(check->unit, by->unit)) {
        check->limits = model_limits_both(check->limits, by->limits);
    }
    if (check->instrument == NULL) {
        check->instrument = by->instrument;
    }
    if (check->by == 0) {
        check->by = by->by;
    }
    if (!same_text(check->measure, by->measure)) {
        check->measure = NULL; // then people answer it
    }
    check->note = check->note || by->note;
    check->equals_family = check->equals_family || by->equals_family;
    check->torque_applied = check->torque_applied || by->torque_applied;
    check->twin = check->twin && by->twin;
    check->valid_ms = model_period_shorter(check->valid_ms, by->valid_ms);
}

static void unite_checks(struct model_requirements *all, const struct model_requirements *b) {
    for (size_t i = 0; i < b->check_count; i++) {
        struct model_check *known = model_check_named(all, b->checks[i].check);
        if (known == NULL) {
            model_check_insert(all, &b->checks[i]);
        } else if (known->group == b->checks[i].group) {
            tighten_check(known, &b->checks[i]);
        }
    }
}

static struct model_test *test_named(struct model_requirements *all, const char *id) {
    for (size_t i = 0; i < all->test_count; i++) {
        if (strcmp(all->tests[i].test, id) == 0) {
            return &all->tests[i];
        }
    }
    return NULL;
}

// Rule (2, notice_h): Of two notices the longer is waited for. [shorter-notice]
static void tighten_notice(struct model_test *test, const struct model_test *by) {
    if (test->notice_ms == 0) {
        memcpy(test->notice, by->notice, sizeof(test->notice));
    }
    test->notice_ms = by->notice_ms > test->notice_ms ? by->notice_ms : test->notice_ms;
}

// For how long the check of an id stands, of two lists of checks the longer.
static int64_t longest_valid(const struct model_requirements *a, const struct model_requirements *b,
                             const char *id) {
    int64_t longest = 0;
    for (size_t i = 0; i < a->check_count + b->check_count; i++) {
        const struct model_check *check =
            i < a->check_count ? &a->checks[i] : &b->checks[i - a->check_count];
        if (strcmp(check->check, id) == 0 && check->valid_ms > longest) {
            longest = check->valid_ms;
        }
    }
    return longest;
}

// Each side's notice stands for longer than its own test waits, but the shorter of both periods may
// not outlast the longer wait: then nobody could ever test.
// Rule (2, notice_h): A notice stands for longer than is waited for it. [notice-never-good]
static void keep_notices_good(struct model_requirements *all, const struct model_requirements *a,
                              const struct model_requirements *b) {
    for (size_t i = 0; i < all->test_count; i++) {
        const struct model_test *test = &all->tests[i];
        struct model_check *check =
            test->notice_ms > 0 ? model_check_named(all, test->notice) : NULL;
        if (check != NULL && check->valid_ms > 0 && check->valid_ms <= test->notice_ms) {
            check->valid_ms = longest_valid(a, b, test->notice);
        }
    }
}

static void tighten_test(struct model_test *test, const struct model_test *by) {
    bool open = !test->limits.has_min && !test->limits.has_max;
    bool by_open = !by->limits.has_min && !by->limits.has_max;
    if (same_text(test->unit, by->unit) && !(open && by_open)) {
        test->limits = model_limits_both(model_test_limits(test), model_test_limits(by));
    }
    if (test->instrument == NULL) {
        test->instrument = by->instrument;
    }
    if (test->title == NULL) {
        test->title = by->title;
        test->titles = by->titles;
    }
    if (test->ask == NULL) {
        test->ask = by->ask;
        test->asks = by->asks;
    }
    test->powered = test->powered || by->powered;
    test->valid_ms = model_period_shorter(test->valid_ms, by->valid_ms);
    test->runs = by->runs > test->runs ? by->runs : test->runs;
    test->borderline = by->borderline > test->borderline ? by->borderline : test->borderline;
    test->each_product = test->each_product || by->each_product;
    test->fails_dispenser = test->fails_dispenser || by->fails_dispenser;
    tighten_notice(test, by);
}

static void unite_test(struct model_requirements *all, struct model_test test,
                       const char *procedure) {
    struct model_test *known = test_named(all, test.test);
    if (known != NULL && !same_text(known->rule, test.rule)) {
        char id[sizeof(test.test)];
        snprintf(id, sizeof(id), "%.64s.%.129s", procedure, test.test);
        memcpy(test.test, id, sizeof(id));
        known = test_named(all, id);
    }
    if (known != NULL && same_text(known->rule, test.rule)) {
        tighten_test(known, &test);
    } else {
        all->tests[all->test_count++] = test;
    }
}

// A copy of an array with room for more elements behind it. NULL: no memory.
static void *grown(const void *from, size_t count, size_t more, size_t size) {
    char *to = calloc(count + more + 1, size);
    if (to != NULL && count > 0) {
        memcpy(to, from, count * size);
    }
    return to;
}

struct model_requirements *model_requirements_stricter(const struct model_requirements *a,
                                                       const struct model_requirements *b) {
    struct model_requirements all = *a;
    all.credentials =
        grown(a->credentials, a->credential_count, b->credential_count, sizeof(*a->credentials));
    all.isolate = grown(a->isolate, a->isolate_count, b->isolate_count, sizeof(*a->isolate));
    all.checks = grown(a->checks, a->check_count, b->check_count, sizeof(*a->checks));
    all.tests = grown(a->tests, a->test_count, b->test_count, sizeof(*a->tests));
    struct model_requirements *result = NULL;
    if (all.credentials != NULL && all.isolate != NULL && all.checks != NULL && all.tests != NULL) {
        unite_credentials(&all, b);
        unite_energies(&all, b);
        unite_checks(&all, b);
        for (size_t i = 0; i < b->test_count; i++) {
            unite_test(&all, b->tests[i], b->procedure);
        }
        keep_notices_good(&all, a, b);
        all.inspection = a->inspection && b->inspection; // a repair asks for more
        all.match = a->match || b->match;
        all.takes_dispenser = a->takes_dispenser || b->takes_dispenser;
        all.takes_site = a->takes_site || b->takes_site;
        all.check_in_ms = model_period_shorter(a->check_in_ms, b->check_in_ms);
        result = model_requirements_copy(&all);
    }
    free(all.credentials);
    free(all.isolate);
    free(all.checks);
    free(all.tests);
    return result;
}
