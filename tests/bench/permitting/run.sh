#!/bin/bash
# From a request published to its durable answer, beside an echo through the same broker and a sync
# of the same file system; then accepted requests per second under load.
#
#   run.sh [--bin DIRECTORY] [--samples N] [--requests N]
#
# Ends with 1 if the request's p50 is more than the echo's + 1.5 x one sync's, or if fewer than
# 20,000 requests are answered per second of the daemon's CPU time. The machine's other load shows
# in every figure, least in the last: repeat, and state the load that is printed first.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$here/../../../build/bin
samples=300 requests=40000
while [ $# -gt 0 ]; do
    case $1 in
    --bin) bin=$2 && shift 2 ;;
    --samples) samples=$2 && shift 2 ;;
    --requests) requests=$2 && shift 2 ;;
    *) echo "usage: $0 [--bin DIRECTORY] [--samples N] [--requests N]" >&2
       exit 2 ;;
    esac
done
bin=$(cd "$bin" && pwd)
daemon="$bin/forelockd -c {}"
. "$here/../client/rig.sh"

started= broker= daemon_pid=
directory=$(mktemp -d)
trap stop_all EXIT
port=$(free_port)
"$here/../client/configure.sh" "$directory/config" 64 "$port" "$(free_port)" 0.05
for person in t-2 t-3 t-4; do
    sed -i "2i {\"person\": \"$person\", \"title\": \"Technician\", \"roles\": [\"technician\"],\
 \"sites\": [\"*\"], \"credentials\": [{\"credential\": \"basic\"}]}," "$directory/config/people.json"
done
start_broker
"$bin/bench_echo" 127.0.0.1 "$port" bench/echo/there bench/echo/back 2>"$directory/echo.log" &
started=$!
wait_for "the echo client" grep -q subscribed "$directory/echo.log"
start_daemon
echo "load average $(cut -d ' ' -f 1-3 /proc/loadavg), $(nproc) cores"
"$bin/bench_permit_probe" 127.0.0.1 "$port" "$samples" "$directory/config/sync" "$daemon_pid" \
    "$requests"
