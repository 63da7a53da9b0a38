# What the drivers of the benches share; sourced by them after `bin` and `daemon` are set.

# A port that nobody listens on.
free_port() {
    local port
    for port in $(shuf -i 20000-32000 -n 50); do
        if ! (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then
            echo "$port"
            return
        fi
    done
    return 1
}

# Starts a broker that keeps and delivers everything, in $directory on $port.
start_broker() {
    cat >"$directory/broker.conf" <<END
listener $port 127.0.0.1
allow_anonymous true
max_queued_messages 0
max_inflight_messages 0
set_tcp_nodelay true
log_type error
END
    "$(command -v mosquitto || echo /usr/sbin/mosquitto)" -c "$directory/broker.conf" \
        >"$directory/broker.log" 2>&1 &
    broker=$!
    wait_for "the broker" bash -c "exec 3<>/dev/tcp/127.0.0.1/$port"
}

# wait_for WHAT COMMAND...: until it succeeds, for 30 s.
wait_for() {
    local what=$1 i
    shift
    for i in $(seq 300); do
        if "$@" 2>/dev/null; then
            return
        fi
        sleep 0.1
    done
    echo "bench: gave up waiting for $what; see $directory" >&2
    keep=1
    exit 1
}

# The daemon on $directory/config; in its command line {} stands for the configuration file.
start_daemon() {
    local config=$directory/config/forelock.json
    (cd "$directory" && exec env ${1:+"$1"} ${daemon//\{\}/$config}) >"$directory/daemon.log" 2>&1 &
    daemon_pid=$!
    wait_for "the daemon to be online" daemon_is_online
}

daemon_is_online() {
    if ! kill -0 "$daemon_pid"; then
        echo "bench: the daemon ended; see $directory/daemon.log" >&2
        keep=1
        exit 1
    fi
    mosquitto_sub -h 127.0.0.1 -p "$port" -t 'forelock/daemon/bench' -C 1 -W 1 |
        grep -q '"state" *: *"online"'
}

# Nanoseconds of CPU that all threads of a process have used.
cpu_ns() {
    cat /proc/"$1"/task/*/schedstat | awk '{sum += $1} END {printf "%.0f\n", sum}'
}

# Waits until a process has used less than 2 % of a second's CPU for a second.
wait_until_quiet() {
    local before after i
    for i in $(seq 120); do
        before=$(cpu_ns "$1")
        sleep 1
        after=$(cpu_ns "$1")
        if [ $((after - before)) -lt 20000000 ]; then
            return
        fi
    done
    echo "bench: process $1 does not come to rest" >&2
    return 1
}

stop_all() {
    local pid
    for pid in ${daemon_pid:-} ${started:-} ${broker:-}; do
        kill "$pid" 2>/dev/null || true
        wait "$pid" 2>/dev/null || true
    done
    if [ -z "${keep:-}" ]; then
        rm -rf "$directory"
    fi
}
