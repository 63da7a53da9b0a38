// Measures: numbers that the site's hardware reports and that answer checks by themselves.
//
// They are heard as signals are: volatile, to be heard anew after a restart and after their
// controller came online again. What a check is signed by is a fact like any other, with nobody as
// its signer and the measure named in its note. No timer is needed here: a measure that grows stale
// voids nothing, and nothing but a word, a fact or a request makes one sign.
#include "gate/internal.h"

#include <math.h>

// --- Hearing ---

static bool is_stale(const struct gate_measure *measure, const struct model_measure *model,
                     struct gate_time now) {
    return measure->heard == 0 || now.line - measure->heard > model->max_age_ms;
}

static bool is_online(const struct gate_site *site, const struct model_measure *model) {
    return model->controller == MODEL_NONE ||
           site->controllers[model->controller] == GATE_CONTROLLER_ONLINE;
}

void gate_measures_anew(struct gate_site *site, uint32_t controller) {
    for (size_t m = 0; m < site->model->measure_count; m++) {
        if (site->model->measures[m].controller == controller) {
            site->measures[m].heard = 0;
            site->measures[m].mark.seq_forget = true;
        }
    }
}

// --- What the measures say of a check ---

double gate_margin(const struct model_limits *limits, double value) {
    double below = limits->has_min ? value - limits->min : INFINITY;
    double above = limits->has_max ? limits->max - value : INFINITY;
    return below < above ? below : above;
}

// When the season of a check began: what was read before it proves nothing (1910.147(d): isolated
// and locked, then relieved, then verified).
static int64_t season_since(const struct gate_job *job, enum model_group group) {
    if (group == MODEL_GROUP_WORK) {
        return job->since.line;
    }
    int64_t since = group == MODEL_GROUP_FINISH ? job->since.line : job->hold_since.line;
    for (size_t i = 0; group == MODEL_GROUP_VERIFY && i < job->signature_count; i++) {
        const struct gate_signature *relieved = &job->signatures[i];
        if (relieved->group == MODEL_GROUP_RELIEVE && !relieved->void_ &&
            relieved->at.line > since) {
            since = relieved->at.line;
        }
    }
    for (size_t i = 0; group == MODEL_GROUP_FINISH && i < job->test_count; i++) {
        if (job->tests[i].at.line > since) {
            since = job->tests[i].at.line;
        }
    }
    return since;
}

// What every measure of a check's kind at the job's position says together.
struct chorus {
    bool pass;    // there is one, and each is fresh, good, online, read in season and within limits
    bool fail;    // a fresh one is outside the limits
    double worst; // the value nearest to a limit, or farthest outside
    const struct model_measure *by; // whose value that is; NULL: none is fresh
};

static bool speaks_of(const struct model_measure *model, const struct model_check *check,
                      uint32_t position) {
    bool there = false;
    for (uint32_t i = 0; i < model->position_count; i++) {
        there |= model->positions[i] == position;
    }
    return there && strcmp(model->kind, check->measure) == 0;
}

static void listen(const struct gate_site *site, size_t index, const struct model_check *check,
                   int64_t since, struct gate_time now, struct chorus *chorus) {
    const struct gate_measure *measure = &site->measures[index];
    const struct model_measure *model = &site->model->measures[index];
    if (measure->bad || is_stale(measure, model, now) || !gate_same(model->unit, check->unit)) {
        chorus->pass = false; // it says nothing, or nothing that can be compared
        return;
    }
    double margin = gate_margin(&check->limits, measure->value);
    if (chorus->by == NULL || margin < gate_margin(&check->limits, chorus->worst)) {
        chorus->by = model;
        chorus->worst = measure->value;
    }
    if (margin < 0) { // whatever its controller is: like a live that comes from an offline one
        chorus->fail = true;
    }
    if (margin < 0 || measure->heard < since || !is_online(site, model)) {
        chorus->pass = false;
    }
}

static struct chorus chorus_of(const struct gate_site *site, const struct gate_job *job,
                               const struct model_check *check, struct gate_time now) {
    struct chorus chorus = {.pass = true};
    int64_t since = season_since(job, check->group);
    bool limited = check->limits.has_min || check->limits.has_max;
    for (size_t m = 0; limited && m < site->model->measure_count; m++) {
        if (speaks_of(&site->model->measures[m], check, job->position)) {
            listen(site, m, check, since, now, &chorus);
        }
    }
    chorus.pass &= chorus.by != NULL; // where nothing is measured nothing is proved
    return chorus;
}

// --- Signing ---

enum verdict { VERDICT_NONE, VERDICT_PASS, VERDICT_FAIL };

// Whether the measures may answer the check now: in season (which has the leader under lock and tag
// wherever that matters), the journal writing, nobody's own reading against it. A check that is one
// role's to sign, or is answered in words, is not theirs.
static bool may_pass(const struct gate *gate, const struct gate_job *job,
                     const struct model_check *check, const struct gate_signature *last) {
    bool against = last != NULL && last->by[0] != '\0' && !last->pass;
    return !against && check->by == 0 && !check->note && gate->journal_up && !gate->broken_memory &&
           gate_in_season(job, check->group, true);
}

// What there is to sign: a pass where none stands, a failure where a pass stands, whoever signed
// it; else nothing, so that steady readings sign once.
static enum verdict verdict_of(const struct gate *gate, const struct gate_site *site,
                               const struct gate_job *job, const struct model_check *check,
                               struct gate_time now, struct chorus *chorus) {
    if (check->measure == NULL || check->group == MODEL_GROUP_PREPARE) {
        return VERDICT_NONE;
    }
    const struct gate_signature *last = gate_signature_of(job, check->check);
    bool passed = last != NULL && last->pass && !gate_signature_void(job, last, now);
    *chorus = chorus_of(site, job, check, now);
    if (passed) {
        return chorus->fail && gate_in_season(job, check->group, false) ? VERDICT_FAIL
                                                                        : VERDICT_NONE;
    }
    return chorus->pass && may_pass(gate, job, check, last) ? VERDICT_PASS : VERDICT_NONE;
}

static void sign(struct gate *gate, struct gate_site *site, const struct gate_job *job,
                 const struct model_check *check, const struct chorus *chorus, bool pass,
                 struct gate_time now) {
    struct gate_fact fact = gate_fact_of_job(gate, site, job, GATE_FACT_CHECK_SIGNED, now);
    fact.check = check->check;
    fact.has_value = true;
    fact.value = chorus->worst;
    fact.unit = check->unit;
    fact.note = chorus->by->measure;
    fact.has_pass = true;
    fact.pass = pass;
    gate_emit(gate, &fact);
}

void gate_review_measures(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now) {
    for (size_t i = 0; i < job->needs->check_count; i++) {
        const struct model_check *check = &job->needs->checks[i];
        struct chorus chorus;
        enum verdict verdict = verdict_of(gate, site, job, check, now, &chorus);
        if (verdict != VERDICT_NONE) {
            sign(gate, site, job, check, &chorus, verdict == VERDICT_PASS, now);
        }
        if (verdict == VERDICT_FAIL) {
            gate_break_by_check(gate, site, job, check, now);
        }
    }
}

// Whether a word of the measure has given any job something to sign.
static bool has_to_sign(const struct gate *gate, const struct gate_site *site,
                        const struct model_measure *model, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        for (size_t k = 0; gate_job_stands(job) && k < job->needs->check_count; k++) {
            const struct model_check *check = &job->needs->checks[k];
            struct chorus chorus;
            if (check->measure != NULL && speaks_of(model, check, job->position) &&
                verdict_of(gate, site, job, check, now, &chorus) != VERDICT_NONE) {
                return true;
            }
        }
    }
    return false;
}

static enum gate_heard hear_bad(struct gate *gate, struct gate_site *site,
                                struct gate_measure *measure, bool askew, struct gate_time now) {
    measure->bad = true;
    if (askew && gate_set_askew(site, &measure->askew, true)) {
        gate_review(gate, site, now); // raises the alarm of the clock
    }
    return GATE_HEARD_BAD;
}

enum gate_heard gate_hear_measure(struct gate *gate, uint32_t site_index, uint32_t index,
                                  const struct gate_measure_reading *reading,
                                  struct gate_time now) {
    struct gate_site *site = &gate->sites[site_index];
    struct gate_measure *measure = &site->measures[index];
    const struct model_measure *model = &site->model->measures[index];
    if (reading->retained && !reading->has_at) {
        return GATE_HEARD_RETAINED;
    }
    gate_review_due(gate, site, now);
    const struct gate_stamp stamp = {reading->has_at, reading->at, reading->has_seq, reading->seq,
                                     reading->modulus};
    bool askew = gate_stamp_askew(&stamp, reading->retained, model->max_age_ms, now);
    if (reading->bad || !isfinite(reading->value) || gate_stamp_ahead(&stamp, now)) {
        return hear_bad(gate, site, measure, askew, now);
    }
    enum gate_order order = gate_order_of(&measure->mark, &stamp, is_stale(measure, model, now));
    if (order != GATE_ORDER_NEWER) {
        return order == GATE_ORDER_COPY ? GATE_HEARD_COPY : GATE_HEARD_OLDER;
    }
    gate_mark_move(&measure->mark, &stamp);
    measure->heard = gate_stamp_line(&stamp, now);
    measure->value = reading->value;
    measure->bad = false;
    if (!gate_set_askew(site, &measure->askew, askew) && !has_to_sign(gate, site, model, now)) {
        return GATE_HEARD_UNCHANGED;
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}
