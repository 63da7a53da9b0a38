// The normal form of a state: read, into a gate that stands at WORLD_BEGIN.
//
// Requirements are shared with the forecourt's procedures instead of copied: unpack_free takes them
// out of a gate before that is freed.
#include <stdlib.h>
#include <string.h>

#include "pack_form.h"

#define BEGIN ((struct gate_time){WORLD_BEGIN, WORLD_BEGIN})

struct reader {
    const unsigned char *bytes;
    const struct forecourt *forecourt;
    struct gate *gate;
    struct gate_site *site;
    bool failed;
};

static unsigned take(struct reader *r) {
    return *r->bytes++;
}

static void *array(struct reader *r, size_t count, size_t size) {
    void *made = count > 0 ? calloc(count, size) : NULL;
    r->failed = r->failed || (made == NULL && count > 0);
    return made;
}

static struct gate_time ago(unsigned halves, int64_t more) {
    int64_t age = halves * (int64_t)PACK_HALF_MS + more;
    return (struct gate_time){WORLD_BEGIN - age, WORLD_BEGIN - age};
}

static void name(char *to, size_t size, char letter, unsigned number) {
    snprintf(to, size, "%c%u", letter, number);
}

static const char *person_of(const struct reader *r, unsigned person) {
    return person < r->forecourt->model.person_count ? r->forecourt->people[person].person : "";
}

static void set_person(const struct reader *r, char to[MODEL_ID_SIZE], unsigned person) {
    memcpy(to, person_of(r, person), strlen(person_of(r, person)) + 1);
}

static void read_sensors(struct reader *r) {
    for (unsigned i = 0; i < r->site->model->sensor_count; i++) {
        struct gate_sensor *s = &r->site->sensors[i];
        const struct model_point *point = &r->site->model->points[r->site->model->sensors[i].point];
        enum pack_sensor class = (enum pack_sensor)take(r);
        s->bad = class == PACK_SENSOR_BAD;
        s->heard = class == PACK_SENSOR_STALE ? WORLD_BEGIN - point->max_age_ms - 1 : WORLD_BEGIN;
        s->state = class == PACK_SENSOR_LIVE ? MODEL_POINT_LIVE : MODEL_POINT_ISOLATED;
        if (class == PACK_SENSOR_NEVER || class == PACK_SENSOR_BAD) {
            s->heard = 0;
        } else if (class == PACK_SENSOR_ISOLATED) {
            s->isolated_since = WORLD_BEGIN;
        } else if (class == PACK_SENSOR_SETTLED) {
            s->isolated_since = WORLD_BEGIN - point->settle_ms;
        }
    }
}

static void read_tags(struct reader *r, struct gate_point *p) {
    p->tag_count = take(r);
    p->tags = array(r, p->tag_count, sizeof *p->tags);
    for (size_t i = 0; i < p->tag_count && !r->failed; i++) {
        struct gate_tag *tag = &p->tags[i];
        unsigned person = take(r), job = take(r);
        set_person(r, tag->person, person);
        if (person == PACK_NONE) {
            memcpy(tag->badge, "b-9", 4);
        }
        if (job != PACK_NONE) {
            name(tag->job, sizeof tag->job, 'j', job);
        }
        tag->counts = take(r) != 0;
        tag->since = ago(take(r), 0);
    }
}

// Words lie within their age so that those of overseers come in the order in which they reach back
// behind the openings of jobs; the others are the newest of that age.
static void read_words(struct reader *r, struct gate_point *p) {
    p->statement_count = take(r);
    p->statements = array(r, p->statement_count, sizeof *p->statements);
    for (size_t i = 0; i < p->statement_count && !r->failed; i++) {
        struct gate_statement *word = &p->statements[i];
        set_person(r, word->person, take(r));
        word->overseer = take(r) != 0;
        unsigned slots = take(r);
        word->at = ago(take(r), word->overseer ? 10 - __builtin_popcount(slots) : 0);
        // Who spoke as one of a crew is kept as a mask until the jobs are read.
        word->job_count = slots;
    }
    unsigned live = take(r);
    p->has_live_statement = (live & 7u) != 0;
    if (p->has_live_statement) {
        memcpy(p->live_statement.person, person_of(r, 0), strlen(person_of(r, 0)) + 1);
        p->live_statement.at = ago((live & 7u) - 1, 0);
        p->live_statement.overseer = (live & 8u) != 0;
    }
}

static void read_point(struct reader *r, unsigned index) {
    struct gate_point *p = &r->site->points[index];
    unsigned bits = take(r);
    p->state = (enum model_point_state)(bits & 3u);
    p->trust = (enum model_trust)(bits >> 2 & 15u);
    p->since = BEGIN;
    r->site->hearing[index].heard_before =
        (bits & 64u) != 0 ? WORLD_BEGIN - r->site->model->points[index].max_age_ms - 1
                          : WORLD_BEGIN;
    read_tags(r, p);
    if (r->site->model->points[index].sensor_count == 0) {
        read_words(r, p);
    }
}

static void read_position(struct reader *r, unsigned index) {
    struct gate_position *p = &r->site->positions[index];
    unsigned bits = take(r), untested = take(r);
    p->service = (enum model_service)(bits & 1u);
    p->since = BEGIN;
    if ((bits & 6u) != 0) {
        p->owed = model_requirements_copy(&r->forecourt->procedures[(bits & 4u) != 0 ? 1 : 0]);
        r->failed = r->failed || p->owed == NULL;
    }
    if ((bits & 8u) != 0) {
        p->failed = array(r, 1, sizeof *p->failed);
        p->failed_count = r->failed ? 0 : 1;
    }
    if (p->failed_count > 0) {
        p->failed[0] = (struct gate_failed){.test = "leak", .rule = "pass-fail", .job = "j0"};
    }
    p->untested_from = array(r, (size_t)__builtin_popcount(untested), sizeof *p->untested_from);
    for (unsigned i = 0; i < FORECOURT_POSITIONS && !r->failed; i++) {
        if ((untested >> i & 1u) != 0) {
            p->untested_from[p->untested_count++] = i;
        }
    }
}

// --- Jobs ---

static void read_crew(struct reader *r, struct gate_job *job) {
    job->crew_count = take(r);
    job->crew = array(r, job->crew_count, sizeof *job->crew);
    for (size_t i = 0; i < job->crew_count && !r->failed; i++) {
        struct gate_member *m = &job->crew[i];
        set_person(r, m->person, take(r));
        m->protected = take(r) != 0;
        unsigned order = take(r);
        m->joined_order = order != PACK_NONE ? order + 1 : 0;
        m->joined = BEGIN;
    }
}

static void read_signatures(struct reader *r, struct gate_job *job) {
    job->signature_count = take(r);
    job->signatures = array(r, job->signature_count, sizeof *job->signatures);
    for (size_t i = 0; i < job->signature_count && !r->failed; i++) {
        struct gate_signature *s = &job->signatures[i];
        s->order = take(r) + 1;
        const struct model_check *check = &job->needs->checks[take(r)];
        memcpy(s->check, check->check, sizeof s->check);
        s->group = check->group;
        set_person(r, s->by, take(r));
        unsigned bits = take(r);
        s->pass = (bits & 1u) != 0;
        s->at = ago(bits >> 1, 0);
    }
}

static void read_tests(struct reader *r, struct gate_job *job) {
    job->tests = array(r, job->needs->test_count, sizeof *job->tests);
    for (size_t t = 0; t < job->needs->test_count && !r->failed; t++) {
        unsigned stands = take(r);
        if (stands != 0) {
            struct gate_test_record *record = &job->tests[job->test_count++];
            memcpy(record->test, job->needs->tests[t].test, sizeof record->test);
            record->pass = stands == 1;
            record->at = BEGIN;
        }
    }
}

static void read_standing(struct reader *r, struct gate_job *job) {
    set_person(r, job->leader, take(r));
    unsigned bits = take(r);
    job->phase = (enum model_phase)(bits & 7u);
    job->lockout = (enum model_lockout)(bits >> 3 & 3u);
    job->isolation = (enum gate_isolation)(bits >> 5);
    bits = take(r);
    if ((bits & 1u) != 0) {
        memcpy(job->kit_family, "k2", 3);
    }
    job->started = (bits & 2u) != 0;
    job->set_aside = (bits & 4u) != 0;
    set_person(r, job->offered, take(r));
    job->offered_at = job->since = BEGIN;
    job->opened = ago(3, 0);
    job->order = 1000;
    read_crew(r, job);
    read_signatures(r, job);
    read_tests(r, job);
}

static void read_job(struct reader *r, struct gate_job *job) {
    name(job->job, sizeof job->job, 'j', take(r));
    unsigned bits = take(r);
    job->position = bits >> 2;
    job->phase = MODEL_PHASE_RETURNED;
    job->ended = BEGIN;
    // Never written to through these, and taken out again by unpack_free.
    job->needs = &((struct forecourt *)(uintptr_t)r->forecourt)->procedures[(bits & 2u) != 0];
    job->opening = job->needs;
    job->required = array(r, r->site->model->point_count + 1, sizeof *job->required);
    for (uint32_t p = 0; p < r->site->model->point_count && !r->failed; p++) {
        const struct forecourt_point *point = &r->forecourt->plan->point[p];
        bool energy = point->electrical || r->forecourt->plan->product;
        if (energy && (point->isolates >> job->position & 1u) != 0) {
            job->required[job->required_count++] = p;
        }
    }
    if ((bits & 1u) != 0) {
        read_standing(r, job);
    } else {
        read_crew(r, job);
    }
}

static void use_id(struct reader *r, struct gate_job *job) {
    uint64_t hash = 14695981039346656037ULL; // as the gate's own table of ids has it
    for (const char *c = job->job; *c != '\0'; c++) {
        hash = (hash ^ (unsigned char)*c) * 1099511628211ULL;
    }
    size_t slot = (size_t)hash & (r->site->used_capacity - 1);
    while (r->site->used[slot].job[0] != '\0') {
        slot = (slot + 1) & (r->site->used_capacity - 1);
    }
    memcpy(r->site->used[slot].job, job->job, sizeof job->job);
    r->site->used[slot].ref = job;
    r->site->used_count++;
}

static void read_jobs(struct reader *r) {
    size_t count = take(r);
    r->site->jobs = array(r, count, sizeof(struct gate_job *));
    r->site->used_capacity = 32;
    r->site->used = array(r, r->site->used_capacity, sizeof *r->site->used);
    for (size_t i = 0; i < count && !r->failed; i++) {
        struct gate_job *job = array(r, 1, sizeof *job);
        if (job != NULL) {
            r->site->jobs[r->site->job_count++] = job;
            read_job(r, job);
            use_id(r, job);
        }
    }
}

// Now that the jobs are known: a word of the crew names its jobs, and a job that an overseer's word
// does not count for was opened after it.
static void settle_word(struct reader *r, struct gate_statement *word) {
    unsigned slots = (unsigned)word->job_count;
    word->job_count = 0;
    word->jobs =
        word->overseer ? NULL : array(r, (size_t)__builtin_popcount(slots) + 1, sizeof *word->jobs);
    for (size_t i = 0; i < r->site->job_count && !r->failed; i++) {
        struct gate_job *job = r->site->jobs[i];
        bool counts = (slots >> job->position & 1u) != 0;
        if (!gate_job_stands(job)) {
            continue;
        }
        if (counts && !word->overseer) {
            memcpy(word->jobs[word->job_count++], job->job, sizeof job->job);
        } else if (!counts && word->overseer && job->opened.mono <= word->at.mono) {
            // Between this word and the next that counts, which is one more ms along.
            job->opened.mono = word->at.mono + 1;
            job->opened.wall = word->at.wall + 1;
        }
    }
}

static void read_alarms(struct reader *r) {
    r->site->alarm_count = take(r);
    r->site->alarms_raised = 100; // new ones get other names than those that stand
    r->site->alarms = array(r, r->site->alarm_count, sizeof *r->site->alarms);
    for (size_t i = 0; i < r->site->alarm_count && !r->failed; i++) {
        struct gate_alarm *alarm = &r->site->alarms[i];
        name(alarm->alarm, sizeof alarm->alarm, 'a', (unsigned)i + 1);
        alarm->kind = (enum model_alarm_kind)take(r);
        unsigned job = take(r), point = take(r), person = take(r);
        if (job != PACK_NONE) {
            name(alarm->job, sizeof alarm->job, 'j', job);
        }
        if (point != PACK_NONE) {
            name(alarm->point, sizeof alarm->point, 'd', point);
        }
        if (person == PACK_NONE - 1) {
            memcpy(alarm->person, "b-9", 4);
        } else {
            set_person(r, alarm->person, person);
        }
        alarm->state = (enum model_alarm_state)take(r);
        alarm->position = MODEL_NONE;
        alarm->raised = BEGIN;
    }
}

struct gate *unpack(const struct forecourt *forecourt, const unsigned char *bytes,
                    void (*fact)(void *user, const struct gate_fact *fact), void *user) {
    struct gate *gate = gate_new(&forecourt->model, fact, user);
    if (gate == NULL) {
        return NULL;
    }
    struct reader r = {bytes, forecourt, gate, &gate->sites[0], false};
    unsigned bits = take(&r);
    gate->link_up = (bits & 1u) != 0;
    gate->journal_up = (bits & 2u) != 0;
    r.site->contested = (bits & 4u) != 0;
    r.site->controllers[0] = (enum gate_controller)(bits >> 3);
    read_sensors(&r);
    for (unsigned p = 0; p < r.site->model->point_count && !r.failed; p++) {
        read_point(&r, p);
    }
    for (unsigned p = 0; p < r.site->model->position_count && !r.failed; p++) {
        read_position(&r, p);
    }
    if (!r.failed) {
        read_jobs(&r);
    }
    for (unsigned p = 0; p < r.site->model->point_count && !r.failed; p++) {
        for (size_t i = 0; i < r.site->points[p].statement_count; i++) {
            settle_word(&r, &r.site->points[p].statements[i]);
        }
    }
    if (!r.failed) {
        read_alarms(&r);
        r.site->deadline = 0; // the next tick reckons it
        return gate;
    }
    unpack_free(gate);
    return NULL;
}

static bool is_shared(const struct gate *gate, const struct model_requirements *needs) {
    for (size_t i = 0; i < FORECOURT_PROCEDURES; i++) {
        if (needs == &gate->model->procedures[i]) {
            return true;
        }
    }
    return false;
}

void unpack_free(struct gate *gate) {
    for (size_t i = 0; gate != NULL && i < gate->sites[0].job_count; i++) {
        struct gate_job *job = gate->sites[0].jobs[i];
        if (job != NULL && is_shared(gate, job->needs)) {
            job->needs = job->opening = NULL;
        }
    }
    gate_free(gate);
}
