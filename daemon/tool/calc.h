// `forelock calc RULE name=value…`: works a test rule out, without a daemon or a configuration.
#pragma once

#include "model/model.h"

#include <stdbool.h>

// argv[0] is the rule, the rest are its readings as name=value (numbers, true or false, words), in
// US customary or SI spelling; min= and max= stand for the procedure's. Prints a worked
// explanation, or with json one object, to standard output. Returns the exit status: 0 the test
// passes or the figure stands, 1 it fails or the method does not hold for the readings, 2 an
// unknown rule or a missing, unknown or impossible reading (said on standard error, by its name), 4
// the output could not be written.
//
// calibrated_until=YYYY-MM-DD, or instrument=ID of the model's, says what the readings were taken
// with: a calibration whose last day is behind today (by this machine's clock and zone) is
// cautioned against. model: NULL without a configuration.
int tool_calc(int argc, char **argv, bool json, const struct model *model);
