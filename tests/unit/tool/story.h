// One repair, J-1 on 3A, as far as a test wants it.
#pragma once

#include "rig.h"

#define STORY_NOTE "held\x1b[31m\nby hand"

void story_open(struct rig *rig);    // opened by tracker-1 for t-104
void story_isolate(struct rig *rig); // points isolated, said and tagged
void story_confirm(struct rig *rig); // and every check before the start signed
void story_start(struct rig *rig);
void story_finish(struct rig *rig);  // work and clear signed, finished: restoring
void story_lift(struct rig *rig);    // every tag lifted
void story_restore(struct rig *rig); // every point live again
void story_test(struct rig *rig);    // begun, and every test recorded as passed
// Signs a check as somebody.
void story_sign(struct rig *rig, const char *person, const char *check);
