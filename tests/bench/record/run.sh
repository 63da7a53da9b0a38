#!/bin/bash
# Five years of a journal: how long `forelock record` takes for a whole period of a site and for a job,
# beside SQLite's own reading of the site's rows.
#
#   run.sh [--bin DIRECTORY] [--jobs N] [--facts N] [--sites N]
#
# Ends with 1 if a site's five years (2,000 jobs) take a second or more of the processor (the clock's
# time says as much about what else the machine does).
set -eu
here=$(cd "$(dirname "$0")" && pwd)
bin=$here/../../../build/bin jobs=10000 facts=100 sites=5
while [ $# -gt 0 ]; do
    case $1 in
    --bin) bin=$2 && shift 2 ;;
    --jobs) jobs=$2 && shift 2 ;;
    --facts) facts=$2 && shift 2 ;;
    --sites) sites=$2 && shift 2 ;;
    *) echo "usage: $0 [--bin DIRECTORY] [--jobs N] [--facts N] [--sites N]" >&2; exit 2 ;;
    esac
done
directory=$(mktemp -d)
trap 'rm -rf "$directory"' EXIT
cp -r "$here"/../../../config/* "$directory"
site=$(ls "$directory"/sites/*.json | head -n 1)
name=$(sed -n 's/.*"site": *"\([^"]*\)".*/\1/p' "$site" | head -n 1)
for ((i = 2; i <= sites; i++)); do
    sed "s/\"site\": *\"$name\"/\"site\": \"$name-$i\"/" "$site" > "$directory/sites/more-$i.json"
done
sed -i 's|"journal": *"[^"]*"|"journal": "bench.db"|' "$directory/forelock.json"
"$bin/record_history" "$directory/forelock.json" "$jobs" "$facts"

slow=0
timed() { # NAME ARGUMENTS...
    local best=999999 took wall user system
    TIMEFORMAT='%3R %3U %3S'
    for _ in 1 2 3; do
        read -r wall user system < <({ time "$bin/forelock" record -c "$directory/forelock.json" \
            "${@:2}" > "$directory/out"; } 2>&1)
        took=$((10#${user/./} + 10#${system/./}))
        best=$((took < best ? took : best))
    done
    printf '%-28s %6d ms of the processor, %s s by the clock at last, %9d bytes\n' "$1" "$best" \
        "$wall" "$(stat -c %s "$directory/out")"
    [ "$best" -lt 1000 ] || slow=1
}
timed 'a site, five years, CSV' --site "$name" --csv
timed 'a site, five years, JSON' --site "$name" --json
timed 'a site, five years, text' --site "$name"
timed 'a site, one month, CSV' --site "$name" --from 2025-11-01 --to 2025-11-30 --csv
timed 'one job of the last, proved' "R-$(((jobs - 1) / sites * sites))" --site "$name" --json
if command -v sqlite3 > /dev/null; then
    began=$(date +%s%N)
    sqlite3 "$directory/bench.db" "SELECT sum(length(data)) FROM fact WHERE site = '$name'" > /dev/null
    printf '%-28s %6d ms\n' 'SQLite reads its rows' $((($(date +%s%N) - began) / 1000000))
fi
exit $slow
