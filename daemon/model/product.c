// A test that is one for each product becomes as many tests as the position has products: work on a
// path that products share voids the tests of all of them (contract, section 4, "What voids").
#include "model/model.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

// The positions whose products are tested: the job's, or all of its cabinet.
static bool is_tested(const struct model_requirements *from, const struct model_site *site,
                      uint32_t position, uint32_t other) {
    const struct model_position *all = site->positions;
    return other == position ||
           (from->takes_dispenser && strcmp(all[other].dispenser, all[position].dispenser) == 0);
}

static bool has_test(const struct model_requirements *all, size_t from, size_t to, const char *id) {
    for (size_t i = from; i < to; i++) {
        if (strcmp(all->tests[i].test, id) == 0) {
            return true;
        }
    }
    return false;
}

// Adds the test for one product (NULL: as it is). first: where those of the same test begin.
static void add_test(struct model_requirements *all, size_t first, const struct model_test *test,
                     const char *product) {
    struct model_test one = *test;
    char id[MODEL_ID_SIZE * 2];
    one.each_product = false;
    snprintf(id, sizeof(id), product != NULL ? "%.64s.%.64s" : "%.129s", test->test, product);
    snprintf(one.test, sizeof(one.test), "%s", id);
    if (has_test(all, first, all->test_count, one.test)) {
        return; // two positions of a cabinet have the same product
    }
    if (has_test(all, 0, first, one.test)) { // another test happens to have that id
        snprintf(one.test, sizeof(one.test), "%.64s.%s", all->procedure, id);
    }
    all->tests[all->test_count++] = one;
}

static void add_tests(struct model_requirements *all, const struct model_test *test,
                      const struct model_site *site, uint32_t position) {
    size_t before = all->test_count;
    for (uint32_t p = 0; test->each_product && p < site->position_count; p++) {
        const struct model_position *where = &site->positions[p];
        for (uint32_t i = 0; is_tested(all, site, position, p) && i < where->product_count; i++) {
            add_test(all, before, test, where->products[i]);
        }
    }
    if (all->test_count == before) {
        add_test(all, before, test, NULL);
    }
}

struct model_requirements *model_requirements_at(const struct model_requirements *from,
                                                 const struct model_site *site, uint32_t position) {
    size_t products = 0;
    for (uint32_t p = 0; p < site->position_count; p++) {
        products += is_tested(from, site, position, p) ? site->positions[p].product_count : 0;
    }
    struct model_requirements all = *from;
    all.test_count = 0;
    all.tests = calloc(from->test_count * (products + 1) + 1, sizeof(*all.tests));
    if (all.tests == NULL) {
        return NULL;
    }
    for (size_t i = 0; i < from->test_count; i++) {
        add_tests(&all, &from->tests[i], site, position);
    }
    struct model_requirements *made = model_requirements_copy(&all);
    free(all.tests);
    return made;
}
