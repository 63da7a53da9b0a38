# What the demo is told with: narration, the private broker, daemon and simulator, requests of
# people, and conditions that are waited for within a bound. Sourced by `run`; needs bash.
# shellcheck shell=bash disable=SC2154 # what `run` sets: here, top, bin, people…

root=forelock
site=juniper
patience=20 # [s] for any condition

# --- narration ---

if [ -t 1 ] && [ -z "${NO_COLOR:-}" ]; then
    bold=$(printf '\033[1m') green=$(printf '\033[32m') red=$(printf '\033[31m')
    yellow=$(printf '\033[33m') plain=$(printf '\033[0m')
else
    bold='' green='' red='' yellow='' plain=''
fi

chapter() { printf '\n%s== %s ==%s\n' "$bold" "$*" "$plain"; }
tell() { printf '%s\n' "$*" | fold -s -w 88 | sed 's/ *$//'; }
hardware_says() { printf '  (simulated) %s\n' "$*"; }
good() { printf '  %s[ok]%s %s\n' "$green" "$plain" "$*"; }
refused() { printf '  %s[refused]%s %s\n' "$yellow" "$plain" "$*"; }
alarm() { printf '  %s[ALARM]%s %s\n' "$red" "$plain" "$*"; }

# Ends the demo: something was not as it should be. The logs say more.
unexpected() {
    printf '\n%s[unexpected]%s %s\n' "$red" "$plain" "$*" >&2
    for log in daemon broker simulator; do
        if [ -s "$dir/$log.log" ]; then
            printf -- '--- the last lines of the %s ---\n' "$log" >&2
            tail -n 15 "$dir/$log.log" >&2
        fi
    done
    exit 1
}

# --- what runs ---

dir='' # everything that the demo writes, but the build
pids=()

# Ends a process, kindly, and after 5 s for sure.
stop() {
    local deadline=$((SECONDS + 5))
    kill "$1" 2>/dev/null || return 0
    while alive "$1" && ((SECONDS < deadline)); do
        sleep 0.05
    done
    kill -KILL "$1" 2>/dev/null || true
    wait "$1" 2>/dev/null || true
}

clean_up() {
    local status=$?
    trap - EXIT
    for ((i = ${#pids[@]} - 1; i >= 0; i--)); do
        stop "${pids[i]}"
    done
    [ -z "$dir" ] || rm -rf "$dir"
    exit "$status"
}

# A port that is free now. Two ask for it at once seldom; the start of the broker tries again.
free_port() {
    local port
    for _ in $(seq 50); do
        port=$((20000 + RANDOM % 12000))
        if ! (exec 3<>"/dev/tcp/127.0.0.1/$port") 2>/dev/null; then
            echo "$port"
            return
        fi
    done
    unexpected "no free port was found"
}

# Waits until the command succeeds. $1 says what for.
until_true() {
    local what=$1 deadline=$((SECONDS + patience))
    shift
    until "$@"; do
        ((SECONDS < deadline)) || unexpected "waited $patience s in vain: $what"
        sleep 0.05
    done
}

port_answers() { (exec 3<>"/dev/tcp/127.0.0.1/$1") 2>/dev/null; }
alive() { kill -0 "$1" 2>/dev/null; }
broker_is_up_or_gone() { ! alive "$broker_pid" || port_answers "$broker_port"; }

start_broker() {
    local login
    password=$(od -An -N16 -tx1 /dev/urandom | tr -d ' \n')
    for login in forelock simulator watcher "${people[@]}"; do
        echo "$login:$password"
    done >"$dir/passwd"
    mosquitto_passwd -U "$dir/passwd"
    # The shipped rights, and two logins that only the demo needs.
    cp "$here/../mosquitto/forelock.acl" "$dir/acl"
    cat >>"$dir/acl" <<-RIGHTS
		user simulator
		topic write $root/$site/signal/+
		topic write $root/$site/tagging/+
		topic write $root/$site/controller/+
		user watcher
		topic read $root/#
	RIGHTS
    for _ in 1 2 3 4 5; do
        broker_port=$(free_port)
        sed -e "/^listener 8883/,/^$/d" -e "s|^listener .*|listener $broker_port 127.0.0.1|" \
            -e "s|^password_file .*|password_file $dir/passwd|" \
            -e "s|^acl_file .*|acl_file $dir/acl|" \
            -e "s|^persistence_location .*|persistence_location $dir/|" \
            "$here/../mosquitto/forelock.conf" >"$dir/broker.conf"
        # Started by root, it would become a user who may not read this directory.
        echo "user $(id -un)" >>"$dir/broker.conf"
        "$broker_program" -c "$dir/broker.conf" >"$dir/broker.log" 2>&1 &
        broker_pid=$!
        until_true "the broker starts" broker_is_up_or_gone
        if alive "$broker_pid"; then
            pids+=("$broker_pid")
            return
        fi
    done
    unexpected "the broker did not start"
}

# Everything that is published goes into one file, a line each: topic, tab, payload.
start_watcher() {
    stdbuf -oL mosquitto_sub -V 5 -q 1 -p "$broker_port" -u watcher -P "$password" \
        -t "$root/#" -F '%t\t%p' >"$dir/heard" 2>"$dir/watcher.log" &
    pids+=($!)
}

declare -A tokens # of people, for the pages

# Gives a person of the copied configuration a token.
give_token() {
    local made hash
    made=$("$bin/forelock" token -c "$dir/config/forelock.json" --json "$1" 2>"$dir/token.log") ||
        unexpected "no token was made for $1: $(cat "$dir/token.log")"
    tokens[$1]=$(jq -r .token <<<"$made")
    hash=$(jq -r .token_sha256 <<<"$made")
    sed -i "s|\"person\": \"$1\",|& \"token_sha256\": \"$hash\",|" "$dir/config/people.json"
}

configure_daemon() {
    local part person
    board=http://127.0.0.1:$(free_port)
    mkdir "$dir/config"
    for part in people.json instruments.json procedures districts sites; do
        cp -R "$top/config/$part" "$dir/config/"
    done
    printf '%s\n' "$password" >"$dir/config/broker.secret"
    chmod 600 "$dir/config/broker.secret"
    cat >"$dir/config/forelock.json" <<-CONFIGURATION
		{
		  "instance": "edge-1", "root": "$root",
		  "broker": {"host": "127.0.0.1", "port": $broker_port, "username": "forelock",
		             "password_file": "broker.secret"},
		  "http": {"listen": "${board#http://}"},
		  "journal": "forelock.db",
		  "people": "people.json", "instruments": "instruments.json",
		  "procedures": ["procedures/*.json"], "districts": ["districts/*.json"],
		  "sites": ["sites/$site.json"], "feeds": [], "webhooks": []
		}
	CONFIGURATION
    for person in "$leader" "$manager"; do
        give_token "$person"
    done
}

start_daemon() {
    "$bin/forelockd" -c "$dir/config/forelock.json" >>"$dir/daemon.log" 2>&1 &
    daemon_pid=$!
    pids+=("$daemon_pid")
    await "the daemon is online" "daemon/edge-1" '.state == "online"'
}

daemon_is_gone() { ! alive "$daemon_pid"; }

# Stops the daemon as an operator would, and waits for its end.
stop_daemon() {
    local status=0
    kill "$daemon_pid"
    until_true "the daemon ends" daemon_is_gone
    wait "$daemon_pid" || status=$?
    ((status == 0)) || unexpected "the daemon ended with status $status"
}

start_simulator() {
    printf '%s\n' "$password" >"$dir/simulator.secret"
    mkfifo "$dir/to-simulator"
    "$bin/forelock-simulator" --port "$broker_port" --site "$site" --root "$root" \
        --username simulator --password-file "$dir/simulator.secret" \
        --scenario "$here/yard.txt" --stdin --max-time "$longest" \
        <"$dir/to-simulator" >"$dir/simulator.log" 2>&1 &
    simulator_pid=$!
    pids+=("$simulator_pid")
    exec {to_simulator}>"$dir/to-simulator"
    until_true "the simulated hardware speaks" grep -q '^ok start' "$dir/simulator.log"
}

simulator_lines=0

# Lets the simulated hardware do something, and waits for it to be done.
hardware() {
    local answer
    printf '%s\n' "$*" >&"$to_simulator"
    simulator_lines=$((simulator_lines + 1))
    until_true "the simulator does: $*" \
        grep -qE "^(ok|error) $simulator_lines: " "$dir/simulator.log"
    answer=$(grep -E "^(ok|error) $simulator_lines: " "$dir/simulator.log")
    [[ $answer == ok* ]] || unexpected "the simulator: $answer"
}

# --- what is known ---

# The last document on a topic under the root; nothing if there is none.
document() {
    awk -F '\t' -v topic="$root/$1" '$1 == topic { last = $2 } END { print last }' "$dir/heard"
}

# Whether a jq condition is true of a JSON text. Nothing is not true, whatever jq makes of it.
is_true() { [ "$(jq "($2) == true" <<<"$1" 2>/dev/null)" = true ]; }

holds() { is_true "$(document "$1")" "$2"; }

# Waits until the document on a topic fulfills a jq condition. $1 says what for.
await() { until_true "$1" holds "$2" "$3"; }

# Prints a field of a document.
field() { document "$1" | jq -r "$2"; }

# --- how the configuration calls things ---

# Prints the first string that a jq path finds in the example configuration, comments left out.
configured() {
    sed 's|^ *//.*||; s| // .*||' "$top"/config/{people,sites/$site,procedures/*,districts/*}*.json |
        jq -rn "first(inputs | $1 | if type == \"object\" then .en else . end)"
}

person() { configured ".people[]? | select(.person == \"$1\") | .title"; }
title() { configured ".points[]? | select(.point == \"$1\") | .title"; }
asked() { configured ".. | objects | select(.check? == \"$1\" and .ask?) | .ask"; }

# --- what people ask ---

request_count=0
answer='' # to the last request

# ask PERSON VERB FIELDS: asks in this person's name; the answer is in $answer.
ask() {
    local person=$1 verb=$2 fields=$3 body
    request_count=$((request_count + 1))
    body=$(jq -cn --arg id "demo-$request_count" "{id: \$id, asked: (now | todate)} + $fields") ||
        unexpected "no request can be made of $fields"
    answer=$(mosquitto_rr -V 5 -q 1 -p "$broker_port" -u "$person" -P "$password" \
        -t "$root/$site/request/$person/$verb" -e "$root/$site/reply/$person/$request_count" \
        -D publish correlation-data "demo-$request_count" -W "$patience" -m "$body" \
        -F '%p' 2>"$dir/request.log") ||
        unexpected "$person asked for $verb and got no answer within $patience s"
    is_true "$answer" ".id == \"demo-$request_count\"" ||
        unexpected "$person asked for $verb and got somebody else's answer: $answer"
}

# may PERSON VERB FIELDS WHAT: asks, and it has to be accepted.
may() {
    ask "$1" "$2" "$3"
    is_true "$answer" .accepted ||
        unexpected "$2 by $1 was refused: $(jq -c '.refusals' <<<"$answer")"
    good "$4"
}

# may_not PERSON VERB FIELDS WHAT CODE…: asks, and it has to be refused, with each of these codes
# among the reasons. All reasons are told.
may_not() {
    local code
    ask "$1" "$2" "$3"
    is_true "$answer" '.accepted == false' || unexpected "$2 by $1 was accepted: $answer"
    refused "$4"
    jq -r '.refusals[] | "      - \(.say)  (\(.code))"' <<<"$answer"
    shift 4
    for code in "$@"; do
        is_true "$answer" "any(.refusals[]; .code == \"$code\")" ||
            unexpected "the reason $code is missing in: $answer"
    done
}
