// Averaging borderline runs of a test.
#pragma once

#include "gate/state.h"

// The result of a run as the test's definition has it judged: what is borderline waits for as many
// runs as the method asks for and is then judged by their mean.
struct model_result gate_average(const struct gate_job *job, const struct model_test *test,
                                 const struct model_result *run, struct gate_time now);
