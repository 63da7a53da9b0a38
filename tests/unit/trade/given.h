// Readings for the trade's tests, written as a person would type them.
#pragma once

#include "trade/trade.h"

// What the site says in the lines that follow; NULL at first.
extern const struct model_vapor *given_vapor;

// Works a rule out from "name=value name=value…": numbers, true or false, words; min= and max= are
// the procedure's limits, unit= its unit. Asserts that the line itself is well made. As
// trade_calculate otherwise; working may be NULL.
bool given_calculate(const char *rule, const char *line, struct model_result *result,
                     struct trade_working *working, struct trade_error *error);
// The same for a line that must work out.
struct model_result given_result(const char *rule, const char *line);
// What all cautions of a result say, one blank between; good until the next call.
const char *given_cautions(const struct model_result *result);
// Asserts that a line is refused, and that the error blames this reading ("" for the whole).
void given_refused(const char *rule, const char *line, const char *reading);
