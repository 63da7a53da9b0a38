// Alarms with the states of ISA-18.2: raised, acknowledged, returned; acknowledged and returned is
// gone.
#include "gate/alarm.h"

#include <string.h>

#include "gate/emit.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/lockout.h"
#include "gate/own_clock.h"
#include "gate/review.h"
#include "gate/text.h"

// The same cause that comes back sooner is the same raising of the alarm (contract, section 3).
#define AWAY_MS 5000

static const char *point_id(const struct gate_site *site, uint32_t point) {
    return point != MODEL_NONE ? site->model->points[point].point : "";
}

// Rule (3, alarms; R17): Each kind has its own marks by which two of it are told apart.
// [alarm-told-apart-by-kind]
struct gate_alarm *gate_alarm_about(const struct gate_site *site,
                                    const struct gate_alarm_about *about) {
    unsigned marks = gate_alarm_row(about->kind, about->subject)->told_by;
    for (size_t i = 0; i < site->alarm_count; i++) {
        struct gate_alarm *alarm = &site->alarms[i];
        const char *job = about->job != NULL ? about->job->job : "";
        if (alarm->kind == about->kind &&
            ((marks & GATE_ALARM_BY_JOB) == 0 || gate_same(alarm->job, job)) &&
            ((marks & GATE_ALARM_BY_POINT) == 0 ||
             gate_same(alarm->point, point_id(site, about->point))) &&
            ((marks & GATE_ALARM_BY_SUBJECT) == 0 || gate_same(alarm->subject, about->subject)) &&
            ((marks & GATE_ALARM_BY_DOER) == 0 || gate_same(alarm->by, about->by))) {
            return alarm;
        }
    }
    return NULL;
}

// Rule (3, alarms; R17): The same that comes back within 5 s is the same alarm still.
// [alarm-flutter-counts]
static uint32_t next_count(const struct gate_alarm *stands, bool again, struct gate_time now) {
    if (stands == NULL) {
        return 1;
    }
    bool same = !again && now.mono - stands->returned.mono < AWAY_MS;
    return stands->count + (same ? 0 : 1);
}

static struct gate_fact fact_about(struct gate *gate, const struct gate_site *site,
                                   const struct gate_alarm_about *about, struct gate_time now) {
    enum gate_fact_type type = GATE_FACT_ALARM_RAISED;
    return about->job != NULL           ? gate_fact_of_job(gate, site, about->job, type, now)
           : about->point != MODEL_NONE ? gate_fact_of_point(gate, site, about->point, type, now)
                                        : gate_fact_new(gate, site, type, now);
}

// stands: the alarm as it is so far, or NULL.
static void emit_raised(struct gate *gate, struct gate_site *site,
                        const struct gate_alarm_about *about, const struct gate_alarm *stands,
                        uint32_t count, struct gate_time now) {
    const struct gate_alarm_row *row = gate_alarm_row(about->kind, about->subject);
    char id[MODEL_ID_SIZE];
    gate_text(id, sizeof id, "a%llu", (unsigned long long)site->alarms_raised + 1);
    if (stands != NULL) {
        gate_id_copy(id, stands->alarm);
    }
    struct gate_refusal told;
    if (about->told != NULL) {
        told = *about->told;
    } else {
        gate_alarm_say_make(&told, about->sentence, about->args);
    }
    struct gate_fact fact = fact_about(gate, site, about, now);
    fact.alarm = id;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = about->kind;
    fact.alarm_state = MODEL_ALARM_UNACKNOWLEDGED;
    fact.position =
        about->position != MODEL_NONE ? site->model->positions[about->position].position : NULL;
    fact.point = about->point != MODEL_NONE ? point_id(site, about->point) : NULL;
    fact.subject = about->subject;
    fact.person = row->about == GATE_SUBJECT_PERSON ? about->subject : NULL;
    fact.by = about->by;
    fact.has_why = row->has_why || about->has_why;
    fact.why = row->has_why ? row->why : about->why;
    fact.count = count;
    fact.say = told.say;
    fact.args = &told;
    gate_emit(gate, &fact);
}

// Rule (3, alarms): A condition that goes on raises its alarm once. [alarm-repeats]
// Rule (3, alarms; R17): A further cause raises an alarm again, also one that nobody has
// acknowledged. [alarm-further-cause-unheard]
void gate_alarm_raise(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, bool again, struct gate_time now) {
    const struct gate_alarm *stands = gate_alarm_about(site, about);
    if (stands == NULL || stands->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED || again) {
        emit_raised(gate, site, about, stands, next_count(stands, again, now), now);
    }
}

void gate_alarm_reword(struct gate *gate, struct gate_site *site,
                       const struct gate_alarm_about *about, struct gate_time now) {
    const struct gate_alarm *stands = gate_alarm_about(site, about);
    if (stands != NULL) {
        emit_raised(gate, site, about, stands, stands->count, now);
    }
}

// A fact of what becomes of an alarm; alarm must outlive it.
static struct gate_fact fact_of(struct gate *gate, const struct gate_site *site,
                                const struct gate_alarm *alarm, enum gate_fact_type type,
                                struct gate_time now) {
    struct gate_fact fact = gate_fact_new(gate, site, type, now);
    fact.alarm = alarm->alarm;
    fact.job = alarm->job[0] != '\0' ? alarm->job : NULL;
    fact.point = alarm->point[0] != '\0' ? alarm->point : NULL;
    fact.position =
        alarm->position != MODEL_NONE ? site->model->positions[alarm->position].position : NULL;
    fact.has_kind = fact.has_alarm_state = true;
    fact.kind = alarm->kind;
    return fact;
}

// Rule (3, alarms; ISA-18.2 [S]): An alarm that returns unacknowledged waits to be acknowledged.
// [alarm-gone-unseen]
// Rule (3, alarms; ISA-18.2 [S]): Acknowledged and returned is gone. [alarm-never-gone]
void gate_alarm_clear(struct gate *gate, struct gate_site *site,
                      const struct gate_alarm_about *about, struct gate_time now) {
    const struct gate_alarm *alarm = gate_alarm_about(site, about);
    if (alarm == NULL || alarm->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
        return;
    }
    struct gate_alarm copy = *alarm;
    struct gate_fact fact = fact_of(gate, site, &copy, GATE_FACT_ALARM_CLEARED, now);
    fact.alarm_state = copy.state == MODEL_ALARM_ACKNOWLEDGED ? MODEL_ALARM_GONE
                                                              : MODEL_ALARM_RETURNED_UNACKNOWLEDGED;
    gate_emit(gate, &fact);
}

// Rule (3, alarms; R17): An alarm of what happened is gone once it is acknowledged.
// [alarm-of-what-happened-stays]
void gate_alarm_acknowledge(struct gate *gate, struct gate_site *site,
                            const struct gate_alarm *alarm, const char *by, const char *note,
                            struct gate_time now) {
    struct gate_alarm copy = *alarm;
    bool over = copy.state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED ||
                gate_alarm_row(copy.kind, copy.subject)->happened;
    struct gate_fact fact = fact_of(gate, site, &copy, GATE_FACT_ALARM_ACKNOWLEDGED, now);
    fact.by = by;
    fact.note = note;
    fact.alarm_state = over ? MODEL_ALARM_GONE : MODEL_ALARM_ACKNOWLEDGED;
    gate_emit(gate, &fact);
}

// Rule (3, alarms; R17): Alarms of one point are one group. [alarm-group-by-alarm]
void gate_alarm_group(const struct gate_alarm *alarm, char *buffer, size_t size) {
    static const char *const of[] = {
        [GATE_SUBJECT_SENSOR] = "sensor", [GATE_SUBJECT_CONNECTION] = "connection",
        [GATE_SUBJECT_PERSON] = "person", [GATE_SUBJECT_WEBHOOK] = "webhook",
        [GATE_SUBJECT_DAEMON] = "daemon", [GATE_SUBJECT_NONE] = "job",
    };
    enum gate_alarm_subject about = gate_alarm_row(alarm->kind, alarm->subject)->about;
    if (about == GATE_SUBJECT_DAEMON) {
        gate_text(buffer, size, "daemon");
    } else if (about != GATE_SUBJECT_NONE && alarm->subject[0] != '\0') {
        gate_text(buffer, size, "%s/%s", of[about], alarm->subject);
    } else if (alarm->point[0] != '\0') {
        gate_text(buffer, size, "point/%s", alarm->point);
    } else {
        gate_text(buffer, size, "job/%s", alarm->job);
    }
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

// Whether a position was repaired and is left half done, with nobody at work on it. *due is lowered
// to when a rework becomes that.
// Rule (3, alarms; R10): A position that is untested without a job is left. [left-live-untested]
// Rule (3, alarms; R10): So is one whose job is back in open after work was started.
// [left-live-open]
// Rule (3, alarms): After rework there are 5 min to isolate again. [left-live-at-the-rework]
// Rule (3, alarms): The moment at which a rework is left is waited for. [left-live-not-due]
static bool is_left_undone(const struct gate_site *site, uint32_t position,
                           const struct gate_job *job, struct gate_time now, int64_t *due) {
    if (job == NULL) {
        return site->positions[position].untested_count > 0;
    }
    if (job->phase != MODEL_PHASE_OPEN || !job->started) {
        return false;
    }
    int64_t from = job->since.mono + GATE_REWORK_MS + 1;
    if (!job->set_aside && from > now.mono) {
        *due = from < *due ? from : *due;
        return false;
    }
    return true;
}

static bool is_made_safe(const struct gate_site *site, uint32_t position,
                         const struct gate_job *job, struct gate_time now) {
    return job != NULL ? gate_group_signed(job, MODEL_GROUP_LEAVE, now)
                       : !site->positions[position].left_unsafe;
}

// The first position that a live point leaves live; MODEL_NONE: none.
// Rule (3, alarms; 4, set-aside): Once it was made safe a point of several positions may be live:
// the dispenser is powered again. [left-live-shared]
// Rule (3, alarms; R10): Until then a point of several positions is left live as well.
// [left-live-alone]
static uint32_t left_live_at(const struct gate_site *site, uint32_t point, struct gate_time now,
                             int64_t *due) {
    const struct model_point *model = &site->model->points[point];
    for (size_t i = 0; site->points[point].state == MODEL_POINT_LIVE && i < model->isolates_count;
         i++) {
        uint32_t position = model->isolates[i];
        const struct gate_job *job = gate_job_covering(site, position);
        if (is_left_undone(site, position, job, now, due) &&
            (model->isolates_count == 1 || !is_made_safe(site, position, job, now))) {
            return position;
        }
    }
    return MODEL_NONE;
}

// Rule (3, alarms; R10): A point left live is of no job: it closes no gate. [left-live-of-the-job]
static void review_left_live(struct gate *gate, struct gate_site *site, struct gate_time now,
                             int64_t *next) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        const struct model_point *model = &site->model->points[p];
        uint32_t position = left_live_at(site, p, now, next);
        bool is = position != MODEL_NONE;
        const struct gate_args args = {.point = model->point,
                                       .title = model->title,
                                       .position =
                                           is ? site->model->positions[position].position : NULL};
        struct gate_alarm_about about = {.kind = MODEL_ALARM_LEFT_LIVE,
                                         .position = position,
                                         .point = p,
                                         .sentence = GATE_SAY_ALARM_LEFT_LIVE,
                                         .args = &args};
        follow(gate, site, &about, is, now);
    }
}

static const struct gate_tag *tag_of_alarm(const struct gate_site *site,
                                           const struct gate_alarm *alarm) {
    uint32_t point = model_point_find(site->model, alarm->point);
    return point != MODEL_NONE ? gate_tag_find(site, point, alarm->job, alarm->subject) : NULL;
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
    bool known = tag.person[0] != '\0';
    const struct model_point *model = &site->model->points[point];
    uint32_t alone = model->isolates_count == 1 ? model->isolates[0] : MODEL_NONE;
    const struct gate_args args = {.person = known ? who : NULL,
                                   .badge = known ? NULL : who,
                                   .job = job != NULL ? job->job : NULL,
                                   .point = model->point,
                                   .title = model->title};
    struct gate_alarm_about about = {.kind = MODEL_ALARM_TAG_LEFT,
                                     .job = job,
                                     .position = job != NULL ? job->position : alone,
                                     .point = point,
                                     .subject = who,
                                     .sentence = known ? GATE_SAY_ALARM_TAG_LEFT
                                                       : GATE_SAY_ALARM_BADGE_LEFT,
                                     .args = &args};
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
                                             .subject = copy.subject};
            gate_alarm_clear(gate, site, &about, now);
        }
    }
}

static void follow_clock(struct gate *gate, struct gate_site *site, const char *subject,
                         bool stands, struct gate_time now) {
    const struct gate_args args = {.subject = subject};
    struct gate_alarm_about about = {.kind = MODEL_ALARM_CLOCK,
                                     .position = MODEL_NONE,
                                     .point = MODEL_NONE,
                                     .subject = subject,
                                     .sentence = GATE_SAY_ALARM_CLOCK,
                                     .args = &args};
    follow(gate, site, &about, stands, now);
}

// Whether the clock of what an alarm names disagrees now; of a sensor that there is no longer, and
// of an alarm of before that names none, it does not.
static bool clock_disagrees(const struct gate_site *site, const char *subject) {
    uint32_t sensor = model_sensor_find(site->model, subject);
    uint32_t measure = model_measure_find(site->model, subject);
    return (sensor != MODEL_NONE && site->sensors[sensor].clock.skewed) ||
           (measure != MODEL_NONE && site->measures[measure].clock.skewed);
}

// Rule (3, alarms; R17): Each sensor whose clock disagrees is named by an alarm of its own.
// [clock-without-a-name]
static void review_clocks(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (uint32_t i = 0; site->clock_skew_count > 0 && i < site->model->sensor_count; i++) {
        if (site->sensors[i].clock.skewed) {
            follow_clock(gate, site, site->model->sensors[i].sensor, true, now);
        }
    }
    for (uint32_t i = 0; site->clock_skew_count > 0 && i < site->model->measure_count; i++) {
        if (site->measures[i].clock.skewed) {
            follow_clock(gate, site, site->model->measures[i].measure, true, now);
        }
    }
    for (size_t i = site->alarm_count; i-- > 0;) {
        const struct gate_alarm copy = site->alarms[i];
        if (copy.kind == MODEL_ALARM_CLOCK && !gate_same(copy.subject, GATE_SUBJECT_OF_DAEMON) &&
            !clock_disagrees(site, copy.subject)) {
            follow_clock(gate, site, copy.subject, false, now);
        }
    }
}

// Rule (3, alarms; R19): A clock of our own that may be wrong is an alarm at every site.
// [own-clock-untold]
// Rule (3, alarms; R17, R19): One that was set, and is then found behind the journal, is a further
// cause. [own-clock-behind-unheard]
static void review_own_clock(struct gate *gate, struct gate_site *site, struct gate_time now) {
    enum gate_own_clock_fault fault = gate_own_clock_fault(gate, now);
    bool behind = fault == GATE_OWN_CLOCK_BEHIND;
    const struct gate_args args = {.subject = GATE_SUBJECT_OF_DAEMON};
    const struct gate_alarm_about about = {.kind = MODEL_ALARM_CLOCK,
                                           .position = MODEL_NONE,
                                           .point = MODEL_NONE,
                                           .subject = GATE_SUBJECT_OF_DAEMON,
                                           .sentence = behind ? GATE_SAY_ALARM_OWN_CLOCK
                                                              : GATE_SAY_ALARM_CLOCK_SET,
                                           .args = &args};
    const struct gate_alarm *stands = gate_alarm_about(site, &about);
    if (behind && stands != NULL && stands->told.sentence == GATE_SAY_ALARM_CLOCK_SET) {
        gate_alarm_raise(gate, site, &about, true, now);
    } else {
        follow(gate, site, &about, fault != GATE_OWN_CLOCK_RIGHT, now);
    }
}

void gate_review_alarms(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next) {
    review_left_live(gate, site, now, next);
    review_tags_left(gate, site, now, next);
    review_clocks(gate, site, now);
    review_own_clock(gate, site, now);
    struct gate_alarm_about contested = {.kind = MODEL_ALARM_SITE_CONTESTED,
                                         .position = MODEL_NONE,
                                         .point = MODEL_NONE,
                                         .subject = GATE_SUBJECT_OF_DAEMON,
                                         .sentence = GATE_SAY_ALARM_CONTESTED};
    follow(gate, site, &contested, site->contested, now);
}
