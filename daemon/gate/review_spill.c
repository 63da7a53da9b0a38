// The alarm of a spill that is to be reported.
#include "gate/alarm.h"
#include "gate/review.h"
#include "gate/spill.h"

#include "base/time_text.h"

static bool says_overdue(const struct gate_alarm *alarm) {
    return alarm != NULL && alarm->told.sentence == GATE_SAY_ALARM_SPILL_OVERDUE;
}

static void review(struct gate *gate, struct gate_site *site, const struct gate_spill *spill,
                   struct gate_time now) {
    char until[BASE_TIME_SIZE];
    bool overdue = now.mono > spill->at.mono + GATE_SPILL_MS;
    base_time_format(gate_spill_due(spill), until);
    const struct gate_args args = {
        .by = spill->by,
        .product = spill->product,
        .position =
            spill->position != MODEL_NONE ? site->model->positions[spill->position].position : NULL,
        .subject = spill->spill,
        .until = until,
        .has_value = true,
        .value = spill->quantity,
        .unit = spill->unit};
    struct gate_alarm_about about = {.kind = MODEL_ALARM_SPILL_REPORT_DUE,
                                     .position = spill->position,
                                     .point = MODEL_NONE,
                                     .subject = spill->spill,
                                     .by = spill->by,
                                     .sentence = overdue ? GATE_SAY_ALARM_SPILL_OVERDUE
                                                         : GATE_SAY_ALARM_SPILL_DUE,
                                     .args = &args};
    if (!gate_spill_over(spill, now)) {
        gate_alarm_clear(gate, site, &about, now);
        return;
    }
    const struct gate_alarm *stands = gate_alarm_about(site, &about);
    gate_alarm_raise(gate, site, &about, stands != NULL && overdue && !says_overdue(stands), now);
}

// Rule (4, record-spill): What is to be reported raises an alarm, and again once it is due.
// [spill-due-unsaid]
// Rule (4, record-spill): The moment at which a report is due, and a spill was to be cleaned up, is
// waited for. [spill-not-due]
void gate_review_spills(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next) {
    for (size_t i = 0; i < site->spill_count; i++) {
        const struct gate_spill spill = site->spills[i];
        review(gate, site, &spill, now);
        gate_lower(next, spill.at.mono + GATE_SPILL_MS + 1, now);
    }
}
