// The evidence, reckoned from the inputs alone: what each point is, which tags count, which
// signatures a lost hold ends (contract, section 3 "Hearing", "Words", "Tags"; section 4 "What
// voids").
#include "rules.h"

#include <string.h>

static int64_t max_age(const struct rules *r) {
    return r->forecourt->plan->max_age_ms;
}

static unsigned slot_of(const struct rules *r, const struct rules_job *job) {
    return (unsigned)(job - r->jobs);
}

static bool stale(const struct rules *r, const struct rules_sensor *s) {
    return s->heard == 0 || r->now.mono - s->heard > max_age(r);
}

bool rules_fresh(const struct rules *r, uint32_t sensor) {
    return !r->sensors[sensor].bad && !stale(r, &r->sensors[sensor]);
}

bool rules_online(const struct rules *r, uint32_t point) {
    return !r->forecourt->plan->point[point].controlled || r->controller == GATE_CONTROLLER_ONLINE;
}

// --- What a point is ---

static bool word_stands(const struct rules *r, int64_t at) {
    return r->now.mono - at <= r->forecourt->plan->valid_ms;
}

static enum model_point_state by_words(const struct rules *r, uint32_t point, unsigned slot) {
    const struct rules_point *p = &r->points[point];
    if (p->live_said) {
        return word_stands(r, p->live_at) ? MODEL_POINT_LIVE : MODEL_POINT_UNKNOWN;
    }
    unsigned count = 0;
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        const struct rules_word *word = &p->statements[i];
        bool for_job =
            slot == RULES_NO_SLOT || (word->at >= r->jobs[slot].opened &&
                                      (word->overseer || (word->slots >> slot & 1u) != 0));
        count += word->said && word_stands(r, word->at) && for_job;
    }
    bool enough = count > 0 && count >= r->forecourt->plan->point[point].witnesses;
    return enough ? MODEL_POINT_ISOLATED : MODEL_POINT_UNKNOWN;
}

enum model_point_state rules_reads(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    if (model->sensor_count == 0) {
        return by_words(r, point, slot);
    }
    if (!rules_online(r, point)) {
        return MODEL_POINT_UNKNOWN;
    }
    unsigned isolated = 0;
    for (unsigned i = 0; i < model->sensor_count; i++) {
        bool fresh = rules_fresh(r, model->sensors[i]);
        if (fresh && r->sensors[model->sensors[i]].word == MODEL_POINT_LIVE) {
            return MODEL_POINT_LIVE;
        }
        isolated += fresh && r->sensors[model->sensors[i]].word == MODEL_POINT_ISOLATED;
    }
    return isolated == model->sensor_count ? MODEL_POINT_ISOLATED : MODEL_POINT_UNKNOWN;
}

bool rules_isolated(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    if (rules_reads(r, point, slot) != MODEL_POINT_ISOLATED) {
        return false;
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        if (r->now.mono - r->sensors[model->sensors[i]].since < model->settle_ms) {
            return false;
        }
    }
    return true;
}

bool rules_proved_live(const struct rules *r, uint32_t point) {
    const struct model_point *model = &r->forecourt->points[point];
    if (rules_reads(r, point, RULES_NO_SLOT) != MODEL_POINT_LIVE) {
        return false;
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        if (!rules_fresh(r, model->sensors[i]) ||
            r->sensors[model->sensors[i]].word != MODEL_POINT_LIVE) {
            return false;
        }
    }
    return model->sensor_count > 0 || r->points[point].live_proves;
}

unsigned rules_reading_isolated(const struct rules *r, const struct rules_job *job) {
    unsigned points = 0;
    for (unsigned p = 0; job->stands && p < r->forecourt->plan->points; p++) {
        bool isolated = rules_reads(r, p, RULES_NO_SLOT) == MODEL_POINT_ISOLATED;
        points |= isolated && (job->required >> p & 1u) != 0 ? 1u << p : 0;
    }
    return points;
}

// --- Tags and holds ---

bool rules_protected(const struct rules *r, const struct rules_job *job, unsigned person) {
    if (person == RULES_NOBODY || job->required == 0) {
        return false;
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0 && !r->points[p].tags[person][slot_of(r, job)].counts) {
            return false;
        }
    }
    return true;
}

bool rules_tagged(const struct rules *r, unsigned slot) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
            if (r->points[p].tags[who][slot].hangs) {
                return true;
            }
        }
    }
    return false;
}

// After a restart: isolated (settling or not), or not yet heard and not overdue.
static bool not_overdue(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    enum model_point_state reads = rules_reads(r, point, slot);
    if (reads != MODEL_POINT_UNKNOWN || model->sensor_count == 0) {
        return reads == MODEL_POINT_ISOLATED;
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        if (r->sensors[model->sensors[i]].bad) {
            return false;
        }
    }
    bool offline =
        r->forecourt->plan->point[point].controlled && r->controller == GATE_CONTROLLER_OFFLINE;
    return !offline && r->now.mono - r->points[point].heard_before <= max_age(r);
}

static bool holds(const struct rules *r, struct rules_job *job) {
    bool proved = true, waits = true;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((job->required >> p & 1u) != 0) {
            bool isolated = rules_isolated(r, p, slot_of(r, job));
            proved = proved && isolated;
            waits = waits && (isolated || not_overdue(r, p, slot_of(r, job)));
        }
    }
    if (!rules_protected(r, job, job->leader)) {
        proved = waits = false;
    }
    job->unproven = job->unproven && waits && !proved;
    return proved || job->unproven;
}

void rules_void(struct rules *r, struct rules_job *job, enum model_group group) {
    const struct model_requirements *needs = &r->forecourt->procedures[job->procedure];
    for (size_t i = 0; i < needs->check_count; i++) {
        if (needs->checks[i].group == group) {
            job->signed_[i].stands = false;
            memset(job->verified[i], 0, sizeof job->verified[i]);
        }
    }
}

void rules_void_tests(struct rules *r, struct rules_job *job) {
    for (size_t i = 0; i < FORECOURT_TESTS; i++) {
        job->tests[i].stands = false;
    }
    rules_void(r, job, MODEL_GROUP_FINISH);
}

static void lose(struct rules *r, struct rules_job *job) {
    rules_void(r, job, MODEL_GROUP_RELIEVE);
    rules_void(r, job, MODEL_GROUP_VERIFY);
}

void rules_settle(struct rules *r) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        if (job->stands) {
            bool held = holds(r, job);
            job->held_since = held && !job->held ? r->now.mono : job->held_since;
            job->held = held;
            if (!job->held) {
                lose(r, job);
            }
        }
    }
}

static bool rests_before(const struct rules *r, const struct rules_job *job, int64_t at) {
    const struct model_requirements *needs = &r->forecourt->procedures[job->procedure];
    for (unsigned p = 0; job->leader != RULES_NOBODY && p < r->forecourt->plan->points; p++) {
        const struct rules_tag *tag = &r->points[p].tags[job->leader][slot_of(r, job)];
        if (tag->counts && tag->hung <= at) {
            return true;
        }
    }
    for (size_t i = 0; i < needs->check_count; i++) {
        bool rests = needs->checks[i].group == MODEL_GROUP_RELIEVE ||
                     needs->checks[i].group == MODEL_GROUP_VERIFY;
        if (rests && job->signed_[i].stands && job->signed_[i].at <= at) {
            return true;
        }
    }
    return false;
}

void rules_live(struct rules *r, uint32_t point, int64_t at) {
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        struct rules_job *job = &r->jobs[s];
        bool under = false;
        for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
            const struct rules_tag *tag = &r->points[point].tags[who][s];
            under = under || (tag->counts && (at == 0 || tag->hung <= at));
        }
        bool required = job->stands && (job->required >> point & 1u) != 0;
        if (required && (at == 0 || under || rests_before(r, job, at))) {
            lose(r, job);
            job->unproven = false;
            job->broken_now = job->broken_now || under || job->phase == MODEL_PHASE_WORKING;
        }
    }
    for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            struct rules_tag *tag = &r->points[point].tags[who][s];
            tag->counts = tag->counts && at != 0 && tag->hung > at;
        }
    }
}

// --- Inputs ---

static void hear_live(struct rules *r, uint32_t sensor, uint32_t point, int64_t at_line) {
    bool old = stale(r, &r->sensors[sensor]);
    rules_live(r, point, old ? at_line : 0);
}

// Below 0: the word is older than the newest; 0: a copy of it; above: newer. A time on both alone
// tells; else the number, of which a lower one is a restarted sender's when that is to be expected.
static int order(const struct rules *r, const struct rules_sensor *s, bool dated, int64_t at,
                 unsigned seq) {
    if (dated && s->at != 0) {
        return at < s->at ? -1 : at > s->at;
    }
    if (seq != 0 && s->numbered && seq <= s->seq) {
        return seq == s->seq ? 0 : s->forget || stale(r, s) ? 1 : -1;
    }
    return 1;
}

static void hear(struct rules *r, const struct step *step) {
    struct rules_sensor *s = &r->sensors[step->at];
    uint32_t point = r->forecourt->sensors[step->at].point;
    bool dated = step->ms != 0;
    int64_t at = r->now.wall - step->ms;
    if (step->item == STEP_BAD || step->ms < -GATE_AHEAD_MS) {
        s->bad = true;
        s->since = 0;
        return;
    }
    uint8_t word = step->item == STEP_LIVE ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    int age = order(r, s, dated, at, step->job);
    if (age < 0 && word == MODEL_POINT_LIVE) {
        rules_live(r, point, dated ? r->now.mono - step->ms : 0);
    }
    bool turned = word == MODEL_POINT_LIVE && s->word == MODEL_POINT_ISOLATED;
    if (age < 0 || (age == 0 && !turned)) {
        return;
    }
    bool gap = s->bad || stale(r, s) || s->word != word;
    s->heard = r->now.mono - (step->ms > 0 ? step->ms : 0);
    s->word = word;
    s->bad = false;
    s->at = dated ? at : s->at;
    s->seq = step->job != 0 ? step->job : s->seq;
    s->numbered = s->numbered || step->job != 0;
    s->forget = false;
    s->since = word == MODEL_POINT_LIVE ? 0 : gap ? r->now.mono : s->since;
    if (word == MODEL_POINT_LIVE) {
        hear_live(r, step->at, point, s->heard);
    }
}

bool rules_measures(const struct rules *r, unsigned measure, unsigned position) {
    const struct model_measure *model = &r->forecourt->measures[measure];
    for (unsigned i = 0; i < model->position_count; i++) {
        if (model->positions[i] == position) {
            return measure < r->forecourt->site.measure_count;
        }
    }
    return false;
}

bool rules_measured_now(const struct rules *r, unsigned measure) {
    const struct rules_measure *m = &r->measures[measure];
    return m->heard != 0 && !m->bad && r->now.mono - m->heard <= max_age(r);
}

// Ordered as the words of sensors are.
static void hear_measure(struct rules *r, const struct step *step) {
    struct rules_measure *m = &r->measures[step->at];
    bool dated = step->ms != 0;
    int64_t at = r->now.wall - step->ms;
    struct rules_sensor as = {.heard = m->heard,
                              .at = m->at,
                              .seq = m->seq,
                              .numbered = m->numbered,
                              .forget = m->forget};
    if (step->item == STEP_BAD || step->ms < -GATE_AHEAD_MS) {
        m->bad = true;
    } else if (order(r, &as, dated, at, step->job) > 0) {
        m->heard = r->now.mono - (step->ms > 0 ? step->ms : 0);
        m->at = dated ? at : m->at;
        m->seq = step->job != 0 ? step->job : m->seq;
        m->numbered = m->numbered || step->job != 0;
        m->forget = m->bad = false;
        m->outside = step->item == STEP_LIVE;
    }
}

static void hear_controller(struct rules *r, bool online) {
    bool was = r->controller == GATE_CONTROLLER_ONLINE;
    r->controller = online ? GATE_CONTROLLER_ONLINE : GATE_CONTROLLER_OFFLINE;
    for (unsigned p = 0; online && !was && p < r->forecourt->plan->points; p++) {
        const struct model_point *model = &r->forecourt->points[p];
        for (unsigned i = 0; r->forecourt->plan->point[p].controlled && i < model->sensor_count;
             i++) {
            r->sensors[model->sensors[i]].heard = r->sensors[model->sensors[i]].since = 0;
            r->sensors[model->sensors[i]].forget = true;
        }
    }
    if (online && !was) { // it carries the first measure
        r->measures[0].heard = 0;
        r->measures[0].forget = true;
    }
}

static void come_up(struct rules *r) {
    r->controller = GATE_CONTROLLER_NEVER;
    r->contested = false;
    r->journal = r->link = true;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct model_point *model = &r->forecourt->points[p];
        int64_t oldest = INT64_MAX;
        for (unsigned i = 0; i < model->sensor_count; i++) {
            int64_t heard = r->sensors[model->sensors[i]].heard;
            oldest = heard < oldest ? heard : oldest;
        }
        if (oldest != 0) { // else what the journal kept from before stands
            r->points[p].heard_before = oldest;
        }
    }
    memset(r->sensors, 0, sizeof r->sensors);
    memset(r->measures, 0, sizeof r->measures);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        // Longer away than any point may be unheard: nothing vouches for what was held.
        r->jobs[s].unproven = r->jobs[s].held && r->step->ms <= max_age(r);
    }
}

void rules_before(struct rules *r, const struct step *step, struct gate_time now) {
    r->step = step;
    r->told_any = false;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        r->jobs[s].read_isolated = rules_reading_isolated(r, &r->jobs[s]);
    }
    r->now = now;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        r->jobs[s].before = r->jobs[s].phase;
        r->jobs[s].broken_now = false;
        r->jobs[s].held_before = r->jobs[s].held;
    }
    switch (step->kind) {
    case STEP_HEAR:
        rules_settle(r); // what time alone has ended comes before the word
        hear(r, step);
        break;
    case STEP_MEASURE:
        rules_settle(r);
        hear_measure(r, step);
        break;
    case STEP_CONTROLLER:
        rules_settle(r);
        hear_controller(r, step->ok);
        break;
    case STEP_LINK:
        r->link = step->ok;
        break;
    case STEP_JOURNAL:
        r->journal = step->ok;
        break;
    case STEP_CONTESTED:
        r->contested = step->ok;
        break;
    case STEP_RESTART:
        come_up(r);
        break;
    default:
        break;
    }
    rules_settle(r);
}
