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

static unsigned halves(const struct form *f, int64_t at) {
    int64_t age = (f->now - at) / FORM_HALF_MS;
    return age < 0 ? 0 : age > 2 ? 2 : (unsigned)age;
}

// --- Sensors and points ---

static void put_sensor(struct form *f, unsigned index) {
    const struct rules_sensor *s = &f->rules->sensors[index];
    bool fresh = rules_fresh(f->rules, index);
    const struct forecourt *forecourt = f->rules->forecourt;
    const struct model_point *point = &forecourt->points[forecourt->sensors[index].point];
    bool settled = s->word == MODEL_POINT_ISOLATED && f->now - s->since >= point->settle_ms;
    put(f, s->bad ? 1u : s->heard == 0 ? 2u : !fresh ? 3u : settled ? 4u : 5u + s->word);
}

static void put_tags(struct form *f, const struct rules_point *point) {
    for (unsigned who = 0; who <= FORECOURT_PEOPLE; who++) {
        for (unsigned s = 0; s <= RULES_NO_SLOT; s++) {
            const struct rules_tag *tag = &point->tags[who][s];
            if (tag->hangs) {
                put(f, who << 4 | s);
                put(f, (tag->counts ? 1u : 0) | halves(f, tag->hung) << 1);
            }
        }
    }
    put(f, NONE);
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

static void put_words(struct form *f, const struct rules_point *point) {
    for (unsigned i = 0; i < FORECOURT_PEOPLE; i++) {
        const struct rules_word *word = &point->statements[i];
        unsigned age = halves(f, word->at);
        if (word->said) {
            put(f, i | age << 3 | (word->overseer ? 128u : 0));
            put(f, age < 2 ? word_slots(f, word) : 0);
        }
    }
    put(f, NONE);
    put(f, point->live_said ? 1u + halves(f, point->live_at) + (point->live_proves ? 8u : 0) : 0);
}

static void put_point(struct form *f, unsigned index) {
    const struct rules_point *point = &f->rules->points[index];
    const struct model_point *model = &f->rules->forecourt->points[index];
    bool asked = false;
    for (unsigned s = 0; s < f->rules->forecourt->plan->positions; s++) {
        asked = asked || f->rules->jobs[s].unproven;
    }
    put(f, asked && f->now - point->heard_before > model->max_age_ms);
    put_tags(f, point);
    if (model->sensor_count == 0) {
        put_words(f, point);
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
        bool aged = group == MODEL_GROUP_PREPARE && f->now - mark->at > needs->checks[i].valid_ms;
        if (mark->stands && !aged) {
            put(f, i << 3 | (mark->pass ? 4u : 0) |
                       (group == MODEL_GROUP_PREPARE ? halves(f, mark->at) : 0));
            put(f, in_order(group) ? rank(f, job, mark->order) : 0);
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

static void put_job(struct form *f, const struct world *world, unsigned slot) {
    const struct rules_job *job = &f->rules->jobs[slot];
    const struct gate_job *gate = gate_job_on(&world->gate->sites[0], slot);
    if (!job->stands || gate == NULL) {
        put(f, NONE);
        return;
    }
    bool offer = f->now - job->offered_at < GATE_OFFER_MS;
    put(f, job->number);
    put(f, job->procedure << 6 | (unsigned)job->phase << 3 | (unsigned)gate->lockout);
    put(f, job->crew);
    put(f, job->leader);
    put(f, offer ? job->offered : RULES_NOBODY);
    put(f, (job->kit ? 1u : 0) | (job->started ? 2u : 0) | (job->set_aside ? 4u : 0) |
               (job->unproven ? 8u : 0) | (job->held ? 16u : 0));
    put_signatures(f, job);
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

size_t form_write(const struct world *world, unsigned char bytes[FORM_MAX]) {
    const struct rules *r = &world->rules;
    const struct forecourt_plan *plan = r->forecourt->plan;
    struct form f = {.bytes = bytes, .now = world->now.mono, .rules = r};
    put(&f, (r->link ? 1u : 0) | (r->journal ? 2u : 0) | (r->contested ? 4u : 0) |
                (unsigned)r->controller << 3);
    put(&f, r->used[0]);
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
        put_job(&f, world, p);
    }
    put_alarms(&f, &world->gate->sites[0]);
    return f.failed ? 0 : f.length;
}
