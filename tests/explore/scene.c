// Scenes, their steps, and which of them are worth taking in a state.
//
// The small scenes are each complete for one theme, with the fewest of everything else: two
// sensors and a controller; words of people; a crew and its lead; two jobs that share a point. A
// rule of the gate speaks of one job and one point, of two people of a job, or of two jobs that
// share: whatever breaks one breaks it in one of these. What needs more at once (two points of two
// kinds and two jobs and two people) is the nightly scene's.
#include "scene.h"

#include <string.h>

#define PERIODS .max_age_ms = 300000, .settle_ms = 2000, .valid_ms = 43200000

const struct scene scenes[] = {
    {.plan = {.name = "sensors",
              .positions = 1,
              .points = 1,
              .point = {{.isolates = 1, .sensors = 2, .electrical = true, .controlled = true}},
              .technicians = 1,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "one job, one point with two sensors and a controller, one technician",
     .jobs = 1,
     .no_readers = true,
     .no_conditions = true,
     .no_prepare_age = true,
     .no_hand_over = true},
    {.plan = {.name = "conditions",
              .positions = 1,
              .points = 1,
              .point = {{.isolates = 1, .sensors = 1, .electrical = true}},
              .technicians = 1,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "one job, one sensor; link, journal and another daemon",
     .jobs = 1,
     .no_prepare_age = true,
     .no_readers = true,
     .no_restart = true,
     .no_hand_over = true},
    {.plan = {.name = "readers",
              .positions = 1,
              .points = 1,
              .point = {{.isolates = 1, .sensors = 1, .electrical = true}},
              .technicians = 1,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "one job, one sensor, a tag reader, restarts",
     .jobs = 1,
     .no_conditions = true,
     .no_prepare_age = true,
     .no_hand_over = true},
    {.plan = {.name = "words",
              .positions = 1,
              .points = 1,
              .point = {{.isolates = 1, .witnesses = 2, .electrical = true}},
              .technicians = 1,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "one job, one point that two people speak for",
     .jobs = 1,
     .no_readers = true,
     .no_hand_over = true,
     .no_conditions = true,
     .no_prepare_age = true},
    {.plan = {.name = "crew",
              .positions = 1,
              .points = 1,
              .point = {{.isolates = 1, .sensors = 1, .electrical = true}},
              .technicians = 2,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "one job, one sensor, two technicians: joining, leaving, handing over",
     .jobs = 1,
     .no_readers = true,
     .no_restart = true,
     .no_conditions = true,
     .no_prepare_age = true},
    {.plan = {.name = "pair",
              .positions = 2,
              .dispenser = {1, 1},
              .points = 1,
              .point = {{.isolates = 3, .sensors = 1, .electrical = true}},
              .technicians = 1,
              .one_overseer = true,
              .bare = true,
              .bag = true,
              PERIODS},
     .why =
         "two jobs on one dispenser and one shared point, the fewest checks; a failed test takes "
         "the dispenser out",
     .jobs = 2,
     .no_readers = true,
     .no_hand_over = true,
     .no_conditions = true,
     .no_prepare_age = true,
     .no_restart = true},
    {.plan = {.name = "pair-full",
              .positions = 2,
              .dispenser = {1, 1},
              .points = 1,
              .point = {{.isolates = 3, .sensors = 1, .electrical = true}},
              .technicians = 1,
              .one_overseer = true,
              .brief = true,
              PERIODS},
     .why = "the same with a check of each group",
     .jobs = 2,
     .no_readers = true,
     .no_hand_over = true,
     .no_conditions = true,
     .no_prepare_age = true,
     .no_restart = true,
     .nightly = true},
    {.plan = {.name = "forecourt",
              .positions = 2,
              .dispenser = {1, 1},
              .points = 3,
              .point = {{.isolates = 3, .sensors = 2, .electrical = true, .controlled = true},
                        {.isolates = 1, .sensors = 1},
                        {.isolates = 2, .witnesses = 1}},
              .technicians = 2,
              .one_overseer = true,
              .brief = true,
              .product = true,
              PERIODS},
     .why = "two jobs, two positions, three points, three people: everything at once",
     .jobs = 2,
     .no_prepare_age = true,
     .nightly = true},
    {.plan = {.name = "at-work",
              .positions = 2,
              .dispenser = {1, 1},
              .points = 3,
              .point = {{.isolates = 3, .sensors = 2, .electrical = true, .controlled = true},
                        {.isolates = 1, .sensors = 1},
                        {.isolates = 2, .witnesses = 1}},
              .technicians = 2,
              .one_overseer = true,
              .brief = true,
              .product = true,
              PERIODS},
     .why = "the same, from where the first job is being worked on",
     .jobs = 2,
     .at_work = true,
     .no_prepare_age = true,
     .nightly = true},
};
const size_t scene_count = sizeof scenes / sizeof scenes[0];

// --- Every step ---

static void add(struct scene_steps *list, struct step step) {
    if (list->count < SCENE_STEPS) {
        list->steps[list->count] = step;
    }
    list->count++;
}

static void list_hardware(const struct scene *scene, const struct forecourt *f,
                          struct scene_steps *list) {
    bool controlled = false;
    for (unsigned s = 0; s < f->site.sensor_count; s++) {
        for (unsigned word = STEP_ISOLATED; word <= STEP_BAD; word++) {
            add(list, (struct step){.kind = STEP_HEAR, .at = (uint8_t)s, .item = word});
        }
        add(list, (struct step){.kind = STEP_PASS, .item = 1u << s, .ms = f->plan->max_age_ms + 1});
        controlled = controlled || f->plan->point[f->sensors[s].point].controlled;
    }
    for (unsigned ok = 0; ok < 2 && controlled; ok++) {
        add(list, (struct step){.kind = STEP_CONTROLLER, .ok = (uint8_t)ok});
    }
    for (unsigned ok = 0; ok < 2 && !scene->no_conditions; ok++) {
        add(list, (struct step){.kind = STEP_LINK, .ok = (uint8_t)ok});
        add(list, (struct step){.kind = STEP_JOURNAL, .ok = (uint8_t)ok});
        add(list, (struct step){.kind = STEP_CONTESTED, .ok = (uint8_t)ok});
    }
    for (unsigned p = 0; p < f->plan->points && !scene->no_readers; p++) {
        for (unsigned who = 1; who <= f->plan->technicians; who++) {
            for (unsigned ok = 0; ok < 2; ok++) {
                add(list, (struct step){.kind = STEP_READER,
                                        .at = (uint8_t)p,
                                        .who = (uint8_t)who,
                                        .ok = (uint8_t)ok});
            }
        }
    }
    if (f->site.sensor_count > 0) {
        add(list, (struct step){.kind = STEP_PASS, .ms = f->plan->settle_ms});
    }
    if (!scene->no_prepare_age || f->site.sensor_count == 0) {
        add(list, (struct step){.kind = STEP_PASS, .ms = 21600500});
    }
    if (!scene->no_restart) {
        add(list, (struct step){.kind = STEP_RESTART, .ms = 1});
        add(list, (struct step){.kind = STEP_RESTART, .ms = f->plan->max_age_ms + 2});
    }
}

static void ask(struct scene_steps *list, enum gate_verb verb, unsigned who, unsigned job,
                struct step more) {
    more.kind = STEP_ASK;
    more.verb = (uint8_t)verb;
    more.who = (uint8_t)who;
    more.job = (uint16_t)job;
    add(list, more);
}

static void list_checks(const struct forecourt *f, struct scene_steps *list, unsigned who,
                        unsigned job) {
    const struct model_requirements *needs = &f->procedures[0];
    for (unsigned c = 0; c < needs->check_count; c++) {
        ask(list, GATE_VERB_SIGN_CHECK, who, job, (struct step){.item = c, .ok = 1});
        if (needs->checks[c].unit != NULL) {
            ask(list, GATE_VERB_SIGN_CHECK, who, job, (struct step){.item = c});
        }
    }
    ask(list, GATE_VERB_RECORD_TEST, who, job, (struct step){.ok = 1});
    ask(list, GATE_VERB_RECORD_TEST, who, job, (struct step){.ok = 0});
}

static void list_points(const struct forecourt *f, struct scene_steps *list, unsigned who,
                        unsigned job) {
    for (unsigned p = 0; p < f->plan->points; p++) {
        struct step at = {.at = (uint8_t)p};
        if (f->plan->point[p].sensors == 0) {
            ask(list, GATE_VERB_WITNESS_POINT, who, job, at);
        }
        ask(list, GATE_VERB_HANG_TAG, who, job, at);
        ask(list, GATE_VERB_LIFT_TAG, who, job, at);
    }
}

static void list_work(const struct scene *scene, const struct forecourt *f,
                      struct scene_steps *list, unsigned who, unsigned job) {
    static const enum gate_verb verbs[] = {
        GATE_VERB_START_WORK, GATE_VERB_STOP_WORK, GATE_VERB_FINISH_WORK,     GATE_VERB_BEGIN_TEST,
        GATE_VERB_REWORK,     GATE_VERB_SET_ASIDE, GATE_VERB_RETURN_POSITION,
    };
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++) {
        ask(list, verbs[i], who, job, (struct step){0});
    }
    list_checks(f, list, who, job);
    list_points(f, list, who, job);
    if (scene->no_hand_over) {
        return;
    }
    ask(list, GATE_VERB_JOIN_JOB, who, job, (struct step){0});
    ask(list, GATE_VERB_LEAVE_JOB, who, job, (struct step){.to = STEP_STRANGER});
    ask(list, GATE_VERB_ACCEPT_LEAD, who, job, (struct step){0});
    for (unsigned to = 1; to <= f->plan->technicians; to++) {
        ask(list, GATE_VERB_HAND_OVER, who, job, (struct step){.to = (uint8_t)to});
    }
}

static void list_office(const struct scene *scene, const struct forecourt *f,
                        struct scene_steps *list, unsigned job) {
    struct step here = {.at = (uint8_t)(job % f->plan->positions), .to = 1, .ok = 1};
    ask(list, GATE_VERB_OPEN_JOB, 0, job, here);
    here.to = STEP_STRANGER;
    ask(list, GATE_VERB_OPEN_JOB, 0, job, here);
    for (unsigned to = 1; to <= f->plan->technicians; to++) {
        ask(list, GATE_VERB_ASSIGN_JOB, 0, job, (struct step){.to = (uint8_t)to, .ok = 1});
        if (!scene->no_hand_over) {
            ask(list, GATE_VERB_HAND_OVER, 0, job, (struct step){.to = (uint8_t)to});
            ask(list, GATE_VERB_LEAVE_JOB, 0, job, (struct step){.to = (uint8_t)to});
        }
    }
    ask(list, GATE_VERB_CANCEL_JOB, 0, job, (struct step){0});
    ask(list, GATE_VERB_STOP_WORK, 0, job, (struct step){0});
    for (unsigned p = 0; p < f->plan->points; p++) {
        if (f->plan->point[p].sensors == 0) {
            ask(list, GATE_VERB_WITNESS_POINT, 0, job, (struct step){.at = (uint8_t)p});
        }
    }
}

static void list_anywhere(const struct scene *scene, const struct forecourt *f,
                          struct scene_steps *list) {
    for (unsigned job = 0; job < scene->jobs; job++) {
        struct step broken = {.item = MODEL_ALARM_LOCKOUT_BROKEN};
        ask(list, GATE_VERB_ACKNOWLEDGE_ALARM, 0, job, broken);
    }
    ask(list, GATE_VERB_ACKNOWLEDGE_ALARM, 0, STEP_NO_JOB,
        (struct step){.item = MODEL_ALARM_LEFT_LIVE});
    for (unsigned p = 0; p < f->plan->points; p++) {
        for (unsigned to = 1; to <= f->plan->technicians; to++) {
            struct step absent = {.at = (uint8_t)p, .to = (uint8_t)to, .ok = 1};
            ask(list, GATE_VERB_LIFT_ABSENT_TAG, 0, 0, absent);
        }
        for (unsigned who = 0; who < 2 && f->plan->point[p].sensors == 0; who++) {
            struct step live = {.at = (uint8_t)p, .ok = 1};
            ask(list, GATE_VERB_WITNESS_POINT, who, 0, live);
        }
    }
}

bool scene_list(const struct scene *scene, const struct forecourt *f, struct scene_steps *list) {
    list->count = 0;
    list_hardware(scene, f, list);
    for (unsigned job = 0; job < scene->jobs; job++) {
        list_office(scene, f, list, job);
        for (unsigned who = 1; who <= f->plan->technicians; who++) {
            list_work(scene, f, list, who, job);
        }
    }
    list_anywhere(scene, f, list);
    return list->count <= SCENE_STEPS;
}

// --- Worth taking ---

static const struct rules_job *job_of(const struct rules *r, const struct step *step) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        if (r->jobs[s].stands && r->jobs[s].number == step->job) {
            return &r->jobs[s];
        }
    }
    return NULL;
}

static bool may_lead(const struct rules_job *job, const struct step *step) {
    unsigned phase = 1u << job->phase;
    unsigned in_work = 1u << MODEL_PHASE_WORKING | 1u << MODEL_PHASE_STOPPED;
    switch (step->verb) {
    case GATE_VERB_START_WORK:
        return (phase & (1u << MODEL_PHASE_OPEN | 1u << MODEL_PHASE_STOPPED)) != 0;
    case GATE_VERB_FINISH_WORK:
        return job->phase == MODEL_PHASE_WORKING;
    case GATE_VERB_SET_ASIDE:
        return (phase & in_work) != 0;
    case GATE_VERB_BEGIN_TEST:
        return job->phase == MODEL_PHASE_RESTORING;
    case GATE_VERB_REWORK:
        return job->phase == MODEL_PHASE_RESTORING || job->phase == MODEL_PHASE_TESTING;
    case GATE_VERB_RECORD_TEST:
    case GATE_VERB_RETURN_POSITION:
        return job->phase == MODEL_PHASE_TESTING;
    default:
        return true;
    }
}

static bool may_sign(const struct rules *r, const struct rules_job *job, const struct step *step) {
    switch (r->forecourt->procedures[0].checks[step->item].group) {
    case MODEL_GROUP_RELIEVE:
    case MODEL_GROUP_VERIFY:
        return job->held;
    case MODEL_GROUP_WORK:
        return job->phase == MODEL_PHASE_WORKING;
    case MODEL_GROUP_CLEAR:
    case MODEL_GROUP_LEAVE:
        return job->phase == MODEL_PHASE_WORKING || job->phase == MODEL_PHASE_STOPPED;
    case MODEL_GROUP_FINISH:
        return job->phase == MODEL_PHASE_TESTING;
    default:
        return true;
    }
}

static bool may_with_job(const struct rules *r, const struct rules_job *job,
                         const struct step *step) {
    unsigned slot = (unsigned)(job - r->jobs);
    bool in_crew = (job->crew >> step->who & 1u) != 0;
    switch (step->verb) {
    case GATE_VERB_ASSIGN_JOB:
    case GATE_VERB_CANCEL_JOB:
        return job->phase == MODEL_PHASE_OPEN && !rules_tagged(r, slot);
    case GATE_VERB_JOIN_JOB:
        return !in_crew;
    case GATE_VERB_SIGN_CHECK:
        return in_crew && may_sign(r, job, step);
    case GATE_VERB_HANG_TAG:
        return in_crew && rules_reads(r, step->at, slot) == MODEL_POINT_ISOLATED;
    case GATE_VERB_LIFT_TAG:
        return r->points[step->at].tags[step->who][slot].hangs;
    case GATE_VERB_STOP_WORK:
        return (step->who == 0 || in_crew) && job->phase != MODEL_PHASE_OPEN &&
               job->phase != MODEL_PHASE_STOPPED;
    case GATE_VERB_ACCEPT_LEAD:
        return job->offered == step->who;
    case GATE_VERB_HAND_OVER:
        return job->leader != step->to && (job->crew >> step->to & 1u) != 0;
    case GATE_VERB_LEAVE_JOB:
        return step->who == 0 ? (job->crew >> step->to & 1u) != 0 : in_crew;
    case GATE_VERB_WITNESS_POINT:
        return step->who == 0 || in_crew;
    default:
        return job->leader == step->who && may_lead(job, step);
    }
}

bool scene_may(const struct rules *r, const struct step *step) {
    if (step->kind != STEP_ASK) {
        return true;
    }
    switch (step->verb) {
    case GATE_VERB_OPEN_JOB:
        return (r->used[step->job / 8] >> step->job % 8 & 1u) == 0 && !r->jobs[step->at].stands;
    case GATE_VERB_ACKNOWLEDGE_ALARM:
        return true;
    case GATE_VERB_LIFT_ABSENT_TAG: {
        bool hangs = false;
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            hangs = hangs || r->points[step->at].tags[step->to][s].hangs;
        }
        return hangs;
    }
    default:
        break;
    }
    if (step->verb == GATE_VERB_WITNESS_POINT && step->ok) {
        return true;
    }
    const struct rules_job *job = job_of(r, step);
    return job != NULL && may_with_job(r, job, step);
}

bool scene_honest(const struct step *step) {
    switch (step->kind) {
    case STEP_HEAR:
        return step->item != STEP_BAD;
    case STEP_CONTROLLER:
    case STEP_LINK:
    case STEP_JOURNAL:
        return step->ok;
    case STEP_CONTESTED:
        return !step->ok;
    case STEP_READER:
        return !step->ok;
    case STEP_PASS:
        return step->item == 0;
    case STEP_RESTART:
        return false;
    default:
        return true;
    }
}
