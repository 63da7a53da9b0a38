// A short look at what the broker keeps. It publishes nothing and has no will and no session.
#include "tool/broker.h"

#include "base/clock.h"

// Retained messages may follow the answer to a subscription: how long a silence ends them, and how
// long if something is still missing.
#define QUIET_MS 150
#define QUIET_MISSING_MS 1000

struct visit {
    const struct tool_broker_look *look;
    int64_t quiet_from; // of the last message or answer
};

static void on_message(void *user, const struct broker_message *message) {
    struct visit *visit = user;
    visit->quiet_from = base_clock_mono_ms();
    visit->look->on_message(visit->look->user, message->topic, message->payload, message->length);
}

// Whether what was subscribed to has come, as far as that can be told.
static bool is_quiet(const struct visit *visit) {
    int64_t quiet = base_clock_mono_ms() - visit->quiet_from;
    bool all = visit->look->has_all(visit->look->user);
    return quiet >= (all ? QUIET_MS : QUIET_MISSING_MS);
}

static bool read_all(struct visit *visit, struct broker_client *client) {
    const char *filter;
    while ((filter = visit->look->next_filter(visit->look->user)) != NULL) {
        if (!tool_broker_subscribe(client, filter)) {
            return false;
        }
        visit->quiet_from = base_clock_mono_ms();
        while (!is_quiet(visit) && base_clock_mono_ms() < visit->look->deadline) {
            if (!tool_broker_work(client)) {
                return false;
            }
        }
    }
    return true;
}

bool tool_broker_look(const struct tool_broker_look *look, char *error, size_t size) {
    struct visit visit = {.look = look};
    const struct broker_client_options options = {.broker = look->broker,
                                                  .deadline = look->deadline,
                                                  .on_message = on_message,
                                                  .user = &visit,
                                                  .error = error,
                                                  .size = size};
    struct broker_client *client = tool_broker_open(&options, NULL);
    bool done = client != NULL && read_all(&visit, client);
    tool_broker_close(client);
    return done;
}
