// What a point is, from its sensors' hearing or people's statements.
#pragma once

#include "gate/state.h"

struct gate_view { // a point as a job may rely on it
    enum model_point_state state;
    enum model_trust trust;
    int64_t heard; // wall ms, 0: never
    unsigned witnesses, witnesses_needed;
};
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
// Whether a point is proved live for a position's return to service (the statement of a crew, a
// manager or a supervisor where it has no sensor).
bool gate_point_proved_live(const struct gate *gate, const struct gate_site *site, uint32_t point,
                            struct gate_time now);
bool gate_statement_stands(const struct model_point *model, const struct gate_statement *statement,
                           struct gate_time now);
