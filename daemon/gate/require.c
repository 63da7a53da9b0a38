// The gates: every requirement of start, finish, test and return, one named function each, met or
// not.
#include "gate/require.h"

#include <stdlib.h>
#include <string.h>

#include "gate/credential.h"
#include "gate/find.h"
#include "gate/fuel.h"
#include "gate/gate.h"
#include "gate/lockout.h"
#include "gate/own_clock.h"
#include "gate/part.h"
#include "gate/point.h"
#include "gate/refusal.h"
#include "gate/refusal_list.h"
#include "gate/tag.h"
#include "gate/word.h"

// --- The daemon's own condition ---

// Rule (5, Start): The broker link is up. [start-without-link]
void gate_require_link(const struct gate *gate, const struct gate_site *site,
                       struct gate_list *list) {
    gate_list_put(list, gate_is_linked(gate, site), GATE_SAY_LINK_DOWN, NULL, NULL);
}

// Rule (5, Start): The journal writes. [start-without-journal]
void gate_require_journal(const struct gate *gate, struct gate_list *list) {
    bool up = gate->journal_up && !gate->broken_memory;
    gate_list_put(list, up, GATE_SAY_JOURNAL_DOWN, NULL, NULL);
}

// Rule (5, Start; R19): Our clock is right: a credential is judged by its day. [start-clock-wrong]
void gate_require_clock(const struct gate *gate, struct gate_time now, struct gate_list *list) {
    gate_list_put(list, gate_own_clock_fault(gate, now) == GATE_OWN_CLOCK_RIGHT,
                  GATE_SAY_CLOCK_WRONG, NULL, NULL);
}

// Rule (5, Start): The site is not contested. [start-contested]
void gate_require_uncontested(const struct gate_site *site, struct gate_list *list) {
    gate_list_put(list, !site->contested, GATE_SAY_SITE_CONTESTED, site->model->site, NULL);
}

// --- Points ---

// Rule (4, the answer; R34): args name the point. [arg-point]
// Rule (4, the answer; R34): args say what the point is and why it is trusted or not. [arg-trust]
// Rule (4, the answer; R34): args say how many witnesses have spoken, of how many. [arg-witnesses]
struct gate_args gate_point_args(const struct model_point *model, const struct gate_view *view) {
    return (struct gate_args){.point = model->point,
                              .title = model->title,
                              .state = model_point_state_name(view->state),
                              .trust = model_trust_name(view->trust),
                              .said = view->witnesses,
                              .of = view->witnesses_needed};
}

// What is said of a point that is not proved isolated.
static enum gate_say point_say(const struct gate_view *view) {
    enum model_code code = gate_view_code(view);
    if (view->state == MODEL_POINT_LIVE) {
        return code == MODEL_CODE_POINT_DISAGREES ? GATE_SAY_POINT_DISAGREES : GATE_SAY_POINT_LIVE;
    }
    if (view->witnesses_needed > 0) {
        return GATE_SAY_POINT_LOOK;
    }
    switch (code) {
    case MODEL_CODE_POINT_SETTLING:
        return GATE_SAY_POINT_SETTLING;
    case MODEL_CODE_POINT_STALE:
        return GATE_SAY_POINT_STALE;
    case MODEL_CODE_CONTROLLER_OFFLINE:
        return GATE_SAY_CONTROLLER_OFFLINE;
    default:
        return GATE_SAY_POINT_UNKNOWN;
    }
}

static void require_point(const struct gate *gate, const struct gate_site *site,
                          const struct gate_job *job, uint32_t point, struct gate_time now,
                          struct gate_list *list) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_for_job(gate, site, job, point, now, &next);
    const struct model_point *model = &site->model->points[point];
    bool met = gate_view_isolated(&view);
    struct gate_args args = gate_point_args(model, &view);
    struct gate_refusal *refusal = gate_list_put(list, met, point_say(&view), model->point, &args);
    if (refusal != NULL) {
        refusal->code = met ? MODEL_CODE_POINT_UNKNOWN : gate_view_code(&view);
        refusal->age_ms = view.heard != 0 ? now.wall - view.heard : -1;
    }
}

// Rule (5, Start; 29 CFR 1910.147(d)(3) [P]): Every required point is isolated, settled and
// trusted. [start-without-points]
// Rule (2; 29 CFR 1910.147(d)(3) [P]): An energy for which there is no point is never nothing to
// do. [start-unmapped]
void gate_require_points(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    const char *energy = gate_unmapped(site->model, job->needs, job->position);
    if (energy != NULL || job->required_count == 0) {
        gate_list_put(list, false, GATE_SAY_ENERGY_UNMAPPED, energy, GATE_ARGS(.energy = energy));
    }
    for (size_t i = 0; i < job->required_count; i++) {
        require_point(gate, site, job, job->required[i], now, list);
    }
}

static void require_live(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, uint32_t point, struct gate_time now,
                         struct gate_list *list) {
    int64_t next = INT64_MAX;
    struct gate_view view = gate_point_derive(gate, site, point, now, &next);
    bool met = gate_point_proved_live(gate, site, point, job, now);
    const struct model_point *model = &site->model->points[point];
    struct gate_args args = gate_point_args(model, &view);
    const struct gate_speech speech = gate_speech_of(site, point);
    if (speech.spoken) {
        args.said = gate_words_proving(site, point, job, now);
        args.of = speech.provers;
    }
    struct gate_refusal *refusal = gate_list_put(
        list, met, speech.spoken ? GATE_SAY_POINT_LOOK_LIVE : GATE_SAY_POINT_NOT_RESTORED,
        model->point, &args);
    if (refusal != NULL) {
        refusal->age_ms = view.heard != 0 ? now.wall - view.heard : -1;
    }
}

// Whether a point is required by the procedure whose tests the position owes, and not by the job.
static bool is_required_by_owed(const struct gate_site *site, const struct gate_job *job,
                                uint32_t point) {
    const struct model_requirements *owed = site->positions[job->position].owed;
    const struct model_point *model = &site->model->points[point];
    if (owed == NULL || gate_requires(job, point) || !gate_point_isolates(model, job->position)) {
        return false;
    }
    for (size_t i = 0; i < owed->isolate_count; i++) {
        if (strcmp(owed->isolate[i], model->energy) == 0) {
            return true;
        }
    }
    return false;
}

// Rule (4, record-test; 5, Return; 3, service): Where a position owes tests the points that their
// repair isolated are live too, also for a job that isolates less, or nothing.
// [owed-tested-without-power]
void gate_require_restored(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now,
                           struct gate_list *list) {
    for (size_t i = 0; i < job->required_count; i++) {
        require_live(gate, site, job, job->required[i], now, list);
    }
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        if (is_required_by_owed(site, job, p)) {
            require_live(gate, site, job, p, now, list);
        }
    }
}

// --- Tags ---

// Why a tag that hangs does not count.
// Rule (4, codes): Of a tag that does not count, found says why. [found-of-any-tag]
static const char *doubt_of(const struct gate_tag *tag) {
    return tag->doubt == MODEL_CODE_CHECK_FAILED    ? "a check found energy since"
           : tag->doubt == MODEL_CODE_LINK_DOWN     ? "what its reader said since is lost"
           : tag->doubt == MODEL_CODE_TAG_BY_READER ? "its reader is out of order"
                                                    : "the point was not isolated all the while";
}

// Rule (5, Start): A tag that does not count is as none. [start-with-dead-tags]
// Rule (4, the answer; R34): args name the person. [arg-person]
void gate_require_tag(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      const char *person, struct gate_list *list) {
    const struct model_point *model = &site->model->points[point];
    const struct gate_tag *tag = gate_tag_find(site, point, job->job, person);
    bool met = tag != NULL && tag->counts;
    bool again = tag != NULL && !met;
    enum gate_say none =
        gate_locks_by_reader(site, point) ? GATE_SAY_TAG_MISSING_READER : GATE_SAY_TAG_MISSING;
    gate_list_put(list, met, again ? GATE_SAY_TAG_MISSING_AGAIN : none, model->point,
                  GATE_ARGS(.person = person, .point = model->point, .title = model->title,
                            .what = again ? doubt_of(tag) : NULL));
}

// Rule (5, Start; 29 CFR 1910.147(f)(3) [P], 1910.333(b)(2)(iii) [P]): Every one of the crew has a
// counting tag on every required point. [start-without-tags]
static void require_tags(const struct gate_site *site, const struct gate_job *job,
                         struct gate_list *list) {
    for (size_t m = 0; m < job->crew_count; m++) {
        for (size_t i = 0; i < job->required_count; i++) {
            gate_require_tag(site, job, job->required[i], job->crew[m].person, list);
        }
    }
}

// Rule (4, the answer; R34): args name the badge where nobody is known by it. [arg-badge]
static void require_no_tag(const struct gate_site *site, uint32_t point, const struct gate_tag *tag,
                           struct gate_list *list) {
    const struct model_point *model = &site->model->points[point];
    bool known = tag->person[0] != '\0';
    enum gate_say sentence = tag->lifted ? GATE_SAY_TAG_SEEN
                             : known     ? GATE_SAY_TAG_HUNG
                                         : GATE_SAY_TAG_HUNG_BADGE;
    gate_list_put(list, false, sentence, model->point,
                  GATE_ARGS(.person = known ? tag->person : NULL,
                            .badge = known ? NULL : tag->badge,
                            .job = tag->job[0] != '\0' ? tag->job : NULL, .point = model->point,
                            .title = model->title));
}

void gate_require_no_tags_of_job(const struct gate_site *site, const struct gate_job *job,
                                 const char *person, struct gate_list *list) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; i < site->points[p].tag_count; i++) {
            const struct gate_tag *tag = &site->points[p].tags[i];
            if (strcmp(tag->job, job->job) == 0 &&
                (person == NULL || strcmp(tag->person, person) == 0)) {
                require_no_tag(site, p, tag, list);
            }
        }
    }
}

// No lock of anyone on a point that is required or isolates a position of the dispenser.
// Rule (5, Test; 29 CFR 1910.147(f)(1) [P]): No lock of anyone hangs on a required point before
// anything is energized for a test. [test-under-locks]
// Rule (5, Test; 29 CFR 1910.147(f)(1) [P]): No lock hangs on a point that isolates another
// position of the dispenser. [test-locks-elsewhere]
static void require_cabinet_unlocked(const struct gate_site *site, const struct gate_job *job,
                                     struct gate_list *list) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        const struct model_point *model = &site->model->points[p];
        bool here = gate_requires(job, p);
        for (size_t i = 0; i < model->isolates_count && !here; i++) {
            here = gate_same_dispenser(site, model->isolates[i], job->position);
        }
        for (size_t i = 0; here && i < site->points[p].tag_count; i++) {
            require_no_tag(site, p, &site->points[p].tags[i], list);
        }
    }
}

// --- People and parts ---

// Rule (5, Start): Who leads holds every credential today. [start-without-credentials]
static void require_leader_credentials(const struct gate *gate, const struct gate_site *site,
                                       const struct gate_job *job, struct gate_time now,
                                       struct gate_list *list) {
    if (job->leader[0] != '\0') {
        gate_require_credentials(site, job->needs, model_person_find(gate->model, job->leader),
                                 job->leader, now, list);
    }
}

// Rule (4, open-job; 5, Start): A kit that is not named is asked for at the start.
// [start-without-kit]
// Rule (4, open-job; 5, Start): The kit's family must be the nozzle's. [kit-of-any-family]
// Rule (5, Start): A position whose nozzle family is unknown matches no kit. [kit-of-no-family]
// Rule (4, the answer; R34): args give the kit and the family of the nozzle. [arg-kit]
void gate_require_match(const struct gate_site *site, const struct model_requirements *needs,
                        uint32_t position, const struct gate_kit *kit, bool ask,
                        struct gate_list *list) {
    const char *kit_family = kit->family;
    bool named = kit_family != NULL && kit_family[0] != '\0';
    if (!needs->match || (!named && !ask)) {
        return;
    }
    const char *family = gate_part_family(site, position, kit->part);
    bool met = named && family != NULL && strcmp(family, kit_family) == 0;
    const char *id = site->model->positions[position].position;
    gate_list_put(list, met, GATE_SAY_PART_MISMATCH, id,
                  GATE_ARGS(.position = id, .kit = named ? kit_family : NULL, .family = family));
}

void gate_require_leader(const struct gate_job *job, struct gate_list *list) {
    bool met = job->leader[0] != '\0';
    gate_list_put(list, met, GATE_SAY_NOT_ASSIGNED, job->job,
                  GATE_ARGS(.job = job->job, .leader = met ? job->leader : NULL));
}

// Rule (5, Start): No alarm of the job is unacknowledged at the start. [start-with-open-alarm]
void gate_require_alarms_seen(const struct gate_site *site, const struct gate_job *job,
                              struct gate_list *list) {
    bool met = !gate_alarm_unacknowledged(site, job->job);
    gate_list_put(list, met, GATE_SAY_ALARM_OPEN, job->job, GATE_ARGS(.job = job->job));
}

// --- Jobs that share ---

// No job that shares is in one of the phases.
// Rule (4, the answer; R34): args name the other job and where it is. [arg-with]
static void require_no_sharing(const struct gate_site *site, const struct gate_job *job,
                               unsigned phases, enum gate_say sentence, struct gate_list *list) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *other = site->jobs[i];
        bool there = (phases >> other->phase & 1u) != 0;
        if (other == job || !there || !gate_shares(site, job, other)) {
            continue;
        }
        gate_list_put(list, false, sentence, other->job,
                      GATE_ARGS(.with = other->job,
                                .position = site->model->positions[other->position].position,
                                .phase = model_phase_name(other->phase)));
    }
}

// --- What proves ---

static void refuse_unprepared(const struct model_check *check, const struct model_check *lacking,
                              struct gate_list *list) {
    gate_list_put(list, false, GATE_SAY_WINDOW_PREPARE, check->check,
                  GATE_ARGS(.check = lacking->check, .title = lacking->ask));
}

// Rule (4, Seasons; R6; 29 CFR 1910.147(d)(1) [P]): Relieve and verify are signed after every
// prepare check, while these are valid and within limits. [season-unprepared]
// Rule (4, Seasons; R7; 29 CFR 1910.147(f)(1) [P]): Relieve and verify are not signed while a job
// that shares is testing. [season-beside-test]
void gate_require_may_prove(const struct gate_site *site, const struct gate_job *job,
                            const struct model_check *check, struct gate_time now,
                            struct gate_list *list) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *prepare = &job->needs->checks[i];
        if (prepare->group == MODEL_GROUP_PREPARE && !gate_check_holds(job, prepare, now)) {
            refuse_unprepared(check, prepare, list);
        }
    }
    require_no_sharing(site, job, 1u << MODEL_PHASE_TESTING, GATE_SAY_WINDOW_SHARED, list);
}

// --- The gates ---

// Rule (5, Start; 29 CFR 1910.147(d)(1) [P]): Every prepare check is signed and valid.
// [start-without-prepare]
// Rule (5, Start; 29 CFR 1910.147(d)(5) [P]): Every relieve check is signed and stands.
// [start-without-relieve]
// Rule (5, Start; 29 CFR 1910.147(d)(6) [P], 1910.333(b)(2)(iv)(B) [P]): Every verify check is
// signed and stands. [start-without-verify]
// Rule (5, Start; 29 CFR 1910.147(f)(1) [P]): No job that shares is testing. [start-while-tested]
// Rule (4, codes): A job under test that shares is shared-testing. [code-shared-swapped]
void gate_require_start(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    require_leader_credentials(gate, site, job, now, list);
    gate_require_match(site, job->needs, job->position,
                       &(const struct gate_kit){job->kit_family, job->part}, true, list);
    gate_require_group(job, MODEL_GROUP_PREPARE, now, list);
    gate_require_points(gate, site, job, now, list);
    require_tags(site, job, list);
    gate_require_group(job, MODEL_GROUP_RELIEVE, now, list);
    gate_require_group(job, MODEL_GROUP_VERIFY, now, list);
    require_no_sharing(site, job, 1u << MODEL_PHASE_TESTING, GATE_SAY_SHARED_TESTING, list);
    gate_require_alarms_seen(site, job, list);
    gate_require_link(gate, site, list);
    gate_require_journal(gate, list);
    gate_require_clock(gate, now, list);
    gate_require_uncontested(site, list);
}

// Rule (5, After a restart): No work is finished until the lockout is proved again.
// [unproven-finished]
// Rule (4, the answer): A finish in another phase says nothing of points. [finish-lists-points]
// Rule (4, finish-work): Every work check is signed in its window and within limits before the
// finish. [finish-without-work]
// Rule (4, finish-work; 29 CFR 1910.147(e)(1)-(2) [P]): Every clear check is signed and stands
// before the finish. [finish-without-clear]
// Rule (3): No finish is accepted at a contested site. [finish-contested]
void gate_require_finish(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    if (job->phase == MODEL_PHASE_WORKING && job->lockout != MODEL_LOCKOUT_CONFIRMED) { // unproven
        gate_require_points(gate, site, job, now, list);
    }
    gate_require_group(job, MODEL_GROUP_WORK, now, list);
    gate_require_group(job, MODEL_GROUP_CLEAR, now, list);
    gate_require_journal(gate, list);
    gate_require_uncontested(site, list);
}

// Rule (5, Test; R2; 29 CFR 1910.147(d)(1) [P]): Every prepare check is signed, valid and within
// limits before anything is energized for a test. [test-without-prepare]
// Rule (5, Test; R2): No alarm of the job is unacknowledged at the test gate.
// [test-with-open-alarm]
// Rule (5, Test): No job that shares is working. [test-beside-work]
// Rule (5, Test): No job that shares is stopped. [test-beside-stopped]
// Rule (5, Test): The link is up, the journal writes and the site is not contested at the test
// gate. [test-without-link]
// Rule (5, Test; R19): Our clock is right at the test gate. [test-clock-wrong]
// Rule (2, inspection): An inspection, which is not started, asks for credentials at its tests.
// [inspection-by-anybody]
void gate_require_test(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    if (job->needs->inspection) { // of a repair the start asked for them
        require_leader_credentials(gate, site, job, now, list);
    }
    gate_require_group(job, MODEL_GROUP_PREPARE, now, list);
    gate_require_alarms_seen(site, job, list);
    require_cabinet_unlocked(site, job, list);
    require_no_sharing(site, job, 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED,
                       GATE_SAY_SHARED_LOCKED, list);
    gate_require_link(gate, site, list);
    gate_require_journal(gate, list);
    gate_require_clock(gate, now, list);
    gate_require_uncontested(site, list);
}

// Rule (5, Return): Every finish check is signed within limits and not void.
// [return-without-finish]
// Rule (5, Return; 29 CFR 1910.147(e)(3) [P]): No tag of the job hangs at the return.
// [return-under-tags]
// Rule (5, Return): Every required point is live and trusted at the return. [return-without-power]
// Rule (5, Return): No alarm of the job is unacknowledged at the return. [return-with-open-alarm]
// Rule (5, Return): The link is up, the journal writes and the site is not contested at the return.
// [return-without-link]
// Rule (5, Return; R19): Our clock is right at the return. [return-clock-wrong]
void gate_require_return(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list) {
    gate_require_tested(site, job, now, list);
    gate_require_fuel(job, list);
    gate_require_group(job, MODEL_GROUP_FINISH, now, list);
    gate_require_no_tags_of_job(site, job, NULL, list);
    gate_require_restored(gate, site, job, now, list);
    gate_require_alarms_seen(site, job, list);
    gate_require_link(gate, site, list);
    gate_require_journal(gate, list);
    gate_require_clock(gate, now, list);
    gate_require_uncontested(site, list);
}
