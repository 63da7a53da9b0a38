// A person's verdict: no figure at all.
#include "trade/rule.h"

#include <stdio.h>

static const struct trade_reading pass_readings[] = {
    {.name = "pass", .title = "It passed", .kind = TRADE_FLAG},
};

static bool pass_fail_work(const struct trade_input *inputs, struct trade_outcome *outcome,
                           struct trade_error *error) {
    (void)error;
    outcome->has_pass = true;
    outcome->pass = inputs[0].flag;
    snprintf(outcome->method, sizeof outcome->method, "observed by a person; no figure");
    trade_say(outcome->working.put, sizeof outcome->working.put, "observed: %s",
              inputs[0].flag ? "passed" : "failed");
    return true;
}

const struct trade_row trade_row_pass_fail = {
    .about = {.rule = "pass-fail",
              .title = "A person's verdict",
              .formula = "pass",
              .readings = pass_readings,
              .reading_count = TRADE_COUNT_OF(pass_readings),
              .limits = TRADE_LIMITS_NONE},
    .work = pass_fail_work,
};
