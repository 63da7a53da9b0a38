// What is said about broken configurations: procedures and districts.
#include "cases.h"

#define NO_TECHNICIAN                                                                              \
    "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "          \
    "credentials of the procedure \"spout-and-boot\" today\n"

const struct case_of cases_work[] = {
    // --- procedures ---
    {"nothing isolated",
     {{"procedures/spout.json", "[\"electrical\", \"product\"]", "[]"}},
     "procedures/spout.json:5:14: /isolate: may not be empty; name at least one\n"},
    {"nothing to clear",
     {{"procedures/spout.json",
       "\"clear\": [{\"check\": \"tools-clear\", \"ask\": \"Tools removed\"}]", "\"clear\": []"}},
     "procedures/spout.json:18:12: /clear: may not be empty; name at least one\n"},
    {"no tests",
     {{"procedures/spout.json",
       "  \"tests\": [\n"
       "    {\"test\": \"leak\", \"rule\": \"pass-fail\"},\n"
       "    {\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false},\n"
       "    {\"test\": \"ratio\", \"rule\": \"vapor-liquid-ratio\", \"min\": 0.95, \"max\": 1.15}\n"
       "  ],\n",
       ""}},
     "procedures/spout.json:1:1: : a procedure needs \"tests\", which is missing\n"},
    {"verify left out",
     {{"procedures/spout.json", "\"verify\"", "\"verfy\""},
      {"districts/basin.json", "      \"verify\": [{\"check\": \"no-voltage\", \"max\": 0.5}],\n",
       ""}},
     "procedures/spout.json:1:1: : a procedure needs \"verify\", which is missing\n"
     "procedures/spout.json:13:3: /verfy: a procedure has no field \"verfy\"; did you mean "
     "\"verify\"?\n"},
    {"nothing to verify",
     {{"procedures/spout.json",
       "\"verify\": [\n"
       "    {\"check\": \"no-flow\", \"ask\": \"Nothing flows\"},\n"
       "    {\"check\": \"no-voltage\", \"ask\": \"No voltage\", \"unit\": \"V\", \"max\": 1}\n"
       "  ]",
       "\"verify\": []"},
      {"districts/basin.json", "      \"verify\": [{\"check\": \"no-voltage\", \"max\": 0.5}],\n",
       ""}},
     "procedures/spout.json:13:13: /verify: may not be empty; name at least one\n"},
    {"an energy twice",
     {{"procedures/spout.json", "[\"electrical\", \"product\"]",
       "[\"electrical\", \"product\", \"electrical\"]"}},
     "procedures/spout.json:5:40: /isolate/2: the energy \"electrical\" is isolated already; name "
     "it once\n"},
    {"a check twice",
     {{"procedures/spout.json", "\"check\": \"tools-clear\"", "\"check\": \"nut\""}},
     "procedures/spout.json:18:23: /clear/0/check: the check \"nut\" stands twice; ids are unique "
     "in a procedure\n"},
    {"a test twice",
     {{"procedures/spout.json", "\"test\": \"resistance\"", "\"test\": \"leak\""}},
     "procedures/spout.json:21:14: /tests/1/test: the test \"leak\" stands twice; ids are unique "
     "in a procedure\n"},
    {"a check without a question",
     {{"procedures/spout.json", ", \"ask\": \"Nothing flows\"", ""}},
     "procedures/spout.json:14:5: /verify/0: a check needs \"ask\", which is missing\n"},
    {"a limit without a unit",
     {{"procedures/spout.json", "\"unit\": \"L\", \"min\": 0", "\"min\": 0"}},
     "procedures/spout.json:12:61: /relieve/0/min: a limit needs the \"unit\" it is in, beside "
     "it\n"},
    {"limits that nothing meets",
     {{"procedures/spout.json", "43.8", "50"}},
     "procedures/spout.json:17:69: /work/0/min: the least allowed value, 50, is over the greatest, "
     "48.4: nothing would pass\n"},
    {"valid_s of what does not age",
     {{"procedures/spout.json", "\"ask\": \"Tools removed\"",
       "\"ask\": \"Tools removed\", \"valid_s\": 60"}},
     "procedures/spout.json:18:73: /clear/0/valid_s: \"valid_s\" goes with checks in \"prepare\", "
     "\"relieve\" and \"verify\", and with tests; leave it out\n"},
    {"valid_s of nothing",
     {{"procedures/spout.json", "3600", "0"}},
     "procedures/spout.json:9:60: /prepare/0/valid_s: must be from 0.001 to 31536000, not 0\n"},
    {"by somebody who is no role",
     {{"procedures/spout.json", "\"by\": \"manager\"", "\"by\": \"boss\""}},
     "procedures/spout.json:10:54: /prepare/1/by: must be a role: technician, supervisor, manager, "
     "tracker or viewer, not \"boss\"\n"},
    {"another match",
     {{"procedures/spout.json", "\"nozzle_family\"", "\"hose\""}},
     "procedures/spout.json:6:12: /match: must be \"nozzle_family\" or left out, not \"hose\"\n"},
    {"another takes",
     {{"procedures/spout.json", "\"takes\": \"position\"", "\"takes\": \"street\""}},
     "procedures/spout.json:7:12: /takes: must be \"position\", \"dispenser\" or \"site\", not "
     "\"street\"\n"},
    {"an unknown rule",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"", "\"rule\": \"pass-fall\""}},
     "procedures/spout.json:20:30: /tests/0/rule: there is no rule \"pass-fall\"; did you mean "
     "\"pass-fail\"?\n"},
    {"torque as a test",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"", "\"rule\": \"torque\""}},
     "procedures/spout.json:20:30: /tests/0/rule: \"torque\" is for the calculator only; sign a "
     "\"work\" check with its limits\n"},
    {"a range without a unit",
     {{"procedures/spout.json", "\"unit\": \"ohm\", ", ""}},
     "procedures/spout.json:21:5: /tests/1: a test by the rule \"range\" needs \"unit\", which is "
     "missing\n"},
    {"a range without a limit",
     {{"procedures/spout.json", "\"max\": 1000000, ", ""}},
     "procedures/spout.json:21:5: /tests/1: a test by the rule \"range\" needs \"min\", \"max\" or "
     "both\n"},
    {"a range that nothing meets",
     {{"procedures/spout.json", "\"max\": 1000000", "\"min\": 2000000, \"max\": 1000000"}},
     "procedures/spout.json:21:67: /tests/1/min: the least allowed value, 2000000, is over the "
     "greatest, 1000000: nothing would pass\n"},
    {"a unit on a rule that has its own",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"",
       "\"rule\": \"flow-rate\", \"unit\": \"gpm\""}},
     "procedures/spout.json:20:51: /tests/0/unit: the rule \"flow-rate\" has its own unit; leave "
     "it out\n"},
    {"an empty list of alternatives",
     {{"procedures/spout.json", "[[\"vapor-a\", \"vapor-b\"]]",
       "[[\"vapor-a\", \"vapor-b\"], []]"}},
     "procedures/spout.json:4:43: /credentials/1: may not be empty; name at least one\n"},
    {"credentials that nobody holds",
     {{"procedures/spout.json", "[[\"vapor-a\", \"vapor-b\"]]", "[[\"vapor-c\", \"vapor-d\"]]"}},
     "procedures/spout.json:4:19: /credentials/0: warning: nobody holds any of \"vapor-c\", "
     "\"vapor-d\": no one can do this work\n" NO_TECHNICIAN},
    {"one procedure in two files",
     {{"procedures/twin.json", NULL,
       "{\"procedure\": \"spout-and-boot\", \"isolate\": [\"electrical\"], \"verify\": "
       "[{\"check\": \"a\", \"ask\": \"A\"}],\n"
       " \"clear\": [{\"check\": \"b\", \"ask\": \"B\"}], \"tests\": [{\"test\": \"c\", \"rule\": "
       "\"pass-fail\"}], \"leave\": [{\"check\": \"d\", \"ask\": \"D\"}]}\n"}},
     "procedures/twin.json:1:15: /procedure: the procedure \"spout-and-boot\" stands in "
     "\"procedures/spout.json\" already; ids are unique\n"},
    {"a unit too long",
     {{"procedures/spout.json", "\"unit\": \"L\"",
       "\"unit\": \"LLLLLLLLLLLLLLLLLLLLLLLLLLLLLLLL\""}},
     "procedures/spout.json:12:62: /relieve/0/unit: must be a text of 1 to 31 bytes, not of 32\n"},
    // --- districts ---
    {"an unknown procedure",
     {{"districts/basin.json", "\"spout-and-boot\"", "\"spout-and-bot\""}},
     "districts/basin.json:4:5: /adds/spout-and-bot: there is no procedure \"spout-and-bot\"; did "
     "you mean \"spout-and-boot\"?\n"},
    {"one district in two files",
     {{"districts/twin.json", NULL, "{\"district\": \"north-basin\", \"adds\": {}}\n"}},
     "districts/twin.json:1:14: /district: the district \"north-basin\" stands in another file "
     "already; a second one needs an \"effective\" day of its own\n"},
    {"a loosened greatest value",
     {{"districts/basin.json", "\"max\": 0.5", "\"max\": 1.5"}},
     "districts/basin.json:5:49: /adds/spout-and-boot/verify/0/max: loosens the procedure's limit "
     "of 1, and a district may only tighten it\n"},
    {"a loosened least value",
     {{"districts/basin.json", "\"no-voltage\", \"max\": 0.5", "\"no-flow\""},
      {"districts/basin.json", "\"finish\"",
       "\"work\": [{\"check\": \"nut\", \"min\": 43}],\n"
       "      \"finish\""}},
     "districts/basin.json:6:40: /adds/spout-and-boot/work/0/min: loosens the procedure's limit of "
     "43.8, and a district may only tighten it\n"},
    {"limits that together nothing meets",
     {{"districts/basin.json", "\"max\": 0.5", "\"min\": 2"}},
     "districts/basin.json:5:49: /adds/spout-and-boot/verify/0/min: the least allowed value, 2, is "
     "over the greatest, 1: nothing would pass\n"},
    {"a loosened time",
     {{"districts/basin.json", "\"finish\"",
       "\"prepare\": [{\"check\": \"barricade\", \"valid_s\": 7200}],\n"
       "      \"finish\""}},
     "districts/basin.json:6:53: /adds/spout-and-boot/prepare/0/valid_s: loosens the procedure's "
     "limit of 3600, and a district may only tighten it\n"},
    {"a loosened time of a test",
     {{"procedures/spout.json", "\"test\": \"leak\"", "\"test\": \"leak\", \"valid_s\": 60"},
      {"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"leak\", \"valid_s\": 61"}},
     "districts/basin.json:7:45: /adds/spout-and-boot/tests/0/valid_s: loosens the procedure's "
     "limit of 60, and a district may only tighten it\n"},
    {"a loosened test",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"resistance\", \"max\": 2000000"}},
     "districts/basin.json:7:47: /adds/spout-and-boot/tests/0/max: loosens the procedure's limit "
     "of 1000000, and a district may only tighten it\n"},
    {"a loosened default of a rule",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"ratio\", \"max\": 1.2"}},
     "districts/basin.json:7:42: /adds/spout-and-boot/tests/0/max: loosens the procedure's limit "
     "of 1.15, and a district may only tighten it\n"},
    {"a limit where the rule has none",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"leak\", \"max\": 1"}},
     "districts/basin.json:7:41: /adds/spout-and-boot/tests/0/max: the rule \"pass-fail\" takes no "
     "max; leave it out\n"},
    {"a test under power made one without",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"leak\", \"powered\": false"}},
     "districts/basin.json:7:45: /adds/spout-and-boot/tests/0/powered: loosens the procedure, "
     "which tests under power; a district may only tighten\n"},
    {"another rule under the same id",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"leak\", \"rule\": \"pressure-decay\""}},
     "districts/basin.json:7:42: /adds/spout-and-boot/tests/0/rule: the procedure says "
     "\"pass-fail\" under this id, and a district may only tighten its limits; leave this out, or "
     "add one under another id\n"},
    {"another unit under the same id",
     {{"districts/basin.json", "\"max\": 0.5", "\"unit\": \"mV\", \"max\": 0.5"}},
     "districts/basin.json:5:50: /adds/spout-and-boot/verify/0/unit: the procedure says \"V\" "
     "under this id, and a district may only tighten its limits; leave this out, or add one under "
     "another id\n"},
    {"a unit where the rule has its own",
     {{"districts/basin.json", "\"test\": \"decay\", \"rule\": \"pressure-decay\"",
       "\"test\": \"leak\", \"unit\": \"ohm\""}},
     "districts/basin.json:7:42: /adds/spout-and-boot/tests/0/unit: the rule \"pass-fail\" has its "
     "own unit; leave it out\n"},
    {"another question under the same id",
     {{"districts/basin.json", "\"max\": 0.5", "\"ask\": \"No voltage at all\", \"max\": 0.5"}},
     "districts/basin.json:5:49: /adds/spout-and-boot/verify/0/ask: warning: the procedure asks "
     "\"No voltage\" under this id, and so it stays; leave this out\n"},
    {"the same question under the same id",
     {{"districts/basin.json", "\"max\": 0.5", "\"ask\": \"No voltage\", \"max\": 0.5"}},
     ""},
    {"another role under the same id",
     {{"districts/basin.json", "\"finish\"",
       "\"prepare\": [{\"check\": \"site-told\", \"by\": \"tracker\"}],\n"
       "      \"finish\""}},
     "districts/basin.json:6:48: /adds/spout-and-boot/prepare/0/by: the procedure has it signed by "
     "a manager; leave this out\n"},
    {"a check of another group",
     {{"districts/basin.json", "\"check\": \"form\", \"ask\": \"Form filled in\"",
       "\"check\": \"no-flow\""}},
     "districts/basin.json:6:28: /adds/spout-and-boot/finish/0/check: the procedure has the check "
     "\"no-flow\" in \"verify\"; add one under another id\n"},
    {"a new check without a question",
     {{"districts/basin.json", ", \"ask\": \"Form filled in\"", ""}},
     "districts/basin.json:6:18: /adds/spout-and-boot/finish/0: a check needs \"ask\", which is "
     "missing\n"},
    {"a new test without a rule",
     {{"districts/basin.json", ", \"rule\": \"pressure-decay\"", ""}},
     "districts/basin.json:7:17: /adds/spout-and-boot/tests/0: a test needs \"rule\", which is "
     "missing\n"},
    {"an addition twice",
     {{"districts/basin.json", "{\"check\": \"form\", \"ask\": \"Form filled in\"}",
       "{\"check\": \"form\", \"ask\": \"Form filled in\"}, {\"check\": \"form\", \"ask\": "
       "\"Form\"}"}},
     "districts/basin.json:6:72: /adds/spout-and-boot/finish/1/check: the check \"form\" stands "
     "twice; ids are unique in a procedure\n"},
    {"a limit on a check without a unit",
     {{"districts/basin.json", "\"no-voltage\", \"max\": 0.5", "\"no-flow\", \"max\": 0.5"}},
     "districts/basin.json:5:46: /adds/spout-and-boot/verify/0/max: a limit needs the \"unit\" it "
     "is in, beside it\n"},
    {"an addition that is no object",
     {{"districts/basin.json", "\"verify\": [", "\"title\": \"x\", \"verify\": ["}},
     "districts/basin.json:5:7: /adds/spout-and-boot/title: an addition to a procedure has no "
     "field \"title\"\n"},
    {"credentials that nobody holds",
     {{"districts/basin.json", "\"finish\"",
       "\"credentials\": [[\"basin-permit\"]],\n"
       "      \"finish\""}},
     "districts/basin.json:6:23: /adds/spout-and-boot/credentials/0: warning: nobody holds "
     "\"basin-permit\": no one can do this work\n" NO_TECHNICIAN},
};
const size_t cases_work_count = sizeof(cases_work) / sizeof(cases_work[0]);
