// Conditions that the gate is told of, beside readings and requests: the link, the journal, another
// instance at the site, the webhooks.
#include <math.h>
#include <string.h>

#include "gate/alarm.h"
#include "gate/break.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/review.h"
#include "gate/stop.h"

static void follow_everywhere(struct gate *gate, const struct gate_alarm_about *about, bool stands,
                              struct gate_time now) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (stands) {
            gate_alarm_raise(gate, &gate->sites[s], about, false, now);
        } else {
            gate_alarm_clear(gate, &gate->sites[s], about, now);
        }
        gate_review(gate, &gate->sites[s], now);
    }
}

// Rule (3, alarms; R17): An alarm of the link names the connection that is down.
// [link-down-without-a-name]
void gate_link(struct gate *gate, enum gate_connection connection, bool up, struct gate_time now) {
    static const char *const names[GATE_CONNECTION_COUNT] = {GATE_SUBJECT_OF_DURABLE, "live"};
    gate->connected[connection] = up;
    gate->link_up = gate->connected[GATE_DURABLE] && gate->connected[GATE_LIVE];
    const struct gate_args args = {.subject = names[connection]};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LINK_DOWN,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = names[connection],
                                           .sentence = GATE_SAY_ALARM_LINK_DOWN,
                                           .args = &args};
    follow_everywhere(gate, &about, !up, now);
}

static bool has_job(const struct gate_site *site) {
    for (size_t i = 0; i < site->job_count; i++) {
        if (gate_job_stands(site->jobs[i])) {
            return true;
        }
    }
    return false;
}

void gate_outage(struct gate *gate, int64_t since, struct gate_time now) {
    // Since the time that it counted from, the connection was proved.
    bool moved = since == 0 || (gate->outage != 0 && since != gate->outage);
    gate->outage = since;
    for (size_t s = 0; moved && s < gate->model->site_count; s++) {
        gate_outage_moved(gate, &gate->sites[s], now);
    }
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (has_job(&gate->sites[s])) {
            gate_review(gate, &gate->sites[s], now);
        }
    }
}

static bool is_among(const char *subject, const char *const *topics, size_t count) {
    for (size_t i = 0; i < count; i++) {
        if (strcmp(topics[i], subject) == 0) {
            return true;
        }
    }
    return false;
}

static void tell_unheard(struct gate *gate, struct gate_site *site, const char *topic, bool unheard,
                         struct gate_time now) {
    const struct gate_args args = {.subject = topic};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_LINK_DOWN,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = topic,
                                           .sentence = GATE_SAY_ALARM_TOPIC_DOWN,
                                           .args = &args};
    if (unheard) {
        gate_alarm_raise(gate, site, &about, false, now);
    } else {
        gate_alarm_clear(gate, site, &about, now);
    }
}

// Rule (3, topics; R14): A topic on which nothing is delivered is link-down of its site, and the
// alarm names it. [unheard-is-up, unheard-without-alarm]
// Rule (3, topics; R14): A topic that is heard again raises its alarm no longer. [unheard-for-ever]
void gate_unheard(struct gate *gate, uint32_t site_index, const char *const *topics, size_t count,
                  struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    site->unheard = count;
    for (size_t i = 0; i < count; i++) {
        tell_unheard(gate, site, topics[i], true, now);
    }
    for (size_t i = site->alarm_count; i-- > 0;) {
        char subject[GATE_SUBJECT_SIZE];
        memcpy(subject, site->alarms[i].subject, sizeof subject);
        if (site->alarms[i].kind == MODEL_ALARM_LINK_DOWN && strchr(subject, '/') != NULL &&
            !is_among(subject, topics, count)) {
            tell_unheard(gate, site, subject, false, now);
        }
    }
    gate_review(gate, site, now);
}

void gate_journal(struct gate *gate, bool writes, struct gate_time now) {
    gate->journal_up = writes;
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_JOURNAL_DOWN,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = GATE_SUBJECT_OF_DAEMON,
                                           .sentence = GATE_SAY_ALARM_JOURNAL_DOWN};
    follow_everywhere(gate, &about, !writes, now);
}

static bool is_unsaid(const struct gate_alarm *alarm) {
    return alarm != NULL && alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED &&
           alarm->told.sentence != GATE_SAY_ALARM_JOURNAL_ROOM;
}

// What is found changes with everything that is written: the log follows it, the alarm says it once
// and spends no more of a full disk.
// Rule (3, alarms): The alarm says how much room the journal wants, and is the same one.
// [journal-room-unsaid, journal-room-raises]
void gate_journal_room(struct gate *gate, double need, double found, struct gate_time now) {
    const struct gate_args args = {.unit = "MiB",
                                   .has_value = true,
                                   .value = floor(found * 10) / 10,
                                   .has_min = true,
                                   .min = ceil(need * 10) / 10}; // the two never read alike
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_JOURNAL_DOWN,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = GATE_SUBJECT_OF_DAEMON,
                                           .sentence = GATE_SAY_ALARM_JOURNAL_ROOM,
                                           .args = &args};
    for (size_t s = 0; s < gate->model->site_count; s++) {
        if (is_unsaid(gate_alarm_about(&gate->sites[s], &about))) {
            gate_alarm_reword(gate, &gate->sites[s], &about, now);
        }
    }
}

// Rule (5, last paragraph): What ended or stopped holds though the journal did not take it.
// [break-again-ignored]
// Rule (3, Tags): A lock that hung when the point was live does not count for that it was
// forgotten. [break-again-tags-count]
// Rule (5, last paragraph; R5): After a failed check that was forgotten the locks are hung again.
// [break-again-failed-tags-count]
// Rule (5, last paragraph; R17): A further break of a lockout that was broken already holds too.
// [break-again-though-broken]
// Rule (5, last paragraph; R2): So does a break of a job whose return is written all the same.
// [break-again-spares-a-return]
void gate_break_again(struct gate *gate, uint32_t site, const char *job, enum model_code why,
                      uint32_t point, const char *check, struct gate_time now) {
    struct gate_site *at = &gate->sites[site];
    if (point != MODEL_NONE &&
        (why == MODEL_CODE_POINT_LIVE || why == MODEL_CODE_POINT_DISAGREES)) {
        gate_said_live(gate, at, point, now.wall, false, now); // what hung then does not count now
    }
    struct gate_job *found = gate_job_find(at, job);
    if (found == NULL || found->phase == MODEL_PHASE_CANCELLED) {
        return;
    }
    const struct gate_break_cause cause = {why, point, gate_check_of(found, check)};
    if (found->lockout != MODEL_LOCKOUT_BROKEN || !gate_break_is_told(at, found, &cause, now)) {
        gate_break(gate, at, found, &cause, now);
        if (why == MODEL_CODE_CHECK_FAILED) { // of which kind is forgotten with it
            gate_discount_tags_of(gate, at, found, why, now);
        }
        gate_review(gate, at, now);
    }
}

// Rule (4, stop-work; R3): A stop that was told holds though the journal did not take it.
// [stop-again-ignored, stop-again-counts]
// Rule (5, last paragraph; R3, R12): So does one of a job whose end is written all the same.
// [stop-again-spares-the-ended]
void gate_stop_again(struct gate *gate, uint32_t site, const char *job, const char *by,
                     const char *reason, struct gate_time now) {
    struct gate_site *at = &gate->sites[site];
    struct gate_job *found = gate_job_find(at, job);
    bool adds = false;
    if (found != NULL && !gate_stop_stands(at, found, by, reason, &adds)) {
        gate_stop_call(gate, at, found, by, reason, now);
        gate_review(gate, at, now);
    }
}

// Rule (5, last paragraph; R12): Work that was told to have stopped does not go on because the
// journal did not take it. [stopped-again-ignored]
void gate_stopped_again(struct gate *gate, uint32_t site, const char *job, enum model_code why,
                        const char *say, struct gate_time now) {
    struct gate_site *at = &gate->sites[site];
    struct gate_job *found = gate_job_find(at, job);
    if (found != NULL && found->phase == MODEL_PHASE_WORKING) {
        gate_stop_work(gate, at, found, why, say, now);
        gate_review(gate, at, now);
    }
}

void gate_contested(struct gate *gate, uint32_t site, bool contested, struct gate_time now) {
    gate->sites[site].contested = contested;
    gate->sites[site].contest_awaited = 0;
    gate_review(gate, &gate->sites[site], now);
}

// It is about the office's records and closes no gate.
// Rule (3, alarms): A webhook that takes nothing for too long raises an alarm at its sites, and a
// success clears it. [webhook-never-clears]
void gate_webhook(struct gate *gate, uint32_t site, const char *webhook, bool down,
                  struct gate_time now) {
    const struct gate_args args = {.subject = webhook};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_WEBHOOK_DOWN,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = webhook,
                                           .sentence = GATE_SAY_ALARM_WEBHOOK_DOWN,
                                           .args = &args};
    if (down) {
        gate_alarm_raise(gate, &gate->sites[site], &about, false, now);
    } else {
        gate_alarm_clear(gate, &gate->sites[site], &about, now);
    }
}
