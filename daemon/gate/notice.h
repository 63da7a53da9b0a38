// Tests that an authority wants announced: a prepare check is signed when it was told, and the test
// waits for so many hours after it.
#pragma once

#include "gate/gate.h"

// From when (mono ms) a test may be recorded by the notice that was signed for it; 0: it needs
// none; INT64_MAX: no notice stands.
int64_t gate_notice_from(const struct gate_job *job, const struct model_test *test,
                         struct gate_time now);
// Whether it waits for no more than time: its notice stands, and is too young.
bool gate_notice_waits(const struct gate_job *job, const struct model_test *test,
                       struct gate_time now);
// The notice of a test is signed, stands, and was given long enough ago; nothing is added for a
// test that needs none.
void gate_require_notice(const struct gate_job *job, const struct model_test *test,
                         struct gate_time now, struct gate_list *list);
// Writes from when a test that waits may be recorded, as an instant in UTC.
#define GATE_NOTICE_TEXT 25
void gate_notice_until(const struct gate_job *job, const struct model_test *test,
                       struct gate_time now, char text[GATE_NOTICE_TEXT]);
