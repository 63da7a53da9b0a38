// Whether the lockout of a job holds now.
#pragma once

#include "gate/state.h"

enum gate_fault_kind { GATE_FAULT_NONE, GATE_FAULT_POINT, GATE_FAULT_TAG };
struct gate_fault {
    enum gate_fault_kind kind;
    enum model_code why;
    uint32_t point;
};
// The first reason why the isolation is not held now; kind NONE: it is.
struct gate_fault gate_isolation_fault(const struct gate *gate, const struct gate_site *site,
                                       const struct gate_job *job, struct gate_time now);
// Relieve and verify checks signed, standing and within limits.
bool gate_signatures_hold(const struct gate_job *job, struct gate_time now);
// Groups that may not be empty: where nothing is asked, nothing is proved.
bool gate_group_needed(enum model_group group);
// Signed, within limits and not void.
bool gate_check_holds(const struct gate_job *job, const struct model_check *check,
                      struct gate_time now);
bool gate_group_signed(const struct gate_job *job, enum model_group group, struct gate_time now);
// Whether a point that was isolated before a restart may still be waited for: it says isolated, or
// nothing yet and is not too old. view: what is heard of it.
struct gate_view;
bool gate_unheard_holds(const struct gate_site *site, uint32_t point, const struct gate_view *view,
                        struct gate_time now);
// Whether every required point is isolated, settled and trusted now: an unproven one is then
// proved.
bool gate_isolation_proved(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now);
