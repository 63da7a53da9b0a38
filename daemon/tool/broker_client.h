// A short-lived client of the broker, each of whose steps is waited for within one deadline.
//
// The caller's thread alone. Errors are one sentence in the caller's buffer; the first stays.
#pragma once

#include "model/model.h"

struct broker_client;

struct broker_message {
    const char *topic;
    const char *payload; // length bytes, no NUL
    size_t length;
    bool retained; // it was kept
};

struct broker_client_options {
    const struct model_broker *broker;
    int64_t deadline;   // base_clock_mono_ms; nothing goes on past it
    const char *name;   // the client id; NULL: a random one
    bool anonymous;     // without the login
    uint32_t session_s; // how long the broker keeps the session past the end; 0: none is begun
    const char *will;   // a topic on which the broker says "will" when the client dies; NULL: none
    void (*on_message)(void *user, const struct broker_message *message);
    void *user;
    char *error; // of size bytes
    size_t size;
};

// What the broker said of itself when it let the client in.
struct tool_broker_terms {
    bool session_present;
    bool retains;            // keeps retained messages
    uint8_t maximum_qos;     // 0 to 2
    uint32_t maximum_packet; // bytes; 0: no limit said
};

// A random client id "forelock-tool-…". False: the system gives no random numbers.
#define BROKER_NAME_SIZE 40
bool tool_broker_random_name(char name[BROKER_NAME_SIZE]);

// Connects. The options' texts must outlive the client. NULL: the error says why; refused (may be
// NULL) says whether the broker itself said no.
struct broker_client *tool_broker_open(const struct broker_client_options *options, bool *refused);
struct tool_broker_terms tool_broker_terms(const struct broker_client *client);
// Lets the client work for a moment. False: the link is lost, or the time is up.
bool tool_broker_work(struct broker_client *client);
// Subscribes at QoS 1 and waits for the answer. False: not allowed, or the link is lost.
bool tool_broker_subscribe(struct broker_client *client, const char *filter);
// Lets the client go on until another deadline.
void tool_broker_extend(struct broker_client *client, int64_t deadline);
// Publishes at QoS 1 and waits for the answer, an MQTT reason code (0x10, no subscribers, counts as
// 0). -1: the link is lost or the time is up.
int tool_broker_publish(struct broker_client *client, const char *topic, const char *payload,
                        bool retain);
// Says goodbye and frees. NULL is fine.
void tool_broker_close(struct broker_client *client);
// Dies without a word, so that its will is due, and frees.
void tool_broker_cut(struct broker_client *client);
