// What a point is: by its sensors, or by the words of people (contract, section 3 "Hearing",
// "Words", "A sensor out of order").
#include "rules.h"

#include <string.h>

#define OVERSEERS (MODEL_ROLE_MANAGER | MODEL_ROLE_SUPERVISOR)

bool rules_online(const struct rules *r, uint32_t point) {
    return !r->forecourt->plan->point[point].controlled || r->controller == GATE_CONTROLLER_ONLINE;
}

bool rules_sensed(const struct rules *r, uint32_t point) {
    const struct model_point *model = &r->forecourt->points[point];
    for (unsigned i = 0; i < model->sensor_count; i++) {
        if (rules_trusted(r, model->sensors[i])) {
            return true;
        }
    }
    return false;
}

// --- Words ---

// Of a point whose sensors are out of order two people speak, for a time of its own.
static bool is_out_of_order(const struct rules *r, uint32_t point) {
    return r->forecourt->points[point].sensor_count > 0 && !rules_sensed(r, point);
}

static bool stands(const struct rules *r, uint32_t point, int64_t at) {
    int64_t valid =
        is_out_of_order(r, point) ? RULES_DISTRUST_WORD_MS : r->forecourt->plan->valid_ms;
    return r->now.mono - at <= valid;
}

// Who said that its sensors are out of order: their words do not stand in for them.
unsigned rules_distrusters(const struct rules *r, uint32_t point) {
    const struct model_point *model = &r->forecourt->points[point];
    unsigned people = 0;
    for (unsigned i = 0; is_out_of_order(r, point) && i < model->sensor_count; i++) {
        people |= r->sensors[model->sensors[i]].distrusted_by;
    }
    return people;
}

static unsigned witnesses(const struct rules *r, uint32_t point) {
    return is_out_of_order(r, point) ? 2 : r->forecourt->plan->point[point].witnesses;
}

bool rules_word_standing(const struct rules *r, uint32_t point) {
    const struct rules_point *p = &r->points[point];
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        if ((p->isolated[i].said && stands(r, point, p->isolated[i].at)) ||
            (p->live[i].said && stands(r, point, p->live[i].at))) {
            return true;
        }
    }
    return false;
}

static bool counts_for(const struct rules *r, const struct rules_word *word, unsigned slot) {
    return slot == RULES_NO_SLOT || (word->at >= r->jobs[slot].opened &&
                                     (word->overseer || (word->slots >> slot & 1u) != 0));
}

static enum model_point_state by_words(const struct rules *r, uint32_t point, unsigned slot) {
    const struct rules_point *p = &r->points[point];
    if (p->live_said) {
        return stands(r, point, p->live_newest) ? MODEL_POINT_LIVE : MODEL_POINT_UNKNOWN;
    }
    unsigned count = 0, not = rules_distrusters(r, point);
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        const struct rules_word *word = &p->isolated[i];
        count += word->said && stands(r, point, word->at) && counts_for(r, word, slot) &&
                 (not >> i & 1u) == 0;
    }
    return count > 0 && count >= witnesses(r, point) ? MODEL_POINT_ISOLATED : MODEL_POINT_UNKNOWN;
}

// Whether a person's word of live proves it: for the return of a job that of its crew, else that of
// the crew of any job that requires the point, or where none stands of the last that did.
static bool proves(const struct rules *r, uint32_t point, unsigned person, unsigned slot) {
    const struct rules_word *word = &r->points[point].live[person];
    bool distrusts = (rules_distrusters(r, point) >> person & 1u) != 0;
    if (!word->said || word->waited || distrusts || !stands(r, point, word->at)) {
        return false;
    }
    if (word->overseer) {
        return true;
    }
    bool any = false, of_it = false;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        bool requires = r->jobs[s].stands && (r->jobs[s].required >> point & 1u) != 0;
        any = any || requires;
        of_it = of_it || (requires && (word->slots >> s & 1u) != 0);
    }
    if (slot != RULES_NO_SLOT) {
        return (word->slots >> slot & 1u) != 0;
    }
    return any ? of_it : word->last;
}

static bool proved_by_words(const struct rules *r, uint32_t point, unsigned slot) {
    unsigned count = 0;
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        count += proves(r, point, i, slot);
    }
    return r->points[point].live_said && count >= (is_out_of_order(r, point) ? 2u : 1u);
}

static bool proved_for_anyone(const struct rules *r, uint32_t point) {
    bool proved = proved_by_words(r, point, RULES_NO_SLOT);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        bool requires = r->jobs[s].stands && (r->jobs[s].required >> point & 1u) != 0;
        proved = proved || (requires && proved_by_words(r, point, s));
    }
    return proved;
}

void rules_say(struct rules *r, uint32_t point, unsigned person, bool live, bool waited) {
    struct rules_point *p = &r->points[point];
    struct rules_word word = {.said = true, .at = r->now.mono, .waited = waited};
    word.last = (p->last_crew >> person & 1u) != 0;
    word.overseer = (r->forecourt->people[person].roles & OVERSEERS) != 0;
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        bool of_crew = r->jobs[s].stands && (r->jobs[s].crew >> person & 1u) != 0;
        word.slots |= of_crew ? 1u << s : 0;
    }
    if (!live) {
        memset(p->live, 0, sizeof p->live);
        p->live_said = false;
        p->isolated[person] = word;
        return;
    }
    // Said again of what is proved live, or while one's own word stands, it changes nothing.
    struct rules_word before = p->live[person];
    bool again =
        proved_for_anyone(r, point) || (before.said && stands(r, point, before.at) &&
                                        rules_reads(r, point, RULES_NO_SLOT) == MODEL_POINT_LIVE);
    p->live[person] = word;
    p->live_said = true;
    bool prover = proves(r, point, person, RULES_NO_SLOT);
    for (unsigned s = 0; s < r->forecourt->plan->positions; s++) {
        bool requires = r->jobs[s].stands && (r->jobs[s].required >> point & 1u) != 0;
        prover = prover || (requires && proves(r, point, person, s));
    }
    if (again && !prover) {
        p->live[person] = before;
        return;
    }
    memset(p->isolated, 0, sizeof p->isolated);
    p->live_newest = r->now.mono;
    rules_live(r, point, 0, true);
}

// --- A point ---

static bool kept_live(const struct rules *r, uint32_t sensor) {
    return r->sensors[sensor].kept && rules_fresh(r, sensor);
}

bool rules_says(const struct rules *r, uint32_t sensor, enum model_point_state state) {
    return rules_fresh(r, sensor) && !kept_live(r, sensor) && r->sensors[sensor].word == state;
}

enum model_point_state rules_reads(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    if (!rules_sensed(r, point)) {
        return by_words(r, point, slot);
    }
    if (!rules_online(r, point)) {
        return MODEL_POINT_UNKNOWN;
    }
    unsigned isolated = 0, trusted = 0;
    for (unsigned i = 0; i < model->sensor_count; i++) {
        uint32_t sensor = model->sensors[i];
        if (!rules_trusted(r, sensor)) {
            continue;
        }
        if (kept_live(r, sensor) || rules_says(r, sensor, MODEL_POINT_LIVE)) {
            return MODEL_POINT_LIVE;
        }
        trusted++;
        isolated += rules_says(r, sensor, MODEL_POINT_ISOLATED);
    }
    return isolated == trusted ? MODEL_POINT_ISOLATED : MODEL_POINT_UNKNOWN;
}

// One of several says live, the others not; where all that there is came from the broker's store,
// there is nothing to disagree with.
bool rules_disagrees(const struct rules *r, uint32_t point) {
    const struct model_point *model = &r->forecourt->points[point];
    bool live = false, kept = false, isolated = false, other = false;
    for (unsigned i = 0; i < model->sensor_count; i++) {
        uint32_t sensor = model->sensors[i];
        if (!rules_trusted(r, sensor)) {
            continue;
        }
        bool says_live = rules_says(r, sensor, MODEL_POINT_LIVE);
        bool says_isolated = rules_says(r, sensor, MODEL_POINT_ISOLATED);
        live = live || says_live;
        kept = kept || kept_live(r, sensor);
        isolated = isolated || says_isolated;
        other = other || !says_live;
    }
    return (live || (kept && isolated)) && other && rules_online(r, point);
}

bool rules_isolated(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    if (rules_reads(r, point, slot) != MODEL_POINT_ISOLATED) {
        return false;
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        const struct rules_sensor *s = &r->sensors[model->sensors[i]];
        if (rules_trusted(r, model->sensors[i]) && r->now.mono - s->since < model->settle_ms) {
            return false;
        }
    }
    return true;
}

bool rules_proved_live(const struct rules *r, uint32_t point, unsigned slot) {
    const struct model_point *model = &r->forecourt->points[point];
    if (rules_reads(r, point, RULES_NO_SLOT) != MODEL_POINT_LIVE) {
        return false;
    }
    if (!rules_sensed(r, point)) {
        return proved_by_words(r, point, slot);
    }
    for (unsigned i = 0; i < model->sensor_count; i++) {
        bool trusted = rules_trusted(r, model->sensors[i]);
        if (trusted && !rules_says(r, model->sensors[i], MODEL_POINT_LIVE)) {
            return false;
        }
    }
    return true;
}

// Words for a point whose sensor was out of order end with that.
void rules_trust_again(struct rules *r, uint32_t sensor) {
    uint32_t point = r->forecourt->sensors[sensor].point;
    struct rules_point *p = &r->points[point];
    r->sensors[sensor].distrusted_until = 0;
    r->sensors[sensor].distrusted_by = 0;
    memset(p->isolated, 0, sizeof p->isolated);
    memset(p->live, 0, sizeof p->live);
    p->live_said = false;
}
