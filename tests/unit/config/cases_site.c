// What is said about broken configurations: sites and what they could need.
#include "cases.h"

#define NO_TECHNICIAN                                                                              \
    "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "          \
    "credentials of the procedure \"spout-and-boot\" today\n"

const struct case_of cases_site[] = {
    // --- sites ---
    {"a site in two files",
     {{"sites/twin.json", NULL, "{\"site\": \"juniper\", \"positions\": []}\n"}},
     "sites/twin.json:1:10: /site: the site \"juniper\" stands in \"sites/juniper.json\" already; "
     "ids are unique\n"},
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
     "sensor; leave it out, or say \"sensors\": []\n"},
    {"sensors' fields on a witnessed point",
     {{"sites/juniper.json", "\"witnesses\": 2",
       "\"witnesses\": 2, \"max_age_s\": 5, \"settle_s\": 1, \"controller\": \"panel-1\""}},
     "sites/juniper.json:20:36: /points/2/max_age_s: \"max_age_s\" goes with sensors, and people "
     "say the state of this point; leave it out\n"
     "sites/juniper.json:20:51: /points/2/settle_s: \"settle_s\" goes with sensors, and people say "
     "the state of this point; leave it out\n"
     "sites/juniper.json:20:68: /points/2/controller: \"controller\" goes with sensors, and people "
     "say the state of this point; leave it out\n"},
    {"sensors' fields beside witnesses alone",
     {{"sites/juniper.json",
       "\"sensors\": [],\n"
       "      \"witnesses\": 2",
       "\"witnesses\": 2, \"max_age_s\": 5"}},
     "sites/juniper.json:19:36: /points/2/max_age_s: \"max_age_s\" goes with sensors, and people "
     "say the state of this point; leave it out\n"},
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
     {{"sites/juniper.json",
       "\"energy\": \"electrical\", \"kind\": \"breaker\", \"isolates\": [\"3A\", \"3B\"]",
       "\"energy\": \"electrical\", \"kind\": \"breaker\", \"isolates\": [\"3A\"]"}},
     "sites/juniper.json:9:5: /positions/1: warning: site \"juniper\", position \"3B\": no point "
     "isolates its \"electrical\" energy, which the procedure \"spout-and-boot\" isolates; such a "
     "job will be refused\n"},
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
     "sites/juniper.json:42:32: /points/30/energy: \"energy-30\" is one energy too many; at most "
     "32 distinct ones are kept\n"},
};
const size_t cases_site_count = sizeof(cases_site) / sizeof(cases_site[0]);
