#!/bin/sh
# Holds the generated part of docs/trade.md to the rules. Usage: page.sh PROGRAM docs/trade.md
# After a rule changed: page.sh PROGRAM docs/trade.md --write
set -eu

page=$2
made=$(mktemp)
trap 'rm -f "$made"' EXIT
sed '/^<!-- from here on written by/q' "$page" >"$made"
{
    echo
    "$1"
} >>"$made"
if [ "${3:-}" = --write ]; then
    cat "$made" >"$page"
fi
if ! diff -u "$page" "$made"; then
    echo "page.sh: $page does not say what the rules do" >&2
    exit 1
fi
