// Whether a broker is set up as the daemon needs it: what is missing, and what is too open.
#pragma once

#include "model/model.h"

#define CHECK_BROKER_MOST 256

enum check_broker_verdict {
    CHECK_BROKER_GOOD,
    CHECK_BROKER_MISSING, // the daemon lacks something
    CHECK_BROKER_OPEN,    // somebody may do what nobody should
    CHECK_BROKER_UNTRIED, // it could not be tried
};

struct check_broker_finding {
    enum check_broker_verdict verdict;
    char subject[160]; // a topic, a site, a setting
    char say[320];     // one sentence, with what to do
};

struct check_broker_findings {
    struct check_broker_finding items[CHECK_BROKER_MOST];
    size_t count, left_off;
};

// Tries the model's broker with the daemon's login; takes some seconds a site. False: it cannot be
// reached (error is one sentence); what was found until then stands in findings.
bool tool_check_broker(const struct model *model, struct check_broker_findings *findings,
                       char *error, size_t size);
