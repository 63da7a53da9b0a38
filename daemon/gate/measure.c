// Measures: numbers that the site's hardware reports and that answer checks by themselves.
//
// They are heard as signals are: volatile, to be heard anew after a restart and after their
// controller came online again. What a check is signed by is a fact like any other, with nobody as
// its signer and the measure named in its note. No timer is needed here: a measure that grows stale
// voids nothing, and nothing but a reading, a fact or a request makes one sign.
#include "gate/measure.h"

#include <math.h>
#include <string.h>

#include "gate/text.h"
#include "gate/window.h"

bool gate_measure_stale(const struct gate_measure *measure, const struct model_measure *model,
                        struct gate_time now) {
    return measure->heard == 0 || now.mono - measure->heard > model->max_age_ms;
}

static bool is_online(const struct gate_site *site, const struct model_measure *model) {
    return model->controller == MODEL_NONE ||
           site->controllers[model->controller] == GATE_CONTROLLER_ONLINE;
}

// Rule (4, sign-check): A reading below its minimum is recorded as failed. [limits-open-below]
// Rule (4, sign-check): A reading above its maximum is recorded as failed. [limits-open-above]
// Rule (8): Equality with a minimum passes. [limits-strict-below]
// Rule (8): Equality with a maximum passes. [limits-strict-above]
double gate_margin(const struct model_limits *limits, double value) {
    double below = limits->has_min ? value - limits->min : INFINITY;
    double above = limits->has_max ? limits->max - value : INFINITY;
    return below < above ? below : above;
}

// When the window of a check began: what was read before it proves nothing (1910.147(d): isolated
// and locked, then relieved, then verified).
// Rule (4, What voids; 29 CFR 1910.147(d)(5)-(6) [P]): What was measured before the newest relieve
// signature verifies nothing. [measure-before-relief]
// Rule (4, Seasons): A work check is answered by what was measured since the work began.
// [measure-before-work]
// Rule (4, What voids): A finish check is answered by what was measured since the newest test
// record. [measure-before-test]
// Rule (4, stop-work; R3): What was measured before a stop was called proves nothing after it.
// [measure-before-stop]
static int64_t window_since(const struct gate_job *job, enum model_group group) {
    if (group == MODEL_GROUP_WORK) {
        return job->since.mono;
    }
    int64_t since = group == MODEL_GROUP_FINISH ? job->since.mono : job->isolation_since.mono;
    since = job->stop.at.mono > since ? job->stop.at.mono : since;
    for (size_t i = 0; group == MODEL_GROUP_VERIFY && i < job->signature_count; i++) {
        const struct gate_signature *relieved = &job->signatures[i];
        if (relieved->group == MODEL_GROUP_RELIEVE && !relieved->void_ &&
            relieved->at.mono > since) {
            since = relieved->at.mono;
        }
    }
    for (size_t i = 0; group == MODEL_GROUP_FINISH && i < job->test_count; i++) {
        if (job->tests[i].at.mono > since) {
            since = job->tests[i].at.mono;
        }
    }
    return since;
}

// Rule (2, measures): A measure speaks of its own positions alone. [measure-anywhere]
// Rule (2, measures): A measure answers checks that name its kind. [measure-any-kind]
bool gate_measure_speaks(const struct model_measure *model, const struct model_check *check,
                         uint32_t position) {
    bool there = false;
    for (uint32_t i = 0; i < model->position_count; i++) {
        there |= model->positions[i] == position;
    }
    return there && strcmp(model->kind, check->measure) == 0;
}

// Rule (2, measures; 3, Hearing): A measure within its limits that is older than its age is not
// used. [measure-stale-used]
// Rule (2, measures; 3, Hearing): A measure that was last of bad quality is not used.
// [measure-bad-used]
// Rule (2, measures): A measure in another unit than the check proves nothing. [measure-other-unit]
// Rule (2, measures): Every measure of the kind at the position must be fresh, or none answers.
// [measure-silent-skipped]
// Rule (2, measures): Every measure of the kind at the position must be within the limits.
// [measure-one-is-enough]
// Rule (4, Seasons; 29 CFR 1910.147(d)(6) [P]): What was measured before the window of the check
// began proves nothing. [measure-before-season]
// Rule (3, Hearing): A measure whose controller is not online proves nothing.
// [measure-offline-proves]
// Rule (5, Breaking): A measure outside the limits fails its check though its controller is
// offline. [measure-offline-unheeded]
// Rule (2, measures): The value that is signed is the worst of the measures. [measure-best-told]
static void listen(const struct gate_site *site, size_t index, const struct model_check *check,
                   int64_t since, struct gate_time now, struct gate_measured *measured) {
    const struct gate_measure *measure = &site->measures[index];
    const struct model_measure *model = &site->model->measures[index];
    if (measure->bad || gate_measure_stale(measure, model, now) ||
        !gate_same(model->unit, check->unit)) {
        measured->pass = false; // it says nothing, or nothing that can be compared
        return;
    }
    double margin = gate_margin(&check->limits, measure->value);
    if (measured->by == NULL || margin < gate_margin(&check->limits, measured->worst)) {
        measured->by = model;
        measured->worst = measure->value;
    }
    if (margin < 0) { // whatever its controller is: like a live that comes from an offline one
        measured->fail = true;
    }
    if (margin < 0 || measure->heard < since || !is_online(site, model)) {
        measured->pass = false;
    }
}

// Rule (2, measures): A check without limits is not answered by a measure. [measure-unlimited]
// Rule (2, measures): Where nothing is measured nothing is proved. [measure-of-none]
static struct gate_measured measured_of(const struct gate_site *site, const struct gate_job *job,
                                        const struct model_check *check, struct gate_time now) {
    struct gate_measured measured = {.pass = true};
    int64_t since = window_since(job, check->group);
    bool limited = check->limits.has_min || check->limits.has_max;
    for (size_t m = 0; limited && m < site->model->measure_count; m++) {
        if (gate_measure_speaks(&site->model->measures[m], check, job->position)) {
            listen(site, m, check, since, now, &measured);
        }
    }
    measured.pass &= measured.by != NULL; // where nothing is measured nothing is proved
    return measured;
}

// When a measure last failed the check by a signature, mono ms; INT64_MIN: none did.
static int64_t failed_at(const struct gate_job *job, const struct model_check *check) {
    for (size_t i = job->signature_count; i-- > 0;) {
        const struct gate_signature *signature = &job->signatures[i];
        if (!signature->pass && signature->by[0] == '\0' &&
            strcmp(signature->check, check->check) == 0) {
            return signature->at.mono;
        }
    }
    return INT64_MIN;
}

static int64_t later(int64_t a, int64_t b) {
    return a > b ? a : b;
}

// Whether measures that failed the check have been within its limits again for long enough.
// Rule (2, measures; R15): A measure that failed a check answers it again only after 60 s within
// its limits. [measure-recovers-at-once]
// Rule (2, measures; R15): The 60 s are heard without a gap. [measure-recovers-unheard]
static bool has_recovered(const struct gate_site *site, const struct gate_job *job,
                          const struct model_check *check, struct gate_time now) {
    int64_t since = failed_at(job, check);
    if (since == INT64_MIN) {
        return true;
    }
    since = later(since, job->within[check - job->needs->checks]);
    for (size_t m = 0; m < site->model->measure_count; m++) {
        if (gate_measure_speaks(&site->model->measures[m], check, job->position)) {
            since = later(since, site->measures[m].since);
        }
    }
    return since <= now.mono - GATE_MEASURE_RECOVERS_MS;
}

// Whether the measures may answer the check now: in its window (which has the leader under lock and
// tag wherever that matters), the journal writing, nobody's own reading against it. A check that is
// one role's to sign, or is answered in words, is not theirs.
// Rule (4, sign-check): A person's failed reading is not overruled by a measure.
// [measure-overrules]
// Rule (4, sign-check): A check of one role is not answered by a measure. [measure-for-a-role]
// Rule (4, sign-check): A check that is answered in words is not answered by a measure.
// [measure-for-words]
// Rule (5, journal): While the journal cannot write no measure permits. [measure-journal-down]
// Rule (4, Seasons): A measure answers a check only while it is in its window.
// [measure-out-of-season]
static bool may_pass(const struct gate *gate, const struct gate_site *site,
                     const struct gate_job *job, const struct model_check *check,
                     const struct gate_signature *last, struct gate_time now) {
    bool proves = check->group == MODEL_GROUP_RELIEVE || check->group == MODEL_GROUP_VERIFY;
    bool against = last != NULL && last->by[0] != '\0' && !last->pass;
    return !against && check->by == 0 && !check->note && gate->journal_up && !gate->broken_memory &&
           gate_in_window(job, check->group, true) && has_recovered(site, job, check, now) &&
           (!proves || gate_may_prove(site, job, now));
}

// What there is to sign: a pass where none stands, a failure where a pass stands, whoever signed
// it; else nothing, so that steady readings sign once.
// Rule (5, Breaking): A fresh measure outside the limits fails the check while a passing signature
// stands. [measure-fail-unheeded]
// Rule (5, Breaking): A failing measure wins over a signature by hand. [measure-fails-own-only]
// Rule (6, journal): Steady measures sign once. [measure-flood]
enum gate_verdict gate_measures_verdict(const struct gate *gate, const struct gate_site *site,
                                        const struct gate_job *job, const struct model_check *check,
                                        struct gate_time now, struct gate_measured *measured) {
    if (check->measure == NULL || check->group == MODEL_GROUP_PREPARE) {
        return GATE_VERDICT_NONE;
    }
    const struct gate_signature *last = gate_signature_of(job, check->check);
    bool passed = last != NULL && last->pass && !gate_signature_void(job, last, now);
    *measured = measured_of(site, job, check, now);
    if (passed) {
        return measured->fail && gate_in_window(job, check->group, false) ? GATE_VERDICT_FAIL
                                                                          : GATE_VERDICT_NONE;
    }
    return measured->pass && may_pass(gate, site, job, check, last, now) ? GATE_VERDICT_PASS
                                                                         : GATE_VERDICT_NONE;
}
