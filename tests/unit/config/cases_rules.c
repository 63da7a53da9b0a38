// What is said about levels of credentials, measures, averaged runs, days of rules and isolation
// that leaves a circuit on.
#include "cases.h"

// A second procedure, which isolates the lights too.
#define LAMP                                                                                       \
    {                                                                                              \
        "procedures/lamp.json", NULL,                                                              \
            "{\"procedure\": \"lamp\", \"isolate\": [\"electrical\", \"lighting\"],\n"             \
            "\"verify\": [{\"check\": \"dark\", \"ask\": \"Dark\"}],\n"                            \
            "\"clear\": [{\"check\": \"clear\", \"ask\": \"Clear\"}],\n"                           \
            "\"leave\": [{\"check\": \"left\", \"ask\": \"Left safe\"}],\n"                        \
            "\"tests\": [{\"test\": \"lit\", \"rule\": \"pass-fail\"}]}\n"                         \
    }

const struct case_of cases_rules[] = {
    {"levels that fit",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\"}, {\"credential\": \"vapor-b\", "
       "\"includes\": [\"vapor-a\"]}]}\n"}},
     ""},
    {"a credential that the file lacks",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\"}, {\"credential\": \"vapor-d\"}]}\n"}},
     "people.json:8:38: /people/0/credentials/0/credential: the file of credentials has no "
     "\"vapor-b\"; did you mean \"vapor-a\"?\n"
     "procedures/spout.json:4:31: /credentials/0/1: the file of credentials has no \"vapor-b\"; "
     "did you mean \"vapor-a\"?\n"},
    {"levels in a circle",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\", \"includes\": [\"vapor-b\"]},\n "
       "{\"credential\": \"vapor-b\", \"includes\": [\"vapor-a\"]}]}\n"}},
     "credentials.json:1:57: /credentials/0/includes/0: \"vapor-b\" includes \"vapor-a\" already, "
     "so each would hold the other: a higher level includes a lower one, never the other way too\n"
     "credentials.json:2:41: /credentials/1/includes/0: \"vapor-a\" includes \"vapor-b\" already, "
     "so each would hold the other: a higher level includes a lower one, never the other way "
     "too\n"},
    {"a level that includes itself",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\"},\n {\"credential\": \"vapor-b\", "
       "\"includes\": [\"vapor-b\"]}]}\n"}},
     "credentials.json:2:41: /credentials/1/includes/0: \"vapor-b\" includes \"vapor-b\" already, "
     "so each would hold the other: a higher level includes a lower one, never the other way "
     "too\n"},
    {"a level that includes nothing known",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\"},\n {\"credential\": \"vapor-b\", "
       "\"includes\": [\"vapor-aa\"]}]}\n"}},
     "credentials.json:2:41: /credentials/1/includes/0: the file of credentials has no "
     "\"vapor-aa\"; did you mean \"vapor-a\"?\n"},
    {"a level twice",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL,
       "{\"credentials\": [{\"credential\": \"vapor-a\"}, {\"credential\": \"vapor-b\"},\n "
       "{\"credential\": \"vapor-a\"}]}\n"}},
     "credentials.json:2:17: /credentials/2/credential: the credential \"vapor-a\" stands twice; "
     "ids are unique\n"},
    {"no levels",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","},
      {"credentials.json", NULL, "{\"credentials\": []}\n"}},
     "credentials.json:1:17: /credentials: may not be empty; name at least one\n"},
    {"levels that are not there",
     {{"forelock.json", "\"instruments\": \"instruments.json\",",
       "\"instruments\": \"instruments.json\",\n  \"credentials\": \"credentials.json\","}},
     "forelock.json:14:18: /credentials: the file \"credentials.json\" cannot be read: No such "
     "file or directory; name one that exists and that the daemon may read\n"},
    {"an address for phones",
     {{"forelock.json", "\"127.0.0.1:8080\"",
       "\"127.0.0.1:8080\", \"url\": \"https://pumps.example/\""}},
     ""},
    {"an address with a question",
     {{"forelock.json", "\"127.0.0.1:8080\"",
       "\"127.0.0.1:8080\", \"url\": \"https://pumps.example/?a\""}},
     "forelock.json:10:47: /http/url: must be an https:// or http:// address with a host and "
     "without \"?\" or \"#\", like \"https://forelock.example\"\n"},
    {"an address of another scheme",
     {{"forelock.json", "\"127.0.0.1:8080\"",
       "\"127.0.0.1:8080\", \"url\": \"ftp://pumps.example\""}},
     "forelock.json:10:47: /http/url: must be an https:// or http:// address with a host and "
     "without \"?\" or \"#\", like \"https://forelock.example\"\n"},
    {"a measure",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"unit\": \"psi\", \"positions\": [\"3A\"]}],"}},
     ""},
    {"a measure twice",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"unit\": \"psi\", \"positions\": [\"3A\"]},\n    {\"measure\": "
       "\"3-psi\", \"kind\": \"line-pressure\", \"unit\": \"psi\", \"positions\": [\"3A\"]}],"}},
     "sites/juniper.json:8:17: /measures/1/measure: the measure \"3-psi\" stands twice; ids are "
     "unique in a site\n"},
    {"a measure of an unknown position",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"unit\": \"psi\", \"positions\": [\"3C\"]}],"}},
     "sites/juniper.json:7:91: /measures/0/positions/0: there is no position \"3C\" in this "
     "site\n"},
    {"a measure of no position",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"unit\": \"psi\", \"positions\": []}],"}},
     "sites/juniper.json:7:90: /measures/0/positions: may not be empty; name at least one\n"},
    {"a measure on an unknown controller",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"controller\": \"panel-2\", \"unit\": \"psi\", \"positions\": "
       "[\"3A\"]}],"}},
     "sites/juniper.json:7:76: /measures/0/controller: there is no controller \"panel-2\" in this "
     "site\n"},
    {"a measure without a unit",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"positions\": [\"3A\"]}],"}},
     "sites/juniper.json:7:16: /measures/0: a measure needs \"unit\", which is missing\n"},
    {"a measure in another unit than its check",
     {{"sites/juniper.json", "  \"controllers\": [\"panel-1\"],",
       "  \"controllers\": [\"panel-1\"],\n  \"measures\": [{\"measure\": \"3-psi\", \"kind\": "
       "\"line-pressure\", \"unit\": \"bar\", \"positions\": [\"3A\"]}],"},
      {"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"psi\", \"max\": 2, \"measure\": "
       "\"line-pressure\"}"}},
     "sites/juniper.json:7:70: /measures/0/unit: the check \"drained\" of the procedure "
     "\"spout-and-boot\" takes \"line-pressure\" in \"psi\", not in \"bar\"; have the measure "
     "mapped to that unit\n"},
    {"a measured check without a limit",
     {{"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"measure\": \"volume\"}"}},
     "procedures/spout.json:12:78: /relieve/0/measure: a measure needs \"min\", \"max\" or both: "
     "without a limit it would prove nothing\n"},
    {"a measured check without a unit",
     {{"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"measure\": \"volume\"}"}},
     "procedures/spout.json:12:65: /relieve/0/measure: a measure needs the check's \"unit\" beside "
     "it\n"},
    {"a measured check in prepare",
     {{"procedures/spout.json", "\"ask\": \"Barricaded\"",
       "\"ask\": \"Barricaded\", \"unit\": \"m\", \"min\": 1, \"measure\": \"gap\""}},
     "procedures/spout.json:9:83: /prepare/0/measure: a measure answers checks in \"relieve\", "
     "\"verify\", \"work\" and \"finish\" only; leave it out\n"},
    {"a measured check that a role signs",
     {{"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0, \"by\": "
       "\"manager\", \"measure\": \"volume\"}"}},
     "procedures/spout.json:12:105: /relieve/0/measure: a check that a role signs, or that is "
     "answered in words, is not answered by a measure; leave it out\n"},
    {"a measured check answered in words",
     {{"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0, \"note\": "
       "true, \"measure\": \"volume\"}"}},
     "procedures/spout.json:12:102: /relieve/0/measure: a check that a role signs, or that is "
     "answered in words, is not answered by a measure; leave it out\n"},
    {"another measure under the same id",
     {{"procedures/spout.json",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0}",
       "{\"check\": \"drained\", \"ask\": \"Drained\", \"unit\": \"L\", \"min\": 0, \"measure\": "
       "\"volume\"}"},
      {"districts/basin.json", "\"finish\"",
       "\"relieve\": [{\"check\": \"drained\", \"measure\": \"level\"}],\n      \"finish\""}},
     "districts/basin.json:6:51: /adds/spout-and-boot/relieve/0/measure: the procedure takes the "
     "measure \"volume\" under this id; leave this out\n"},
    {"averaged runs",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 3, \"borderline\": 5000}"}},
     ""},
    {"runs without a borderline",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 3}"}},
     "procedures/spout.json:21:5: /tests/1: a test with \"runs\" needs \"borderline\", which is "
     "missing\n"},
    {"a borderline without runs",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"borderline\": 5000}"}},
     "procedures/spout.json:21:5: /tests/1: a test with \"borderline\" needs \"runs\", which is "
     "missing\n"},
    {"one run",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 1, \"borderline\": 5000}"}},
     "procedures/spout.json:21:102: /tests/1/runs: must be from 2 to 16, not 1\n"},
    {"a borderline of nothing",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 3, \"borderline\": 0}"}},
     "procedures/spout.json:21:119: /tests/1/borderline: must be over 0\n"},
    {"runs of a rule without a value",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"runs\": 3, \"borderline\": 1}"}},
     "procedures/spout.json:20:51: /tests/0/runs: the rule \"pass-fail\" has no value that could "
     "be near its limit; leave it out\n"},
    {"fewer runs in a district",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 3, \"borderline\": 5000}"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"resistance\", \"runs\": 2}"}},
     "districts/basin.json:7:48: /adds/spout-and-boot/tests/0/runs: loosens the procedure, which "
     "averages 3 runs; a district may only tighten\n"},
    {"another borderline in a district",
     {{"procedures/spout.json",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false}",
       "{\"test\": \"resistance\", \"rule\": \"range\", \"unit\": \"ohm\", \"max\": 1000000, "
       "\"powered\": false, \"runs\": 3, \"borderline\": 5000}"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"resistance\", \"borderline\": 6000}"}},
     "districts/basin.json:7:54: /adds/spout-and-boot/tests/0/borderline: the procedure calls a "
     "margin of 5000 borderline; leave this out\n"},
    {"each of something else",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"each\": \"position\"}"}},
     "procedures/spout.json:20:51: /tests/0/each: must be \"product\" or left out, not "
     "\"position\"\n"},
    {"fails something else",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"fails\": \"site\"}"}},
     "procedures/spout.json:20:52: /tests/0/fails: must be \"dispenser\" or left out, not "
     "\"site\"\n"},
    {"a notice",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 0.5}"}},
     ""},
    {"a notice of no check",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"no-flow\", \"notice_h\": 0.5}"}},
     "procedures/spout.json:20:53: /tests/0/notice: there is no check \"no-flow\" in \"prepare\", "
     "which is to be signed when the test \"leak\" was announced\n"},
    {"a notice that lapses before it is good",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 72}"}},
     "procedures/spout.json:20:78: /tests/0/notice_h: the check \"barricade\" stands for 1 hours "
     "and the test \"leak\" waits for 72 after it: give the check a longer \"valid_s\"\n"},
    {"a notice that stands for just as long",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 1}"}},
     "procedures/spout.json:20:78: /tests/0/notice_h: the check \"barricade\" stands for 1 hours "
     "and the test \"leak\" waits for 1 after it: give the check a longer \"valid_s\"\n"},
    {"a notice without hours",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\"}"}},
     "procedures/spout.json:20:5: /tests/0: a test with \"notice\" needs \"notice_h\", which is "
     "missing\n"},
    {"hours without a notice",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice_h\": 24}"}},
     "procedures/spout.json:20:5: /tests/0: a test with \"notice_h\" needs \"notice\", which is "
     "missing\n"},
    {"a shorter notice in a district",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 0.5}"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"leak\", \"notice_h\": 0.25}"}},
     "districts/basin.json:7:46: /adds/spout-and-boot/tests/0/notice_h: loosens the procedure, "
     "which "
     "asks for 0.5 hours; a district may only lengthen the notice\n"},
    {"a longer notice in a district",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 0.5}"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"leak\", \"notice_h\": 0.75}"}},
     ""},
    {"another notice in a district",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 0.5}"},
      {"districts/basin.json", "{\"test\": \"decay\", \"rule\": \"pressure-decay\"}",
       "{\"test\": \"leak\", \"notice\": \"site-told\"}"}},
     "districts/basin.json:7:44: /adds/spout-and-boot/tests/0/notice: the procedure announces this "
     "test by the check \"barricade\"; leave this out\n"},
    {"a check that a district shortens below the notice",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"notice\": \"barricade\", \"notice_h\": 0.5}"},
      {"districts/basin.json", "\"finish\"",
       "\"prepare\": [{\"check\": \"barricade\", \"valid_s\": 900}],\n      \"finish\""}},
     "districts/basin.json:6:53: /adds/spout-and-boot/prepare/0/valid_s: the check \"barricade\" "
     "stands for 0.25 hours and the test \"leak\" waits for 0.5 after it: give the check a longer "
     "\"valid_s\"\n"},
    {"a product's test where no product is named",
     {{"procedures/spout.json", "\"rule\": \"pass-fail\"}",
       "\"rule\": \"pass-fail\", \"each\": \"product\", \"fails\": \"dispenser\"}"}},
     "sites/juniper.json:9:5: /positions/1: warning: position \"3B\" names no products, and the "
     "test \"leak\" of the procedure \"spout-and-boot\" is made for each product\n"},
    {"a day of rules",
     {{"districts/later.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2027-07-01\", \"adds\": {}}\n"}},
     "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "
     "credentials of the procedure \"spout-and-boot\" on 2027-07-01, when its rules change\n"},
    {"two files of one day",
     {{"districts/later.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2027-07-01\", \"adds\": {}}\n"},
      {"districts/more.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2027-07-01\", \"adds\": {}}\n"}},
     "districts/more.json:1:42: /effective: another file has rules of the district \"north-basin\" "
     "from this day already; a day has one set of rules\n"
     "sites/juniper.json:2:11: /site: warning: site \"juniper\": no technician holds the "
     "credentials of the procedure \"spout-and-boot\" on 2027-07-01, when its rules change\n"},
    {"a day that is none",
     {{"districts/later.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2027-02-29\", \"adds\": {}}\n"}},
     "districts/later.json:1:42: /effective: must be a day of the calendar, \"YYYY-MM-DD\", not "
     "\"2027-02-29\"\n"},
    {"a later day's energy that no point isolates",
     {{"districts/later.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2026-07-01\", \"adds\": "
       "{\"spout-and-boot\": {\"isolate\": [\"vapor\"]}}}\n"}},
     "sites/juniper.json:8:5: /positions/0: warning: site \"juniper\", position \"3A\": no point "
     "isolates its \"vapor\" energy, which the procedure \"spout-and-boot\" isolates; such a job "
     "will be refused\n"
     "sites/juniper.json:9:5: /positions/1: warning: site \"juniper\", position \"3B\": no point "
     "isolates its \"vapor\" energy, which the procedure \"spout-and-boot\" isolates; such a job "
     "will be refused\n"},
    {"a circuit that the procedure leaves on",
     {{"sites/juniper.json", "  \"points\": [",
       "  \"points\": [\n    {\"point\": \"3-light\", \"energy\": \"lighting\", \"kind\": "
       "\"breaker\", \"isolates\": [\"3A\", \"3B\"]},"},
      LAMP},
     "sites/juniper.json:12:5: /points/0: the procedure \"spout-and-boot\" isolates the point "
     "\"3-power\" of dispenser \"3\" and leaves this electrical point, \"3-light\", on for work at "
     "position \"3A\": the procedure does not isolate that energy; every circuit into a dispenser "
     "is opened (NEC 514.11(A); 29 CFR 1910.147(d)(3))\n"},
    {"a circuit of the other side",
     {{"sites/juniper.json", "  \"points\": [",
       "  \"points\": [\n    {\"point\": \"3-heat\", \"energy\": \"electrical\", \"kind\": "
       "\"breaker\", \"isolates\": [\"3B\"]},"}},
     "sites/juniper.json:12:5: /points/0: the electrical point \"3-heat\" isolates dispenser \"3\" "
     "and not its position \"3A\": the cabinet's other conductors stay live; it isolates every "
     "position of a dispenser, or is no point of it (NEC 514.11(A); 29 CFR 1910.147(d)(3))\n"},
    {"a data line by its energy",
     {{"sites/juniper.json", "  \"points\": [",
       "  \"points\": [\n    {\"point\": \"3-data\", \"energy\": \"data\", \"isolates\": [\"3A\", "
       "\"3B\"]},"}},
     "sites/juniper.json:12:35: /points/0/energy: no procedure isolates the energy \"data\", so no "
     "job would lock this point out; the nearest that one isolates is \"product\"\n"},
    {"a contactor as a point",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"Contactor K1\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"Contactor K1\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"an interlock as a point",
     {{"sites/juniper.json", "\"kind\": \"breaker\"", "\"kind\": \"door interlock\""}},
     "sites/juniper.json:12:58: /points/0/kind: \"door interlock\" is a control circuit device and "
     "not an energy isolating device (29 CFR 1910.147(b)); name the breaker or valve that "
     "disconnects the energy\n"},
    {"a circuit of another dispenser",
     {{"sites/juniper.json", "{\"position\": \"3B\", \"dispenser\": \"3\"}",
       "{\"position\": \"3B\", \"dispenser\": \"4\"}"},
      {"sites/juniper.json", "  \"points\": [",
       "  \"points\": [\n    {\"point\": \"4-heat\", \"energy\": \"electrical\", \"kind\": "
       "\"disconnect\", \"isolates\": [\"3B\"]},"}},
     ""},
    {"a circuit that a later day isolates",
     {{"sites/juniper.json", "  \"points\": [",
       "  \"points\": [\n    {\"point\": \"3-light\", \"energy\": \"lighting\", \"kind\": "
       "\"breaker\", \"isolates\": [\"3A\", \"3B\"]},"},
      {"districts/later.json", NULL,
       "{\"district\": \"north-basin\", \"effective\": \"2026-07-01\", \"adds\": "
       "{\"spout-and-boot\": {\"isolate\": [\"lighting\"]}}}\n"}},
     "sites/juniper.json:12:5: /points/0: the procedure \"spout-and-boot\" isolates the point "
     "\"3-power\" of dispenser \"3\" and leaves this electrical point, \"3-light\", on for work at "
     "position \"3A\": the procedure does not isolate that energy; every circuit into a dispenser "
     "is opened (NEC 514.11(A); 29 CFR 1910.147(d)(3))\n"},
};
const size_t cases_rules_count = sizeof(cases_rules) / sizeof(cases_rules[0]);
