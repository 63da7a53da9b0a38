// Every step of a scene: of its hardware, of time, of its crews and of the office.
#include "scene.h"

struct making {
    const struct scene *scene;
    const struct forecourt *f;
    struct scene_steps *list;
};

static bool has(const struct making *m, enum scene_with what) {
    return (m->scene->with & (unsigned)what) != 0;
}

static void add(const struct making *m, struct step step) {
    if (m->list->count < SCENE_STEPS) {
        m->list->steps[m->list->count] = step;
    }
    m->list->count++;
}

static void ask(const struct making *m, enum gate_verb verb, unsigned who, unsigned job,
                struct step more) {
    more.kind = STEP_ASK;
    more.verb = (uint8_t)verb;
    more.who = (uint8_t)who;
    more.job = (uint16_t)job;
    add(m, more);
}

// People may have to speak for it.
static bool spoken_for(const struct making *m, unsigned point) {
    return m->f->plan->point[point].sensors == 0 || has(m, SCENE_DISTRUST);
}

// --- Hardware and time ---

// Words that carry both, one or neither, each beside the others; the last live once more, as it
// was, without its number, and from the broker's store.
static void list_mixed(const struct making *m, unsigned sensor, unsigned word) {
    static const struct step kinds[] = {
        {.how = 0},
        {.how = STEP_DATED | STEP_COUNTED, .job = 2},
        {.how = STEP_LAST},
        {.how = STEP_LAST | STEP_BARE},
        {.how = STEP_LAST | STEP_KEPT},
    };
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        struct step step = kinds[i];
        step.kind = STEP_HEAR;
        step.at = (uint8_t)sensor;
        step.item = word;
        if (word == STEP_LIVE || (step.how & STEP_LAST) == 0) {
            add(m, step);
        }
    }
}

static void list_words(const struct making *m, unsigned sensor) {
    static const int ago[] = {0, 2, -6};
    int tick = m->f->plan->tick_ms;
    for (unsigned word = STEP_ISOLATED; word <= STEP_BAD; word++) {
        struct step step = {.kind = STEP_HEAR, .at = (uint8_t)sensor, .item = word};
        if (word == STEP_BAD || (!has(m, SCENE_DATED) && !has(m, SCENE_COUNTED))) {
            add(m, step);
        }
        for (unsigned i = 0; word != STEP_BAD && has(m, SCENE_DATED) && i < 3; i++) {
            step.how = STEP_DATED;
            step.ms = ago[i] * tick;
            add(m, step);
        }
        if (word != STEP_BAD && has(m, SCENE_DATED)) {
            step.how = STEP_AGAIN;
            step.ms = 0;
            add(m, step);
        }
        for (unsigned number = 0; word != STEP_BAD && has(m, SCENE_COUNTED) && number < 3;
             number++) {
            step.how = STEP_COUNTED;
            step.job = (uint16_t)number;
            add(m, step);
        }
        if (word != STEP_BAD && has(m, SCENE_MIXED)) {
            list_mixed(m, sensor, word);
        }
        if (word != STEP_BAD && has(m, SCENE_KEPT)) {
            step.how = STEP_KEPT;
            add(m, step);
        }
    }
}

static void list_readers(const struct making *m) {
    for (unsigned p = 0; p < m->f->plan->points; p++) {
        unsigned last = m->f->plan->technicians + (has(m, SCENE_SEEN_OFF) ? 1 : 0);
        for (unsigned who = 1; who <= last; who++) {
            bool known = who <= m->f->plan->technicians;
            struct step step = {
                .kind = STEP_LOCK, .at = (uint8_t)p, .who = (uint8_t)(known ? who : STEP_STRANGER)};
            add(m, step);
            step.ok = 1;
            add(m, step);
            step.how = STEP_WAITED;
            if (has(m, SCENE_WAITED)) {
                add(m, step);
            }
        }
    }
}

static void list_time(const struct making *m) {
    const struct forecourt_plan *plan = m->f->plan;
    if (m->f->site.sensor_count > 0) {
        add(m, (struct step){.kind = STEP_PASS, .ms = plan->settle_ms});
    }
    if (has(m, SCENE_HALVES)) {
        add(m, (struct step){.kind = STEP_PASS, .ms = 21600500});
    }
    if (has(m, SCENE_RESTART)) {
        add(m, (struct step){.kind = STEP_RESTART, .ms = plan->step_ms});
        add(m, (struct step){.kind = STEP_RESTART, .ms = plan->max_age_ms + 2});
    }
}

static void list_hardware(const struct making *m) {
    for (unsigned s = 0; s < m->f->site.sensor_count; s++) {
        list_words(m, s);
        if (has(m, SCENE_SILENCE)) {
            int silence = m->f->plan->max_age_ms + 1;
            add(m, (struct step){.kind = STEP_PASS, .item = 1u << s, .ms = silence});
        }
    }
    for (unsigned ok = 0; ok < 2 && has(m, SCENE_CONTROLLER); ok++) {
        add(m, (struct step){.kind = STEP_CONTROLLER, .ok = (uint8_t)ok});
    }
    for (unsigned ok = 0; ok < 2 && has(m, SCENE_CONDITIONS); ok++) {
        add(m, (struct step){.kind = STEP_LINK, .at = GATE_DURABLE, .ok = (uint8_t)ok});
        add(m, (struct step){.kind = STEP_JOURNAL, .ok = (uint8_t)ok});
        add(m, (struct step){.kind = STEP_CONTESTED, .ok = (uint8_t)ok});
    }
    if (has(m, SCENE_READERS)) {
        list_readers(m);
    }
    if (has(m, SCENE_KEPT)) {
        add(m, (struct step){.kind = STEP_SUBSCRIBE});
    }
    if (has(m, SCENE_CONDITIONS)) { // for as long as work goes on without the connection
        add(m, (struct step){.kind = STEP_PASS, .ms = m->f->plan->max_age_ms + 1});
    }
    if (has(m, SCENE_SESSION)) {
        add(m, (struct step){.kind = STEP_SESSION});
    }
    for (unsigned i = 0; i < 2 && has(m, SCENE_CLOCK); i++) {
        static const int by[] = {-2000, -45000};
        add(m, (struct step){.kind = STEP_CLOCK, .ms = by[i]});
    }
    if (has(m, SCENE_CLOCK)) {
        add(m, (struct step){.kind = STEP_PASS, .ms = 3 * m->f->plan->step_ms});
    }
    list_time(m);
}

// --- The crew ---

static void list_checks(const struct making *m, unsigned who, unsigned job) {
    const struct model_requirements *needs = &m->f->procedures[0];
    for (unsigned c = 0; c < needs->check_count; c++) {
        bool read = needs->checks[c].unit != NULL;
        ask(m, GATE_VERB_SIGN_CHECK, who, job, (struct step){.item = c, .ok = 1});
        if (read) {
            ask(m, GATE_VERB_SIGN_CHECK, who, job, (struct step){.item = c});
        } else if (has(m, SCENE_FAILS) && needs->checks[c].group == MODEL_GROUP_PREPARE) {
            ask(m, GATE_VERB_SIGN_CHECK, who, job, (struct step){.item = c, .how = STEP_NO});
        }
    }
    ask(m, GATE_VERB_RECORD_TEST, who, job, (struct step){.ok = 1, .how = STEP_NOTE});
    ask(m, GATE_VERB_RECORD_TEST, who, job, (struct step){.ok = 1});
    ask(m, GATE_VERB_RECORD_TEST, who, job, (struct step){.ok = 0});
}

static void list_points(const struct making *m, unsigned who, unsigned job) {
    for (unsigned p = 0; p < m->f->plan->points; p++) {
        struct step at = {.at = (uint8_t)p}, waited = {.at = (uint8_t)p, .how = STEP_WAITED};
        if (spoken_for(m, p)) {
            ask(m, GATE_VERB_WITNESS_POINT, who, job, at);
            if (has(m, SCENE_WAITED)) {
                ask(m, GATE_VERB_WITNESS_POINT, who, job, waited);
            }
        }
        ask(m, GATE_VERB_HANG_TAG, who, job, at);
        if (has(m, SCENE_WAITED)) {
            ask(m, GATE_VERB_HANG_TAG, who, job, waited);
        }
        ask(m, GATE_VERB_LIFT_TAG, who, job, at);
    }
}

static void list_stops(const struct making *m, unsigned who, unsigned job) {
    if (has(m, SCENE_STOPS)) {
        ask(m, GATE_VERB_STOP_WORK, who, job, (struct step){0});
        ask(m, GATE_VERB_STOP_WORK, who, job, (struct step){.how = STEP_PAUSE});
    }
}

static void list_leads(const struct making *m, unsigned who, unsigned job) {
    ask(m, GATE_VERB_LEAVE_JOB, who, job, (struct step){.to = STEP_STRANGER});
    ask(m, GATE_VERB_ACCEPT_LEAD, who, job, (struct step){0});
    for (unsigned to = 1; to <= m->f->plan->technicians; to++) {
        ask(m, GATE_VERB_HAND_OVER, who, job, (struct step){.to = (uint8_t)to});
    }
}

static void list_work(const struct making *m, unsigned who, unsigned job) {
    static const enum gate_verb verbs[] = {
        GATE_VERB_START_WORK, GATE_VERB_FINISH_WORK, GATE_VERB_BEGIN_TEST,
        GATE_VERB_REWORK,     GATE_VERB_SET_ASIDE,   GATE_VERB_RETURN_POSITION,
    };
    for (size_t i = 0; i < sizeof verbs / sizeof verbs[0]; i++) {
        ask(m, verbs[i], who, job, (struct step){0});
    }
    list_stops(m, who, job);
    list_checks(m, who, job);
    list_points(m, who, job);
    if (has(m, SCENE_CREW) || has(m, SCENE_JOIN)) {
        ask(m, GATE_VERB_JOIN_JOB, who, job, (struct step){0});
    }
    if (has(m, SCENE_CREW)) {
        list_leads(m, who, job);
    }
}

// --- The office ---

static void list_office(const struct making *m, unsigned job) {
    struct step here = {.at = (uint8_t)(job % m->f->plan->positions), .to = 1, .ok = 1};
    ask(m, GATE_VERB_OPEN_JOB, 0, job, here);
    here.to = STEP_STRANGER;
    if (has(m, SCENE_OFFICE)) {
        ask(m, GATE_VERB_OPEN_JOB, 0, job, here);
    }
    for (unsigned to = 1; to <= m->f->plan->technicians; to++) {
        if (has(m, SCENE_OFFICE)) {
            ask(m, GATE_VERB_ASSIGN_JOB, 0, job, (struct step){.to = (uint8_t)to, .ok = 1});
        }
        if (has(m, SCENE_CREW)) {
            ask(m, GATE_VERB_HAND_OVER, 0, job, (struct step){.to = (uint8_t)to});
            ask(m, GATE_VERB_LEAVE_JOB, 0, job, (struct step){.to = (uint8_t)to});
        }
    }
    ask(m, GATE_VERB_CANCEL_JOB, 0, job, (struct step){0});
    list_stops(m, 0, job);
    for (unsigned p = 0; p < m->f->plan->points; p++) {
        if (spoken_for(m, p)) {
            ask(m, GATE_VERB_WITNESS_POINT, 0, job, (struct step){.at = (uint8_t)p});
        }
    }
    // A supervisor may say how it was made safe where a point cannot be isolated, and fail a check.
    const struct model_requirements *needs = &m->f->procedures[0];
    for (unsigned c = 0; c < needs->check_count; c++) {
        if (needs->checks[c].group == MODEL_GROUP_LEAVE) {
            struct step noted = {.item = c, .ok = 1, .how = STEP_NOTE};
            ask(m, GATE_VERB_SIGN_CHECK, 0, job, noted);
        } else if (has(m, SCENE_FAILS) && needs->checks[c].group == MODEL_GROUP_VERIFY) {
            ask(m, GATE_VERB_SIGN_CHECK, 0, job, (struct step){.item = c});
        }
    }
}

static void list_alarms(const struct making *m) {
    static const struct {
        enum model_alarm_kind kind;
        unsigned with; // 0: in every scene
    } kinds[] = {{MODEL_ALARM_LOCKOUT_BROKEN, 0},
                 {MODEL_ALARM_STOP_CALLED, SCENE_STOPS},
                 {MODEL_ALARM_TAG_LEFT, SCENE_HALVES},
                 {MODEL_ALARM_ABSENT_LOCK_REMOVED, SCENE_ABSENT}};
    for (unsigned job = 0; job < m->scene->jobs; job++) {
        for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
            if (kinds[i].with == 0 || (m->scene->with & kinds[i].with) != 0) {
                struct step step = {.item = kinds[i].kind, .how = STEP_NOTE};
                ask(m, GATE_VERB_ACKNOWLEDGE_ALARM, 0, job, step);
                if (kinds[i].kind == MODEL_ALARM_ABSENT_LOCK_REMOVED) { // not who removed it
                    ask(m, GATE_VERB_ACKNOWLEDGE_ALARM, 1, job, step);
                }
            }
        }
    }
    ask(m, GATE_VERB_ACKNOWLEDGE_ALARM, 0, STEP_NO_JOB,
        (struct step){.item = MODEL_ALARM_LEFT_LIVE});
}

static void list_distrust(const struct making *m) {
    static const enum gate_verb verbs[] = {GATE_VERB_DISTRUST_SENSOR, GATE_VERB_TRUST_SENSOR};
    for (unsigned v = 0; v < 2; v++) {
        for (unsigned s = 0; s < m->f->site.sensor_count; s++) {
            ask(m, verbs[v], 0, STEP_NO_JOB, (struct step){.at = (uint8_t)s});
        }
        for (unsigned p = 0; has(m, SCENE_READERS) && p < m->f->plan->points; p++) {
            struct step reader = {.at = (uint8_t)p, .how = STEP_OF_READER};
            ask(m, verbs[v], 0, STEP_NO_JOB, reader);
        }
    }
}

static void list_anywhere(const struct making *m) {
    list_alarms(m);
    if (has(m, SCENE_DISTRUST)) {
        list_distrust(m);
    }
    for (unsigned p = 0; p < m->f->plan->points; p++) {
        for (unsigned to = 1; to <= m->f->plan->technicians && has(m, SCENE_ABSENT); to++) {
            struct step absent = {.at = (uint8_t)p, .to = (uint8_t)to, .ok = 1};
            ask(m, GATE_VERB_LIFT_ABSENT_TAG, 0, 0, absent);
            absent.ok = 2;
            if (has(m, SCENE_SEEN_OFF)) {
                ask(m, GATE_VERB_LIFT_ABSENT_TAG, 0, 0, absent);
            }
            ask(m, GATE_VERB_CONFIRM_TOLD, to, STEP_NO_JOB, (struct step){0});
        }
        if (has(m, SCENE_SEEN_OFF)) {
            struct step unknown = {.at = (uint8_t)p, .to = STEP_STRANGER, .ok = 1};
            ask(m, GATE_VERB_LIFT_ABSENT_TAG, 0, 0, unknown);
            unknown.ok = 2;
            ask(m, GATE_VERB_LIFT_ABSENT_TAG, 0, 0, unknown);
        }
        for (unsigned who = 0; who < 2 && spoken_for(m, p); who++) {
            struct step live = {.at = (uint8_t)p, .ok = 1};
            ask(m, GATE_VERB_WITNESS_POINT, who, 0, live);
        }
    }
}

bool scene_list(const struct scene *scene, const struct forecourt *f, struct scene_steps *list) {
    const struct making m = {scene, f, list};
    list->count = 0;
    list_hardware(&m);
    for (unsigned job = 0; job < scene->jobs; job++) {
        list_office(&m, job);
        for (unsigned who = 1; who <= f->plan->technicians; who++) {
            list_work(&m, who, job);
        }
    }
    list_anywhere(&m);
    return list->count <= SCENE_STEPS;
}
