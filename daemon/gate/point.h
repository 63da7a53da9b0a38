// What a point is, from its sensors' hearing or people's statements.
#pragma once

#include "gate/view.h"

// What the point is, from its sensors' hearing or its statements. *next is lowered to the mono ms
// at which time alone may change that.
struct gate_view gate_point_derive(const struct gate *gate, const struct gate_site *site,
                                   uint32_t point, struct gate_time now, int64_t *next);
// The same for one job: of a witnessed point, only the statements that count for it.
struct gate_view gate_point_for_job(const struct gate *gate, const struct gate_site *site,
                                    const struct gate_job *job, uint32_t point,
                                    struct gate_time now, int64_t *next);
bool gate_view_isolated(const struct gate_view *view);        // settled and trusted
bool gate_view_live(const struct gate_view *view);            // trusted
enum model_code gate_view_code(const struct gate_view *view); // why it is not isolated and trusted
// Whether a point is proved live: by its sensors, or by words that prove it for the return of a job
// or, where job is NULL, for the service of the positions that it isolates.
bool gate_point_proved_live(const struct gate *gate, const struct gate_site *site, uint32_t point,
                            const struct gate_job *job, struct gate_time now);
