// What the site's measures say of a check.
#pragma once

#include "gate/state.h"

// How long measures that failed a check must be within its limits before they answer it again.
#define GATE_MEASURE_RECOVERS_MS 60000

// The distance to the nearest limit; negative outside, infinite without any.
double gate_margin(const struct model_limits *limits, double value);

// What every measure of a check's kind at the job's position says together.
struct gate_measured {
    bool
        pass; // there is one, and each is fresh, good, online, read in its window and within limits
    bool fail;                      // a fresh one is outside the limits
    double worst;                   // the value nearest to a limit, or farthest outside
    const struct model_measure *by; // whose value that is; NULL: none is fresh
};

enum gate_verdict { GATE_VERDICT_NONE, GATE_VERDICT_PASS, GATE_VERDICT_FAIL };
// What there is to sign: a pass where none stands, a failure where a pass stands, whoever signed
// it; else nothing, so that steady readings sign once. *measured is filled where there is any.
enum gate_verdict gate_measures_verdict(const struct gate *gate, const struct gate_site *site,
                                        const struct gate_job *job, const struct model_check *check,
                                        struct gate_time now, struct gate_measured *measured);
// Whether a measure answers a check of a position, by its kind.
bool gate_measure_speaks(const struct model_measure *model, const struct model_check *check,
                         uint32_t position);
// Whether it was never heard, or longer ago than it may be.
bool gate_measure_stale(const struct gate_measure *measure, const struct model_measure *model,
                        struct gate_time now);
