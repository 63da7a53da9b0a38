#!/bin/sh
# The factors of the trade's units against GNU units, which has its own definitions.
# Usage: units.sh PROGRAM, the program that prints the table.
set -eu

table=$("$1")
seen=0
tab=$(printf '\t')

# The unit in the words of GNU units (its prefix US, in capitals, would mean survey measure).
words() {
    case $1 in
    "in WC") echo "inH2O" ;;
    gal) echo "usgallon" ;;
    ft3) echo "foot^3" ;;
    ft) echo "foot" ;;
    in) echo "inch" ;;
    in3) echo "inch^3" ;;
    gal/h) echo "usgallon/hour" ;;
    psi) echo "psi" ;;
    kPa) echo "kilopascal" ;;
    ml) echo "milliliter" ;;
    ft.lbf) echo "foot lbf" ;;
    CFH) echo "foot^3/hour" ;;
    gpm) echo "usgallon/minute" ;;
    ml/gal) echo "milliliter/usgallon" ;;
    Pa) echo "pascal" ;;
    L) echo "liter" ;;
    m) echo "meter" ;;
    mm) echo "millimeter" ;;
    N.m) echo "newton meter" ;;
    L/h) echo "liter/hour" ;;
    L/min) echo "liter/minute" ;;
    ml/L) echo "milliliter/liter" ;;
    *)
        echo "units.sh: no words for $1" >&2
        exit 1
        ;;
    esac
}

while IFS=$tab read -r unit si factor; do
    from=$(words "$unit")
    to=$(words "$si")
    expected=$(units --terse --output-format '%.17g' "$from" "$to")
    # Both are doubles; they may differ by the last bit of the way they were worked out.
    if ! awk -v a="$factor" -v b="$expected" \
        'BEGIN { d = a - b; if (d < 0) d = -d; exit !(b > 0 && d <= 4.5e-16 * b) }'; then
        echo "units.sh: one $unit is $expected $si by GNU units, $factor here" >&2
        exit 1
    fi
    seen=$((seen + 1))
done <<TABLE
$table
TABLE

if [ "$seen" -ne 12 ]; then
    echo "units.sh: $seen units with a twin, 12 expected" >&2
    exit 1
fi
echo "units.sh: $seen factors agree with GNU units"
