// Bearer tokens, cookies, and whether a page of ours asks.
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

static void assert_cookie(const char *header, const char *value) {
    size_t length = 99;
    const char *found = http_cookie(header, &length);
    if (value == NULL) {
        assert_null(found);
        return;
    }
    assert_non_null(found);
    assert_int_equal(length, strlen(value));
    assert_memory_equal(found, value, length);
}

static void our_cookie_among_others(void **state) {
    (void)state;
    assert_cookie("forelock=one", "one");
    assert_cookie("a=b; forelock=one; c=d", "one");
    assert_cookie("a=b;forelock=one ;c=d", "one");
    assert_cookie("  forelock=", "");
    assert_cookie("forelock=a=b", "a=b");
    assert_cookie("forelock=one; forelock=two", "one");
    static const char *const without[] = {
        "", ";;;", "a=forelock=one", "xforelock=one", "forelock", "Forelock=one", "forelocks=one"};
    for (size_t i = 0; i < sizeof without / sizeof without[0]; i++) {
        assert_cookie(without[i], NULL);
    }
    assert_cookie(NULL, NULL);
}

static void a_token_of_a_length(void **state) {
    (void)state;
    assert_ptr_equal(http_authorize_token(&model, "one; x", 3), &people[1]);
    assert_null(http_authorize_token(&model, "one; x", 4));
    assert_null(http_authorize_token(&model, "one", 0));
}

static void where_a_page_is_from(void **state) {
    (void)state;
    static const struct {
        const char *site, *origin, *host;
        bool same;
    } rows[] = {
        {"same-origin", NULL, "a.example", true},
        {"none", NULL, "a.example", true},
        {"same-site", "https://a.example", "a.example", false},
        {"cross-site", "https://a.example", "a.example", false},
        {"", "https://a.example", "a.example", false},
        {NULL, "https://a.example", "a.example", true},
        {NULL, "http://A.example:8080", "a.example:8080", true},
        {NULL, "https://a.example:8080", "a.example", false},
        {NULL, "https://a.example.evil", "a.example", false},
        {NULL, "https://b.example", "a.example", false},
        {NULL, "null", "null", false},
        {NULL, "null", "a.example", false},
        {NULL, "https://", "", false},
        {NULL, "https://a.example", NULL, false},
        {NULL, NULL, "a.example", false},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        assert_int_equal(http_same_origin(rows[i].site, rows[i].origin, rows[i].host),
                         rows[i].same);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {cmocka_unit_test_setup(whose_it_is, set_up),
                                       cmocka_unit_test_setup(nobody, set_up),
                                       cmocka_unit_test_setup(who_has_no_token, set_up),
                                       cmocka_unit_test_setup(too_long, set_up),
                                       cmocka_unit_test(our_cookie_among_others),
                                       cmocka_unit_test_setup(a_token_of_a_length, set_up),
                                       cmocka_unit_test(where_a_page_is_from)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
