// Bearer tokens.
#include "http/authorize.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <openssl/evp.h>
#include <stdio.h>
#include <string.h>

static struct model_person people[3] = {{.person = "a-1"}, {.person = "b-1"}, {.person = "c-1"}};
static const struct model model = {.people = people, .person_count = 3};

static void give(struct model_person *person, const char *token) {
    assert_int_equal(
        EVP_Digest(token, strlen(token), person->token_sha256, NULL, EVP_sha256(), NULL), 1);
    person->has_token = true;
}

static int set_up(void **state) {
    (void)state;
    memset(people[0].token_sha256, 0, 32);
    people[0].has_token = false;
    give(&people[1], "one");
    give(&people[2], "two");
    return 0;
}

static void whose_it_is(void **state) {
    (void)state;
    assert_ptr_equal(http_authorize(&model, "Bearer one"), &people[1]);
    assert_ptr_equal(http_authorize(&model, "Bearer two"), &people[2]);
    assert_ptr_equal(http_authorize(&model, "bearer  two"), &people[2]);
}

static void nobody(void **state) {
    (void)state;
    static const char *const bad[] = {"",
                                      "Bearer",
                                      "Bearer ",
                                      "Bearer three",
                                      "Basic one",
                                      "Bearer one ",
                                      "Bearer onetwo",
                                      "one",
                                      "Bearer\tone",
                                      "Bearer ONE"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_null(http_authorize(&model, bad[i]));
    }
    assert_null(http_authorize(&model, NULL));
}

// Not even one whose hash happens to stand there.
static void who_has_no_token(void **state) {
    (void)state;
    give(&people[0], "zero");
    assert_ptr_equal(http_authorize(&model, "Bearer zero"), &people[0]);
    people[0].has_token = false;
    assert_null(http_authorize(&model, "Bearer zero"));
}

static void too_long(void **state) {
    (void)state;
    char header[7 + 514] = "Bearer ";
    memset(header + 7, 'x', 512);
    give(&people[1], header + 7);
    assert_ptr_equal(http_authorize(&model, header), &people[1]);
    header[7 + 512] = 'x';
    give(&people[1], header + 7);
    assert_null(http_authorize(&model, header));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup(whose_it_is, set_up), cmocka_unit_test_setup(nobody, set_up),
        cmocka_unit_test_setup(who_has_no_token, set_up), cmocka_unit_test_setup(too_long, set_up)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
