// Alarms with the states of ISA-18.2: raised, acknowledged, returned; acknowledged and returned is
// gone.
#include "gate/alarm.h"

#include <string.h>

#include "gate/emit.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/review.h"
#include "gate/text.h"

static const char *point_id(const struct gate_site *site, uint32_t point) {
    return point != MODEL_NONE ? site->model->points[point].point : "";
}

// A lockout is broken for a job, wherever; the others stand for one point, tag or condition each.
static struct gate_alarm *find_about(const struct gate_site *site,
                                     const struct gate_alarm_about *about) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        struct gate_alarm *alarm = &site->alarms[i];
        bool place = about->kind == MODEL_ALARM_LOCKOUT_BROKEN ||
                     strcmp(alarm->point, point_id(site, about->point)) == 0;
        if (alarm->kind == about->kind && place && gate_same(alarm->person, about->person) &&
            gate_same(alarm->job, about->job != NULL ? about->job->job : "")) {
            return alarm;
        }
    }
    return NULL;
}

// Rule (3, alarms): A condition that goes on raises its alarm once. [alarm-repeats]
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now) {
    const struct gate_alarm *stands = find_about(site, about);
    if (stands != NULL && (stands->state == MODEL_ALARM_UNACKNOWLEDGED ||
                           (stands->state == MODEL_ALARM_ACKNOWLEDGED && !again))) {
        return;
    }
    char id[MODEL_ID_SIZE];
    gate_text(id, sizeof id, "a%llu", (unsigned long long)site->alarms_raised + 1);
    if (stands != NULL) {
        gate_id_copy(id, stands->alarm);
    }
    struct gate_fact fact =
        about->job != NULL ? gate_fact_of_job(gate, site, about->job, GATE_FACT_ALARM_RAISED, now)
        : about->point != MODEL_NONE
            ? gate_fact_of_point(gate, site, about->point, GATE_FACT_ALARM_RAISED, now)
            : gate_fact_new(gate, site, GATE_FACT_ALARM_RAISED, now);
    fact.alarm = id;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = about->kind;
    fact.alarm_state = MODEL_ALARM_UNACKNOWLEDGED;
    fact.position =
        about->position != MODEL_NONE ? site->model->positions[about->position].position : NULL;
    fact.point = about->point != MODEL_NONE ? point_id(site, about->point) : NULL;
    fact.person = about->person;
    fact.has_why = about->has_why;
    fact.why = about->why;
    fact.say = about->say;
    gate_emit(gate, &fact);
}

// Rule (3, alarms; ISA-18.2 [S]): An alarm that returns unacknowledged waits to be acknowledged.
// [alarm-gone-unseen]
// Rule (3, alarms; ISA-18.2 [S]): Acknowledged and returned is gone. [alarm-never-gone]
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now) {
    const struct gate_alarm *alarm = find_about(site, about);
    if (alarm == NULL || alarm->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
        return;
    }
    struct gate_alarm copy = *alarm;
    struct gate_fact fact = gate_fact_new(gate, site, GATE_FACT_ALARM_CLEARED, now);
    fact.alarm = copy.alarm;
    fact.job = copy.job[0] != '\0' ? copy.job : NULL;
    fact.point = copy.point[0] != '\0' ? copy.point : NULL;
    fact.position =
        copy.position != MODEL_NONE ? site->model->positions[copy.position].position : NULL;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = copy.kind;
    fact.alarm_state = copy.state == MODEL_ALARM_ACKNOWLEDGED ? MODEL_ALARM_GONE
                                                              : MODEL_ALARM_RETURNED_UNACKNOWLEDGED;
    gate_emit(gate, &fact);
}

// Holds an alarm to a condition: raised when it comes, cleared when it goes.
static void follow(struct gate *gate, struct gate_site *site, const struct gate_alarm_about *about,
                   bool stands, struct gate_time now) {
    if (stands) {
        gate_alarm_raise(gate, site, about, false, now);
    } else {
        gate_alarm_clear(gate, site, about, now);
    }
}

// A point that isolates only this position reads live while the position is untested and no job
// works on it, or while that job is set aside: the position can dispense.
// Rule (3, alarms): A point that isolates only an untested position and reads live raises an alarm.
// [left-live-untested]
// Rule (3, alarms): A point that isolates only a position whose job is set aside and reads live
// raises an alarm. [left-live-set-aside]
static bool is_left_live(const struct gate_site *site, uint32_t point) {
    const struct model_point *model = &site->model->points[point];
    if (site->points[point].state != MODEL_POINT_LIVE) {
        return false;
    }
    const struct gate_job *job = gate_job_covering(site, model->isolates[0]);
    return job != NULL ? job->set_aside : site->positions[model->isolates[0]].untested_count > 0;
}

// Rule (3, alarms; 4, set-aside): A point of several positions is not left live: the dispenser may
// be powered again. [left-live-shared]
static void review_left_live(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        const struct model_point *model = &site->model->points[p];
        if (model->isolates_count != 1) {
            continue;
        }
        char say[240];
        gate_text(say, sizeof say,
                  "%s reads LIVE, and %s was repaired and not tested. It can dispense: isolate it.",
                  model->title, site->model->positions[model->isolates[0]].title);
        struct gate_alarm_about about = {.kind = MODEL_ALARM_LEFT_LIVE,
                                         .position = model->isolates[0],
                                         .point = p,
                                         .has_why = true,
                                         .why = MODEL_CODE_POINT_LIVE,
                                         .say = say};
        follow(gate, site, &about, is_left_live(site, p), now);
    }
}

static const struct gate_tag *tag_of_alarm(const struct gate_site *site,
                                           const struct gate_alarm *alarm) {
    uint32_t point = model_point_find(site->model, alarm->point);
    return point != MODEL_NONE ? gate_tag_find(site, point, alarm->job, alarm->person) : NULL;
}

// Rule (3, alarms): A tag that has hung for over 12 h raises an alarm. [tag-left-forgotten]
static bool is_left(const struct gate_tag *tag, struct gate_time now) {
    return now.mono - tag->since.mono > GATE_TAG_LEFT_MS;
}

static void raise_tag_left(struct gate *gate, struct gate_site *site, uint32_t point, size_t index,
                           struct gate_time now) {
    const struct gate_tag tag = site->points[point].tags[index];
    const char *who = tag.person[0] != '\0' ? tag.person : tag.badge;
    const struct gate_job *job = gate_job_find(site, tag.job);
    char say[240];
    gate_text(say, sizeof say, "The lock of %s has hung on %s for over 12 hours.", who,
              site->model->points[point].title);
    const struct model_point *model = &site->model->points[point];
    uint32_t alone = model->isolates_count == 1 ? model->isolates[0] : MODEL_NONE;
    struct gate_alarm_about about = {.kind = MODEL_ALARM_TAG_LEFT,
                                     .job = job,
                                     .position = job != NULL ? job->position : alone,
                                     .point = point,
                                     .person = who,
                                     .has_why = true,
                                     .why = MODEL_CODE_TAG_HUNG,
                                     .say = say};
    gate_alarm_raise(gate, site, &about, false, now);
}

// Rule (3, alarms): The moment at which a tag is left hanging is waited for. [tag-left-not-due]
static void review_tags_left(struct gate *gate, struct gate_site *site, struct gate_time now,
                             int64_t *next) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].tag_count; i++) {
            int64_t due = site->points[p].tags[i].since.mono + GATE_TAG_LEFT_MS + 1;
            if (is_left(&site->points[p].tags[i], now)) {
                raise_tag_left(gate, site, p, i, now);
            } else if (due < *next) {
                *next = due;
            }
        }
    }
    for (size_t i = site->alarm_count; i-- > 0;) {
        const struct gate_alarm copy = site->alarms[i];
        const struct gate_tag *tag =
            copy.kind == MODEL_ALARM_TAG_LEFT ? tag_of_alarm(site, &copy) : NULL;
        if (copy.kind == MODEL_ALARM_TAG_LEFT && (tag == NULL || !is_left(tag, now))) {
            struct gate_alarm_about about = {.kind = MODEL_ALARM_TAG_LEFT,
                                             .job = gate_job_find(site, copy.job),
                                             .point = model_point_find(site->model, copy.point),
                                             .person = copy.person};
            gate_alarm_clear(gate, site, &about, now);
        }
    }
}

void gate_review_alarms(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next) {
    review_left_live(gate, site, now);
    review_tags_left(gate, site, now, next);
    struct gate_alarm_about clock = {
        .kind = MODEL_ALARM_CLOCK,
        .position = MODEL_NONE,
        .point = MODEL_NONE,
        .has_why = true,
        .why = MODEL_CODE_POINT_UNKNOWN,
        .say = "The daemon's clock and the hardware's disagree: readings cannot be trusted."};
    follow(gate, site, &clock, site->clock_skew_count > 0, now);
    struct gate_alarm_about contested = {
        .kind = MODEL_ALARM_SITE_CONTESTED,
        .position = MODEL_NONE,
        .point = MODEL_NONE,
        .has_why = true,
        .why = MODEL_CODE_SITE_CONTESTED,
        .say = "Another daemon says that it serves this site: nothing is permitted here."};
    follow(gate, site, &contested, site->contested, now);
}
