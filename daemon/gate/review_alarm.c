// The alarms that follow a condition: raised while it stands, cleared when it goes; and what
// becomes of them over a restart.
#include "gate/alarm.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/lockout.h"
#include "gate/own_clock.h"
#include "gate/reading_order.h"
#include "gate/review.h"
#include "gate/text.h"

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

// Whether a point reads live, or did so before a restart and is still waited for.
// Rule (5, After a restart; R38): What read live before a restart is left live until it is heard,
// or unheard for too long. [left-live-over-a-restart]
static bool reads_live(const struct gate_site *site, uint32_t point, struct gate_time now,
                       int64_t *due) {
    const struct gate_point *state = &site->points[point];
    if (state->state != MODEL_POINT_UNKNOWN || state->awaited != MODEL_POINT_LIVE) {
        return state->state == MODEL_POINT_LIVE;
    }
    int64_t until = state->since.mono + site->model->points[point].max_age_ms; // of the start
    gate_lower(due, until + 1, now);
    return now.mono <= until;
}

// The first position that a live point leaves live; MODEL_NONE: none.
// Rule (3, alarms; 4, set-aside): Once it was made safe a point of several positions may be live:
// the dispenser is powered again. [left-live-shared]
// Rule (3, alarms; R10): Until then a point of several positions is left live as well.
// [left-live-alone]
static uint32_t left_live_at(const struct gate_site *site, uint32_t point, struct gate_time now,
                             int64_t *due) {
    const struct model_point *model = &site->model->points[point];
    bool live = reads_live(site, point, now, due);
    for (size_t i = 0; live && i < model->isolates_count; i++) {
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
    if (point == MODEL_NONE) {
        return NULL;
    }
    const struct gate_tag *tag = gate_tag_find(site, point, alarm->job, alarm->subject);
    return tag != NULL ? tag : gate_tag_of(site, point, alarm->job, NULL, alarm->subject);
}

// Rule (3, alarms): A tag that has hung for over 12 h raises an alarm. [tag-left-forgotten]
// Rule (3, alarms; R38): A gap of unknown length, which counts long for what people rest on, makes
// no tag hang for longer: both times say so. [tag-left-by-a-gap]
// Mono ms at which a tag is left hanging, as far as is known now; told: it is already said to be.
static int64_t left_at(const struct gate_tag *tag, bool told, struct gate_time now) {
    int64_t at = tag->since.mono + GATE_TAG_LEFT_MS + 1;
    int64_t by_wall = now.mono + tag->since.wall + GATE_TAG_LEFT_MS + 1 - now.wall;
    return told || at > by_wall ? at : by_wall;
}

static bool is_left(const struct gate_tag *tag, bool told, struct gate_time now) {
    return now.mono >= left_at(tag, told, now);
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
            int64_t due = left_at(&site->points[p].tags[i], false, now);
            if (is_left(&site->points[p].tags[i], false, now)) {
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
        if (copy.kind == MODEL_ALARM_TAG_LEFT && (tag == NULL || !is_left(tag, true, now))) {
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

// Rule (3, alarms; R17, R19): One that was set, and is then found behind the journal, is a further
// cause. [own-clock-behind-unheard]
// Rule (3, alarms; R17, R19): So is one that is set once more: its 60 s are those of the last step,
// over a restart too. [own-clock-set-again-unheard]
static bool is_further(const struct gate *gate, const struct gate_alarm *stands, bool behind) {
    bool again = gate->clock.was_set && stands->came.mono < gate->clock.stepped;
    bool turned = behind && stands->told.sentence == GATE_SAY_ALARM_CLOCK_SET;
    return turned || again;
}

// Rule (3, alarms; R19): A clock of our own that may be wrong is an alarm at every site.
// [own-clock-untold]
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
    if (stands != NULL && is_further(gate, stands, behind)) {
        gate_alarm_raise(gate, site, &about, true, now);
    } else {
        follow(gate, site, &about, fault != GATE_OWN_CLOCK_RIGHT, now);
    }
}

// Rule (5, After a restart; R17): A sensor whose clock disagreed is watched on after a restart.
// [clock-trusted-by-a-restart]
static void resume_clock(struct gate_site *site, const char *subject) {
    uint32_t sensor = model_sensor_find(site->model, subject);
    uint32_t measure = model_measure_find(site->model, subject);
    if (sensor != MODEL_NONE) {
        gate_clock_distrust(site, &site->sensors[sensor].clock);
    } else if (measure != MODEL_NONE) {
        gate_clock_distrust(site, &site->measures[measure].clock);
    }
}

// Rule (5, After a restart): A journal that writes when the daemon comes up is down no more.
// [journal-down-for-ever]
void gate_resume_alarms(struct gate *gate, struct gate_site *site, struct gate_time now) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        const struct gate_alarm *alarm = &site->alarms[i];
        if (alarm->kind == MODEL_ALARM_CLOCK &&
            alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
            resume_clock(site, alarm->subject);
        }
        if (alarm->kind == MODEL_ALARM_SITE_CONTESTED &&
            alarm->state != MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
            site->contest_awaited = now.mono + GATE_CLAIM_MS;
        }
    }
    const struct gate_alarm_about journal = {.kind = MODEL_ALARM_JOURNAL_DOWN};
    if (gate->journal_up) {
        gate_alarm_clear(gate, site, &journal, now);
    }
    // A journal of before did not name webhooks: each is told by its name.
    const struct gate_alarm_about webhook = {.kind = MODEL_ALARM_WEBHOOK_DOWN};
    gate_alarm_clear(gate, site, &webhook, now);
}

// Another instance is heard again only when its document changes: until then it is not known to be
// gone, and what it claimed is no new alarm. The gates follow what is heard.
// Rule (5, After a restart; R38): A contested site's alarm goes on over a restart until the other's
// claim would have ended. [contested-anew-by-a-restart, contested-for-ever]
// Rule (5, After a restart; R38): The moment at which it would have ended is waited for.
// [contested-not-due]
static bool is_contest_awaited(const struct gate_site *site, struct gate_time now, int64_t *next) {
    if (now.mono > site->contest_awaited) {
        return false;
    }
    gate_lower(next, site->contest_awaited + 1, now);
    return true;
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
    follow(gate, site, &contested, site->contested || is_contest_awaited(site, now, next), now);
}
