// The next step: the first unmet requirement of the next gate, and what a person can do about it.
#include "gate/may.h"

#include <string.h>

#include "gate/alarm_kind.h"
#include "gate/distrust.h"
#include "gate/find.h"
#include "gate/point.h"
#include "gate/step_way.h"
#include "gate/tag.h"
#include "gate/text.h"
#include "gate/untold.h"
#include "gate/verb/case.h"
#include "gate/word.h"

// What the requirements of the gates are about, in the order in which the trade meets them (29 CFR
// 1910.147(d): prepare, isolate, lock, relieve, verify; (e): clear away, unlock, restore).
enum stage {
    STAGE_LEAD,
    STAGE_UNQUALIFIED, // who leads an open job lacks a credential
    STAGE_ALARM,
    STAGE_PEOPLE,
    STAGE_KIT,
    STAGE_PREPARE,
    STAGE_ISOLATE,
    STAGE_LOCK,
    STAGE_SHARED, // another job tests what this one is to prove
    STAGE_RELIEVE,
    STAGE_VERIFY,
    STAGE_WORK,
    STAGE_CLEAR,
    STAGE_UNLOCK,
    STAGE_TEST_UNPOWERED,
    STAGE_RESTORE,
    STAGE_TEST,
    STAGE_FUEL,   // what was drawn is not accounted for
    STAGE_NOTICE, // a test waits for the hours of its notice, and the finish for it
    STAGE_FINISH,
    STAGE_CLOCK, // our own may be wrong
    STAGE_OTHER,
};

// One person's look at what lacks.
struct looking {
    const struct gate *gate;
    const struct gate_site *site;
    const struct gate_job *job;
    const struct model_person *person;
    struct gate_time now;
    const struct gate_may *may;
    const struct model_requirements *tests; // that the next gate asks for, or NULL
    struct gate_step *step;
};

static enum stage stage_of_check(const struct gate_job *job, const char *subject) {
    const struct model_check *check = gate_check_of(job, subject);
    switch (check != NULL ? check->group : MODEL_GROUP_COUNT) {
    case MODEL_GROUP_PREPARE:
        return STAGE_PREPARE;
    case MODEL_GROUP_RELIEVE:
        return STAGE_RELIEVE;
    case MODEL_GROUP_VERIFY:
        return STAGE_VERIFY;
    case MODEL_GROUP_WORK:
        return STAGE_WORK;
    case MODEL_GROUP_CLEAR:
    case MODEL_GROUP_LEAVE:
        return STAGE_CLEAR;
    case MODEL_GROUP_FINISH:
        return STAGE_FINISH;
    default:
        return STAGE_OTHER;
    }
}

// What is done to the dispenser goes from what is safer to what is less so.
// Rule (6, next; 4, record-test): Tests that take no power come before power is restored.
// [step-power-first]
static enum stage stage_of_test(const struct looking *at, const char *subject) {
    for (size_t i = 0; at->tests != NULL && i < at->tests->test_count; i++) {
        const struct model_test *test = &at->tests->tests[i];
        if (strcmp(test->test, subject) == 0) {
            return test->powered ? STAGE_TEST : STAGE_TEST_UNPOWERED;
        }
    }
    return STAGE_TEST;
}

// Whatever is signed under a leader who may not start helps nobody to start: it is said at once.
// Once work was started the job cannot be assigned, and the crew secures what there is.
// Rule (6, next): A leader without a credential is replaced first. [step-unqualified-late]
static enum stage stage_of_credential(const struct gate_job *job, const char *person) {
    bool leads = job->phase == MODEL_PHASE_OPEN && gate_leads(job, person);
    return leads ? STAGE_UNQUALIFIED : STAGE_PEOPLE;
}

// Rule (6, next; 4, record-fuel): Fuel that is not accounted for is recorded by the crew.
// [step-fuel-stuck]
// Rule (6, next): After a break the alarm is seen before anything else. [step-alarm-last]
// Rule (6, next; R7): Who proves waits for a test beside it. [step-proves-beside-test]
// Rule (6, next; 2, notice_h): A test that waits for the hours of its notice waits for no request,
// and keeps no other test waiting. [step-before-notice]
static enum stage stage_of(const struct looking *at, const struct gate_refusal *lacking) {
    switch (lacking->code) {
    case MODEL_CODE_NOT_ASSIGNED:
        return STAGE_LEAD;
    case MODEL_CODE_ALARM_OPEN:
        return STAGE_ALARM;
    case MODEL_CODE_CREDENTIAL_MISSING:
    case MODEL_CODE_CREDENTIAL_EXPIRED:
        return stage_of_credential(at->job, lacking->subject);
    case MODEL_CODE_PART_MISMATCH:
        return STAGE_KIT;
    case MODEL_CODE_ENERGY_UNMAPPED:
    case MODEL_CODE_POINT_LIVE:
    case MODEL_CODE_POINT_UNKNOWN:
    case MODEL_CODE_POINT_STALE:
    case MODEL_CODE_POINT_SETTLING:
    case MODEL_CODE_POINT_DISAGREES:
    case MODEL_CODE_CONTROLLER_OFFLINE:
        return STAGE_ISOLATE;
    case MODEL_CODE_TAG_MISSING:
        return STAGE_LOCK;
    case MODEL_CODE_SHARED_TESTING:
        return STAGE_SHARED;
    case MODEL_CODE_CHECK_MISSING:
    case MODEL_CODE_CHECK_FAILED:
    case MODEL_CODE_CHECK_VOID:
        return stage_of_check(at->job, lacking->subject);
    case MODEL_CODE_TAG_HUNG:
        return STAGE_UNLOCK;
    case MODEL_CODE_POINT_NOT_RESTORED:
        return STAGE_RESTORE;
    case MODEL_CODE_TEST_MISSING:
    case MODEL_CODE_TEST_FAILED:
        return lacking->sentence == GATE_SAY_TEST_NOTICE ? STAGE_NOTICE
                                                         : stage_of_test(at, lacking->subject);
    case MODEL_CODE_FUEL_UNACCOUNTED:
        return STAGE_FUEL;
    case MODEL_CODE_CLOCK_WRONG:
        return STAGE_CLOCK;
    default:
        return STAGE_OTHER;
    }
}

// The job is another's to lead, or has another kit, while no lock of it hangs.
// Rule (6, next; 4, assign-job): The locks of a job come off before it is assigned anew.
// [step-assign-under-tags]
static enum gate_verb verb_to_assign(const struct looking *at) {
    if (at->job->phase != MODEL_PHASE_OPEN) {
        return GATE_VERB_COUNT;
    }
    return gate_tags_hang(at->site, at->job->job, NULL) ? GATE_VERB_LIFT_TAG : GATE_VERB_ASSIGN_JOB;
}

// Rule (6, next; 4, hang-tag; R14): Where the locks are the reader's alone no request hangs one.
// [step-past-the-reader]
static bool is_readers(const struct looking *at, const char *subject) {
    uint32_t point = model_point_find(at->site->model, subject);
    return point != MODEL_NONE && gate_locks_by_reader(at->site, point);
}

// Whether a sensor says nothing that can be relied on: a way on is to say that it is out of order.
static bool is_dead(const struct looking *at, uint32_t point, uint32_t sensor) {
    const struct model_point *model = &at->site->model->points[point];
    const struct gate_sensor *state = &at->site->sensors[sensor];
    bool offline = model->controller != MODEL_NONE &&
                   at->site->controllers[model->controller] != GATE_CONTROLLER_ONLINE;
    return offline || state->bad || state->heard == 0 ||
           at->now.mono - state->heard > model->max_age_ms;
}

// Rule (6, next; 3, A sensor out of order; R27): Where a dead sensor blocks, a supervisor says that
// it is out of order, before the start and in testing alike. [step-dead-sensor]
static enum gate_verb verb_of_point(const struct looking *at, uint32_t point) {
    if (point == MODEL_NONE) {
        return GATE_VERB_COUNT;
    }
    if (gate_speech_of(at->site, point).spoken) {
        return GATE_VERB_WITNESS_POINT;
    }
    const struct model_point *model = &at->site->model->points[point];
    for (uint32_t i = 0; i < model->sensor_count; i++) {
        if (!gate_is_distrusted(at->site, point, model->sensors[i]) &&
            is_dead(at, point, model->sensors[i])) {
            return GATE_VERB_DISTRUST_SENSOR;
        }
    }
    return GATE_VERB_COUNT;
}

// Whether a choice is of a dead sensor of the point.
static bool is_of_dead_sensor(const struct looking *at, const struct gate_choice *choice,
                              const char *subject) {
    uint32_t point = model_point_find(at->site->model, subject);
    uint32_t sensor =
        choice->sensor != NULL ? model_sensor_find(at->site->model, choice->sensor) : MODEL_NONE;
    return sensor != MODEL_NONE && at->site->model->sensors[sensor].point == point &&
           !gate_is_distrusted(at->site, point, sensor) && is_dead(at, point, sensor);
}

// What meets a stage: GATE_VERB_COUNT where no request does.
static enum gate_verb verb_for(const struct looking *at, enum stage stage,
                               const struct gate_refusal *lacking) {
    const char *subject = lacking->subject;
    switch (stage) {
    case STAGE_LEAD:
    case STAGE_UNQUALIFIED:
    case STAGE_KIT:
        return verb_to_assign(at);
    case STAGE_ALARM:
        return GATE_VERB_ACKNOWLEDGE_ALARM;
    case STAGE_ISOLATE:
    case STAGE_RESTORE:
        return verb_of_point(at, model_point_find(at->site->model, subject));
    case STAGE_LOCK:
        return is_readers(at, subject) ? GATE_VERB_COUNT : GATE_VERB_HANG_TAG;
    case STAGE_UNLOCK:
        return gate_step_unlock(at->job, lacking);
    case STAGE_PEOPLE:
        return gate_leads(at->job, subject) ? gate_step_lead(at->gate, at->site, at->job, at->now)
                                            : GATE_VERB_COUNT;
    case STAGE_TEST_UNPOWERED:
    case STAGE_TEST:
        return GATE_VERB_RECORD_TEST;
    case STAGE_FUEL:
        return GATE_VERB_RECORD_FUEL;
    case STAGE_CLOCK:
        return gate_step_clock(at->gate, at->site, at->now) != NULL ? GATE_VERB_ACKNOWLEDGE_ALARM
                                                                    : GATE_VERB_COUNT;
    case STAGE_SHARED:
    case STAGE_NOTICE:
    case STAGE_OTHER:
        return GATE_VERB_COUNT;
    default:
        return GATE_VERB_SIGN_CHECK;
    }
}

// Whether this person's word counts already, of isolated or of live: said again it is no second
// witness.
static bool has_said(const struct looking *at, uint32_t point, bool live) {
    const struct gate_point *state = &at->site->points[point];
    const struct gate_statement *said = live ? state->live_statements : state->statements;
    size_t count = live ? state->live_statement_count : state->statement_count;
    for (size_t i = 0; i < count; i++) {
        if (strcmp(said[i].person, at->person->person) == 0 &&
            gate_word_stands(at->site, point, &said[i], at->now) &&
            (!live || gate_word_proves(at->site, point, &said[i], at->job))) {
            return true;
        }
    }
    return false;
}

// Anybody may say live, but for the return it is the crew's word or an overseer's.
// Rule (6, next; 3, Words): A word of live that proves nothing is no step to the return.
// [step-anybody-proves]
static bool proves(const struct looking *at, uint32_t point) {
    return !gate_distrusts(at->site, point, at->person->person) &&
           (model_person_has(at->person, GATE_OVERSEERS) ||
            gate_member_of(at->job, at->person->person) != NULL);
}

// Whether a choice meets a requirement, of whose stage its verb is.
// Rule (6, next): A lock that lacks is said to be the next step of whose it is. [step-own-lock]
// Rule (6, next; R28): A reading that could only fail is not said to be the next step.
// [step-failing]
// Rule (6, next; 3, Words): A word that stands is not asked for again: the second witness is
// somebody else. [step-word-again]
static bool meets(const struct looking *at, const struct gate_choice *choice, enum stage stage,
                  const struct gate_refusal *lacking) {
    const char *subject = lacking->subject;
    uint32_t point =
        choice->point != NULL ? model_point_find(at->site->model, subject) : MODEL_NONE;
    const struct gate_alarm *alarm =
        choice->alarm != NULL ? gate_alarm_find(at->site, choice->alarm) : NULL;
    switch (stage) {
    case STAGE_LEAD:
    case STAGE_UNQUALIFIED:
    case STAGE_KIT:
    case STAGE_FUEL:
        return true;
    case STAGE_ALARM:
        return alarm != NULL && strcmp(alarm->job, at->job->job) == 0;
    case STAGE_CLOCK:
        return alarm != NULL && alarm == gate_step_clock(at->gate, at->site, at->now);
    case STAGE_ISOLATE:
        return choice->verb == GATE_VERB_DISTRUST_SENSOR
                   ? is_of_dead_sensor(at, choice, subject)
                   : gate_same(choice->point, subject) && choice->state == MODEL_POINT_ISOLATED &&
                         !has_said(at, point, false);
    case STAGE_RESTORE:
        return choice->verb == GATE_VERB_DISTRUST_SENSOR
                   ? is_of_dead_sensor(at, choice, subject)
                   : gate_same(choice->point, subject) && choice->state == MODEL_POINT_LIVE &&
                         proves(at, point) && !has_said(at, point, true);
    case STAGE_LOCK: // a lock that counts is another's to hang
        return gate_same(choice->point, subject) &&
               !gate_tag_counts(at->site, point, at->job->job, at->person->person);
    case STAGE_UNLOCK:
        return gate_step_unlocks(choice, at->person->person, lacking);
    case STAGE_PEOPLE:
        return gate_step_leads(at->gate, at->site, at->job, choice, at->person->person, at->now);
    case STAGE_TEST_UNPOWERED:
    case STAGE_TEST:
        return strcmp(choice->test, subject) == 0;
    default: // a reading that fails is no way on
        return gate_same(choice->check, subject) && !choice->fails;
    }
}

static const struct gate_choice *remedy(const struct looking *at,
                                        const struct gate_refusal *lacking) {
    enum stage stage = stage_of(at, lacking);
    enum gate_verb verb = verb_for(at, stage, lacking);
    for (size_t i = 0; i < at->may->count; i++) {
        const struct gate_choice *choice = &at->may->choices[i];
        if (choice->verb == verb && meets(at, choice, stage, lacking)) {
            return choice;
        }
    }
    return NULL;
}

// By whom a verb may be asked, as far as its row says; of a check, by its own role.
// Rule (6, next; 4, sign-check): A check that names a role waits for that role. [step-any-role]
static void others(struct gate_step *step, enum gate_verb verb, const struct model_check *check) {
    const struct gate_verb_row *row = gate_verb_row(verb);
    bool by_role = check != NULL && check->by != 0;
    step->leader = row->who == GATE_WHO_LEADER;
    step->crew = !by_role && (row->who == GATE_WHO_CREW || row->who == GATE_WHO_VERB);
    step->roles = by_role ? check->by : row->roles;
}

// The step waits for others, or for no request at all.
static void wait_for(struct looking *at, const struct gate_refusal *lacking) {
    struct gate_step *step = at->step;
    enum stage stage = stage_of(at, lacking);
    enum gate_verb verb = verb_for(at, stage, lacking);
    const struct model_check *check = gate_check_of(at->job, lacking->subject);
    if (verb == GATE_VERB_COUNT) {
        return;
    }
    step->has_verb = true;
    step->choice.verb = verb;
    others(step, verb, verb == GATE_VERB_SIGN_CHECK ? check : NULL);
    uint32_t point = model_point_find(at->site->model, lacking->subject);
    step->choice.point = point != MODEL_NONE ? at->site->model->points[point].point : NULL;
    step->choice.check = verb == GATE_VERB_SIGN_CHECK && check != NULL ? check->check : NULL;
    step->choice.seen_off = verb == GATE_VERB_LIFT_ABSENT_TAG;
    step->choice.has_state = verb == GATE_VERB_WITNESS_POINT;
    step->choice.state = stage == STAGE_RESTORE ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    if (stage == STAGE_ALARM || stage == STAGE_CLOCK) {
        gate_step_who_sees(stage == STAGE_ALARM ? gate_step_alarm(at->site, at->job)
                                                : gate_step_clock(at->gate, at->site, at->now),
                           step);
    }
    if (verb == GATE_VERB_RECORD_TEST) {
        gate_text(step->choice.test, sizeof step->choice.test, "%s", lacking->subject);
    }
}

// Preparing and isolating go together: while one of these waits for somebody, another goes on. An
// overseer outside the crew may say what a point is, but as long as the crew's own step comes
// before, that is not theirs to do; a check that names their role is.
// Rule (6, next): While preparing waits for somebody, isolating goes on, and the other way round.
// [step-one-by-one]
// Rule (6, next): Who is not in the crew isolates nothing while preparing waits.
// [step-isolate-outside]
static bool goes_together(const struct looking *at, enum stage first, enum stage then) {
    bool free = first <= STAGE_ISOLATE && first != STAGE_ALARM && first != STAGE_UNQUALIFIED &&
                then <= STAGE_ISOLATE;
    bool member = gate_member_of(at->job, at->person->person) != NULL;
    return first == then || (free && (member || then != STAGE_ISOLATE));
}

// The first requirement that this person can meet now, before what waits; *first is that which
// lacks first of all. out_of_order: by saying that a sensor is, which is the last thing to say.
// Rule (6, next): Nothing is said to be next while what comes before it waits. [step-ahead]
// Rule (6, next; 3, A sensor out of order; R27): That a sensor is out of order is said where
// nothing else leads on. [step-distrust-first]
static const struct gate_refusal *first_of(struct looking *at, const struct gate_list *list,
                                           bool out_of_order, const struct gate_refusal **first) {
    *first = NULL;
    for (int stage = 0; stage <= STAGE_OTHER; stage++) {
        for (size_t i = 0; i < list->count; i++) {
            const struct gate_refusal *lacking = &list->items[i].refusal;
            if (stage_of(at, lacking) != (enum stage)stage) {
                continue;
            }
            *first = *first != NULL ? *first : lacking;
            bool near = goes_together(at, stage_of(at, *first), (enum stage)stage);
            const struct gate_choice *choice = near ? remedy(at, lacking) : NULL;
            if (choice != NULL && (choice->verb == GATE_VERB_DISTRUST_SENSOR) == out_of_order) {
                return lacking;
            }
        }
    }
    return NULL;
}

static void look(struct looking *at, const struct gate_list *list) {
    struct gate_step *step = at->step;
    const struct gate_refusal *first, *mine = first_of(at, list, false, &first);
    mine = mine != NULL ? mine : first_of(at, list, true, &first);
    if (first == NULL) {
        return;
    }
    step->is = step->lacks = true;
    step->lacking = mine != NULL ? *mine : *first;
    if (mine != NULL) {
        step->has_verb = step->mine = true;
        step->choice = *remedy(at, mine);
    } else {
        wait_for(at, first);
    }
}

// What an offer of the lead still takes, as accept-lead itself says.
static void require_lead(const struct looking *at, struct gate_list *list) {
    struct gate copy = *at->gate; // emits nothing
    struct gate_answer answer = {0};
    const struct gate_request request = {
        .verb = GATE_VERB_ACCEPT_LEAD, .person = at->person->person, .job = at->job->job};
    struct gate_case c = {.gate = &copy,
                          .site = &copy.sites[at->site->model->index],
                          .request = &request,
                          .person = at->person,
                          .now = at->now,
                          .answer = &answer,
                          .list = {.unmet_only = true},
                          .asks_only = true};
    gate_case_run(&c, gate_verb_row(GATE_VERB_ACCEPT_LEAD));
    *list = c.list;
}

// Where nothing lacks: the verb itself.
// Rule (6, next): Where all is met, the next step is the gate's own, of who leads. [step-of-nobody]
static void step_verb(struct looking *at, enum gate_verb verb) {
    struct gate_step *step = at->step;
    step->is = step->has_verb = true;
    step->choice = (struct gate_choice){.verb = verb};
    step->mine = at->may->verbs[verb];
    if (!step->mine) {
        others(step, verb, NULL);
    }
}

// Rule (6, next; 4, confirm-told; R16): Who was not told that a lock of theirs was removed says
// first that they know it. [step-untold]
static void step_told(struct looking *at) {
    const char *point = gate_untold_of(at->site, at->person->person);
    step_verb(at, GATE_VERB_CONFIRM_TOLD);
    at->step->mine = true;
    at->step->lacks = true;
    gate_refusal_make(&at->step->lacking, false, GATE_SAY_NOT_TOLD, point,
                      GATE_ARGS(.person = at->person->person, .point = point));
}

// Rule (6, next; 4, accept-lead): Whom the lead is offered to is told what accepting it takes.
// [step-offer-unseen]
void gate_step(const struct gate *gate, uint32_t site, const struct gate_job *job,
               const struct model_person *person, struct gate_time now, const struct gate_may *may,
               struct gate_step *step) {
    struct looking at = {gate, &gate->sites[site], job, person, now, may, NULL, step};
    struct gate_list list = {.unmet_only = true};
    memset(step, 0, sizeof *step);
    if (gate_untold_of(at.site, person->person) != NULL) {
        step_told(&at);
        return;
    }
    if (job == NULL || !gate_job_stands(job)) {
        if (job == NULL && may->verbs[GATE_VERB_OPEN_JOB]) {
            step_verb(&at, GATE_VERB_OPEN_JOB);
        }
        return;
    }
    bool offered = gate_offer_stands(job, now) && strcmp(job->offered, person->person) == 0;
    if (offered) {
        require_lead(&at, &list);
    } else {
        gate_next(gate, site, job, now, &list);
    }
    at.tests = list.tests;
    look(&at, &list);
    if (!step->is && !list.failed) {
        step_verb(&at, offered ? GATE_VERB_ACCEPT_LEAD : gate_next_verb(job));
    }
    gate_list_free(&list);
}
