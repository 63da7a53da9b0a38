#!/bin/bash
# From a `live` signal published to the alarm received, beside an echo through the same broker.
#
#   run.sh [--bin DIRECTORY] [--daemon 'COMMAND LINE WITH {}'] [--samples N] [--sync-ms N]
#
# {} stands for the configuration file that is generated. --sync-ms makes every sync of the daemon's
# disk take so much more; without it, the bench runs once as the disk is and once with 50 ms. Ends
# with 1 if the p99 is more than 1.5 x the echo's p99.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$here/../../../build/bin
daemon= samples=500 delays=(0 50)
while [ $# -gt 0 ]; do
    case $1 in
    --bin) bin=$2 && shift 2 ;;
    --daemon) daemon=$2 && shift 2 ;;
    --samples) samples=$2 && shift 2 ;;
    --sync-ms) delays=("$2") && shift 2 ;;
    *) echo "usage: $0 [--bin DIRECTORY] [--daemon 'COMMAND {}'] [--samples N] [--sync-ms N]" >&2
       exit 2 ;;
    esac
done
bin=$(cd "$bin" && pwd)
daemon=${daemon:-$bin/forelockd -c {\}}
. "$here/../client/rig.sh"

run() { # SYNC_MS
    started= broker= daemon_pid=
    directory=$(mktemp -d)
    trap stop_all EXIT
    port=$(free_port)
    "$here/../client/configure.sh" "$directory/config" 64 "$port" "$(free_port)" 0.05
    start_broker
    "$bin/bench_echo" 127.0.0.1 "$port" bench/echo/there bench/echo/back \
        2>"$directory/echo.log" &
    started=$!
    wait_for "the echo client" grep -q subscribed "$directory/echo.log"
    export SLOW_SYNC_MS=$1
    start_daemon "LD_PRELOAD=$bin/bench_slow_sync.so"
    printf 'sync + %s ms  ' "$1"
    "$bin/bench_stop_probe" 127.0.0.1 "$port" "$samples" || failed=1
    stop_all
    trap - EXIT
}

failed=0
for delay in "${delays[@]}"; do
    run "$delay"
done
exit "$failed"
