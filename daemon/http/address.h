// How much one address may: connections at once, requests a second, wrong tokens a minute. A table
// of bounded size; who has not been seen for longest makes room. Pure.
//
// An IPv6 address stands for its /64, of which one client has as many as it likes. The loopback's
// own 127.0.0.1 and ::1 are not counted: there a proxy speaks for everybody.
#pragma once

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct sockaddr;

#define HTTP_ADDRESS_CONNECTIONS_MAX 256
// Requests: so many at once, and how many of them come back in a second.
#define HTTP_ADDRESS_BURST 1000.0
#define HTTP_ADDRESS_PER_SECOND 500.0
// Wrong tokens in a minute.
#define HTTP_ADDRESS_FAILURES 10.0

struct http_addresses;
struct http_address;

struct http_address_key {
    uint8_t bytes[16];
};

// What an address is counted under: IPv4 as mapped, IPv6 cut to its /64. False: it is not counted.
bool http_address_key(const struct sockaddr *address, struct http_address_key *key);

// Room for so many addresses. seed: a secret, so that nobody can choose where theirs fall. NULL: no
// memory.
struct http_addresses *http_addresses_new(size_t most, uint64_t seed);
void http_addresses_free(struct http_addresses *addresses); // NULL is allowed

// One connection more of an address; http_address_leave takes it back. NULL: it has as many as it
// may, or the table is full of addresses that have some.
struct http_address *http_address_join(struct http_addresses *addresses,
                                       const struct http_address_key *key);
void http_address_leave(struct http_addresses *addresses, struct http_address *address);

// Takes one request of its allowance; now in ms on a clock that never steps back. False: there is
// none left. NULL has no bound.
bool http_address_may_ask(struct http_address *address, int64_t now);
// The same for a wrong token.
bool http_address_may_fail(struct http_address *address, int64_t now);
