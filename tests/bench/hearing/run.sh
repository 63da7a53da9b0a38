#!/bin/bash
# CPU per unchanged signal: the daemon beside a subscriber on the same two libraries that does nothing
# with it, and beside the usual client of Node.js, all three on one flood from one broker.
#
#   run.sh [--bin DIRECTORY] [--daemon 'COMMAND LINE WITH {}'] [--messages N] [POINTS...]
#
# {} stands for the configuration file that is generated. Points default to 64 and 64000. Prints one
# line for each number of points; ends with 1 if the daemon costs more than 1.15 x the null
# subscriber, or the subscriber that counts did not get every message.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$here/../../../build/bin
daemon= messages=200000 points=()
while [ $# -gt 0 ]; do
    case $1 in
    --bin) bin=$2 && shift 2 ;;
    --daemon) daemon=$2 && shift 2 ;;
    --messages) messages=$2 && shift 2 ;;
    *) points+=("$1") && shift ;;
    esac
done
bin=$(cd "$bin" && pwd)
daemon=${daemon:-$bin/forelockd -c {\}}
[ ${#points[@]} -gt 0 ] || points=(64 64000)
. "$here/../client/rig.sh"

flood() { # ROUNDS FIRST_SEQ
    "$bin/bench_flood" 127.0.0.1 "$port" forelock "$count" "$1" 0 "$2"
}

all_quiet() {
    for pid in $daemon_pid $started; do
        wait_until_quiet "$pid"
    done
}

per_message_us() { # NANOSECONDS MESSAGES
    awk -v ns="$1" -v n="$2" 'BEGIN {printf "%.2f", ns / 1000 / n}'
}

measure() {
    local rounds=$(((messages + count - 1) / count)) sent null_before daemon_before node_before
    local null_ns daemon_ns node_ns= node_us=-
    sent=$((rounds * count))
    flood 1 1 >/dev/null # the first word of each point is a change
    sleep 3              # and so is that it has settled
    all_quiet
    null_before=$(cpu_ns "$null") daemon_before=$(cpu_ns "$daemon_pid")
    [ -z "$node" ] || node_before=$(cpu_ns "$node")
    flood "$rounds" 2 >"$directory/flood.json"
    all_quiet
    null_ns=$(($(cpu_ns "$null") - null_before))
    daemon_ns=$(($(cpu_ns "$daemon_pid") - daemon_before))
    if [ -n "$node" ]; then
        node_ns=$(($(cpu_ns "$node") - node_before))
        node_us=$(per_message_us "$node_ns" "$sent")
    fi
    kill "$null" && wait "$null" || true
    heard=$(sed 's/.*"messages":\([0-9]*\).*/\1/' "$directory/null.json")
    [ "$heard" -eq $((sent + count)) ] || lost=1
    awk -v points="$count" -v sent="$sent" -v heard="$((heard - count))" \
        -v rate="$(sed 's/.*"per_second":\([0-9]*\).*/\1/' "$directory/flood.json")" \
        -v null="$(per_message_us "$null_ns" "$sent")" \
        -v daemon="$(per_message_us "$daemon_ns" "$sent")" -v node="$node_us" 'BEGIN {
            ratio = daemon / null
            printf "points %d  messages %d (heard %d) at %d/s  null %s us  daemon %s us  " \
                "ratio %.2f (at most 1.15)  node %s us\n",
                points, sent, heard, rate, null, daemon, ratio, node
            exit ratio > 1.15
        }'
}

run() { # POINTS
    count=$1 node= null= started= broker= daemon_pid=
    directory=$(mktemp -d)
    trap stop_all EXIT
    port=$(free_port)
    "$here/../client/configure.sh" "$directory/config" "$count" "$port" "$(free_port)"
    start_broker
    "$bin/bench_null_subscriber" 127.0.0.1 "$port" 1000000000 'forelock/+/signal/+' \
        >"$directory/null.json" 2>"$directory/null.log" &
    null=$!
    started=$null
    if command -v node >/dev/null && [ -d "$here/../../outside/node_modules/mqtt" ]; then
        node "$here/node_subscriber.mjs" "$port" 'forelock/+/signal/+' \
            >"$directory/node.json" 2>"$directory/node.log" &
        node=$!
        started="$started $node"
        wait_for "the Node.js subscriber" grep -q subscribed "$directory/node.log"
    fi
    start_daemon
    measure || failed=1
    stop_all
    trap - EXIT
}

failed=0 lost=0
for count in "${points[@]}"; do
    run "$count"
done
if [ "$lost" -ne 0 ]; then
    echo "bench: messages were lost" >&2
fi
[ "$failed" -eq 0 ] && [ "$lost" -eq 0 ]
