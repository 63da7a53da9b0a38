// Readers that nobody may count on: the broker lost the durable session while we were away, so that
// what they said meanwhile nobody will hear any more; or one is out of order. A lock that was seen
// hung may long be off.
#include <string.h>

#include "gate/break.h"
#include "gate/emit.h"
#include "gate/find.h"
#include "gate/gate.h"
#include "gate/review.h"
#include "gate/tag.h"
#include "gate/text.h"

// Rule (3, Tags; R14): A tag whose last word is a request's goes on counting. [session-any-tag]
static bool is_doubtful(const struct gate_tag *tag) {
    return tag->counts && tag->reader;
}

// The point of the first doubtful tag of a job, of its leader or of the others of its crew: of one
// point, or of all (MODEL_NONE).
static uint32_t doubtful_of(const struct gate_site *site, const struct gate_job *job,
                            uint32_t point, bool leads) {
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        for (size_t i = 0; (point == MODEL_NONE || point == p) && i < site->points[p].tag_count;
             i++) {
            const struct gate_tag *tag = &site->points[p].tags[i];
            if (is_doubtful(tag) && strcmp(tag->job, job->job) == 0 &&
                gate_leads(job, tag->person) == leads && gate_member_of(job, tag->person) != NULL) {
                return p;
            }
        }
    }
    return MODEL_NONE;
}

// Rule (3, Tags; R14; 5, Breaking): Work that counted on a reader's tag of anyone in the crew
// stops. [session-work-goes-on]
// Rule (3, Tags; R14; 5, Breaking): Where the leader's tag no longer counts the lockout breaks.
// [session-leader-unbroken]
static void stop_work(struct gate *gate, struct gate_site *site, struct gate_job *job,
                      uint32_t point, struct gate_time now) {
    uint32_t leaders = doubtful_of(site, job, point, true);
    uint32_t others = doubtful_of(site, job, point, false);
    if (leaders != MODEL_NONE) {
        gate_break_by_point(gate, site, job, MODEL_CODE_TAG_MISSING, leaders, now);
    } else if (others != MODEL_NONE) {
        char say[240];
        gate_text(say, sizeof say, "%s %s. Stop, and hang your locks again.",
                  site->model->points[others].title,
                  point == MODEL_NONE ? "has a reader whose words meanwhile are lost"
                                      : "has a reader that is out of order");
        gate_stop_work(gate, site, job, MODEL_CODE_TAG_MISSING, say, now);
    }
}

// Rule (3, Tags; R14): Tags whose last word is a reader's no longer count until hung again.
// [session-tags-count]
static void discount(struct gate *gate, struct gate_site *site, uint32_t point, enum model_code why,
                     struct gate_time now) {
    for (size_t i = 0; i < site->points[point].tag_count; i++) {
        const struct gate_tag tag = site->points[point].tags[i];
        if (!is_doubtful(&tag)) {
            continue;
        }
        struct gate_fact fact =
            gate_fact_of_point(gate, site, point, GATE_FACT_TAG_DISCOUNTED, now);
        fact.job = tag.job[0] != '\0' ? tag.job : NULL;
        fact.person = tag.person[0] != '\0' ? tag.person : NULL;
        fact.badge = tag.badge[0] != '\0' ? tag.badge : NULL;
        fact.has_why = true;
        fact.why = why;
        gate_emit(gate, &fact);
    }
}

static void doubt(struct gate *gate, struct gate_site *site, uint32_t point, struct gate_time now) {
    enum model_code why = point == MODEL_NONE ? MODEL_CODE_LINK_DOWN : MODEL_CODE_TAG_BY_READER;
    for (size_t i = 0; i < site->job_count; i++) {
        if (site->jobs[i]->phase == MODEL_PHASE_WORKING) {
            stop_work(gate, site, site->jobs[i], point, now);
        }
    }
    for (uint32_t p = 0; p < site->model->point_count; p++) {
        if (point == MODEL_NONE || point == p) {
            discount(gate, site, p, why, now);
        }
    }
}

void gate_session_lost(struct gate *gate, struct gate_time now) {
    for (size_t s = 0; s < gate->model->site_count; s++) {
        struct gate_site *site = &gate->sites[s];
        gate_review_due(gate, site, now);
        doubt(gate, site, MODEL_NONE, now);
        gate_review(gate, site, now);
    }
}

// Rule (3, A sensor out of order; R27): A tag that only a reader out of order vouches for does not
// count until it is hung again. [distrusted-reader-vouches]
void gate_reader_doubted(struct gate *gate, struct gate_site *site, uint32_t point,
                         struct gate_time now) {
    doubt(gate, site, point, now);
}
