// The pulse: what each connection says to itself once a second. By its coming back the connection
// is proved: what the session had kept has come, what is subscribed to is delivered, and the
// network is alive.
#include "turn/internal.h"

#include <stdio.h>
#include <string.h>

// A pulse that is out for longer than this, with nothing read meanwhile, is a connection that is
// down.
#define LATE_MS 5000
// One that is out for longer than this is told to the gate, which counts from when it was said.
#define OUT_MS 1000

static const char *const names[GATE_CONNECTION_COUNT] = {
    [GATE_DURABLE] = "durable", [GATE_LIVE] = "live"};

// Rule (3, topics; R21): Each connection that is up says its pulse each second. [pulse-unsaid]
static void send(struct turn *turn, enum gate_connection which) {
    struct turn_pulse *pulse = &turn->pulses[which];
    char topic[512];
    snprintf(topic, sizeof topic, "%s/daemon/%s/pulse/%s", turn->model->root, turn->model->instance,
             names[which]);
    if (pulse->up && pulse->out_count < TURN_PULSES_MAX &&
        turn_say(turn, which, topic, which == GATE_DURABLE)) {
        pulse->out[pulse->out_count++] =
            (struct turn_pulse_out){.number = pulse->sent, .at = turn_now(turn).mono};
    }
}

// Rule (3, topics; R21): A connection is down when its oldest pulse is over 5 s old and nothing was
// read on it meanwhile. [pulse-late-unseen, pulse-late-though-read]
static bool is_late(const struct turn_pulse *pulse, struct gate_time now) {
    return pulse->out_count > 0 && now.mono - pulse->out[0].at > LATE_MS &&
           now.mono - pulse->read_at > LATE_MS;
}

// Since when nothing proves it.
// Rule (5, Breaking; R21): An outage counts from its oldest pulse that is out. [outage-from-late]
static int64_t silent_since(const struct turn_pulse *pulse, struct gate_time now) {
    if (!pulse->proved) {
        return pulse->silent;
    }
    bool out = pulse->out_count > 0 && now.mono - pulse->out[0].at >= OUT_MS;
    return out ? pulse->out[0].at : 0;
}

// Tells the gate what has changed of a connection.
static void judge(struct turn *turn, enum gate_connection which) {
    struct turn_pulse *pulse = &turn->pulses[which];
    struct gate_time now = turn_now(turn);
    bool is = pulse->up && pulse->proved && !is_late(pulse, now);
    if (is != turn->connected[which]) {
        turn->connected[which] = is;
        turn->down_told[which] = !is;
        turn_notice(turn, is ? TURN_NOTICE_PROVED : TURN_NOTICE_UNPROVED, names[which]);
        gate_link(turn->gate, which, is, now);
    }
    int64_t silent = which == GATE_DURABLE ? silent_since(pulse, now) : turn->outage;
    if (silent != turn->outage) {
        turn->outage = silent;
        gate_outage(turn->gate, silent, now);
    }
}

void turn_pulse_start(struct turn *turn, int64_t since) {
    for (int i = 0; i < GATE_CONNECTION_COUNT; i++) {
        turn->pulses[i].silent = since;
    }
    turn->outage = since;
}

void turn_pulse_second(struct turn *turn) {
    for (int i = 0; i < GATE_CONNECTION_COUNT; i++) {
        judge(turn, (enum gate_connection)i);
        send(turn, (enum gate_connection)i);
    }
}

// Rule (3, topics; R21): A connection is up only once its first pulse came back.
// [pulse-up-unproved]
void turn_pulse_connection(struct turn *turn, enum gate_connection which, bool up) {
    struct turn_pulse *pulse = &turn->pulses[which];
    int64_t now = turn_now(turn).mono;
    if (!up && pulse->proved) {
        pulse->silent = pulse->out_count > 0 ? pulse->out[0].at : now;
    }
    pulse->up = up;
    pulse->proved = false;
    pulse->out_count = 0;
    pulse->first = pulse->sent + 1;
    pulse->read_at = now;
    judge(turn, which);
    send(turn, which);
}

void turn_read(struct turn *turn, enum gate_connection which) {
    turn->pulses[which].read_at = turn_now(turn).mono;
}

// What came back of what we said: those before it are lost, if they did not.
// Rule (3, topics; R14): What the broker refused is told before anything is permitted on the
// connection. [denied-told-late]
static void take_back(struct turn *turn, enum gate_connection which, uint64_t number) {
    struct turn_pulse *pulse = &turn->pulses[which];
    size_t left = 0;
    for (size_t i = 0; i < pulse->out_count; i++) {
        if (pulse->out[i].number > number) {
            pulse->out[left++] = pulse->out[i];
        }
    }
    pulse->out_count = left;
    bool first = !pulse->proved;
    pulse->proved = true;
    if (first) {
        turn_topics_tell(turn, false);
    }
    judge(turn, which);
    if (first) {
        turn_topics_say(turn, which);
    }
}

// The number of a word of this boot, said on this connection since it came up; 0: of another.
// Rule (3, topics; R11): A pulse of another boot or connection, which the session kept, proves
// nothing. [pulse-of-before]
static uint64_t number_of(const struct turn *turn, enum gate_connection which, const char *payload,
                          size_t length) {
    const struct turn_pulse *pulse = &turn->pulses[which];
    struct json_tape tape = {0};
    struct json_error error;
    int64_t number = 0;
    if (json_scan(&tape, payload, length, &json_message_limits, &error) &&
        json_root(&tape)->kind == JSON_OBJECT) {
        const struct json_node *boot = json_present(&tape, json_root(&tape), "boot");
        const struct json_node *n = json_present(&tape, json_root(&tape), "n");
        if (boot == NULL || !json_equals(&tape, boot, turn->boot) || n == NULL ||
            !json_integer(&tape, n, &number) || number < (int64_t)pulse->first ||
            number > (int64_t)pulse->sent) {
            number = 0;
        }
    }
    json_tape_free(&tape);
    return (uint64_t)number;
}

bool turn_hear_own(struct turn *turn, enum gate_connection which, const char *topic,
                   const char *payload, size_t length) {
    const struct model *model = turn->model;
    char own[512];
    int begun = snprintf(own, sizeof own, "%s/daemon/%s/pulse/%s", model->root, model->instance,
                         names[which]);
    bool is_pulse = begun > 0 && strcmp(topic, own) == 0;
    if (!is_pulse && !turn_topics_is(turn, topic)) {
        return false;
    }
    uint64_t number = number_of(turn, which, payload, length);
    if (number != 0 && is_pulse) {
        take_back(turn, which, number);
    } else if (number != 0) {
        turn_topics_hear(turn, which, topic);
    }
    return true;
}
