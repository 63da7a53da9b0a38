// What is said about the limits of a test by each of the trade's rules: a procedure or a district
// may tighten what a rule publishes and never loosen it.
#include "cases.h"

// The good procedure's first test, by another rule and with a limit.
#define PROCEDURE(rule, limit)                                                                     \
    {                                                                                              \
        { "procedures/spout.json", "\"rule\": \"pass-fail\"", "\"rule\": \"" rule "\", " limit }   \
    }
// The same with a limit of the district's under the procedure's id.
#define DISTRICT(rule, limit)                                                                      \
    {                                                                                              \
        {"procedures/spout.json", "\"rule\": \"pass-fail\"", "\"rule\": \"" rule "\""}, {          \
            "districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",         \
                "{\"test\": \"leak\", " limit "}"                                                  \
        }                                                                                          \
    }

const struct case_of cases_limits[] = {
    {"a procedure tightens a flow", PROCEDURE("flow-rate", "\"max\": 9"), ""},
    {"a procedure repeats a flow's limit", PROCEDURE("flow-rate", "\"max\": 10"), ""},
    {"a procedure asks for a greater least flow", PROCEDURE("flow-rate", "\"min\": 6"), ""},
    {"a procedure asks for less than the least flow", PROCEDURE("flow-rate", "\"min\": 4"),
     "procedures/spout.json:20:50: /tests/0/min: loosens the limit that the rule \"flow-rate\" "
     "publishes, 5 gpm; a procedure may only tighten it\n"},
    {"a procedure loosens a flow", PROCEDURE("flow-rate", "\"max\": 12"),
     "procedures/spout.json:20:50: /tests/0/max: loosens the limit that the rule \"flow-rate\" "
     "publishes, 10 gpm; a procedure may only tighten it\n"},
    {"a flow that nothing meets", PROCEDURE("flow-rate", "\"min\": 11"),
     "procedures/spout.json:20:50: /tests/0/min: the least allowed value, 11, is over the "
     "greatest, "
     "10: nothing would pass\n"},
    {"a procedure tightens a pressure decay", PROCEDURE("pressure-decay", "\"min\": 1.5"), ""},
    {"a procedure repeats the loosest pressure decay", PROCEDURE("pressure-decay", "\"min\": 0"),
     ""},
    {"a procedure loosens a pressure decay", PROCEDURE("pressure-decay", "\"min\": -0.5"),
     "procedures/spout.json:20:55: /tests/0/min: loosens the limit that the rule "
     "\"pressure-decay\" publishes, which is never looser than 0 in WC; a procedure may only "
     "tighten "
     "it\n"},
    {"a pressure decay that nothing meets", PROCEDURE("pressure-decay", "\"min\": 2.5"),
     "procedures/spout.json:20:55: /tests/0/min: no reading can reach 2.5: nothing would pass\n"},
    {"a procedure tightens a vacuum decay", PROCEDURE("vacuum-decay", "\"min\": 3.2"), ""},
    {"a procedure repeats the loosest vacuum decay", PROCEDURE("vacuum-decay", "\"min\": 0.8"), ""},
    {"a procedure loosens a vacuum decay", PROCEDURE("vacuum-decay", "\"min\": 0.7"),
     "procedures/spout.json:20:53: /tests/0/min: loosens the limit that the rule \"vacuum-decay\" "
     "publishes, which is never looser than 0.8 in WC; a procedure may only tighten it\n"},
    {"a procedure tightens a back pressure", PROCEDURE("back-pressure", "\"max\": 0.3"), ""},
    {"a procedure repeats the loosest back pressure", PROCEDURE("back-pressure", "\"max\": 0.62"),
     ""},
    {"a procedure loosens a back pressure", PROCEDURE("back-pressure", "\"max\": 0.7"),
     "procedures/spout.json:20:54: /tests/0/max: loosens the limit that the rule \"back-pressure\" "
     "publishes, which is never looser than 0.62 in WC; a procedure may only tighten it\n"},
    {"a procedure tightens a continuity", PROCEDURE("continuity", "\"max\": 500000"), ""},
    {"a procedure repeats a continuity's limit", PROCEDURE("continuity", "\"max\": 1000000"), ""},
    // The parts of long hoses may have more; on the whole chain the published limit holds.
    {"a continuity that the parts may exceed", PROCEDURE("continuity", "\"max\": 5000000"), ""},
    {"a procedure sets a window of a ratio",
     PROCEDURE("vapor-liquid-ratio", "\"min\": 0.9, \"max\": 1.2"), ""},
    {"a ratio that nothing meets", PROCEDURE("vapor-liquid-ratio", "\"min\": 1.2, \"max\": 1.1"),
     "procedures/spout.json:20:59: /tests/0/min: the least allowed value, 1.2, is over the "
     "greatest, 1.1: nothing would pass\n"},
    {"half a window of a ratio", PROCEDURE("vapor-liquid-ratio", "\"min\": 0.95"),
     "procedures/spout.json:20:5: /tests/0: a test by the rule \"vapor-liquid-ratio\" needs "
     "\"min\" "
     "and \"max\" of the site's own certification\n"},
    {"no window of a ratio", PROCEDURE("vapor-liquid-ratio", "\"powered\": false"),
     "procedures/spout.json:20:5: /tests/0: a test by the rule \"vapor-liquid-ratio\" needs "
     "\"min\" "
     "and \"max\" of the site's own certification\n"},
    {"a procedure tightens a liquid removal", PROCEDURE("liquid-removal", "\"min\": 6"), ""},
    {"a procedure repeats a liquid removal", PROCEDURE("liquid-removal", "\"min\": 5"), ""},
    // From memory, unverified: the procedure's takes its place.
    {"a procedure replaces a liquid removal", PROCEDURE("liquid-removal", "\"min\": 4"), ""},
    {"a procedure gives the limits of a torque",
     PROCEDURE("torque-applied", "\"min\": 32, \"max\": 36"), ""},
    {"a procedure gives the limits of a torque in another unit",
     PROCEDURE("torque-applied", "\"max\": 48.4, \"unit\": \"N.m\""), ""},
    {"the limits of a torque in no unit of torque",
     PROCEDURE("torque-applied", "\"max\": 48.4, \"unit\": \"psi\""),
     "procedures/spout.json:20:69: /tests/0/unit: the rule \"torque-applied\" takes limits in "
     "\"ft.lbf\" or \"N.m\"\n"},
    {"a torque without limits", PROCEDURE("torque-applied", "\"powered\": false"),
     "procedures/spout.json:20:5: /tests/0: a test by the rule \"torque-applied\" needs \"min\", "
     "\"max\" or both\n"},
    {"a limit on a person's verdict", PROCEDURE("pass-fail", "\"max\": 1"),
     "procedures/spout.json:20:50: /tests/0/max: the rule \"pass-fail\" takes no max; leave it "
     "out\n"},
    {"a limit of the wrong kind", PROCEDURE("flow-rate", "\"max\": \"9\""),
     "procedures/spout.json:20:50: /tests/0/max: must be a number, not a text\n"},
    {"a district tightens a flow", DISTRICT("flow-rate", "\"max\": 9"), ""},
    {"a district repeats a flow's limit", DISTRICT("flow-rate", "\"max\": 10"), ""},
    {"a district loosens a flow", DISTRICT("flow-rate", "\"max\": 10.5"),
     "districts/basin.json:7:41: /adds/spout-and-boot/tests/0/max: loosens the limit that the rule "
     "\"flow-rate\" publishes, 10 gpm; a procedure may only tighten it\n"},
    {"a district loosens a procedure's flow",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"", "\"rule\": \"flow-rate\", \"max\": 8"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"leak\", \"max\": 9}"}},
     "districts/basin.json:7:41: /adds/spout-and-boot/tests/0/max: loosens the procedure's limit "
     "of 8, "
     "and a district may only tighten it\n"},
    {"a district replaces a liquid removal by less", DISTRICT("liquid-removal", "\"min\": 4"),
     "districts/basin.json:7:41: /adds/spout-and-boot/tests/0/min: loosens the procedure's limit "
     "of "
     "5, and a district may only tighten it\n"},
    // The procedure says the greatest alone, and leaves the least to the rule.
    {"a district loosens the end that a procedure leaves",
     {{"procedures/spout.json", "\"vapor-liquid-ratio\", \"min\": 0.95, \"max\": 1.15",
       "\"liquid-removal\", \"max\": 9"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"ratio\", \"min\": 4}"}},
     "districts/basin.json:7:42: /adds/spout-and-boot/tests/0/min: loosens the procedure's limit "
     "of 5, and a district may only tighten it\n"},
};
const size_t cases_limits_count = sizeof(cases_limits) / sizeof(cases_limits[0]);
