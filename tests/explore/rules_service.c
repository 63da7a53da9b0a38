// Positions: what holds one out of service, and when it comes back (contract, section 3).
#include "rules.h"

bool rules_failed(const struct rules *r, unsigned position) {
    const unsigned *dispenser = r->forecourt->plan->dispenser;
    for (unsigned p = 0; p < r->forecourt->plan->positions; p++) {
        if (r->positions[p].failed && dispenser[p] == dispenser[position]) {
            return true;
        }
    }
    return false;
}

// Another job takes the cabinet, or cones, an open cabinet or a leak test of it stand beside.
static bool held_by_job(const struct rules *r, unsigned position) {
    const struct forecourt_plan *plan = r->forecourt->plan;
    for (unsigned s = 0; s < plan->positions; s++) {
        const struct rules_job *job = &r->jobs[s];
        if (!job->stands || plan->dispenser[s] != plan->dispenser[position]) {
            continue;
        }
        bool past_open = job->phase != MODEL_PHASE_OPEN || rules_tagged(r, s);
        if (s == position || past_open || rules_needs(r, job)->takes_dispenser) {
            return true;
        }
    }
    return false;
}

// A point of it reads isolated, or a lock hangs on one.
static bool held_by_point(const struct rules *r, unsigned position) {
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        if ((r->forecourt->plan->point[p].isolates >> position & 1u) == 0) {
            continue;
        }
        if (rules_reads(r, p, RULES_NO_SLOT) == MODEL_POINT_ISOLATED) {
            return true;
        }
        for (unsigned who = 0; who <= RULES_ANYBODY; who++) {
            if (rules_hangs_here(r, p, who)) {
                return true;
            }
        }
    }
    return false;
}

bool rules_held_out(const struct rules *r, unsigned position) {
    return held_by_job(r, position) || held_by_point(r, position) ||
           r->positions[position].untested != 0 || rules_failed(r, position);
}

bool rules_may_return(const struct rules *r, unsigned position) {
    if (rules_held_out(r, position) || !rules_link(r) || !r->journal || r->contested) {
        return false;
    }
    unsigned proved = 0;
    for (unsigned p = 0; p < r->forecourt->plan->points; p++) {
        bool isolates = (r->forecourt->plan->point[p].isolates >> position & 1u) != 0;
        bool asked = r->forecourt->points[p].sensor_count > 0 || rules_word_standing(r, p);
        if (isolates && asked && !rules_proved_live(r, p, RULES_NO_SLOT)) {
            return false;
        }
        proved += isolates && asked;
    }
    return proved > 0; // an empty list proves nothing
}
