// A job of the past as the gate has it: the facts that touch the job, applied one by one by the
// gate itself, so that nothing here restates what a fact makes void or which phase it leads to.
#pragma once

#include "gate/gate.h"

// Of one job; zero-initialize it, end it with report_fold_free. Must not move in between.
struct report_fold {
    // --- private ---
    struct gate *gate; // of one site with one position: what the opening named
    struct model model;
    struct model_site site;
    struct model_position position;
    struct model_point *points;
    struct gate_job *job;
};

// The site's index in the facts that a fold is given.
#define REPORT_FOLD_SITE 0

// Opens the job by the fact of its opening. The gate is made for that job alone, out of the
// position and the points that the opening named and those configured for it now, so that what is
// no longer configured folds as it did. model and site must outlive it. False: no memory, or not
// the opening of a job.
bool report_fold_open(struct report_fold *fold, const struct model *model,
                      const struct model_site *site, const struct gate_fact *opened);
// The next fact of the job, or one that touches it. False: no memory, or a fact that lacks what it
// is about.
bool report_fold_apply(struct report_fold *fold, const struct gate_fact *fact);
// The job as of the facts so far. Its strings change with the next fact, and its arrays move.
const struct gate_job *report_fold_job(const struct report_fold *fold);
// As new, for another job.
void report_fold_free(struct report_fold *fold);
