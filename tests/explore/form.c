// The normal form of a state: written of the account of the rules.
#include "form.h"

#include <stdlib.h>
#include <string.h>

#define NONE 255

struct form {
    unsigned char *bytes;
    size_t length;
    int64_t now; // mono
    const struct rules *rules;
    bool failed;
};

static void put(struct form *f, unsigned value) {
    if (f->length < FORM_MAX && value < 256) {
        f->bytes[f->length++] = (unsigned char)value;
    } else {
        f->failed = true;
    }
}

// The class of an age: halves of the longest period; or, where words carry their time, how many
// ticks of that scene, up to more than any of its limits.
static unsigned age(const struct form *f, int64_t at) {
    int tick = f->rules->forecourt->plan->tick_ms;
    int64_t ages = (f->now - at) / (tick > 0 ? tick : FORM_HALF_MS);
    int64_t most = tick > 0 ? 3 : 2;
    return ages < 0 ? 0 : ages > most ? (unsigned)most : (unsigned)ages;
}

// --- Sensors and points ---

// The same of a time on the wall clock; 0: there is none.
static unsigned wall_age(const struct form *f, int64_t at) {
    return at != 0 ? 1 + age(f, f->now - (f->rules->now.wall - at)) : 0;
}

static void put_sensor(struct form *f, unsigned index) {
    const struct rules_sensor *s = &f->rules->sensors[index];
    const struct forecourt *forecourt = f->rules->forecourt;
    const struct model_point *point = &forecourt->points[forecourt->sensors[index].point];
    bool fresh = s->heard != 0 && f->now - s->heard <= point->max_age_ms;
    bool settled = s->since != 0 && f->now - s->since >= point->settle_ms;
    put(f, (s->heard == 0 ? 0
            : fresh       ? 1u
                          : 2u) |
               (s->bad ? 4u : 0) | (s->kept ? 8u : 0) |
               (s->since == 0 ? 0
                : settled     ? 16u
                              : 32u) |
               (unsigned)s->word << 6);
    if (s->since != 0 && !settled && point->settle_ms <= 2 * forecourt->plan->step_ms) {
        put(f, (unsigned)((f->now - s->since) / forecourt->plan->step_ms)); // in steps
    }
    put(f, s->distrusted_until != 0 ? 1u + age(f, s->distrusted_until - 43200000) : 0);
    put(f, s->distrusted_by);
    if (!forecourt->plan->told_how) {
        return;
    }
    // Words come with their times and numbers, or from the broker's store. The next one is beside
    // the newest, or of its time, and so may be a copy of the last live.
    int ahead = s->lived ? (int)s->order.seq - (int)s->live_seq : 0;
    bool copies = s->live_at == s->order.at;
    put(f, (s->itself ? 1u : 0) | (s->lived ? 2u : 0) | (s->order.numbered ? 4u : 0) |
               (s->order.forget ? 8u : 0) | (copies ? 16u : 0) | (s->live_seq != 0 ? 32u : 0) |
               (s->live_kept ? 64u : 0));
    put(f, wall_age(f, s->order.at) | wall_age(f, s->live_at) << 4);
    put(f, s->heard != 0 ? 1 + age(f, s->heard) : 0);
    put(f, ahead < -1 || ahead > 1 ? 3u : (unsigned)(ahead + 1));
    if (forecourt->plan->tick_ms > 0) {
        bool again = s->order.at == f->rules->now.wall; // the next may be its copy
        put(f, (s->live_at < s->order.at ? 1u : 0) | (ahead > 1 ? 2u : 0) | (again ? 128u : 0) |
                   (s->contradicted != 0 ? 4u + (age(f, s->contradicted) << 3) : 0));
    }
}

static void put_tags(struct form *f, const struct rules_point *point) {
    for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            const struct rules_tag *tag = &point->tags[who][s];
            if (tag->hangs) {
                put(f, who << 4 | s);
                put(f, (tag->counts ? 1u : 0) | (tag->reader ? 8u : 0) | (tag->seen ? 16u : 0) |
                           (tag->lifted ? 32u : 0) | age(f, tag->hung) << 1);
            }
        }
    }
    put(f, NONE);
    unsigned seen = 0;
    for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
        seen |= point->seen[who] ? 1u << who : 0;
    }
    put(f, seen);
}

// The standing jobs that a word may count for: of an overseer those opened before it, of another
// those in whose crew the speaker was.
static unsigned word_slots(const struct form *f, const struct rules_word *word) {
    unsigned slots = 0;
    for (unsigned s = 0; s < f->rules->forecourt->plan->positions; s++) {
        const struct rules_job *job = &f->rules->jobs[s];
        bool named = word->overseer || (word->slots >> s & 1u) != 0;
        slots |= job->stands && named && word->at >= job->opened ? 1u << s : 0;
    }
    return slots;
}

static void put_words(struct form *f, const struct rules_word *words) {
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        const struct rules_word *word = &words[i];
        unsigned ago = age(f, word->at);
        if (word->said) {
            put(f,
                i | (word->overseer ? 8u : 0) | (word->waited ? 16u : 0) | (word->last ? 32u : 0));
            put(f, ago);
            put(f, ago < 2 ? word_slots(f, word) : 0);
        }
    }
    put(f, NONE);
}

static void put_point(struct form *f, unsigned index) {
    const struct rules_point *point = &f->rules->points[index];
    const struct model_point *model = &f->rules->forecourt->points[index];
    // Whether it is overdue after a restart: of this one, or the next if it is not heard before.
    bool stands = false;
    for (unsigned s = 0; s < f->rules->forecourt->plan->positions; s++) {
        stands = stands || f->rules->jobs[s].stands;
    }
    put(f, !stands ? 0
                   : (f->now - point->heard_before > model->max_age_ms ? 2u : 1u) |
                         (point->spoke ? 4u : 0));
    bool left = point->left_live != 0;
    put(f, !left ? 0 : f->now - point->left_live <= model->max_age_ms ? 1u : 2u);
    put(f, point->distrusted_until != 0 ? 1u + age(f, point->distrusted_until - 43200000) : 0);
    put_tags(f, point);
    if (!rules_sensed(f->rules, index)) {
        put_words(f, point->isolated);
        put_words(f, point->live);
        put(f, point->live_said ? 1u + age(f, point->live_newest) : 0);
        put(f, point->last_crew);
    }
}

// --- Jobs ---

static bool in_order(enum model_group group) {
    return group == MODEL_GROUP_RELIEVE || group == MODEL_GROUP_VERIFY;
}

// How many of the orders that are compared lie below one.
static unsigned rank(const struct form *f, const struct rules_job *job, unsigned order) {
    const struct model_requirements *needs = &f->rules->forecourt->procedures[job->procedure];
    unsigned below = 0;
    for (size_t i = 0; i < needs->check_count; i++) {
        if (in_order(needs->checks[i].group)) {
            below += job->signed_[i].stands && job->signed_[i].order < order;
            for (unsigned p = 0; p < FORECOURT_PEOPLE; p++) {
                below += job->verified[i][p] != 0 && job->verified[i][p] < order;
            }
        }
    }
    return below;
}

static void put_signatures(struct form *f, const struct rules_job *job) {
    const struct model_requirements *needs = &f->rules->forecourt->procedures[job->procedure];
    for (unsigned i = 0; i < needs->check_count; i++) {
        const struct rules_mark *mark = &job->signed_[i];
        enum model_group group = needs->checks[i].group;
        bool ages = needs->checks[i].valid_ms > 0 || f->rules->forecourt->plan->tick_ms > 0;
        if (mark->stands && !rules_check_aged(f->rules, job, i)) {
            put(f, i << 4 | (mark->pass ? 8u : 0) | (ages ? age(f, mark->at) : 0));
            put(f, in_order(group) ? rank(f, job, mark->order) : 0);
            put(f, f->rules->forecourt->plan->told_how ? age(f, mark->first) : 0);
        }
        for (unsigned p = 0; group == MODEL_GROUP_VERIFY && p < FORECOURT_PEOPLE; p++) {
            if (job->verified[i][p] != 0) {
                put(f, 128 | p);
                put(f, rank(f, job, job->verified[i][p]));
            }
        }
    }
    put(f, NONE);
}

// Where a job is reworked its points may be live for so long without an alarm. How long it is yet
// counts where a few steps come to it; where they are short, one that lets time go by does.
static unsigned rework_age(const struct form *f, const struct rules_job *job) {
    int step = f->rules->forecourt->plan->step_ms;
    int64_t ago = job->reworked ? f->now - job->entered : 0;
    if (ago > FORM_REWORK_MS) {
        return 1;
    }
    return step * 20 > FORM_REWORK_MS ? 2 + (unsigned)(ago / step) : 0;
}

static void put_job(struct form *f, unsigned slot) {
    const struct rules_job *job = &f->rules->jobs[slot];
    if (!job->stands) {
        put(f, NONE);
        return;
    }
    bool offer = f->now - job->offered_at < GATE_OFFER_MS;
    put(f, job->number);
    put(f, job->procedure << 6 | (unsigned)job->phase << 3 | (unsigned)rules_lockout(job));
    put(f, job->crew);
    put(f, job->leader);
    put(f, offer ? job->offered : RULES_NOBODY);
    if (offer && job->offered != RULES_NOBODY) { // in silences
        put(f, (unsigned)((f->now - job->offered_at) / f->rules->forecourt->plan->max_age_ms));
    }
    put(f, (job->kit ? 1u : 0) | (job->started ? 2u : 0) | (job->set_aside ? 4u : 0) |
               (job->unproven ? 8u : 0) | (job->held ? 16u : 0));
    put(f, (job->broken ? 1u : 0) | (job->confirmed ? 2u : 0) | (job->reworked ? 4u : 0) |
               (job->paused ? 8u : 0));
    put(f, job->stopped_by); // who may say it again
    put(f, job->newest_order > job->stop_order);
    put(f, job->causes.said);
    put(f, rework_age(f, job));
    put(f, f->rules->outage != 0 && job->cut == f->rules->outage);
    for (unsigned reason = 0; reason < RULES_REASONS; reason++) {
        unsigned said = 0; // those that hold and were a reason to raise the alarm
        for (unsigned i = 0; job->broken && i < FORECOURT_POINTS; i++) {
            said |= job->causes.last[reason][i] != 0 ? 1u << i : 0;
        }
        put(f, job->causes.hold[reason]);
        put(f, said & job->causes.hold[reason]);
    }
    // A check that failed is remembered until it is proved anew; every other cause that is not
    // there any more for some seconds, which are over with the next step.
    for (unsigned i = 0; job->broken && i < FORECOURT_CHECKS; i++) {
        if (job->causes.last[RULES_FAILED][i] != 0) {
            put(f, 128 | i);
        }
    }
    for (size_t i = 0; i < rules_needs(f->rules, job)->check_count; i++) {
        if (job->passed_in_hold[i] &&
            rules_needs(f->rules, job)->checks[i].group == MODEL_GROUP_RELIEVE) {
            put(f, (unsigned)i);
        }
    }
    put(f, NONE);
    put_signatures(f, job);
    for (size_t i = 0; i < FORECOURT_CHECKS; i++) { // a failure that may be said again
        const struct rules_mark *mark = &job->signed_[i];
        if (mark->order != 0 && mark->order == job->newest_order && !mark->pass) {
            put(f, (unsigned)i);
            put(f, job->signed_by[i]);
        }
    }
    put(f, NONE);
    for (size_t t = 0; t < FORECOURT_TESTS; t++) {
        put(f, job->tests[t].stands ? 1u + job->tests[t].pass : 0);
    }
}

// --- Alarms and positions ---

static int compare_keys(const void *a, const void *b) {
    return memcmp(a, b, 5);
}

static unsigned number_of(const char *id) { // "" becomes NONE
    return id[0] != '\0' ? (unsigned)strtoul(id + 1, NULL, 10) : NONE;
}

static void put_alarms(struct form *f, const struct gate_site *site) {
    unsigned char keys[64][5];
    size_t count = 0;
    for (size_t i = 0; i < site->alarm_count && count < 64; i++) {
        const struct gate_alarm *a = &site->alarms[i];
        bool of_job = a->job[0] != '\0', broken = a->kind == MODEL_ALARM_LOCKOUT_BROKEN;
        if (!of_job && a->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
            continue;
        }
        keys[count][0] = (unsigned char)a->kind;
        keys[count][1] = (unsigned char)number_of(a->job);
        keys[count][2] = (unsigned char)(broken ? NONE : number_of(a->point));
        keys[count][3] = (unsigned char)rules_person(f->rules, a->subject);
        keys[count][4] = (unsigned char)(of_job ? a->state : MODEL_ALARM_UNACKNOWLEDGED);
        count++;
    }
    qsort(keys, count, sizeof keys[0], compare_keys);
    for (size_t i = 0; i < count; i++) {
        for (unsigned k = 0; k < 5; k++) {
            put(f, keys[i][k]);
        }
    }
    put(f, NONE);
}

// How long our clock is behind what was written, and since when it was set or wrong, in steps.
static void put_clock(struct form *f) {
    const struct rules *r = f->rules;
    int64_t step = r->forecourt->plan->step_ms, behind = r->newest - r->now.wall - 1000;
    int64_t set = r->stepped != 0 ? f->now - r->stepped : RULES_STEPPED_MS;
    int64_t wrong = r->wrong_since > r->stepped ? f->now - r->wrong_since : RULES_STEPPED_MS;
    put(f, behind > 0 ? 1 + (unsigned)(behind / step) : 0);
    put(f, set < RULES_STEPPED_MS ? 1 + (unsigned)(set / step) : 0);
    put(f, wrong < RULES_STEPPED_MS ? 1 + (unsigned)(wrong / step) : 0);
    put(f, r->wrong_since != 0 && r->wrong_behind);
}

// Whether a sensor's clock disagrees with ours, and for how many steps it has agreed since.
static void put_sensor_clock(struct form *f, const struct gate_clock *clock) {
    int64_t steps = (f->now - clock->agreed) / f->rules->forecourt->plan->step_ms;
    int64_t most = GATE_CLOCK_AGREES_MS / f->rules->forecourt->plan->step_ms;
    put(f, !clock->skewed       ? 0
           : clock->agreed == 0 ? 1
                                : 2 + (unsigned)(steps < most ? steps : most));
}

size_t form_write(const struct world *world, unsigned char bytes[FORM_MAX]) {
    const struct rules *r = &world->rules;
    const struct forecourt_plan *plan = r->forecourt->plan;
    struct form f = {.bytes = bytes, .now = world->now.mono, .rules = r};
    put(&f, (r->up[GATE_DURABLE] ? 1u : 0) | (r->journal ? 2u : 0) | (r->contested ? 4u : 0) |
                (r->up[GATE_LIVE] ? 8u : 0) | (r->unheard ? 16u : 0) |
                (rules_clock_right(r) ? 32u : 0) | (unsigned)r->controller << 6);
    put(&f, r->outage == 0 ? 0 : f.now - r->outage <= plan->max_age_ms ? 1u : 2u);
    put_clock(&f);
    put(&f, r->used[0]);
    put(&f, r->untold);
    for (unsigned s = 0; s < r->forecourt->site.sensor_count; s++) {
        put_sensor(&f, s);
    }
    for (unsigned p = 0; p < plan->points; p++) {
        put_point(&f, p);
    }
    for (unsigned p = 0; p < plan->positions; p++) {
        const struct rules_position *position = &r->positions[p];
        put(&f, position->in_service | position->failed << 1 | position->owed << 2);
        put(&f, position->untested);
        put_job(&f, p);
    }
    for (unsigned s = 0; plan->tick_ms > 0 && s < r->forecourt->site.sensor_count; s++) {
        put_sensor_clock(&f, &world->gate->sites[0].sensors[s].clock);
    }
    put_alarms(&f, &world->gate->sites[0]);
    return f.failed ? 0 : f.length;
}
