// Where a job stands, by the journal alone: its facts folded as the daemon folds them.
#pragma once

#include "gate/gate.h"
#include "json/json.h"

struct standing {
    struct gate *gate;
    char what[320]; // why it cannot be told; "": it can
};

// Begins to fold. False: no memory.
bool tool_standing_begin(struct standing *standing, const struct model *model);
void tool_standing_end(struct standing *standing);
// The next fact, in order. Once one does not fit the configuration, the rest is passed over.
void tool_standing_apply(struct standing *standing, const struct gate_fact *fact, int64_t seq);

// The job after all facts; NULL: it cannot be told, and what says why.
const struct gate_job *tool_standing_job(struct standing *standing, const char *site,
                                         const char *job);
// What the job's next gate lacks by what the journal knows; what the hardware says now, the link
// and the daemon's health are left out, as the journal does not know them. False: no memory.
bool tool_standing_waits(const struct standing *standing, const char *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
// What else the next gate needs, in words.
const char *tool_standing_also(const struct gate_job *job);
// "start of work", "finish of work", …; NULL: the job has ended.
const char *tool_standing_gate_name(enum model_phase phase);
