#!/bin/bash
# From a `live` signal published to the alarm on MQTT and on the last of many open event streams; and
# the same stop without any stream, side by side. Says what one stream takes of the daemon's memory.
#
#   run.sh [--bin DIRECTORY] [--samples N] [--streams N]
#
# Ends with 1 if the p99 of the last stream is over 50 ms.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$here/../../../build/bin
samples=300 streams=1000 token=bench
while [ $# -gt 0 ]; do
    case $1 in
    --bin) bin=$2 && shift 2 ;;
    --samples) samples=$2 && shift 2 ;;
    --streams) streams=$2 && shift 2 ;;
    *) echo "usage: $0 [--bin DIRECTORY] [--samples N] [--streams N]" >&2
       exit 2 ;;
    esac
done
bin=$(cd "$bin" && pwd)
daemon="$bin/forelockd -c {}"
ulimit -n "$(ulimit -Hn)"
. "$here/../client/rig.sh"

resident_kib() {
    awk '$1 == "VmRSS:" {print $2}' "/proc/$daemon_pid/status"
}

# percentile PART: of the numbers on standard input.
percentile() {
    sort -n | awk -v part="$1" '{n[NR] = $1}
        END {at = int(part * NR) + 1; print n[at < NR ? at : NR]}'
}

open_streams() { # COUNT
    local before
    before=$(resident_kib)
    "$bin/bench_phones" "$http_port" "$token" "$1" \
        >"$directory/streams.log" 2>"$directory/phones.log" &
    phones=$!
    wait_for "$1 streams" grep -q "all are open" "$directory/phones.log"
    sleep 3 # a few pulses go out, so that their buffers count
    printf 'resident memory: %s KiB a stream\n' \
        "$(awk -v a="$before" -v b="$(resident_kib)" -v n="$1" 'BEGIN {printf "%.1f", (b - a) / n}')"
}

has_all() {
    [ "$(wc -l <"$directory/streams.log")" -ge "$samples" ]
}

tell_streams() {
    paste -d ' ' "$directory/samples.log" "$directory/streams.log" |
        awk '{print ($4 - $1) / 1e6}' >"$directory/last.log"
    local p99
    p99=$(percentile 0.99 <"$directory/last.log")
    printf 'last of the streams: p50 %s ms  p99 %s ms  most %s ms  (p99 at most 50)\n' \
        "$(percentile 0.5 <"$directory/last.log")" "$p99" "$(sort -n "$directory/last.log" | tail -1)"
    awk -v p99="$p99" 'BEGIN {exit !(p99 <= 50)}' || failed=1
}

run() { # STREAMS
    started= broker= daemon_pid= phones=
    directory=$(mktemp -d)
    trap 'kill ${phones:-} 2>/dev/null || true; stop_all' EXIT
    port=$(free_port)
    http_port=$(free_port)
    "$here/../client/configure.sh" "$directory/config" 64 "$port" "$http_port" 0.05
    sed -i "s/\"roles\": \[\"manager\"\]/&, \"token_sha256\": \"$(printf %s "$token" |
        sha256sum | cut -d ' ' -f 1)\"/" "$directory/config/people.json"
    start_broker
    "$bin/bench_echo" 127.0.0.1 "$port" bench/echo/there bench/echo/back \
        2>"$directory/echo.log" &
    started=$!
    wait_for "the echo client" grep -q subscribed "$directory/echo.log"
    start_daemon
    printf '%s streams\n' "$1"
    if [ "$1" -gt 0 ]; then
        open_streams "$1"
    fi
    # Its own bound, of the p99 beside an echo's, is the bench of stopping's.
    "$bin/bench_stop_probe" 127.0.0.1 "$port" "$samples" "$directory/samples.log" || true
    if [ "$1" -gt 0 ]; then
        wait_for "the last of the streams" has_all
        tell_streams
        kill "$phones"
        wait "$phones" 2>/dev/null || true
        phones=
    fi
    stop_all
    trap - EXIT
}

failed=0
run 0
run "$streams"
exit "$failed"
