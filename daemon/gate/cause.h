// What broke a lockout: the causes that an alarm stands for, which of them still hold, and which is
// the worst. A cause is a reason, and the point or the check that it is about.
#pragma once

#include "gate/state.h"

// What a break is for, as it comes.
struct gate_break_cause {
    enum model_code why;
    uint32_t point;                  // or MODEL_NONE
    const struct model_check *check; // or NULL
};

// The same cause that was away for less than this is the same still (contract, section 3).
#define GATE_CAUSE_AWAY_MS 5000

// Whether a cause that comes now is a further one: new, or back after it was away.
bool gate_cause_is_further(const struct gate_site *site, const struct gate_job *job,
                           const struct gate_break_cause *cause, struct gate_time now);
// The worst of a job's causes that hold; of those as bad as the newest, that. The texts are
// borrowed. The job has at least one, that which came now.
struct gate_break_cause gate_cause_worst(const struct gate_site *site, const struct gate_job *job,
                                         struct gate_time now);
// Whether a point has read live until this very moment, and an alarm of the job stands for that.
bool gate_cause_was_live(const struct gate_job *job, uint32_t point, struct gate_time now);

// --- Folded ---
// A cause came. False: no memory.
bool gate_cause_note(const struct gate_site *site, struct gate_job *job, enum model_code why,
                     uint32_t point, const char *check, struct gate_time at);
// Something changed at the site: what holds no longer has ended now.
void gate_causes_end(struct gate_site *site, struct gate_time at);
