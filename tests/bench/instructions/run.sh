#!/bin/bash
# Instructions that the programs of two builds execute for the same work, counted by valgrind: what a
# change costs, on a machine whose times say little.
#
#   run.sh --before BIN --after BIN [--signals N] [--requests N] [--jobs N]
#
# BIN is the bin/ folder of a build. Per unchanged signal and per accepted request the daemon's count is
# the difference of a long and a short run, so that its start is not in it; a record of a site's whole
# past and a check of its journal are counted whole. Ends with 1 if a figure grew by 10 % or more.
# Needs valgrind. A row of the daemon is the least of three differences: how the broker's bytes fall
# into reads and turns differs from run to run. A run whose load came to nothing is run again.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
before= after= signals=20000 requests=3000 jobs=1000
usage="usage: $0 --before BIN --after BIN [--signals N] [--requests N] [--jobs N]"
while [ $# -gt 0 ]; do
    case $1 in
    --before) before=$2 && shift 2 ;;
    --after) after=$2 && shift 2 ;;
    --signals) signals=$2 && shift 2 ;;
    --requests) requests=$2 && shift 2 ;;
    --jobs) jobs=$2 && shift 2 ;;
    *) echo "$usage" >&2 && exit 2 ;;
    esac
done
[ -n "$before" ] && [ -n "$after" ] || { echo "$usage" >&2 && exit 2; }
command -v valgrind >/dev/null || { echo "valgrind is needed" >&2 && exit 2; }
before=$(cd "$before" && pwd) after=$(cd "$after" && pwd)
. "$here/../client/rig.sh"

work=$(mktemp -d)
started= broker= daemon_pid= directory=$work/none
trap 'stop_all; rm -rf "$work"' EXIT

counted() { # LOG COMMAND...: runs it; its count of instructions goes to LOG
    local log=$1
    shift
    valgrind --tool=callgrind --callgrind-out-file=/dev/null --log-file="$log" "$@"
}

collected() { # LOG
    sed -n 's/.*Collected : \([0-9]*\).*/\1/p' "$1"
}

# The daemon of a build under the counter, with a load; prints its whole count. Fails with the load.
daemon_count() { # BIN LOAD AMOUNT
    local bin=$1 log whole=yes
    directory=$(mktemp -d) port=$(free_port)
    log=$directory/count
    daemon="valgrind --tool=callgrind --callgrind-out-file=/dev/null --log-file=$log $bin/forelockd -c {}"
    "$here/../client/configure.sh" "$directory/config" 64 "$port" "$(free_port)" 0.05
    for person in t-2 t-3 t-4; do
        sed -i "2i {\"person\": \"$person\", \"title\": \"Technician\", \"roles\": [\"technician\"],\
 \"sites\": [\"*\"], \"credentials\": [{\"credential\": \"basic\"}]}," "$directory/config/people.json"
    done
    start_broker
    "$after/bench_echo" 127.0.0.1 "$port" bench/echo/there bench/echo/back 2>"$directory/echo.log" &
    started=$!
    start_daemon
    wait_until_quiet "$daemon_pid" # its start under the counter takes seconds
    "$2" "$3" || whole=no
    kill "$daemon_pid" && wait "$daemon_pid" || true
    collected "$log"
    daemon_pid=
    stop_all
    [ "$whole" = yes ]
}

# The probes are those of one build, so that both daemons get the same load: of the later one, as a
# request of before lacks what is asked of it now, and a daemon of before passes over what is new.
signals_of() { # AMOUNT
    "$after/bench_flood" 127.0.0.1 "$port" forelock 64 1 0 1 >/dev/null
    wait_until_quiet "$daemon_pid"
    "$after/bench_flood" 127.0.0.1 "$port" forelock 64 $(($1 / 64)) 0 2 >/dev/null
    wait_until_quiet "$daemon_pid"
}

requests_of() { # AMOUNT
    "$after/bench_permit_probe" 127.0.0.1 "$port" 1 "$directory/config/sync" "$daemon_pid" "$1" \
        >/dev/null 2>"$directory/said" || true # its verdict is about time
    ! grep -q '^bench:' "$directory/said"
}

per_unit() { # BIN LOAD AMOUNT: the least of three differences of a long and a short run
    local least= difference long short tries=0 good=0
    while [ "$good" -lt 3 ]; do
        [ $((tries += 1)) -le 6 ] || { echo "the load comes to nothing" >&2 && exit 2; }
        long=$(daemon_count "$1" "$2" $(($3 * 2))) || continue
        short=$(daemon_count "$1" "$2" "$3") || continue
        good=$((good + 1)) difference=$(((long - short) / $3))
        if [ -z "$least" ] || [ "$difference" -lt "$least" ]; then
            least=$difference
        fi
    done
    echo "$least"
}

# A journal of one site's past, the same for both.
mkdir "$work/past"
cp -r "$here"/../../../config/* "$work/past"
sed -i 's|"journal": *"[^"]*"|"journal": "bench.db"|' "$work/past/forelock.json"
"$before/record_history" "$work/past/forelock.json" "$jobs" 100 >/dev/null

command_count() { # BIN COMMAND...
    counted "$work/log" "$1/forelock" "${@:2}" -c "$work/past/forelock.json" >/dev/null
    collected "$work/log"
}

grew=0
row() { # NAME BEFORE AFTER
    awk -v name="$1" -v before="$2" -v after="$3" 'BEGIN {
        printf "%-44s %14.0f %14.0f  %.3f\n", name, before, after, after / before
        exit after / before >= 1.1
    }' || grew=1
}

printf '%-44s %14s %14s  %s\n' 'instructions' before after ratio
row 'an unchanged signal' "$(per_unit "$before" signals_of "$signals")" \
    "$(per_unit "$after" signals_of "$signals")"
row 'an accepted request' "$(per_unit "$before" requests_of "$requests")" \
    "$(per_unit "$after" requests_of "$requests")"
site=$(sed -n 's/.*"site": *"\([^"]*\)".*/\1/p' "$here"/../../../config/sites/*.json | head -n 1)
row "the record of a site, $jobs jobs, CSV" "$(command_count "$before" record --site "$site" --csv)" \
    "$(command_count "$after" record --site "$site" --csv)"
row 'its journal verified' "$(command_count "$before" journal verify)" \
    "$(command_count "$after" journal verify)"
exit $grew
