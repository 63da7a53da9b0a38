// One delivery over HTTP: what is sent, and what came of it in words. libcurl stays behind this
// header.
//
// Only https (http to this machine, which the configuration sees to); certificates and names are
// verified; no redirect is followed; no proxy, login or cookie comes from the environment; the
// answer's body is thrown away and bounded.
#pragma once

#include "webhook/sign.h"

struct model_webhook;
struct webhook_client; // deliveries under way
struct webhook_post;   // one of them

#define WEBHOOK_CONNECT_MS 5000
#define WEBHOOK_TOTAL_MS 20000

enum webhook_outcome {
    WEBHOOK_TAKEN,     // 2xx
    WEBHOOK_REFUSAL,   // any other answer
    WEBHOOK_GONE,      // 410
    WEBHOOK_NO_ANSWER, // none, or 429, 502, 503, 504
};

// What kept an answer from coming, as far as it tells where to look.
enum webhook_trouble {
    WEBHOOK_TROUBLE_NONE,      // one came
    WEBHOOK_TROUBLE_NAME,      // the name of the host is not known
    WEBHOOK_TROUBLE_AUTHORITY, // its certificate is not to be trusted, or the file of authorities
                               // is bad
    WEBHOOK_TROUBLE_OTHER,
};

struct webhook_result {
    enum webhook_outcome outcome;
    enum webhook_trouble trouble;
    long status;      // of HTTP; 0: no answer
    int64_t after_ms; // how long the receiver asked us to wait; 0
    int64_t took_ms;
    char say[200]; // "answered 503 Service Unavailable", "the connection was refused"
};

// To be called once before anything else of this room, while there is one thread. False: no memory.
bool webhook_library_init(void);

// Deliveries of any number at once. NULL: no memory.
struct webhook_client *webhook_client_new(void);
// Gives up what is under way. NULL is allowed.
void webhook_client_free(struct webhook_client *client);

// Begins a delivery of a body, which is copied. user comes back with the result. False: no memory.
bool webhook_client_post(struct webhook_client *client, const struct model_webhook *hook,
                         const struct webhook_secrets *secrets, const char *id, int64_t unix_s,
                         const char *body, size_t length, void *user);
// Goes on with what is under way, waiting up to wait_ms for something to happen.
void webhook_client_run(struct webhook_client *client, int wait_ms);
// Takes one that has ended; false: none has.
bool webhook_client_ended(struct webhook_client *client, struct webhook_result *result,
                          void **user);
// Ends the wait of webhook_client_run, from any thread.
void webhook_client_wake(struct webhook_client *client);
