// The model's memory, its words, and look-ups with and without the hash.
#include "model/model.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void test_arena(void **state) {
    (void)state;
    struct model *model = model_new();
    assert_non_null(model);
    size_t empty = model_memory(model);
    for (size_t size = 0; size < 20000; size += 777) {
        unsigned char *memory = model_alloc(model, size);
        assert_non_null(memory);
        assert_int_equal((uintptr_t)memory % 8, 0);
        for (size_t i = 0; i < size; i++) {
            assert_int_equal(memory[i], 0);
            memory[i] = 0xee;
        }
    }
    const char *text = model_text(model, "juniper crossing", 7);
    assert_string_equal(text, "juniper");
    assert_non_null(model_text(model, "", 0));
    assert_null(model_array(model, SIZE_MAX / 4, 8));
    assert_null(model_alloc(model, SIZE_MAX));
    assert_true(model_memory(model) > empty + 200000);
    model_free(model);
    model_free(NULL);
}

static void test_ids(void **state) {
    (void)state;
    static const char *const good[] = {"a", "3A", "t-104", "x.y_z-0", "0"};
    static const char *const bad[] = {"", "-a", ".a", "_a", "a b", "a/b", "a+", "#", "\303\244"};
    char longest[MODEL_ID_SIZE];
    for (size_t i = 0; i < sizeof(good) / sizeof(good[0]); i++) {
        assert_true(model_id_valid(good[i], strlen(good[i])));
    }
    for (size_t i = 0; i < sizeof(bad) / sizeof(bad[0]); i++) {
        assert_false(model_id_valid(bad[i], strlen(bad[i])));
    }
    memset(longest, 'a', sizeof(longest));
    assert_true(model_id_valid(longest, 64));
    assert_false(model_id_valid(longest, 65));
    assert_false(model_id_valid("a\0b", 3));
}

static void test_words(void **state) {
    (void)state;
    static const char *const roles[] = {"technician", "supervisor", "manager", "tracker", "viewer"};
    static const char *const groups[] = {"prepare", "relieve", "verify", "work",
                                         "clear",   "finish",  "leave"};
    for (unsigned i = 0; i < 5; i++) {
        assert_int_equal(model_role_of(roles[i]), 1u << i);
        assert_string_equal(model_role_name(1u << i), roles[i]);
    }
    assert_int_equal(model_role_of("Manager"), 0);
    assert_null(model_role_name(3));
    for (int i = 0; i < MODEL_GROUP_COUNT; i++) {
        assert_int_equal(model_group_of(groups[i]), i);
        assert_string_equal(model_group_name((enum model_group)i), groups[i]);
    }
    assert_int_equal(model_group_of("tests"), -1);
    assert_null(model_group_name(MODEL_GROUP_COUNT));
}

#define MANY 500

// A model of one site with MANY points, each with a sensor and a position of its own.
static struct model *make_many(void) {
    struct model *model = model_new();
    assert_non_null(model);
    struct model_site *site = model_array(model, 1, sizeof(*site));
    model->sites = site;
    model->site_count = 1;
    snprintf(site->site, sizeof(site->site), "juniper");
    site->points = model_array(model, MANY, sizeof(*site->points));
    site->sensors = model_array(model, MANY, sizeof(*site->sensors));
    site->positions = model_array(model, MANY, sizeof(*site->positions));
    site->controllers = model_array(model, 2, sizeof(*site->controllers));
    site->controller_count = 2;
    snprintf(site->controllers[1], MODEL_ID_SIZE, "panel-1");
    for (unsigned i = 0; i < MANY; i++) {
        snprintf(site->points[i].point, MODEL_ID_SIZE, "point-%u", i);
        snprintf(site->sensors[i].sensor, MODEL_ID_SIZE, "sensor-%u", i);
        snprintf(site->positions[i].position, MODEL_ID_SIZE, "%uA", i);
    }
    site->point_count = site->sensor_count = site->position_count = MANY;
    return model;
}

static void check_many(const struct model_site *site) {
    for (unsigned i = 0; i < MANY; i++) {
        char id[MODEL_ID_SIZE];
        snprintf(id, sizeof(id), "point-%u", i);
        assert_int_equal(model_point_find(site, id), i);
        assert_int_equal(model_sensor_find(site, id), MODEL_NONE);
        snprintf(id, sizeof(id), "sensor-%u", i);
        assert_int_equal(model_sensor_find(site, id), i);
        snprintf(id, sizeof(id), "%uA", i);
        assert_int_equal(model_position_find(site, id), i);
    }
    assert_int_equal(model_position_find(site, "0B"), MODEL_NONE);
    assert_int_equal(model_point_find(site, ""), MODEL_NONE);
    assert_int_equal(model_controller_find(site, "panel-1"), 1);
    assert_int_equal(model_controller_find(site, "panel-2"), MODEL_NONE);
}

static void test_find(void **state) {
    (void)state;
    struct model *model = make_many();
    check_many(&model->sites[0]);
    assert_true(model_index(model));
    assert_non_null(model->sites[0].point_hash.slots);
    check_many(&model->sites[0]);
    assert_ptr_equal(model_site_find(model, "juniper"), &model->sites[0]);
    assert_null(model_site_find(model, "junipe"));
    model_free(model);
}

static void test_find_in_nothing(void **state) {
    (void)state;
    struct model_site empty = {.site = "empty"};
    struct model model = {.sites = &empty, .site_count = 1};
    assert_int_equal(model_point_find(&empty, "a"), MODEL_NONE);
    assert_null(model_person_find(&model, "a"));
    assert_null(model_instrument_find(&model, "a"));
    assert_null(model_procedure_find(&model, "a"));
    assert_null(model_requirements_find(&model, &empty, "a", 0));
}

static void test_requirements_of_site(void **state) {
    (void)state;
    struct model_requirements plain[] = {{.procedure = "boot"}, {.procedure = "hose"}};
    struct model_requirements more = {.procedure = "hose", .match = true};
    const struct model_requirements *row[] = {&plain[0], &more};
    struct model_site site = {.site = "juniper", .requirements = row};
    struct model model = {
        .sites = &site, .site_count = 1, .procedures = plain, .procedure_count = 2};
    assert_ptr_equal(model_procedure_find(&model, "hose"), &plain[1]);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 0), &more);
    assert_ptr_equal(model_requirements_find(&model, &site, "boot", 0), &plain[0]);
    assert_null(model_requirements_find(&model, &site, "spout", 0));
}

static void test_requirements_of_a_day(void **state) {
    (void)state;
    struct model_requirements plain = {.procedure = "hose"};
    struct model_requirements july = {.procedure = "hose"}, august = {.procedure = "hose"};
    const struct model_requirements *before[] = {&plain}, *first[] = {&july}, *second[] = {&august};
    // Two zones: the second one's days begin 500 ms later.
    int64_t july_from[] = {1000, 1500}, august_from[] = {2000, 2500};
    const struct model_rules rules[] = {{"2026-07-01", july_from, first},
                                        {"2026-08-01", august_from, second}};
    struct model_site site = {
        .site = "juniper", .requirements = before, .rules = rules, .rule_count = 2};
    struct model model = {
        .sites = &site, .site_count = 1, .procedures = &plain, .procedure_count = 1};
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 999), &plain);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 1000), &july);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 1999), &july);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 2000), &august);
    site.zone = 1;
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 1499), &plain);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 2499), &july);
    assert_ptr_equal(model_requirements_find(&model, &site, "hose", 2500), &august);
}

static void test_measure(void **state) {
    (void)state;
    struct model_measure measures[] = {{.measure = "3-psi"}, {.measure = "4-psi"}};
    const struct model_site site = {.site = "juniper", .measures = measures, .measure_count = 2};
    assert_int_equal(model_measure_find(&site, "4-psi"), 1);
    assert_int_equal(model_measure_find(&site, "5-psi"), MODEL_NONE);
}

static void test_people(void **state) {
    (void)state;
    bool at[] = {false, true};
    struct model_site sites[] = {{.index = 0}, {.index = 1}};
    struct model_person person = {.at_site = at, .roles = MODEL_ROLE_MANAGER | MODEL_ROLE_VIEWER};
    assert_false(model_person_of_site(&person, &sites[0]));
    assert_true(model_person_of_site(&person, &sites[1]));
    assert_true(model_person_has(&person, MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR));
    assert_false(model_person_has(&person, MODEL_ROLE_TECHNICIAN));
    struct model_person nowhere = {0};
    assert_false(model_person_of_site(&nowhere, &sites[0])); // unknown is not everywhere
    nowhere.every_site = true;
    assert_true(model_person_of_site(&nowhere, &sites[0]));
}

static void test_until(void **state) {
    (void)state;
    int64_t ends[] = {1000, 2000};
    struct model_until until = {.set = true, .end_ms = ends};
    struct model_until never = {.set = false};
    struct model_site first = {.zone = 0}, second = {.zone = 1};
    assert_true(model_until_valid(&until, &first, 999));
    assert_false(model_until_valid(&until, &first, 1000));
    assert_true(model_until_valid(&until, &second, 1000));
    assert_true(model_until_valid(&never, &first, INT64_MAX));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_arena),
        cmocka_unit_test(test_ids),
        cmocka_unit_test(test_words),
        cmocka_unit_test(test_find),
        cmocka_unit_test(test_find_in_nothing),
        cmocka_unit_test(test_requirements_of_site),
        cmocka_unit_test(test_requirements_of_a_day),
        cmocka_unit_test(test_measure),
        cmocka_unit_test(test_people),
        cmocka_unit_test(test_until),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
