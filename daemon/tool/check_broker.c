// `forelock check --broker`: tries, with the daemon's own login, whether the broker lets the daemon
// do what it must, refuses it what it must not, and keeps what has to be kept.
//
// Everything is tried on names of its own ("forelock-tool-…") that nobody has: a running daemon
// ignores and counts them. The events' topic and the daemon's own are not written to, since
// everybody who listens there would take it for the daemon's word.
#include "tool/check_broker.h"

#include "base/clock.h"
#include "tool/broker_client.h"
#include "tool/text.h"
#include "tool/tool.h"
#include "json/json.h"

#include <inttypes.h>
#include <mqtt_protocol.h>
#include <stdarg.h>
#include <string.h>

#define LOOK_MS 15000
#define WILL_MS 3000
#define KEPT_MS 1000
#define SESSION_S 60
// A message of 64 KiB with its topic and properties.
#define PACKET_LEAST 73728
#define TOPIC_SIZE 512

struct look {
    const struct model *model;
    struct check_broker_findings *findings;
    struct broker_client *client;
    char name[BROKER_NAME_SIZE]; // of what is tried
    char heard[TOPIC_SIZE];      // the topic that is waited for
    bool came, came_retained;
    char error[256];
};

static void find(struct look *look, enum check_broker_verdict verdict, const char *subject,
                 const char *format, ...) __attribute__((format(printf, 4, 5)));

static void find(struct look *look, enum check_broker_verdict verdict, const char *subject,
                 const char *format, ...) {
    struct check_broker_findings *findings = look->findings;
    if (findings->count == CHECK_BROKER_MOST) {
        findings->left_off++;
        return;
    }
    struct check_broker_finding *finding = &findings->items[findings->count++];
    va_list arguments;
    finding->verdict = verdict;
    snprintf(finding->subject, sizeof finding->subject, "%s", subject);
    va_start(arguments, format);
    vsnprintf(finding->say, sizeof finding->say, format, arguments);
    va_end(arguments);
}

static void on_message(void *user, const struct broker_message *message) {
    struct look *look = user;
    if (strcmp(message->topic, look->heard) == 0) {
        look->came = true;
        look->came_retained |= message->retained && message->length > 0;
    }
}

static struct broker_client_options options_of(struct look *look, int64_t deadline) {
    return (struct broker_client_options){.broker = &look->model->broker,
                                          .deadline = deadline,
                                          .on_message = on_message,
                                          .user = look,
                                          .error = look->error,
                                          .size = sizeof look->error};
}

static void topic_of(const struct look *look, const struct model_site *site, const char *kind,
                     char topic[TOPIC_SIZE]) {
    snprintf(topic, TOPIC_SIZE, "%s/%s/%s/%s", look->model->root, site->site, kind, look->name);
}

// Lets the client listen until what it waits for has come, or a time has gone by. False: it lost
// the link.
static bool listen_for(struct broker_client *client, const bool *what, int64_t ms) {
    int64_t until = base_clock_mono_ms() + ms;
    while (!*what && base_clock_mono_ms() < until) {
        if (!tool_broker_work(client)) {
            return false;
        }
    }
    return true;
}

// --- What each rule tries. False: the look cannot go on. ---

// A password in clear is everybody's who can hear the network.
static bool try_cover(struct look *look) {
    const struct model_broker *broker = &look->model->broker;
    bool near = strncmp(broker->host, "127.", 4) == 0 || strcmp(broker->host, "localhost") == 0 ||
                strcmp(broker->host, "::1") == 0;
    if (broker->ca_file == NULL && !near) {
        find(look, CHECK_BROKER_OPEN, broker->host,
             "the connection is in clear, so whoever hears the network can speak as the daemon; "
             "give the broker a ca_file");
    } else {
        find(look, CHECK_BROKER_GOOD, broker->host,
             broker->ca_file != NULL ? "the broker proved who it is (TLS)"
                                     : "the broker is on this machine");
    }
    return true;
}

static bool try_without_name(struct look *look) {
    struct broker_client_options options = options_of(look, base_clock_mono_ms() + KEPT_MS * 3);
    bool refused;
    options.anonymous = true;
    if (look->model->broker.username == NULL && look->model->broker.cert_file == NULL) {
        find(look, CHECK_BROKER_OPEN, "anonymous",
             "the daemon itself comes in without a login, and so can everybody; set "
             "allow_anonymous false and give the daemon a username and a password_file");
        return true;
    }
    struct broker_client *client = tool_broker_open(&options, &refused);
    if (client != NULL) {
        find(look, CHECK_BROKER_OPEN, "anonymous",
             "anybody comes in without a login; set allow_anonymous false");
    } else if (refused) {
        find(look, CHECK_BROKER_GOOD, "anonymous", "nobody comes in without a login");
    } else {
        find(look, CHECK_BROKER_UNTRIED, "anonymous",
             "whether anybody comes in without a login is not known: %s", look->error);
    }
    tool_broker_close(client);
    return true;
}

static bool try_terms(struct look *look) {
    struct tool_broker_terms terms = tool_broker_terms(look->client);
    if (!terms.retains) {
        find(look, CHECK_BROKER_MISSING, "retain",
             "the broker keeps no retained messages; set retain_available true");
    }
    if (terms.maximum_qos < 1) {
        find(look, CHECK_BROKER_MISSING, "QoS",
             "the broker takes QoS 0 alone, so requests can be lost; set max_qos 2");
    }
    if (terms.maximum_packet != 0 && terms.maximum_packet < PACKET_LEAST) {
        find(look, CHECK_BROKER_MISSING, "packet size",
             "the broker takes packets of at most %" PRIu32 " bytes, and a message may be 64 KiB; "
             "set max_packet_size %d",
             terms.maximum_packet, PACKET_LEAST);
    } else {
        find(look, CHECK_BROKER_GOOD, "packet size", "messages of 64 KiB are taken");
    }
    return true;
}

// A session that the broker does not keep loses what was asked while the daemon was away.
static bool try_session(struct look *look) {
    struct broker_client_options options = options_of(look, base_clock_mono_ms() + KEPT_MS * 5);
    options.name = look->name;
    options.session_s = SESSION_S;
    struct broker_client *client = tool_broker_open(&options, NULL);
    if (client == NULL) {
        find(look, CHECK_BROKER_UNTRIED, "session", "a second connection was not possible: %s",
             look->error);
        return true;
    }
    tool_broker_close(client);
    client = tool_broker_open(&options, NULL);
    if (client == NULL || !tool_broker_terms(client).session_present) {
        find(look, CHECK_BROKER_MISSING, "session",
             "the broker forgets a client's session, so what was asked while the daemon is away is "
             "lost; see persistent_client_expiration and use_username_as_clientid");
    } else {
        find(look, CHECK_BROKER_GOOD, "session", "sessions are kept");
    }
    tool_broker_close(client);
    options.session_s = 0; // a clean start ends what was kept
    tool_broker_close(tool_broker_open(&options, NULL));
    return true;
}

// The site's inputs, which the daemon has to hear. A broker may grant what it then does not
// deliver: only the daemon's own hearing proves it.
static bool try_hearing(struct look *look, const struct model_site *site) {
    static const char *const inputs[] = {"request/+/+",  "signal/+",  "tagging/+",
                                         "controller/+", "measure/+", "position/+"};
    char filter[TOPIC_SIZE];
    for (size_t i = 0; i < sizeof inputs / sizeof inputs[0]; i++) {
        snprintf(filter, sizeof filter, "%s/%s/%s", look->model->root, site->site, inputs[i]);
        look->error[0] = '\0';
        if (tool_broker_subscribe(look->client, filter)) {
            continue;
        }
        find(look, CHECK_BROKER_MISSING, filter, "%s", look->error);
        if (!tool_broker_work(look->client)) {
            return false;
        }
    }
    return true;
}

// Says a word and waits until it comes back; false: the look cannot go on. *whole: whether it came.
static bool try_word(struct look *look, bool *whole) {
    char word[BROKER_NAME_SIZE + 32];
    snprintf(word, sizeof word, "{\"boot\":\"%s\",\"n\":0}", look->name);
    look->came = false;
    int reason = tool_broker_publish(look->client, look->heard, word, false);
    if (reason < 0 ||
        (reason < MQTT_RC_UNSPECIFIED && !listen_for(look->client, &look->came, KEPT_MS))) {
        return false;
    }
    if (reason >= MQTT_RC_UNSPECIFIED) {
        find(look, CHECK_BROKER_MISSING, look->heard,
             "the daemon may not write here, and would take its link for down");
    } else if (!look->came) {
        find(
            look, CHECK_BROKER_MISSING, look->heard,
            "what is said here is not delivered to the daemon, which would take its link for down");
    }
    *whole &= look->came;
    return true;
}

// A broker grants subscriptions of which its rules deliver nothing: what the daemon says to itself
// has to come back, of each connection and on each topic. try_hearing has subscribed to the topics.
static bool try_words(struct look *look, const struct model_site *site) {
    static const char *const words[] = {"signal/_pulse", "tagging/_pulse", "request/_pulse/_pulse"};
    bool whole = true;
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++) {
        snprintf(look->heard, sizeof look->heard, "%s/%s/%s", look->model->root, site->site,
                 words[i]);
        if (!try_word(look, &whole)) {
            return false;
        }
    }
    if (whole) {
        find(look, CHECK_BROKER_GOOD, site->site, "the daemon hears what is said on its topics");
    }
    return true;
}

static bool try_pulses(struct look *look) {
    static const char *const names[] = {"durable", "live"};
    bool whole = true;
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        snprintf(look->heard, sizeof look->heard, "%s/daemon/%s/pulse/%s", look->model->root,
                 look->model->instance, names[i]);
        look->error[0] = '\0';
        if (!tool_broker_subscribe(look->client, look->heard)) {
            find(look, CHECK_BROKER_MISSING, look->heard, "%s", look->error);
            whole = false;
            if (!tool_broker_work(look->client)) {
                return false;
            }
        } else if (!try_word(look, &whole)) {
            return false;
        }
    }
    if (whole) {
        find(look, CHECK_BROKER_GOOD, look->model->instance, "the daemon hears its own pulses");
    }
    return true;
}

static bool try_documents(struct look *look, const struct model_site *site) {
    static const char *const documents[] = {"position", "job", "point", "alarm", "reply"};
    char topic[TOPIC_SIZE];
    bool all = true;
    for (size_t i = 0; i < sizeof documents / sizeof documents[0]; i++) {
        topic_of(look, site, documents[i], topic);
        int reason = tool_broker_publish(look->client, topic, "", false);
        if (reason < 0) {
            return false;
        }
        if (reason >= MQTT_RC_UNSPECIFIED) {
            all = false;
            find(look, CHECK_BROKER_MISSING, topic,
                 "the daemon may not write here, so nobody would be told");
        }
    }
    if (all) {
        find(look, CHECK_BROKER_GOOD, site->site, "the daemon may write documents and answers");
    }
    return true;
}

// What the daemon is told by others it must not be able to say itself: a stolen password of the
// daemon would isolate a point that is live.
static bool try_forbidden(struct look *look, const struct model_site *site) {
    static const char *const inputs[] = {"signal", "tagging", "controller", "measure"};
    char topic[TOPIC_SIZE];
    bool all = true;
    for (size_t i = 0; i <= sizeof inputs / sizeof inputs[0]; i++) {
        if (i < sizeof inputs / sizeof inputs[0]) {
            topic_of(look, site, inputs[i], topic);
        } else {
            snprintf(topic, sizeof topic, "%s/%s/request/%s/join-job", look->model->root,
                     site->site, look->name);
        }
        int reason = tool_broker_publish(look->client, topic, "", false);
        if (reason < 0) {
            return false;
        }
        if (reason < MQTT_RC_UNSPECIFIED) {
            all = false;
            find(look, CHECK_BROKER_OPEN, topic,
                 "the daemon's login may write here; let its access rules allow documents, events "
                 "and answers alone");
        }
    }
    if (all) {
        find(look, CHECK_BROKER_GOOD, site->site,
             "the daemon's login can speak for no hardware and no person");
    }
    return true;
}

static bool try_elsewhere(struct look *look) {
    char topics[2][TOPIC_SIZE];
    snprintf(topics[0], TOPIC_SIZE, "%s", look->name);
    snprintf(topics[1], TOPIC_SIZE, "%s/daemon/%s", look->model->root, look->name);
    for (size_t i = 0; i < 2; i++) {
        int reason = tool_broker_publish(look->client, topics[i], "", false);
        if (reason < 0) {
            return false;
        }
        if (reason < MQTT_RC_UNSPECIFIED) {
            find(look, CHECK_BROKER_OPEN, topics[i],
                 i == 0 ? "the daemon's login may write outside its root; it needs no more than "
                          "its own topics"
                        : "the daemon's login may speak in another daemon's name");
        }
    }
    return true;
}

// A document that is told once has to be there for whoever comes later.
static bool try_retained(struct look *look, const struct model_site *site) {
    struct broker_client_options options = options_of(look, base_clock_mono_ms() + KEPT_MS * 5);
    topic_of(look, site, "position", look->heard);
    look->came = look->came_retained = false;
    int reason = tool_broker_publish(look->client, look->heard, "{}", true);
    if (reason != MQTT_RC_SUCCESS) {
        return reason >= 0; // told already
    }
    struct broker_client *late = tool_broker_open(&options, NULL);
    bool good = late != NULL && tool_broker_subscribe(late, look->heard) &&
                listen_for(late, &look->came_retained, KEPT_MS);
    if (!good) {
        find(look, CHECK_BROKER_UNTRIED, look->heard, "%s", look->error);
    } else if (!look->came_retained) {
        find(look, CHECK_BROKER_MISSING, look->heard,
             "a retained document was not kept, or the daemon may not read it, which it needs to "
             "empty those that are no longer true");
    } else {
        find(look, CHECK_BROKER_GOOD, site->site, "retained documents are kept");
    }
    tool_broker_close(late);
    look->error[0] = '\0';
    return tool_broker_publish(look->client, look->heard, "", true) >= 0;
}

// When the daemon dies, its will is what tells the others.
static bool try_will(struct look *look, const struct model_site *site) {
    struct broker_client_options options = options_of(look, base_clock_mono_ms() + KEPT_MS * 3);
    topic_of(look, site, "point", look->heard);
    options.will = look->heard;
    struct broker_client *dying = tool_broker_open(&options, NULL);
    if (dying == NULL) {
        find(look, CHECK_BROKER_UNTRIED, look->heard, "a second connection was not possible: %s",
             look->error);
        look->error[0] = '\0';
        return true;
    }
    look->came = false;
    bool heard = tool_broker_subscribe(look->client, look->heard);
    tool_broker_cut(dying);
    if (!listen_for(look->client, &look->came, heard ? WILL_MS : 1)) {
        return false;
    }
    if (look->came) {
        find(look, CHECK_BROKER_GOOD, site->site, "the will of a daemon that dies is delivered");
    } else {
        find(look, CHECK_BROKER_MISSING, look->heard,
             "the will of a client that died was not delivered: nobody would know that the daemon "
             "is gone");
    }
    return true;
}

static bool try_site(struct look *look, const struct model_site *site) {
    return try_hearing(look, site) && try_words(look, site) && try_documents(look, site) &&
           try_forbidden(look, site) && try_retained(look, site) && try_will(look, site);
}

static bool try_all(struct look *look) {
    bool going = try_cover(look) && try_terms(look) && try_session(look) && try_pulses(look) &&
                 try_elsewhere(look);
    for (size_t i = 0; going && i < look->model->site_count; i++) {
        going = try_site(look, &look->model->sites[i]);
    }
    return going && try_without_name(look);
}

bool tool_check_broker(const struct model *model, struct check_broker_findings *findings,
                       char *error, size_t size) {
    struct look look = {.model = model, .findings = findings};
    memset(findings, 0, sizeof *findings);
    // Sites are tried one behind the other, each with a few seconds of its own.
    int64_t time = LOOK_MS * (1 + (int64_t)model->site_count);
    struct broker_client_options options = options_of(&look, base_clock_mono_ms() + time);
    bool done = tool_broker_random_name(look.name);
    if (!done) {
        snprintf(look.error, sizeof look.error, "the system gives no random numbers");
    }
    if (done) {
        look.client = tool_broker_open(&options, NULL);
        done = look.client != NULL && try_all(&look);
    }
    tool_broker_close(look.client);
    snprintf(error, size, "%s", look.error);
    return done;
}
