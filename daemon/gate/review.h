// Drawing the consequences of a change. Each file that reviews has its one way in here; review.c
// calls them in one fixed order.
#pragma once

#include "gate/state.h"

// Lowers the time at which something changes by itself to one that is still to come.
static inline void gate_lower(int64_t *next, int64_t when, struct gate_time now) {
    if (when > now.mono && when < *next) {
        *next = when;
    }
}

// Draws every consequence of a change at a site and sets its deadline.
void gate_review(struct gate *gate, struct gate_site *site, struct gate_time now);

// The same if time alone has changed something: what grew stale is so before the next reading is
// heard.
void gate_review_due(struct gate *gate, struct gate_site *site, struct gate_time now);

// Tells a change of the point's state or trust and breaks what it breaks.
void gate_review_point(struct gate *gate, struct gate_site *site, uint32_t point,
                       struct gate_time now, int64_t *next);
// A point was said live at `at` (wall ms; 0: not known when) by what does not become its
// state. came: by itself and as its newest word, so that it breaks whatever its date, which only
// says which tags still count.
void gate_said_live(struct gate *gate, struct gate_site *site, uint32_t point, int64_t at,
                    bool came, struct gate_time now);

// Isolation, lockout and protection of every standing job, after anything changed.
void gate_review_jobs(struct gate *gate, struct gate_site *site, struct gate_time now);

// After a restart: the outage that goes on was told of these jobs; and it is over.
void gate_resume_outage(struct gate_site *site);
void gate_outage_moved(const struct gate *gate, struct gate_site *site, struct gate_time now);
// Breaks the job's lockout where the durable connection is away for too long; *next is lowered to
// when it will be.
void gate_review_outage(struct gate *gate, struct gate_site *site, struct gate_job *job,
                        struct gate_time now);
void gate_lower_outage(const struct gate *gate, const struct gate_site *site,
                       const struct gate_job *job, struct gate_time now, int64_t *next);

// Signs what the measures answer for the job, and stops its work where they fail a check.
void gate_review_measures(struct gate *gate, struct gate_site *site, struct gate_job *job,
                          struct gate_time now);

// Tells of the signatures of a standing job that will soon lapse; *next is lowered to when one does
// or a record lapses.
void gate_review_ages(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      struct gate_time now, int64_t *next);
// Ends what was said to be out of order once its hours are over; *next is lowered to when the next
// are.
void gate_review_distrusts(struct gate *gate, struct gate_site *site, struct gate_time now,
                           int64_t *next);
// A sensor says live by itself: it is out of order no longer.
void gate_live_ends_distrust(struct gate *gate, struct gate_site *site, uint32_t point,
                             uint32_t sensor, struct gate_time now);

// How long before its end that is told of what is good for so long.
int64_t gate_ageing_left(int64_t valid_ms);
// Tells of each word on which a job rests that it will soon be over; *next is lowered to when the
// next is to be told.
void gate_review_words(struct gate *gate, struct gate_site *site, struct gate_time now,
                       int64_t *next);

// Raises and clears the alarms of spills; *next is lowered to when a report is due.
void gate_review_spills(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next);

void gate_review_positions(struct gate *gate, struct gate_site *site, struct gate_time now);
// Raises and clears the alarms that follow a condition; *next is lowered to when time alone raises
// one.
void gate_review_alarms(struct gate *gate, struct gate_site *site, struct gate_time now,
                        int64_t *next);
// The daemon has come up: which of the alarms that stood stand on though nothing was heard yet.
void gate_resume_alarms(struct gate *gate, struct gate_site *site, struct gate_time now);
