// What a gate requires: one function a requirement, which adds it to the list, met or not.
#pragma once

#include "gate/gate.h"
#include "gate/point.h"

// What a sentence about a point is made of.
struct gate_args gate_point_args(const struct model_point *model, const struct gate_view *view);
// Somebody leads: who asks to start is judged by the verb itself.
void gate_require_leader(const struct gate_job *job, struct gate_list *list);
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
// One check is signed within limits and not void.
void gate_require_check(const struct gate_job *job, const struct model_check *check,
                        struct gate_time now, struct gate_list *list);
void gate_require_group(const struct gate_job *job, enum model_group group, struct gate_time now,
                        struct gate_list *list);
// A relieve or verify check may prove something now: what it lacks beside the hold.
void gate_require_may_prove(const struct gate_site *site, const struct gate_job *job,
                            const struct model_check *check, struct gate_time now,
                            struct gate_list *list);
// Every test of the job, owed ones too, is recorded, passed and stands.
void gate_require_tested(const struct gate_site *site, const struct gate_job *job,
                         struct gate_time now, struct gate_list *list);
// A kit, and the part that it is for: what the job names.
struct gate_kit {
    const char *family, *part; // NULL or "": not named
};
void gate_require_match(const struct gate_site *site, const struct model_requirements *needs,
                        uint32_t position, const struct gate_kit *kit, bool ask,
                        struct gate_list *list);
void gate_require_uncontested(const struct gate_site *site, struct gate_list *list);
void gate_require_journal(const struct gate *gate, struct gate_list *list);
void gate_require_link(const struct gate *gate, const struct gate_site *site,
                       struct gate_list *list);
void gate_require_clock(const struct gate *gate, struct gate_time now, struct gate_list *list);
void gate_require_alarms_seen(const struct gate_site *site, const struct gate_job *job,
                              struct gate_list *list);
void gate_require_no_tags_of_job(const struct gate_site *site, const struct gate_job *job,
                                 const char *person, struct gate_list *list);
void gate_require_tag(const struct gate_site *site, const struct gate_job *job, uint32_t point,
                      const char *person, struct gate_list *list);
