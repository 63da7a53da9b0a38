// The journal's facts applied to a gate, row by row: the state that they make.
#pragma once

#include "gate/gate.h"
#include "report/source.h"
#include "wire/fact_codec.h"

// Set gate and model, zero the rest; end it with report_replay_free. Must not move in between.
struct report_replay {
    struct gate *gate;
    const struct model *model;
    char what[320]; // which fact could not be applied, and why; "": all could
    // --- private ---
    struct wire_fact_arena arena;
    struct json_tape tape;
    const struct model_site *site; // of the last fact: facts of one site stand together
};

// Applies the next fact. False: it cannot be, and `what` says why.
bool report_replay_apply(struct report_replay *replay, const struct report_row *row);
void report_replay_free(struct report_replay *replay);

// Whether a configuration still has what the journal's standing jobs, hanging tags and owed tests
// need. Calls `each` with a sentence for everything that it lacks; or, where that cannot be told,
// with the reason.
bool report_fits(const struct report_source *source, const struct model *model,
                 void (*each)(void *user, const char *what), void *user);
