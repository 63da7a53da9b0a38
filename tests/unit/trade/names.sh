#!/bin/sh
# Holds what must name the trade's rules to their table: the schemas of procedures and districts have
# every rule and no other; the pages have no word for a rule, reading or choice that is none.
# Usage: names.sh PROGRAM ROOT. After a rule changed: names.sh PROGRAM ROOT --write (the schemas).
set -eu

program=$1
root=$2
made=$(mktemp)
trap 'rm -f "$made"' EXIT

# The schema with the words of a test's rule written anew; null stays where a rule may be left out.
schema() {
    awk -v rules="$("$program" names)" '
        /"rule": \{/ { of_rule = 1 }
        of_rule && /"enum": \[/ { print; inside = 1; next }
        inside && /null/ { null = 1; next }
        inside && /\]/ {
            count = split(rules, rule, "\n")
            indent = $0; sub(/[^ ].*/, "  ", indent)
            for (i = 1; i <= count; i++)
                printf "%s\"%s\"%s\n", indent, rule[i], i < count || null ? "," : ""
            if (null) printf "%snull\n", indent
            of_rule = inside = null = 0
        }
        !inside { print }
    ' "$1"
}

for name in procedure district; do
    file=$root/docs/schema/$name.schema.json
    schema "$file" >"$made"
    if [ "${3:-}" = --write ]; then
        cat "$made" >"$file"
    fi
    if ! diff -u "$file" "$made"; then
        echo "names.sh: $file does not name the rules that there are" >&2
        exit 1
    fi
done

"$program" keys | sort -u >"$made"
stale=$(sed -n "s/^ *'\(\(rule\|reading\|choice\|hint\)\.[^']*\)':.*/\1/p" \
    "$root"/daemon/page/*/*-words.js | sort -u | grep -vxF -f "$made" || true)
if [ -n "$stale" ]; then
    echo "names.sh: the pages have words for what no rule has:" "$stale" >&2
    exit 1
fi
