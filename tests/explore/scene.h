// The scenes that the explorer searches: a forecourt and every step that may be taken on it.
#pragma once

#include "world.h"

#define SCENE_STEPS 1024

struct scene {
    struct forecourt_plan plan;
    const char *why; // what it is there for
    unsigned jobs;   // ids that may be used
    bool at_work;    // begins with the first job working, brought there by an honest crew
    // Left out of a scene to keep it small, where another scene has them.
    bool no_readers, no_conditions, no_hand_over, no_prepare_age, no_restart;
    bool nightly; // too large to be searched whole on every change
};

struct scene_steps {
    struct step steps[SCENE_STEPS];
    unsigned count;
};

extern const struct scene scenes[];
extern const size_t scene_count;

// Every step of a scene. False: there are too many.
bool scene_list(const struct scene *scene, const struct forecourt *forecourt,
                struct scene_steps *list);
// Whether a step might change anything, by the account of the rules: a request for a job that is
// not in the phase for it, or by somebody whom it never serves, is refused and changes nothing. The
// explorer takes those only in one state out of SCENE_FULL, chosen by its digest.
#define SCENE_FULL 32
bool scene_may(const struct rules *rules, const struct step *step);
// Whether an honest crew, and hardware that is mended, take such a step.
bool scene_honest(const struct step *step);
