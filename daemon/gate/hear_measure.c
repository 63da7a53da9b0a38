// Hearing the measures: as signals are heard, each anew after its controller came online.
#include <math.h>

#include "gate/gate.h"
#include "gate/hear.h"
#include "gate/measure.h"
#include "gate/reading_order.h"
#include "gate/review.h"

// Rule (3, Hearing): After its controller's online a measure must be heard anew.
// [measure-online-proves]
void gate_measures_anew(struct gate_site *site, uint32_t controller) {
    for (size_t m = 0; m < site->model->measure_count; m++) {
        if (site->model->measures[m].controller == controller) {
            site->measures[m].heard = 0;
            site->measures[m].mark.forget = true;
        }
    }
}

// Whether a reading of the measure has given any job something to sign.
static bool has_to_sign(const struct gate *gate, const struct gate_site *site,
                        const struct model_measure *model, struct gate_time now) {
    for (size_t i = 0; i < site->job_count; i++) {
        const struct gate_job *job = site->jobs[i];
        for (size_t k = 0; gate_job_stands(job) && k < job->needs->check_count; k++) {
            const struct model_check *check = &job->needs->checks[k];
            struct gate_measured measured;
            if (check->measure != NULL && gate_measure_speaks(model, check, job->position) &&
                gate_measures_verdict(gate, site, job, check, now, &measured) !=
                    GATE_VERDICT_NONE) {
                return true;
            }
        }
    }
    return false;
}

// Keeps when a measure came back within the limits of the checks that it answers. before: its value
// until now.
// Rule (2, measures; R15): Every reading outside begins the wait anew. [measure-recovers-between]
static void note_within(struct gate_site *site, uint32_t index, double before) {
    const struct model_measure *model = &site->model->measures[index];
    const struct gate_measure *measure = &site->measures[index];
    for (size_t i = 0; i < site->job_count; i++) {
        struct gate_job *job = site->jobs[i];
        for (size_t k = 0; gate_job_stands(job) && k < job->needs->check_count; k++) {
            const struct model_check *check = &job->needs->checks[k];
            if (check->measure != NULL && gate_measure_speaks(model, check, job->position) &&
                gate_margin(&check->limits, before) < 0 &&
                gate_margin(&check->limits, measure->value) >= 0) {
                job->within[k] = measure->heard;
            }
        }
    }
}

// Rule (3, alarms): A measure whose clock is ahead of ours raises the clock alarm.
// [measure-clock-unheeded]
static enum gate_heard hear_bad(struct gate *gate, struct gate_site *site,
                                struct gate_measure *measure, bool clock, struct gate_time now) {
    measure->bad = true;
    if (clock) {
        gate_review(gate, site, now); // the alarm of the clock follows
    }
    return GATE_HEARD_BAD;
}

// Rule (3, Hearing): A measure that the broker kept is no evidence unless it has a time.
// [measure-retained]
// Rule (3, Hearing): A measure of bad quality, that is no number or is dated ahead says nothing.
// [measure-bad-heard]
// Rule (3, Hearing): A measure dated more than 5 s ahead says nothing. [measure-ahead-heard]
// Rule (3, Hearing): A copy or an older word of a measure refreshes nothing. [measure-copy-taken]
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
    bool clock =
        gate_clock_judge(site, &measure->clock, &stamp, reading->retained, model->max_age_ms, now);
    if (reading->bad || !isfinite(reading->value) || gate_stamp_ahead(&stamp, now)) {
        return hear_bad(gate, site, measure, clock, now);
    }
    enum gate_order order =
        gate_order_of(&measure->mark, &stamp, gate_measure_stale(measure, model, now));
    if (order != GATE_ORDER_NEWER) {
        if (clock) {
            gate_review(gate, site, now);
        }
        return order == GATE_ORDER_COPY ? GATE_HEARD_COPY : GATE_HEARD_OLDER;
    }
    gate_mark_move(&measure->mark, &stamp);
    bool gap = measure->bad || gate_measure_stale(measure, model, now);
    measure->heard = gate_stamp_mono(&stamp, now);
    measure->since = gap ? measure->heard : measure->since;
    double before = measure->value;
    measure->value = reading->value;
    measure->bad = false;
    note_within(site, index, before);
    if (!clock && !has_to_sign(gate, site, model, now)) {
        return GATE_HEARD_UNCHANGED;
    }
    gate_review(gate, site, now);
    return GATE_HEARD_CHANGED;
}
