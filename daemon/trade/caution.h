// What needs a person's eye though it is judged, one row each: its name in C, its name outside, and
// its sentence, in which `{value}`, `{min}` and `{max}` stand for figures. A page in another
// language has a sentence of its own under the name, made of the same figures. A name is never
// given to something else: a journal keeps it.
#pragma once

#include "model/result.h"

#define TRADE_CAUTIONS(CAUTION)                                                                    \
    /* Limits. */                                                                                  \
    CAUTION(LOOSER_MIN, "looser-min",                                                              \
            "The min of {min} given is looser than the rule's own limit, which holds.")            \
    CAUTION(LOOSER_MAX, "looser-max",                                                              \
            "The max of {max} given is looser than the rule's own limit, which holds.")            \
    CAUTION(ONE_CERTIFICATION, "one-certification",                                                \
            "{min} to {max} is the window of one certification: give min and max of yours.")       \
    /* Vapor. */                                                                                   \
    CAUTION(PRESSURE_ZERO, "pressure-zero",                                                        \
            "A back pressure of exactly 0 is suspicious: see that nitrogen flows, and that the "   \
            "gauge is connected and its valve open.")                                              \
    CAUTION(FLOW_UNSAID, "flow-unsaid",                                                            \
            "The flow was not said: the ratio is of 6 to 10 gpm alone.")                           \
    CAUTION(HOSE_DEFECTIVE, "hose-defective",                                                      \
            "At or below {max} the hose is defective and stays out of service.")                   \
    /* Meters and leak detectors. */                                                               \
    CAUTION(ONE_RUN, "one-run", "One run does not show how far runs differ: make at least two.")   \
    CAUTION(RUNS_DIFFER, "runs-differ",                                                            \
            "The runs differ by {value} in3, more than {max} in3: it fails.")                      \
    CAUTION(LEAK_NOT_FOUND, "leak-not-found", "The detector did not find the leak: it fails.")     \
    /* Spills. */                                                                                  \
    CAUTION(SHEEN, "sheen", "A sheen on water nearby: it must be reported, whatever was spilled.") \
    CAUTION(UNCLEANED, "uncleaned",                                                                \
            "Not cleaned up in {max} h: it must be reported, whatever was spilled.")               \
    CAUTION(SHEEN_UNSAID, "sheen-unsaid",                                                          \
            "Not said: sheen. A sheen is reported whatever was spilled.")                          \
    CAUTION(HOURS_UNSAID, "hours-unsaid",                                                          \
            "Not said: hours. {max} h without its being cleaned up is reported whatever was "      \
            "spilled.")                                                                            \
    /* Torque. */                                                                                  \
    CAUTION(WRENCH_BELOW, "wrench-below", "The setting is below the least mark of the wrench.")    \
    CAUTION(WRENCH_BEYOND, "wrench-beyond", "The setting is beyond the wrench.")                   \
    CAUTION(WRENCH_LARGE, "wrench-large",                                                          \
            "The setting is below {max} % of the wrench's full scale; take a smaller wrench.")

#define TRADE_CAUTION_ENUM(id, name, words) TRADE_CAUTION_##id,
enum trade_caution { TRADE_CAUTIONS(TRADE_CAUTION_ENUM) TRADE_CAUTION_COUNT };
#undef TRADE_CAUTION_ENUM

// The caution with its name and its sentence; `figures` has what the sentence takes, NULL: nothing.
struct model_caution trade_caution_make(enum trade_caution caution,
                                        const struct model_caution *figures);

// Written at the call: TRADE_FIGURES(.has_max = true, .max = 24).
#define TRADE_FIGURES(...) (&(const struct model_caution){__VA_ARGS__})
