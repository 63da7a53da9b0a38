// The way to the daemon: slow at times, sometimes twice, and both connections drop now and then.
//
// The live one has no session: what is said meanwhile is lost, and on a new subscription the broker
// sends what it kept. The durable one has: what is said meanwhile comes late, and has waited.
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "day.h"

enum kind { KIND_SIGNAL, KIND_CONTROLLER, KIND_TAGGING, KIND_REQUEST, KIND_OWN };

struct message {
    enum kind kind;
    struct network_word word;
    unsigned crew;
    bool http;
    enum day_connection by; // of the daemon's own word: verb is its topic
    char person[MODEL_ID_SIZE], verb[128];
    char body[600];
    bool twice; // it is delivered once more
    bool waited;
};

struct network {
    bool up[DAY_CONNECTIONS];
    int64_t arrives[DAY_CONNECTIONS]; // the last message on its way: the next one comes after it
    struct message **waiting;         // in the session
    size_t waiting_count, waiting_capacity;
    uint64_t tickets;
};

bool network_is_up(const struct day *day, enum day_connection connection) {
    return day->network->up[connection];
}

static int64_t way(struct day *day, enum day_connection connection) {
    int64_t ms = day_chance(day, 200) ? day_between(day, 200, 1500) : day_between(day, 2, 60);
    int64_t after = day->network->arrives[connection] - day->now;
    ms = ms > after ? ms : after;
    day->network->arrives[connection] = day->now + ms;
    return ms;
}

// --- Arriving ---

static void take_request(struct day *day, const struct message *m) {
    const struct wire_request_in request = {.person = m->person,
                                            .verb = m->verb,
                                            .body = m->body,
                                            .length = strlen(m->body),
                                            .waited = m->waited,
                                            // So that the answer finds its way, each has a ticket.
                                            .ticket = (uint64_t)m->crew + 1};
    if (!m->http) {
        turn_delivered(day->turn);
    }
    if (!turn_submit_request(day->turn, &request)) {
        day_end_with("a request was not taken");
    }
}

static void take_tagging(struct day *day, const struct message *m) {
    struct turn_tagging event = {.point = m->word.index, .tagging = m->word.tagging};
    event.tagging.person = m->word.person;
    event.tagging.waited = m->waited;
    turn_delivered(day->turn);
    if (!turn_submit_tagging(day->turn, &event)) {
        day_end_with("a tag event was not taken");
    }
}

static const enum gate_connection connections[] = {
    [DAY_LIVE] = GATE_LIVE, [DAY_DURABLE] = GATE_DURABLE};

static enum day_connection way_of(const struct message *m) {
    bool live = m->kind == KIND_SIGNAL || m->kind == KIND_CONTROLLER;
    return m->kind == KIND_OWN ? m->by : live ? DAY_LIVE : DAY_DURABLE;
}

static void take(struct day *day, const struct message *m) {
    if (!m->http) {
        turn_read(day->turn, connections[way_of(m)]);
    }
    switch (m->kind) {
    case KIND_SIGNAL:
        gate_hear(turn_gate(day->turn), 0, m->word.index, &m->word.reading, turn_now(day->turn));
        turn_heard(day->turn);
        break;
    case KIND_CONTROLLER:
        gate_hear_controller(turn_gate(day->turn), 0, m->word.index, m->word.online,
                             turn_now(day->turn));
        turn_heard(day->turn);
        break;
    case KIND_TAGGING:
        take_tagging(day, m);
        break;
    case KIND_REQUEST:
        take_request(day, m);
        break;
    case KIND_OWN:
        turn_hear_own(day->turn, connections[m->by], m->verb, m->body, strlen(m->body));
        break;
    }
}

static void wait_in_session(struct network *n, struct message *m) {
    if (n->waiting_count == n->waiting_capacity) {
        n->waiting_capacity = n->waiting_capacity == 0 ? 64 : 2 * n->waiting_capacity;
        n->waiting = realloc(n->waiting, n->waiting_capacity * sizeof(struct message *));
        if (n->waiting == NULL) {
            day_end_with("out of memory");
        }
    }
    n->waiting[n->waiting_count++] = m;
}

static void arrive(struct day *day, int64_t number) {
    struct message *m = (struct message *)(uintptr_t)number;
    bool live = way_of(m) == DAY_LIVE;
    bool there = m->http ? day->turn != NULL : day->network->up[way_of(m)] && day->turn != NULL;
    if (!there && live) {
        books_count(day, "words lost with the connection");
        free(m);
    } else if (!there && m->http) { // the page asks again
        day_later(day, day_between(day, 500, 3000), arrive, number);
    } else if (!there) {
        wait_in_session(day->network, m);
    } else {
        take(day, m);
        bool twice = m->twice;
        m->twice = false;
        if (twice) {
            books_count(day, "messages delivered twice");
            day_later(day, day_between(day, 1, 3000), arrive, number);
        } else {
            free(m);
        }
    }
}

static struct message *message_new(struct day *day, enum kind kind, uint32_t twice_in) {
    struct message *m = calloc(1, sizeof *m);
    if (m == NULL) {
        day_end_with("out of memory");
    }
    m->kind = kind;
    m->twice = day_chance(day, twice_in);
    return m;
}

static void send(struct day *day, struct message *m, enum day_connection connection) {
    day_later(day, way(day, connection), arrive, (int64_t)(uintptr_t)m);
}

void network_signal(struct day *day, const struct network_word *word) {
    struct message *m = message_new(day, KIND_SIGNAL, 500);
    m->word = *word;
    // A word that carries neither time nor number cannot be told from a new one.
    m->twice = m->twice && word->reading.has_at;
    books_count(day, "signals");
    send(day, m, DAY_LIVE);
}

void network_controller(struct day *day, const struct network_word *word) {
    struct message *m = message_new(day, KIND_CONTROLLER, 500);
    m->word = *word;
    send(day, m, DAY_LIVE);
}

void network_tagging(struct day *day, const struct network_word *word) {
    struct message *m = message_new(day, KIND_TAGGING, 20);
    m->word = *word;
    books_count(day, "events of readers");
    send(day, m, DAY_DURABLE);
}

bool network_say(struct day *day, enum day_connection connection, const char *topic,
                 const char *payload) {
    if (!day->network->up[connection]) {
        return false;
    }
    struct message *m = message_new(day, KIND_OWN, 500);
    m->by = connection;
    snprintf(m->verb, sizeof m->verb, "%s", topic);
    snprintf(m->body, sizeof m->body, "%s", payload);
    books_count(day, "words of the daemon to itself");
    send(day, m, connection);
    return true;
}

void network_request(struct day *day, unsigned crew, const char *person, const char *verb,
                     const char *body, bool http) {
    struct message *m = message_new(day, KIND_REQUEST, 100);
    m->crew = crew;
    m->http = http;
    snprintf(m->person, sizeof m->person, "%s", person);
    snprintf(m->verb, sizeof m->verb, "%s", verb);
    snprintf(m->body, sizeof m->body, "%s", body);
    // A phone sleeps between the tap and the sending.
    int64_t sleeps = day_chance(day, 60) ? day_between(day, 20000, 300000) : 0;
    if (sleeps > 0) {
        books_count(day, "phones that slept");
    }
    day_later(day, sleeps + (http ? day_between(day, 5, 80) : way(day, DAY_DURABLE)), arrive,
              (int64_t)(uintptr_t)m);
}

// --- The connections ---

static void come_up(struct day *day, int64_t connection) {
    struct network *n = day->network;
    if (day->turn == NULL || n->up[connection]) {
        return;
    }
    n->up[connection] = true;
    if (connection == DAY_LIVE) {
        turn_subscribed(day->turn);
        site_kept(day);
        turn_connection(day->turn, GATE_LIVE, true, false);
        return;
    }
    turn_connection(day->turn, GATE_DURABLE, true, true);
    struct message **waiting = n->waiting;
    size_t count = n->waiting_count;
    n->waiting = NULL;
    n->waiting_count = n->waiting_capacity = 0;
    for (size_t i = 0; i < count; i++) {
        waiting[i]->waited = true;
        take(day, waiting[i]);
        free(waiting[i]);
    }
    free(waiting);
}

static void drop(struct day *day, int64_t connection) {
    struct network *n = day->network;
    if (day->turn != NULL && n->up[connection]) {
        n->up[connection] = false;
        books_count(day, connection == DAY_LIVE ? "reconnects of the live connection"
                                                : "reconnects of the durable connection");
        books_outage(day, (enum day_connection)connection);
        turn_connection(day->turn, connections[connection], false, false);
        day_later(day, day_between(day, 300, 4000), come_up, connection);
    }
    day_later(day, day_between(day, 900000, 2700000), drop, connection);
}

void network_new(struct day *day) {
    day->network = calloc(1, sizeof *day->network);
    if (day->network == NULL) {
        day_end_with("out of memory");
    }
    for (int64_t c = 0; c < DAY_CONNECTIONS; c++) {
        day_later(day, day_between(day, 900000, 2700000), drop, c);
    }
}

void network_free(struct day *day) {
    for (size_t i = 0; i < day->network->waiting_count; i++) {
        free(day->network->waiting[i]);
    }
    free(day->network->waiting);
    free(day->network);
}

void network_up(struct day *day) {
    for (int64_t c = 0; c < DAY_CONNECTIONS; c++) {
        day_later(day, day_between(day, 20, 300), come_up, c);
    }
}

void network_lost(struct day *day) {
    day->network->up[DAY_DURABLE] = day->network->up[DAY_LIVE] = false;
}
