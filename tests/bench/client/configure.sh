#!/bin/sh
# Writes a configuration for N points into a directory: sites of 64 points, that is 32 dispensers of
# one position with a breaker and a valve each, all with sensors, and the people of one crew.
#
#   configure.sh DIRECTORY POINTS BROKER_PORT HTTP_PORT [SETTLE_S]
set -eu
directory=$1 points=$2 broker_port=$3 http_port=$4 settle_s=${5:-2}

mkdir -p "$directory/sites"
cat >"$directory/forelock.json" <<END
{"instance": "bench", "root": "forelock", "broker": {"host": "127.0.0.1", "port": $broker_port},
 "http": {"listen": "127.0.0.1:$http_port"}, "journal": "forelock.db", "people": "people.json",
 "procedures": ["procedure.json"], "sites": ["sites/*.json"]}
END
cat >"$directory/people.json" <<END
{"people": [
 {"person": "t-1", "title": "Technician", "roles": ["technician"], "sites": ["*"],
  "credentials": [{"credential": "basic"}]},
 {"person": "s-1", "title": "Supervisor", "roles": ["supervisor"], "sites": ["*"]},
 {"person": "m-1", "title": "Manager", "roles": ["manager"], "sites": ["*"]},
 {"person": "j-1", "title": "Job tracker", "roles": ["tracker"], "sites": ["*"]}]}
END
cat >"$directory/procedure.json" <<END
{"procedure": "swap-hose", "title": "Swap the hose", "credentials": [["basic"]],
 "isolate": ["electrical", "product"],
 "verify": [{"check": "no-flow", "ask": "Trigger squeezed, nothing flows"}],
 "clear": [{"check": "tools-clear", "ask": "Tools removed"}],
 "tests": [{"test": "leak", "rule": "pass-fail"}],
 "leave": [{"check": "made-safe", "ask": "Hose off or capped"}]}
END
awk -v points="$points" -v directory="$directory" -v settle="$settle_s" 'BEGIN {
    for (site = 0; site * 64 < points; site++) {
        file = directory "/sites/site-" site ".json"
        positions = ""; list = ""
        for (d = 0; d < 32 && site * 64 + 2 * d < points; d++) {
            comma = d > 0 ? ",\n  " : ""
            positions = positions comma sprintf("{\"position\": \"d%d\", \"dispenser\": \"d%d\", " \
                "\"title\": \"Position %d\", \"products\": [\"regular\"]}", d, d, d)
            list = list comma sprintf("{\"point\": \"d%d-power\", \"energy\": \"electrical\", " \
                "\"kind\": \"breaker\", \"title\": \"Breaker %d\", \"isolates\": [\"d%d\"], " \
                "\"max_age_s\": 300, \"settle_s\": %s},\n  ", d, d, d, settle)
            list = list sprintf("{\"point\": \"d%d-line\", \"energy\": \"product\", " \
                "\"kind\": \"shear-valve\", \"title\": \"Valve %d\", \"isolates\": [\"d%d\"], " \
                "\"max_age_s\": 300, \"settle_s\": %s}", d, d, d, settle)
        }
        printf "{\"site\": \"site-%d\", \"title\": \"Site %d\", \"time_zone\": \"UTC\",\n " \
            "\"positions\": [%s],\n \"points\": [%s]}\n", site, site, positions, list >file
        close(file)
    }
}'
