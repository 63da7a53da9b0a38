// What follows when a tag is hung or lifted, and when a loose one becomes a job's.
#pragma once

#include "gate/state.h"

// Whether tags on the point come from its reader alone.
bool gate_locks_by_reader(const struct gate_site *site, uint32_t point);
// Ends a tag of the point and draws what follows for its job (a break, where it was the leader's);
// the tag is gone then. how: who, why and by which way, as the fact tells it.
void gate_tag_lift(struct gate *gate, struct gate_site *site, uint32_t point,
                   const struct gate_tag *tag, const struct gate_fact *how, struct gate_time now);
// Emits that a tag was hung (the fact), and what follows for its job.
void gate_tag_hang(struct gate *gate, struct gate_site *site, const struct gate_fact *hung);
// The reader of a point is out of order: tags that it alone vouches for no longer count.
void gate_reader_doubted(struct gate *gate, struct gate_site *site, uint32_t point,
                         struct gate_time now);
// Locks of this person that hung on the job's points without a job become tags of it.
void gate_tags_adopt(struct gate *gate, struct gate_site *site, struct gate_job *job,
                     const char *person, struct gate_time now);
