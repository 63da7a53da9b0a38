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
// The next requirement, made of a sentence and its arguments (gate_refusal_make); NULL: met and not
// wanted, or no memory. What comes back may be given an age, or a code where the sentence serves
// several.
struct gate_refusal *gate_list_put(struct gate_list *list, bool met, enum gate_say sentence,
                                   const char *subject, const struct gate_args *args);

// --- gates.c: the requirements, one function each ---
// What a sentence about a point is made of.
struct gate_args gate_point_args(const struct model_point *model, const struct gate_view *view);
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
