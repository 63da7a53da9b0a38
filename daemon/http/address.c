// The table of addresses; see address.h.
#include "http/address.h"

#include <netinet/in.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>

#define NONE UINT32_MAX

// What is left of something that comes back with time.
struct allowance {
    double left;
    int64_t at; // ms
};

struct http_address {
    struct http_address_key key;
    uint32_t connections;
    uint32_t next_hashed;  // of the same bucket
    uint32_t newer, older; // by when a connection of it came last
    struct allowance asks, failures;
};

struct http_addresses {
    uint64_t seed;
    struct http_address *items;
    uint32_t *buckets; // as many as items
    uint32_t count, most;
    uint32_t newest, oldest;
};

bool http_address_key(const struct sockaddr *address, struct http_address_key *key) {
    static const uint8_t mapped[12] = {[10] = 0xff, [11] = 0xff};
    static const uint8_t loopback[4] = {127, 0, 0, 1};
    memset(key, 0, sizeof *key);
    if (address->sa_family == AF_INET) {
        struct sockaddr_in v4;
        memcpy(&v4, address, sizeof v4);
        memcpy(key->bytes, mapped, sizeof mapped);
        memcpy(key->bytes + sizeof mapped, &v4.sin_addr, 4);
    } else if (address->sa_family == AF_INET6) {
        struct sockaddr_in6 v6;
        memcpy(&v6, address, sizeof v6);
        memcpy(key->bytes, &v6.sin6_addr, sizeof key->bytes);
        if (IN6_IS_ADDR_LOOPBACK(&v6.sin6_addr)) {
            return false;
        }
    } else {
        return false;
    }
    if (memcmp(key->bytes, mapped, sizeof mapped) == 0) {
        return memcmp(key->bytes + sizeof mapped, loopback, sizeof loopback) != 0;
    }
    memset(key->bytes + 8, 0, 8);
    return true;
}

struct http_addresses *http_addresses_new(size_t most, uint64_t seed) {
    struct http_addresses *addresses = calloc(1, sizeof *addresses);
    if (addresses == NULL || most == 0 || most >= NONE) {
        free(addresses);
        return NULL;
    }
    *addresses = (struct http_addresses){
        .seed = seed, .most = (uint32_t)most, .newest = NONE, .oldest = NONE};
    addresses->items = calloc(most, sizeof *addresses->items);
    addresses->buckets = malloc(most * sizeof *addresses->buckets);
    if (addresses->items == NULL || addresses->buckets == NULL) {
        http_addresses_free(addresses);
        return NULL;
    }
    memset(addresses->buckets, 0xff, most * sizeof *addresses->buckets);
    return addresses;
}

void http_addresses_free(struct http_addresses *addresses) {
    if (addresses != NULL) {
        free(addresses->items);
        free(addresses->buckets);
        free(addresses);
    }
}

static uint64_t mix(uint64_t x) {
    x = (x ^ (x >> 33)) * 0xff51afd7ed558ccdULL;
    x = (x ^ (x >> 33)) * 0xc4ceb9fe1a85ec53ULL;
    return x ^ (x >> 33);
}

static uint32_t *bucket_of(struct http_addresses *addresses, const struct http_address_key *key) {
    uint64_t half[2];
    memcpy(half, key->bytes, sizeof half);
    uint64_t hash = mix(mix(addresses->seed ^ half[0]) ^ half[1]);
    return &addresses->buckets[hash % addresses->most];
}

static void unlink_age(struct http_addresses *addresses, uint32_t index) {
    struct http_address *items = addresses->items, *one = &items[index];
    *(one->newer != NONE ? &items[one->newer].older : &addresses->newest) = one->older;
    *(one->older != NONE ? &items[one->older].newer : &addresses->oldest) = one->newer;
}

static void link_newest(struct http_addresses *addresses, uint32_t index) {
    struct http_address *items = addresses->items, *one = &items[index];
    one->newer = NONE;
    one->older = addresses->newest;
    *(one->older != NONE ? &items[one->older].newer : &addresses->oldest) = index;
    addresses->newest = index;
}

static uint32_t find(struct http_addresses *addresses, const struct http_address_key *key) {
    uint32_t index = *bucket_of(addresses, key);
    while (index != NONE && memcmp(&addresses->items[index].key, key, sizeof *key) != 0) {
        index = addresses->items[index].next_hashed;
    }
    return index;
}

// Takes the one that was away for longest out of the table. NONE: every one has connections.
static uint32_t evict(struct http_addresses *addresses) {
    uint32_t index = addresses->oldest;
    while (index != NONE && addresses->items[index].connections > 0) {
        index = addresses->items[index].newer;
    }
    if (index == NONE) {
        return NONE;
    }
    uint32_t *at = bucket_of(addresses, &addresses->items[index].key);
    while (*at != index) {
        at = &addresses->items[*at].next_hashed;
    }
    *at = addresses->items[index].next_hashed;
    unlink_age(addresses, index);
    return index;
}

static uint32_t insert(struct http_addresses *addresses, const struct http_address_key *key) {
    uint32_t index = addresses->count < addresses->most ? addresses->count++ : evict(addresses);
    if (index == NONE) {
        return NONE;
    }
    uint32_t *bucket = bucket_of(addresses, key);
    addresses->items[index] = (struct http_address){.key = *key,
                                                    .next_hashed = *bucket,
                                                    .asks.left = HTTP_ADDRESS_BURST,
                                                    .failures.left = HTTP_ADDRESS_FAILURES};
    *bucket = index;
    link_newest(addresses, index);
    return index;
}

struct http_address *http_address_join(struct http_addresses *addresses,
                                       const struct http_address_key *key) {
    uint32_t index = find(addresses, key);
    if (index == NONE) {
        index = insert(addresses, key);
    } else {
        unlink_age(addresses, index);
        link_newest(addresses, index);
    }
    if (index == NONE || addresses->items[index].connections >= HTTP_ADDRESS_CONNECTIONS_MAX) {
        return NULL;
    }
    addresses->items[index].connections++;
    return &addresses->items[index];
}

void http_address_leave(struct http_addresses *addresses, struct http_address *address) {
    uint32_t index = (uint32_t)(address - addresses->items);
    address->connections--;
    unlink_age(addresses, index);
    link_newest(addresses, index);
}

static bool take(struct allowance *allowance, double most, double per_ms, int64_t now) {
    double left = allowance->left + (double)(now - allowance->at) * per_ms;
    allowance->at = now;
    allowance->left = left < most ? left : most;
    if (allowance->left < 1) {
        return false;
    }
    allowance->left--;
    return true;
}

bool http_address_may_ask(struct http_address *address, int64_t now) {
    return address == NULL ||
           take(&address->asks, HTTP_ADDRESS_BURST, HTTP_ADDRESS_PER_SECOND / 1000, now);
}

bool http_address_may_fail(struct http_address *address, int64_t now) {
    return address == NULL ||
           take(&address->failures, HTTP_ADDRESS_FAILURES, HTTP_ADDRESS_FAILURES / 60000, now);
}
