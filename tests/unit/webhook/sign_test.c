// Signatures: a vector of the Standard Webhooks libraries, rotation, and files that hold no secret.
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "webhook/sign.h"

#include <openssl/evp.h>
#include <openssl/hmac.h>
#include <stdio.h>
#include <string.h>

// From the README of the reference libraries (github.com/standard-webhooks/standard-webhooks), and
// the same by the npm package standardwebhooks 1.1.1.
static const char id[] = "msg_p5jXN8AQM9LWM0D4loKWxJek";
static const char body[] = "{\"test\": 2432232314}";
#define TIME 1614265330
#define KEY "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
#define SIGNATURE "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="

static void sign(const char *secrets, char signature[WEBHOOK_SIGNATURE_SIZE]) {
    struct webhook_secrets read;
    const char *why = "";
    if (!webhook_secrets_read(secrets, &read, &why)) {
        fail_msg("%s", why);
    }
    assert_true(webhook_sign(&read, id, TIME, body, strlen(body), signature));
}

static void the_published_vector(void **state) {
    char signature[WEBHOOK_SIGNATURE_SIZE];
    (void)state;
    sign(KEY "\n", signature);
    assert_string_equal(signature, SIGNATURE);
    sign("\r\n" KEY "\r\n\n", signature);
    assert_string_equal(signature, SIGNATURE);
}

// By another way through the same mathematics: the key's text itself, and one long message.
static void a_raw_secret(void **state) {
    static const char text[] = "msg_p5jXN8AQM9LWM0D4loKWxJek.1614265330.{\"test\": 2432232314}";
    char signature[WEBHOOK_SIGNATURE_SIZE], expected[WEBHOOK_SIGNATURE_SIZE];
    unsigned char mac[32], spelled[64];
    size_t size = sizeof mac;
    (void)state;
    assert_non_null(EVP_Q_mac(NULL, "HMAC", NULL, "SHA256", NULL, "open sesame", 11,
                              (const unsigned char *)text, strlen(text), mac, sizeof mac, &size));
    EVP_EncodeBlock(spelled, mac, (int)size);
    snprintf(expected, sizeof expected, "v1,%s", (char *)spelled);
    sign("open sesame", signature);
    assert_string_equal(signature, expected);
}

static void one_signature_a_secret_in_their_order(void **state) {
    char both[WEBHOOK_SIGNATURE_SIZE], other[WEBHOOK_SIGNATURE_SIZE];
    char expected[2 * WEBHOOK_SIGNATURE_SIZE];
    (void)state;
    sign("the next one\n", other);
    sign("the next one\n" KEY "\n", both);
    snprintf(expected, sizeof expected, "%s %s", other, SIGNATURE);
    assert_string_equal(both, expected);
}

static void eight_secrets_fit(void **state) {
    char text[256] = "", signature[WEBHOOK_SIGNATURE_SIZE];
    struct webhook_secrets secrets;
    const char *why = "";
    (void)state;
    for (int i = 0; i < 8; i++) {
        snprintf(text + strlen(text), sizeof text - strlen(text), "secret %d\n", i);
    }
    sign(text, signature);
    assert_int_equal(strlen(signature), 8 * 47 + 7);
    snprintf(text + strlen(text), sizeof text - strlen(text), "one more\n");
    assert_false(webhook_secrets_read(text, &secrets, &why));
    assert_string_equal(why, "holds more than 8 secrets");
}

static void another_body_signs_otherwise(void **state) {
    char signature[WEBHOOK_SIGNATURE_SIZE];
    struct webhook_secrets secrets;
    const char *why;
    (void)state;
    assert_true(webhook_secrets_read(KEY, &secrets, &why));
    assert_true(webhook_sign(&secrets, id, TIME, body, strlen(body) - 1, signature));
    assert_string_not_equal(signature, SIGNATURE);
    assert_true(webhook_sign(&secrets, id, TIME + 1, body, strlen(body), signature));
    assert_string_not_equal(signature, SIGNATURE);
}

static void what_is_no_secret(void **state) {
    static const char *const texts[] = {
        "",          "\n\r\n",     "whsec_",          "whsec_*",
        "whsec_abc", "whsec_ab=c", "whsec_ab cd efg", "good\nwhsec_!!!!",
    };
    struct webhook_secrets secrets;
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        const char *why = NULL;
        if (webhook_secrets_read(texts[i], &secrets, &why)) {
            fail_msg("\"%s\" is taken", texts[i]);
        }
        assert_non_null(why);
    }
    char longest[600];
    memset(longest, 'x', sizeof longest);
    longest[512] = '\0';
    const char *why = NULL;
    assert_true(webhook_secrets_read(longest, &secrets, &why));
    longest[512] = 'x';
    longest[513] = '\0';
    assert_false(webhook_secrets_read(longest, &secrets, &why));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_published_vector),
        cmocka_unit_test(a_raw_secret),
        cmocka_unit_test(one_signature_a_secret_in_their_order),
        cmocka_unit_test(eight_secrets_fit),
        cmocka_unit_test(another_body_signs_otherwise),
        cmocka_unit_test(what_is_no_secret),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
