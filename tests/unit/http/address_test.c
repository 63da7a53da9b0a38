// The table of addresses: what is counted as one, its bounds, and who makes room.
#include "http/address.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <arpa/inet.h>
#include <string.h>

static bool key_of(const char *text, struct http_address_key *key) {
    struct sockaddr_in v4 = {.sin_family = AF_INET};
    struct sockaddr_in6 v6 = {.sin6_family = AF_INET6};
    if (inet_pton(AF_INET, text, &v4.sin_addr) == 1) {
        return http_address_key((const struct sockaddr *)&v4, key);
    }
    assert_int_equal(inet_pton(AF_INET6, text, &v6.sin6_addr), 1);
    return http_address_key((const struct sockaddr *)&v6, key);
}

static bool are_one(const char *a, const char *b) {
    struct http_address_key x, y;
    assert_true(key_of(a, &x) && key_of(b, &y));
    return memcmp(&x, &y, sizeof x) == 0;
}

static struct http_address_key numbered(uint32_t number) {
    struct http_address_key key = {{0xfd}};
    memcpy(key.bytes + 4, &number, sizeof number);
    return key;
}

static void what_is_one_address(void **state) {
    (void)state;
    assert_true(are_one("192.0.2.1", "192.0.2.1"));
    assert_false(are_one("192.0.2.1", "192.0.2.2"));
    assert_true(are_one("192.0.2.1", "::ffff:192.0.2.1"));
    assert_false(are_one("192.0.2.1", "::ffff:192.0.2.2"));
    assert_true(are_one("2001:db8:0:1::1", "2001:db8:0:1:ffff:ffff:ffff:ffff"));
    assert_false(are_one("2001:db8:0:1::1", "2001:db8:0:2::1"));
}

static void a_proxy_is_not_counted(void **state) {
    (void)state;
    struct http_address_key key;
    struct sockaddr local = {.sa_family = AF_UNIX};
    assert_false(key_of("127.0.0.1", &key));
    assert_false(key_of("::1", &key));
    assert_false(key_of("::ffff:127.0.0.1", &key));
    assert_true(key_of("127.0.0.2", &key));
    assert_false(http_address_key(&local, &key));
    for (int i = 0; i < 100000; i++) {
        assert_true(http_address_may_ask(NULL, 0) && http_address_may_fail(NULL, 0));
    }
}

static void connections_at_once(void **state) {
    (void)state;
    struct http_addresses *addresses = http_addresses_new(4, 7);
    struct http_address_key one = numbered(1), two = numbered(2);
    struct http_address *address = NULL;
    for (int i = 0; i < HTTP_ADDRESS_CONNECTIONS_MAX; i++) {
        address = http_address_join(addresses, &one);
        assert_non_null(address);
    }
    assert_null(http_address_join(addresses, &one));
    assert_non_null(http_address_join(addresses, &two));
    http_address_leave(addresses, address);
    assert_ptr_equal(http_address_join(addresses, &one), address);
    assert_null(http_address_join(addresses, &one));
    http_addresses_free(addresses);
}

static void allowances_come_back(void **state) {
    (void)state;
    struct http_addresses *addresses = http_addresses_new(4, 7);
    struct http_address_key one = numbered(1);
    struct http_address *address = http_address_join(addresses, &one);
    int64_t now = 5000000;
    for (int i = 0; i < (int)HTTP_ADDRESS_BURST; i++) {
        assert_true(http_address_may_ask(address, now));
    }
    assert_false(http_address_may_ask(address, now));
    assert_true(http_address_may_ask(address, now + 2)); // 500 a second
    assert_false(http_address_may_ask(address, now + 2));
    for (int i = 0; i < 10; i++) {
        assert_true(http_address_may_fail(address, now));
    }
    assert_false(http_address_may_fail(address, now));
    assert_false(http_address_may_fail(address, now + 5999));
    assert_true(http_address_may_fail(address, now + 6001));
    http_addresses_free(addresses);
}

// Leaving and coming back does not give a new allowance.
static void it_is_remembered(void **state) {
    (void)state;
    struct http_addresses *addresses = http_addresses_new(4, 7);
    struct http_address_key one = numbered(1);
    struct http_address *address = http_address_join(addresses, &one);
    while (http_address_may_fail(address, 9000000)) {
    }
    http_address_leave(addresses, address);
    address = http_address_join(addresses, &one);
    assert_false(http_address_may_fail(address, 9000000));
    http_addresses_free(addresses);
}

static void a_full_table_forgets_the_longest_away(void **state) {
    (void)state;
    struct http_addresses *addresses = http_addresses_new(4, 7);
    struct http_address *held[4];
    for (uint32_t i = 0; i < 4; i++) {
        struct http_address_key key = numbered(i);
        held[i] = http_address_join(addresses, &key);
        assert_non_null(held[i]);
        while (http_address_may_fail(held[i], 9000000)) {
        }
    }
    struct http_address_key fresh = numbered(9);
    assert_null(http_address_join(addresses, &fresh)); // all of them are here
    http_address_leave(addresses, held[2]);
    http_address_leave(addresses, held[1]);
    struct http_address *came = http_address_join(addresses, &fresh);
    assert_ptr_equal(came, held[2]); // in its place
    assert_true(http_address_may_fail(came, 9000000));
    struct http_address_key still = numbered(1);
    assert_false(http_address_may_fail(http_address_join(addresses, &still), 9000000));
    http_addresses_free(addresses);
}

// More addresses than there is room for, for long: nothing grows, and the chains stay whole.
static void a_flood_of_addresses(void **state) {
    (void)state;
    struct http_addresses *addresses = http_addresses_new(64, 7);
    struct http_address_key stays = numbered(1u << 30);
    struct http_address *kept = http_address_join(addresses, &stays);
    while (http_address_may_fail(kept, 9000000)) {
    }
    for (uint32_t i = 0; i < 100000; i++) {
        struct http_address_key key = numbered(i * 2654435761u);
        struct http_address *address = http_address_join(addresses, &key);
        assert_non_null(address);
        http_address_leave(addresses, address);
    }
    assert_ptr_equal(http_address_join(addresses, &stays), kept);
    assert_false(http_address_may_fail(kept, 9000000));
    http_addresses_free(addresses);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_one_address),
        cmocka_unit_test(a_proxy_is_not_counted),
        cmocka_unit_test(connections_at_once),
        cmocka_unit_test(allowances_come_back),
        cmocka_unit_test(it_is_remembered),
        cmocka_unit_test(a_full_table_forgets_the_longest_away),
        cmocka_unit_test(a_flood_of_addresses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
