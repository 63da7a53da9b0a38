// What is said about broken configurations: sites and what they could need.
#include "cases.h"

#define NO_TECHNICIAN                                                                              \
    "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "          \
    "credentials of the procedure \"spout-and-boot\" today\n"

#define OF_NOBODY(place, number, nearest)                                                          \
    "sites/juniper.json:" place ": /points/" number                                                \
    "/energy: no procedure isolates the energy \"energy-" number                                   \
    "\", so no job would lock this point out; the nearest that one isolates is \"" nearest "\"\n"

const struct case_of cases_site[] = {
    // --- sites ---
    {"a site in two files",
     {{"sites/twin.json", NULL, "{\"site\": \"juniper\", \"positions\": []}\n"}},
     "sites/twin.json:1:10: /site: the site \"juniper\" stands in \"sites/juniper.json\" already; "
     "ids are unique\n"},
    {"other locks than the reader's",
     {{"sites/juniper.json", "\"locks\": \"reader\"", "\"locks\": \"people\""}},
     "sites/juniper.json:21:40: /points/2/locks: must be \"reader\" or left out, not \"people\"\n"},
    {"a site named as the topic of daemons",
     {{"sites/twin.json", NULL, "{\"site\": \"daemon\", \"positions\": []}\n"}},
     "sites/twin.json:1:10: /site: \"daemon\" is the topic on which daemons report; give the site "
     "another id\n"},
    {"an unknown district",
     {{"sites/juniper.json", "\"district\": \"north-basin\"", "\"district\": \"north-basn\""}},
     "sites/juniper.json:4:15: /district: there is no district \"north-basn\"; did you mean "
     "\"north-basin\"?\n"},
    {"an unknown time zone",
     {{"sites/juniper.json", "America/Denver", "America/Juniper"}},
     "sites/juniper.json:5:16: /time_zone: the system knows no time zone \"America/Juniper\"; name "
     "one like \"UTC\" or \"America/Denver\"\n"},
    {"fuel measured in another unit",
     {{"sites/juniper.json", "\"time_zone\"", "\"volume_unit\": \"l\", \"time_zone\""}},
     "sites/juniper.json:5:18: /volume_unit: must be \"gal\" or \"L\", not \"l\"\n"},
    {"a time zone that leads elsewhere",
     {{"sites/juniper.json", "America/Denver", "../../../etc/passwd"}},
     "sites/juniper.json:5:16: /time_zone: the system knows no time zone \"../../../etc/passwd\"; "
     "name one like \"UTC\" or \"America/Denver\"\n"},
    {"a time zone that is a table",
     {{"sites/juniper.json", "America/Denver", "zone1970.tab"}},
     "sites/juniper.json:5:16: /time_zone: the system knows no time zone \"zone1970.tab\"; name "
     "one like \"UTC\" or \"America/Denver\"\n"},
    {"a controller twice",
     {{"sites/juniper.json", "[\"panel-1\"]", "[\"panel-1\", \"panel-1\"]"}},
     "sites/juniper.json:6:30: /controllers/1: the controller \"panel-1\" stands twice in this "
     "list; name it once\n"},
    {"a position twice",
     {{"sites/juniper.json", "\"position\": \"3B\"", "\"position\": \"3A\""},
      {"sites/juniper.json", "[\"3A\", \"3B\"]", "[\"3A\"]"},
      {"sites/juniper.json", "[\"3A\", \"3B\"]", "[\"3A\"]"}},
     "sites/juniper.json:9:18: /positions/1/position: the position \"3A\" stands twice; ids are "
     "unique in a site\n"},
    {"a position without a dispenser",
     {{"sites/juniper.json", "{\"position\": \"3B\", \"dispenser\": \"3\"}",
       "{\"position\": \"3B\"}"}},
     "sites/juniper.json:9:5: /positions/1: a position needs \"dispenser\", which is missing\n"},
    {"no positions",
     {{"sites/juniper.json", "\"positions\": [", "\"positons\": ["}},
     "sites/juniper.json:1:1: : a site needs \"positions\", which is missing\n"
     "sites/juniper.json:7:3: /positons: a site has no field \"positons\"; did you mean "
     "\"positions\"?\n"},
    {"a point twice",
     {{"sites/juniper.json", "\"point\": \"3-line\"", "\"point\": \"3-regular\""}},
     "sites/juniper.json:18:15: /points/2/point: the point \"3-regular\" stands twice; ids are "
     "unique in a site\n"},
    {"an unknown position",
     {{"sites/juniper.json", "[\"3A\"]", "[\"3C\"]"}},
     "sites/juniper.json:18:59: /points/2/isolates/0: there is no position \"3C\" in this site\n"},
    {"a position twice in isolates",
     {{"sites/juniper.json", "[\"3A\"]", "[\"3A\", \"3A\"]"}},
     "sites/juniper.json:18:65: /points/2/isolates/1: the position \"3A\" stands twice in this "
     "list; name it once\n"},
    {"a point that isolates nothing",
     {{"sites/juniper.json", "[\"3A\"]", "[]"}},
     "sites/juniper.json:18:58: /points/2/isolates: may not be empty; name at least one\n"},
    {"a sensor of two points",
     {{"sites/juniper.json", "\"3-aux\"", "\"3-regular\""}},
     "sites/juniper.json:17:15: /points/1/point: the sensor \"3-regular\" belongs to the point "
     "\"3-power\" already; one sensor proves one point\n"},
    {"a sensor twice",
     {{"sites/juniper.json", "\"3-aux\"", "\"3-power\""}},
     "sites/juniper.json:13:30: /points/0/sensors/1: the sensor \"3-power\" stands twice in this "
     "list; name it once\n"},
    {"an unknown controller",
     {{"sites/juniper.json", "\"controller\": \"panel-1\"", "\"controller\": \"panel-2\""}},
     "sites/juniper.json:14:21: /points/0/controller: there is no controller \"panel-2\" in this "
     "site\n"},
    {"max_age_s too great",
     {{"sites/juniper.json", "12.5", "300.5"}},
     "sites/juniper.json:15:20: /points/0/max_age_s: must be from 0.001 to 300, not 300.5\n"},
    {"max_age_s of nothing",
     {{"sites/juniper.json", "12.5", "0"}},
     "sites/juniper.json:15:20: /points/0/max_age_s: must be from 0.001 to 300, not 0\n"},
    {"settle_s too great",
     {{"sites/juniper.json", "0.5", "61"}},
     "sites/juniper.json:16:19: /points/0/settle_s: must be from 0 to 60, not 61\n"},
    {"settle_s below nothing",
     {{"sites/juniper.json", "0.5", "-1"}},
     "sites/juniper.json:16:19: /points/0/settle_s: must be from 0 to 60, not -1\n"},
    {"witness_valid_s too great",
     {{"sites/juniper.json", "600", "43201"}},
     "sites/juniper.json:21:26: /points/2/witness_valid_s: must be from 0.001 to 43200, not "
     "43201\n"},
    {"no witnesses",
     {{"sites/juniper.json", "\"witnesses\": 2", "\"witnesses\": 0"}},
     "sites/juniper.json:20:20: /points/2/witnesses: must be from 1 to 16, not 0\n"},
    {"witnesses beside sensors",
     {{"sites/juniper.json", "\"sensors\": [\"3-power\", \"3-aux\"]",
       "\"sensors\": [\"3-power\", \"3-aux\"], \"witnesses\": 1"}},
     "sites/juniper.json:13:53: /points/0/witnesses: \"witnesses\" goes with a point that has no "
     "sensor; say \"sensors\": [] beside it, or leave it out\n"},
    {"sensors' fields on a witnessed point",
     {{"sites/juniper.json", "\"witnesses\": 2",
       "\"witnesses\": 2, \"max_age_s\": 5, \"settle_s\": 1, \"controller\": \"panel-1\""}},
     "sites/juniper.json:20:36: /points/2/max_age_s: \"max_age_s\" goes with sensors, and people "
     "say the state of this point; leave it out\n"
     "sites/juniper.json:20:51: /points/2/settle_s: \"settle_s\" goes with sensors, and people say "
     "the state of this point; leave it out\n"
     "sites/juniper.json:20:68: /points/2/controller: \"controller\" goes with sensors, and people "
     "say the state of this point; leave it out\n"},
    {"witnesses without a word on sensors",
     {{"sites/juniper.json", "\"sensors\": [],\n", "\n"}},
     "sites/juniper.json:20:20: /points/2/witnesses: \"witnesses\" goes with a point that has no "
     "sensor; say \"sensors\": [] beside it, or leave it out\n"
     "sites/juniper.json:21:26: /points/2/witness_valid_s: \"witness_valid_s\" goes with a point "
     "that has no sensor; say \"sensors\": [] beside it, or leave it out\n"},
    {"a push button",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"Push Button\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"Push Button\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"an emergency stop",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"emergencyStop\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"emergencyStop\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"an E-stop",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"E-STOP station\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"E-STOP station\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"a console stop",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"console_stop\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"console_stop\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"a console all stop",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"console all stop\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"console all stop\" is a control circuit device "
     "and not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"an energy without a point",
     {{"sites/juniper.json", "\"energy\": \"product\", \"isolates\": [\"3A\", \"3B\"]",
       "\"energy\": \"product\", \"isolates\": [\"3A\"]"}},
     "sites/juniper.json:9:5: /positions/1: warning: site \"juniper\", position \"3B\": no point "
     "isolates its \"product\" energy, which the procedure \"spout-and-boot\" isolates; such a "
     "job will be refused\n"},
    {"a point whose energy no procedure isolates",
     {{"sites/juniper.json", "\"energy\": \"product\", \"isolates\": [\"3A\", \"3B\"]",
       "\"energy\": \"products\", \"isolates\": [\"3A\", \"3B\"]"}},
     "sites/juniper.json:9:5: /positions/1: warning: site \"juniper\", position \"3B\": no point "
     "isolates its \"product\" energy, which the procedure \"spout-and-boot\" isolates; such a "
     "job will be refused\n"
     "sites/juniper.json:17:38: /points/1/energy: no procedure isolates the energy \"products\", "
     "so "
     "no job would lock this point out; the nearest that one isolates is \"product\"\n"},
    {"a breaker of one side",
     {{"sites/juniper.json",
       "\"energy\": \"electrical\", \"kind\": \"breaker\", \"isolates\": [\"3A\", \"3B\"]",
       "\"energy\": \"electrical\", \"kind\": \"breaker\", \"isolates\": [\"3A\"]"}},
     "sites/juniper.json:9:5: /positions/1: warning: site \"juniper\", position \"3B\": no point "
     "isolates its \"electrical\" energy, which the procedure \"spout-and-boot\" isolates; such a "
     "job will be refused\n"
     "sites/juniper.json:12:5: /points/0: the electrical point \"3-power\" isolates dispenser "
     "\"3\" "
     "and not its position \"3B\": the cabinet's other conductors stay live; it isolates every "
     "position of a dispenser, or is no point of it (NEC 514.11(A); 29 CFR 1910.147(d)(3))\n"},
    {"no supervisor",
     {{"people.json", "[\"supervisor\", \"manager\"]", "[\"manager\"]"}},
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no supervisor: nobody can "
     "remove an absent person's tag\n"},
    {"no manager",
     {{"people.json", "[\"supervisor\", \"manager\"]", "[\"supervisor\"]"}},
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no manager: nobody answers for "
     "the site\n"},
    {"a supervisor of another site only",
     {{"people.json", "[\"juniper\", \"elsewhere\"]", "[\"elsewhere\"]"}},
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no manager: nobody answers for "
     "the site\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\" has no supervisor: nobody can "
     "remove an absent person's tag\n"},
    {"credentials that are over today",
     {{"people.json", "2027-03-31", "2026-05-31"}},
     NO_TECHNICIAN},
    {"credentials of somebody who is no technician",
     {{"people.json", "[\"technician\"]", "[\"viewer\"]"}},
     NO_TECHNICIAN},
    {"energies beyond what is kept",
     {{"sites/juniper.json", "\"points\": [\n",
       "\"points\": [\n"
       "    {\"point\": \"e0\", \"energy\": \"energy-0\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e1\", \"energy\": \"energy-1\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e2\", \"energy\": \"energy-2\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e3\", \"energy\": \"energy-3\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e4\", \"energy\": \"energy-4\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e5\", \"energy\": \"energy-5\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e6\", \"energy\": \"energy-6\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e7\", \"energy\": \"energy-7\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e8\", \"energy\": \"energy-8\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e9\", \"energy\": \"energy-9\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e10\", \"energy\": \"energy-10\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e11\", \"energy\": \"energy-11\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e12\", \"energy\": \"energy-12\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e13\", \"energy\": \"energy-13\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e14\", \"energy\": \"energy-14\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e15\", \"energy\": \"energy-15\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e16\", \"energy\": \"energy-16\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e17\", \"energy\": \"energy-17\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e18\", \"energy\": \"energy-18\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e19\", \"energy\": \"energy-19\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e20\", \"energy\": \"energy-20\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e21\", \"energy\": \"energy-21\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e22\", \"energy\": \"energy-22\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e23\", \"energy\": \"energy-23\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e24\", \"energy\": \"energy-24\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e25\", \"energy\": \"energy-25\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e26\", \"energy\": \"energy-26\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e27\", \"energy\": \"energy-27\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e28\", \"energy\": \"energy-28\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e29\", \"energy\": \"energy-29\", \"isolates\": [\"3A\"]},\n"
       "    {\"point\": \"e30\", \"energy\": \"energy-30\", \"isolates\": [\"3A\"]},\n"}},
     // clang-format off
     OF_NOBODY("12:31", "0", "electrical") OF_NOBODY("13:31", "1", "electrical")
     OF_NOBODY("14:31", "2", "electrical")
     OF_NOBODY("15:31", "3", "electrical")
     OF_NOBODY("16:31", "4", "electrical")
     OF_NOBODY("17:31", "5", "electrical")
     OF_NOBODY("18:31", "6", "electrical")
     OF_NOBODY("19:31", "7", "electrical")
     OF_NOBODY("20:31", "8", "electrical")
     OF_NOBODY("21:31", "9", "electrical")
     OF_NOBODY("22:32", "10", "electrical")
     OF_NOBODY("23:32", "11", "electrical")
     OF_NOBODY("24:32", "12", "electrical")
     OF_NOBODY("25:32", "13", "electrical")
     OF_NOBODY("26:32", "14", "electrical")
     OF_NOBODY("27:32", "15", "electrical")
     OF_NOBODY("28:32", "16", "electrical")
     OF_NOBODY("29:32", "17", "electrical")
     OF_NOBODY("30:32", "18", "electrical")
     OF_NOBODY("31:32", "19", "electrical")
     OF_NOBODY("32:32", "20", "electrical")
     OF_NOBODY("33:32", "21", "electrical")
     OF_NOBODY("34:32", "22", "electrical")
     OF_NOBODY("35:32", "23", "electrical")
     OF_NOBODY("36:32", "24", "electrical")
     OF_NOBODY("37:32", "25", "electrical")
     OF_NOBODY("38:32", "26", "electrical")
     OF_NOBODY("39:32", "27", "electrical")
     OF_NOBODY("40:32", "28", "electrical")
     OF_NOBODY("41:32", "29", "electrical")
     "sites/juniper.json:42:32: /points/30/energy: \"energy-30\" is one energy too many; at most "
     "32 distinct ones are kept\n"
     OF_NOBODY("42:32", "30", "electrical")},
    // clang-format on
};
const size_t cases_site_count = sizeof(cases_site) / sizeof(cases_site[0]);
