// What the files of the gate share among themselves.
#pragma once

#include <stdio.h>
#include <string.h>

#include "gate/alarm.h"
#include "gate/average.h"
#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/lockout.h"
#include "gate/measure.h"
#include "gate/point.h"
#include "gate/reading_order.h"
#include "gate/review.h"
#include "gate/tag.h"
#include "gate/text.h"
#include "gate/used.h"
#include "gate/window.h"

// --- list.c ---
// The next requirement, with its code and subject, to be filled; NULL: met and not wanted, or no
// memory.
struct gate_refusal *gate_list_add(struct gate_list *list, bool met, enum model_code code,
                                   const char *subject);
// The same with its texts, where they are not made of figures.
void gate_list_require(struct gate_list *list, bool met, enum model_code code, const char *subject,
                       const char *need, const char *found, const char *say);

// --- gates.c: the requirements, one function each ---
void gate_require_start(const struct gate *gate, const struct gate_site *site,
                        const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_finish(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_test(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_return(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_points(const struct gate *gate, const struct gate_site *site,
                         const struct gate_job *job, struct gate_time now, struct gate_list *list);
void gate_require_restored(const struct gate *gate, const struct gate_site *site,
                           const struct gate_job *job, struct gate_time now,
                           struct gate_list *list);
void gate_require_group(const struct gate_job *job, enum model_group group, struct gate_time now,
                        struct gate_list *list);
void gate_require_credentials(const struct gate_site *site, const struct model_requirements *needs,
                              const struct model_person *person, const char *id,
                              struct gate_time now, struct gate_list *list);
void gate_require_match(const struct gate_site *site, const struct model_requirements *needs,
                        uint32_t position, const char *kit_family, bool ask,
                        struct gate_list *list);
void gate_require_uncontested(const struct gate_site *site, struct gate_list *list);
void gate_require_journal(const struct gate *gate, struct gate_list *list);
void gate_require_link(const struct gate *gate, struct gate_list *list);
void gate_require_no_tags_of_job(const struct gate_site *site, const struct gate_job *job,
                                 const char *person, struct gate_list *list);
void gate_require_tag(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      const char *person, struct gate_list *list);
