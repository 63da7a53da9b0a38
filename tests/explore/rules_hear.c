// What was heard, reckoned from the inputs alone (contract, section 3 "Hearing").
#include "rules.h"

#include <string.h>

static int64_t max_age(const struct rules *r) {
    return r->forecourt->plan->max_age_ms;
}

static bool old(const struct rules *r, int64_t heard) {
    return heard == 0 || r->now.mono - heard > max_age(r);
}

bool rules_fresh(const struct rules *r, uint32_t sensor) {
    return !r->sensors[sensor].bad && !old(r, r->sensors[sensor].heard);
}

bool rules_trusted(const struct rules *r, uint32_t sensor) {
    return r->sensors[sensor].distrusted_until == 0;
}

// --- Order ---

// A time on both alone tells; else the number. What is older is a restarted sender's, or a
// corrected clock's, where the sender went stale or its controller came online again.
static int beside(const struct rules_order *newest, int64_t at, unsigned seq) {
    if (at != 0 && newest->at != 0) {
        return at < newest->at ? -1 : at > newest->at;
    }
    return seq == 0 || !newest->numbered ? 1 : seq < newest->seq ? -1 : seq > newest->seq;
}

int rules_order_of(const struct rules_order *newest, bool stale, int64_t at, unsigned seq) {
    int sign = beside(newest, at, seq);
    return sign < 0 && (stale || newest->forget) ? 1 : sign;
}

void rules_order_note(struct rules_order *newest, int64_t at, unsigned seq) {
    newest->at = at != 0 ? at : newest->at;
    newest->seq = seq != 0 ? seq : newest->seq;
    newest->numbered = newest->numbered || seq != 0;
    newest->forget = false;
}

// --- Sensors ---

struct word {
    bool live, kept;
    int64_t at; // wall ms; 0: not dated
    unsigned seq;
    int64_t counts; // mono ms that it counts from
};

// A copy carries what the last live did, and nothing else: its time and its number, or neither of
// what that lacked. What came by itself is no copy of what the broker kept.
static bool is_copy_of_live(const struct rules_sensor *s, const struct word *w) {
    return s->lived && (w->at != 0 || w->seq != 0) && w->at == s->live_at &&
           w->seq == s->live_seq && (w->kept || !s->live_kept);
}

static void note_live(struct rules_sensor *s, const struct word *w) {
    s->lived = true;
    s->live_at = w->at;
    s->live_seq = w->seq;
    s->live_kept = w->kept;
}

// A live that came now is never dropped: after a newer isolated it makes the sensor bad, and what
// rested on the point at its time is broken.
static void hear_late_live(struct rules *r, uint32_t sensor, const struct word *w) {
    struct rules_sensor *s = &r->sensors[sensor];
    bool copy = is_copy_of_live(s, w);
    if (!copy) {
        note_live(s, w);
    }
    if (s->heard == 0 || copy) {
        return;
    }
    if (s->word == MODEL_POINT_ISOLATED && !w->kept) { // else it did not come now, or says the same
        s->bad = true;
        s->since = 0;
        s->contradicted = r->now.mono;
    }
    rules_live(r, r->forecourt->sensors[sensor].point, w->at != 0 ? w->counts : 0, false);
}

static void take_word(struct rules *r, uint32_t sensor, const struct word *w) {
    struct rules_sensor *s = &r->sensors[sensor];
    uint8_t said = w->live ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
    bool gap = s->bad || s->kept || old(r, s->heard) || s->word != said;
    s->contradicted = gap ? 0 : s->contradicted;
    s->heard = w->counts;
    s->word = said;
    s->bad = s->kept = false;
    if (beside(&s->order, w->at, w->seq) < 0) { // of a row of its own: nothing of before has a copy
        s->lived = s->live_kept = false;
        s->live_at = 0;
        s->live_seq = 0;
    }
    rules_order_note(&s->order, w->at, w->seq);
    s->since = w->live ? 0 : gap ? r->now.mono : s->since;
    if (w->live) {
        note_live(s, w);
        rules_live(r, r->forecourt->sensors[sensor].point, old(r, s->heard) ? s->heard : 0,
                   !w->kept);
    }
}

// With the mark of the broker's store and without a time: isolated proves nothing, whenever it
// comes; live breaks, until a word comes by itself, unless it says nothing new.
static void hear_kept(struct rules *r, uint32_t sensor, const struct word *w) {
    struct rules_sensor *s = &r->sensors[sensor];
    bool says_so = rules_fresh(r, sensor) && s->word == MODEL_POINT_LIVE && !s->kept;
    if (w->live && rules_trusted(r, sensor) && !says_so) {
        note_live(s, w);
        s->kept = true;
        s->bad = false;
        s->word = MODEL_POINT_LIVE;
        s->heard = r->now.mono;
        s->since = s->contradicted = 0;
        rules_live(r, r->forecourt->sensors[sensor].point, 0, true);
    }
}

// A word that its date alone makes bad: a live of it was said all the same, and now.
static void hear_ahead(struct rules *r, uint32_t sensor, const struct word *w) {
    if (!w->live || w->kept) {
        return;
    }
    r->sensors[sensor].contradicted = r->now.mono;
    if (!rules_trusted(r, sensor)) {
        rules_trust_again(r, sensor);
        rules_live(r, r->forecourt->sensors[sensor].point, 0, true);
    }
}

void rules_hear(struct rules *r, const struct step *step) {
    struct rules_sensor *s = &r->sensors[step->at];
    struct word w = {.live = step->item == STEP_LIVE, .seq = step->job};
    w.kept = (step->how & STEP_KEPT) != 0;
    w.at = (step->how & STEP_DATED) != 0 ? r->now.wall - step->ms : 0;
    w.counts = r->now.mono - (step->ms > 0 ? step->ms : 0);
    bool kept = (step->how & STEP_KEPT) != 0;
    if (kept && ((w.at == 0 && step->item != STEP_BAD) || !rules_trusted(r, step->at))) {
        hear_kept(r, step->at, &w);
        return;
    }
    if (kept && w.at == 0 && s->itself) {
        return; // of bad quality
    }
    s->itself = s->itself || !kept;
    if (step->item == STEP_BAD || step->ms < -GATE_AHEAD_MS) {
        if (step->item != STEP_BAD) {
            hear_ahead(r, step->at, &w);
        }
        s->bad = true;
        s->since = 0;
        return;
    }
    int order = rules_order_of(&s->order, old(r, s->heard), w.at, w.seq);
    bool turned = order == 0 && w.live && (s->word == MODEL_POINT_ISOLATED || s->kept);
    bool anew = order > 0 || turned || (order < 0 && !is_copy_of_live(s, &w));
    if (w.live && !kept && anew && !rules_trusted(r, step->at)) {
        rules_trust_again(r, step->at); // what says live by itself is no longer out of order
    }
    if (order < 0 && w.live) {
        hear_late_live(r, step->at, &w);
    }
    if (order > 0 || turned) {
        take_word(r, step->at, &w);
    }
}

// --- Measures: ordered as the words of sensors are ---

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
    return !m->bad && !old(r, m->heard);
}

void rules_hear_measure(struct rules *r, const struct step *step) {
    struct rules_measure *m = &r->measures[step->at];
    int64_t at = (step->how & STEP_DATED) != 0 ? r->now.wall - step->ms : 0;
    if (step->item == STEP_BAD || step->ms < -GATE_AHEAD_MS) {
        m->bad = true;
    } else if (rules_order_of(&m->order, old(r, m->heard), at, step->job) > 0) {
        bool outside = step->item == STEP_LIVE;
        bool gap = m->bad || old(r, m->heard) || m->outside;
        m->heard = r->now.mono - (step->ms > 0 ? step->ms : 0);
        rules_order_note(&m->order, at, step->job);
        m->bad = false;
        m->within = outside ? 0 : gap ? r->now.mono : m->within;
        m->outside = outside;
    }
}

// --- Controllers ---

static void anew(struct rules_order *order) {
    order->forget = true;
}

// Online after offline, or after never: each of its sensors must be heard anew.
void rules_hear_controller(struct rules *r, bool online) {
    bool was = r->controller == GATE_CONTROLLER_ONLINE;
    r->controller = online ? GATE_CONTROLLER_ONLINE : GATE_CONTROLLER_OFFLINE;
    if (!online || was) {
        return;
    }
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        const struct model_point *model = &r->forecourt->points[p];
        for (unsigned i = 0; r->forecourt->plan->point[p].controlled && i < model->sensor_count;
             i++) {
            struct rules_sensor *s = &r->sensors[model->sensors[i]];
            s->heard = s->since = 0;
            anew(&s->order);
        }
    }
    r->measures[0].heard = 0; // it carries the first measure
    anew(&r->measures[0].order);
}
