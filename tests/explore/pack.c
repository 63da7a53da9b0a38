// The normal form of a state: written.
#include "pack.h"

#include <stdlib.h>
#include <string.h>

#include "pack_form.h"

static void put(struct pack_form *form, unsigned value) {
    if (form->length < PACK_MAX && value < 256) {
        form->bytes[form->length++] = (unsigned char)value;
    } else {
        form->failed = true;
    }
}

static unsigned halves(const struct pack_form *form, struct gate_time at) {
    int64_t age = (form->now.mono - at.mono) / PACK_HALF_MS;
    return age < 0 ? 0 : age > 2 ? 2 : (unsigned)age;
}

static unsigned number_of(const char *job) { // "" becomes PACK_NONE
    return job[0] != '\0' ? (unsigned)strtoul(job + 1, NULL, 10) : PACK_NONE;
}

static unsigned person_of(const struct gate *gate, const char *person) {
    for (unsigned i = 0; i < gate->model->person_count; i++) {
        if (strcmp(gate->model->people[i].person, person) == 0) {
            return i;
        }
    }
    return PACK_NONE;
}

// --- Sensors and points ---

static unsigned sensor_class(const struct pack_form *form, const struct gate_site *site,
                             unsigned index) {
    const struct gate_sensor *s = &site->sensors[index];
    const struct model_point *point = &site->model->points[site->model->sensors[index].point];
    if (s->bad) {
        return PACK_SENSOR_BAD;
    }
    if (s->heard == 0) {
        return PACK_SENSOR_NEVER;
    }
    if (form->now.mono - s->heard > point->max_age_ms) {
        return PACK_SENSOR_STALE;
    }
    if (s->state == MODEL_POINT_LIVE) {
        return PACK_SENSOR_LIVE;
    }
    return form->now.mono - s->isolated_since >= point->settle_ms ? PACK_SENSOR_SETTLED
                                                                  : PACK_SENSOR_ISOLATED;
}

// The tags sorted: their order is that of hanging, which nothing asks for.
static int compare_keys(const void *a, const void *b) {
    return memcmp(a, b, 4);
}

static void put_tags(struct pack_form *form, const struct gate *gate, const struct gate_point *p) {
    unsigned char keys[64][4];
    if (p->tag_count > 64) {
        form->failed = true;
        return;
    }
    for (size_t i = 0; i < p->tag_count; i++) {
        const struct gate_tag *tag = &p->tags[i];
        keys[i][0] = (unsigned char)person_of(gate, tag->person);
        keys[i][1] = (unsigned char)number_of(tag->job);
        keys[i][2] = tag->counts;
        keys[i][3] = (unsigned char)halves(form, tag->since);
    }
    qsort(keys, p->tag_count, sizeof keys[0], compare_keys);
    put(form, (unsigned)p->tag_count);
    for (size_t i = 0; i < p->tag_count; i++) {
        for (unsigned k = 0; k < 4; k++) {
            put(form, keys[i][k]);
        }
    }
}

// The standing jobs that a word may count for: of an overseer those opened before it, of another
// those in whose crew the speaker was.
static unsigned word_jobs(const struct gate_site *site, const struct gate_statement *word) {
    unsigned slots = 0;
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        if (!gate_job_stands(job)) {
            continue;
        }
        bool after = word->at.mono >= job->opened.mono, named = word->overseer;
        for (size_t j = 0; j < word->job_count; j++) {
            named = named || strcmp(word->jobs[j], job->job) == 0;
        }
        slots |= after && named ? 1u << job->position : 0;
    }
    return slots;
}

static bool word_proves(const struct gate_site *site, const struct gate_statement *word,
                        const struct model_point *point) {
    bool proves = word->overseer;
    for (size_t j = 0; j < word->job_count; j++) {
        const struct gate_job *job = gate_job_find(site, word->jobs[j]);
        for (unsigned i = 0; job != NULL && i < point->isolates_count; i++) {
            proves = proves || point->isolates[i] == job->position;
        }
    }
    return proves;
}

static void put_words(struct pack_form *form, const struct gate *gate, const struct gate_site *site,
                      unsigned index) {
    const struct gate_point *p = &site->points[index];
    unsigned char keys[FORECOURT_PEOPLE][4];
    for (size_t i = 0; i < p->statement_count; i++) {
        const struct gate_statement *word = &p->statements[i];
        unsigned age = halves(form, word->at);
        keys[i][0] = (unsigned char)person_of(gate, word->person);
        keys[i][1] = word->overseer;
        keys[i][2] = (unsigned char)(age < 2 ? word_jobs(site, word) : 0);
        keys[i][3] = (unsigned char)age;
    }
    qsort(keys, p->statement_count, sizeof keys[0], compare_keys);
    put(form, (unsigned)p->statement_count);
    for (size_t i = 0; i < p->statement_count; i++) {
        for (unsigned k = 0; k < 4; k++) {
            put(form, keys[i][k]);
        }
    }
    unsigned live = p->has_live_statement ? 1 + halves(form, p->live_statement.at) : 0;
    bool proves = live != 0 && word_proves(site, &p->live_statement, &site->model->points[index]);
    put(form, live | (proves ? 8u : 0));
}

static bool is_overdue(const struct pack_form *form, const struct gate_site *site, unsigned p) {
    bool asked = false;
    for (size_t i = 0; i < site->job_count; i++) {
        asked = asked || site->jobs[i]->isolation == GATE_ISOLATION_UNPROVEN;
    }
    return asked &&
           form->now.mono - site->hearing[p].heard_before > site->model->points[p].max_age_ms;
}

static void put_point(struct pack_form *form, const struct gate *gate, const struct gate_site *site,
                      unsigned index) {
    const struct gate_point *p = &site->points[index];
    put(form,
        (unsigned)p->state | (unsigned)p->trust << 2 | (is_overdue(form, site, index) ? 64u : 0));
    put_tags(form, gate, p);
    if (site->model->points[index].sensor_count == 0) {
        put_words(form, gate, site, index);
    }
}

// --- Jobs ---

static bool in_order(enum model_group group) {
    return group == MODEL_GROUP_RELIEVE || group == MODEL_GROUP_VERIFY;
}

static bool signature_lapsed(const struct pack_form *form, const struct gate_job *job,
                             const struct gate_signature *s) {
    return gate_signature_void(job, s, form->now);
}

// Whether a signature is one that is still asked for: the last of its check, or of verify the last
// passing one of its signer.
static bool signature_matters(const struct gate_job *job, size_t index) {
    const struct gate_signature *s = &job->signatures[index];
    bool last = true, last_own = s->group == MODEL_GROUP_VERIFY && s->pass;
    for (size_t i = index + 1; i < job->signature_count; i++) {
        const struct gate_signature *later = &job->signatures[i];
        bool same = strcmp(later->check, s->check) == 0;
        last = last && !same;
        last_own = last_own && !(same && later->pass && strcmp(later->by, s->by) == 0);
    }
    return last || last_own;
}

static unsigned rank(const uint64_t *orders, size_t count, uint64_t order) {
    unsigned below = 0;
    for (size_t i = 0; i < count; i++) {
        below += orders[i] < order;
    }
    return below;
}

static unsigned check_of(const struct gate_job *job, const char *check) {
    for (unsigned i = 0; i < job->needs->check_count; i++) {
        if (strcmp(job->needs->checks[i].check, check) == 0) {
            return i;
        }
    }
    return PACK_NONE;
}

// Orders that are compared: of relieve and verify signatures, and of the joining of their signers.
static size_t collect_orders(const struct pack_form *form, const struct gate_job *job,
                             uint64_t orders[64]) {
    size_t count = 0;
    for (size_t i = 0; i < job->signature_count && count < 62; i++) {
        const struct gate_signature *s = &job->signatures[i];
        if (!in_order(s->group) || signature_lapsed(form, job, s) || !signature_matters(job, i)) {
            continue;
        }
        orders[count++] = s->order;
        const struct gate_member *member = gate_member_of(job, s->by);
        if (member != NULL && s->group == MODEL_GROUP_VERIFY) {
            bool known = false;
            for (size_t k = 0; k < count; k++) {
                known = known || orders[k] == member->joined_order;
            }
            if (!known) {
                orders[count++] = member->joined_order;
            }
        }
    }
    return count;
}

static void put_signatures(struct pack_form *form, const struct gate *gate,
                           const struct gate_job *job, const uint64_t *orders, size_t order_count) {
    unsigned char keys[64][4];
    size_t count = 0;
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *s = &job->signatures[i];
        if (signature_lapsed(form, job, s) || !signature_matters(job, i)) {
            continue;
        }
        if (count == 64) {
            form->failed = true;
            return;
        }
        bool prepare = s->group == MODEL_GROUP_PREPARE;
        keys[count][0] =
            (unsigned char)(in_order(s->group) ? rank(orders, order_count, s->order) : 0);
        keys[count][1] = (unsigned char)check_of(job, s->check);
        // Who signed is asked of verify alone, by who takes the lead.
        keys[count][2] =
            (unsigned char)(s->group == MODEL_GROUP_VERIFY ? person_of(gate, s->by) : PACK_NONE);
        keys[count][3] =
            (unsigned char)((s->pass ? 1u : 0) | (prepare ? halves(form, s->at) << 1 : 0));
        count++;
    }
    qsort(keys, count, sizeof keys[0], compare_keys);
    put(form, (unsigned)count);
    for (size_t i = 0; i < count; i++) {
        for (unsigned k = 0; k < 4; k++) {
            put(form, keys[i][k]);
        }
    }
}

// Whether somebody signed a verify check that still matters: then it is asked whether since
// joining.
static bool has_verified(const struct pack_form *form, const struct gate_job *job,
                         const char *person) {
    for (size_t i = 0; i < job->signature_count; i++) {
        const struct gate_signature *s = &job->signatures[i];
        if (s->group == MODEL_GROUP_VERIFY && strcmp(s->by, person) == 0 &&
            !signature_lapsed(form, job, s) && signature_matters(job, i)) {
            return true;
        }
    }
    return false;
}

static void put_crew(struct pack_form *form, const struct gate *gate, const struct gate_job *job,
                     const uint64_t *orders, size_t order_count) {
    put(form, (unsigned)job->crew_count);
    unsigned char keys[FORECOURT_PEOPLE][4] = {{0}};
    for (size_t i = 0; i < job->crew_count && i < FORECOURT_PEOPLE; i++) {
        const struct gate_member *m = &job->crew[i];
        bool compared = order_count > 0 && has_verified(form, job, m->person);
        keys[i][0] = (unsigned char)person_of(gate, m->person);
        keys[i][1] = m->protected;
        keys[i][2] =
            (unsigned char)(compared ? rank(orders, order_count, m->joined_order) : PACK_NONE);
    }
    qsort(keys, job->crew_count, sizeof keys[0], compare_keys);
    for (size_t i = 0; i < job->crew_count && i < FORECOURT_PEOPLE; i++) {
        for (unsigned k = 0; k < 3; k++) {
            put(form, keys[i][k]);
        }
    }
}

static bool has_alarm(const struct gate_site *site, const char *job) {
    for (size_t i = 0; i < site->alarm_count; i++) {
        if (strcmp(site->alarms[i].job, job) == 0) {
            return true;
        }
    }
    return false;
}

static void put_standing(struct pack_form *form, const struct gate *gate,
                         const struct gate_job *job) {
    uint64_t orders[64];
    size_t order_count = collect_orders(form, job, orders);
    bool offer = job->offered[0] != '\0' && form->now.mono - job->offered_at.mono < GATE_OFFER_MS;
    put(form, person_of(gate, job->leader));
    put(form, (unsigned)job->phase | (unsigned)job->lockout << 3 | (unsigned)job->isolation << 5);
    put(form, (job->kit_family[0] != '\0' ? 1u : 0) | (job->started ? 2u : 0) |
                  (job->set_aside ? 4u : 0));
    put(form, offer ? person_of(gate, job->offered) : PACK_NONE);
    put_crew(form, gate, job, orders, order_count);
    put_signatures(form, gate, job, orders, order_count);
    for (size_t t = 0; t < job->needs->test_count; t++) {
        const struct gate_test_record *record = gate_test_of(job, job->needs->tests[t].test);
        put(form, record == NULL || record->void_ ? 0 : record->pass ? 1 : 2);
    }
}

static void put_job(struct pack_form *form, const struct gate *gate, const struct gate_site *site,
                    const struct gate_job *job) {
    bool whole = strcmp(job->needs->procedure, "whole") == 0;
    put(form, number_of(job->job));
    put(form, (gate_job_stands(job) ? 1u : 0) | (whole ? 2u : 0) | job->position << 2);
    if (gate_job_stands(job)) {
        put_standing(form, gate, job);
    } else if (has_alarm(site, job->job)) {
        put_crew(form, gate, job, NULL, 0);
    } else {
        put(form, 0);
    }
}

static int compare_jobs(const void *a, const void *b) {
    const struct gate_job *const *x = a, *const *y = b;
    return strcmp((*x)->job, (*y)->job);
}

static void put_jobs(struct pack_form *form, const struct gate *gate,
                     const struct gate_site *site) {
    const struct gate_job *jobs[16];
    if (site->job_count > 16) {
        form->failed = true;
        return;
    }
    for (size_t i = 0; i < site->job_count; i++) {
        jobs[i] = site->jobs[i];
    }
    // NOLINTNEXTLINE(bugprone-sizeof-expression): elements are pointers
    qsort(jobs, site->job_count, sizeof jobs[0], compare_jobs);
    put(form, (unsigned)site->job_count);
    for (size_t i = 0; i < site->job_count; i++) {
        put_job(form, gate, site, jobs[i]);
    }
}

// --- Alarms and positions ---

static void put_alarms(struct pack_form *form, const struct gate *gate,
                       const struct gate_site *site) {
    unsigned char keys[64][5];
    size_t count = 0;
    for (size_t i = 0; i < site->alarm_count && count < 64; i++) {
        const struct gate_alarm *a = &site->alarms[i];
        bool of_job = a->job[0] != '\0';
        if (!of_job && a->state == MODEL_ALARM_RETURNED_UNACKNOWLEDGED) {
            continue;
        }
        keys[count][0] = (unsigned char)a->kind;
        keys[count][1] = (unsigned char)number_of(a->job);
        keys[count][2] =
            (unsigned char)(a->kind == MODEL_ALARM_LOCKOUT_BROKEN || a->point[0] == '\0'
                                ? PACK_NONE
                                : number_of(a->point));
        keys[count][3] =
            (unsigned char)(a->person[0] == '\0' ? PACK_NONE
                                                 : (person_of(gate, a->person) == PACK_NONE
                                                        ? PACK_NONE - 1
                                                        : person_of(gate, a->person)));
        keys[count][4] = (unsigned char)(of_job ? a->state : MODEL_ALARM_UNACKNOWLEDGED);
        count++;
    }
    qsort(keys, count, sizeof keys[0], compare_keys);
    put(form, (unsigned)count);
    for (size_t i = 0; i < count; i++) {
        for (unsigned k = 0; k < 5; k++) {
            put(form, keys[i][k]);
        }
    }
}

static void put_position(struct pack_form *form, const struct gate_position *p) {
    unsigned untested = 0;
    for (size_t i = 0; i < p->untested_count; i++) {
        untested |= 1u << p->untested_from[i];
    }
    // On whose job a test failed is told, and asked by no rule.
    put(form, (unsigned)p->service | (p->failed_count > 0 ? 8u : 0) |
                  (p->owed != NULL ? p->owed->test_count > 1 ? 4u : 2u : 0));
    put(form, untested);
}

size_t pack(const struct gate *gate, struct gate_time now, unsigned char bytes[PACK_MAX]) {
    const struct gate_site *site = &gate->sites[0];
    struct pack_form form = {.bytes = bytes, .now = now};
    put(&form, (gate->link_up ? 1u : 0) | (gate->journal_up ? 2u : 0) | (site->contested ? 4u : 0) |
                   (unsigned)site->controllers[0] << 3);
    for (unsigned s = 0; s < site->model->sensor_count; s++) {
        put(&form, sensor_class(&form, site, s));
    }
    for (unsigned p = 0; p < site->model->point_count; p++) {
        put_point(&form, gate, site, p);
    }
    for (unsigned p = 0; p < site->model->position_count; p++) {
        put_position(&form, &site->positions[p]);
    }
    put_jobs(&form, gate, site);
    put_alarms(&form, gate, site);
    return form.failed ? 0 : form.length;
}
