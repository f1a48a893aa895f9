#!/bin/sh
# Every row of the table of units against GNU units, where that is installed.
set -eu
B=${B:-build}
if ! command -v units >/dev/null 2>&1; then
    echo "GNU units is not installed: its factors were not compared"
    echo "0 checks"
    exit 0
fi
export LC_ALL=C.UTF-8

# What GNU units calls it, where that is not our name.
gnu_name() {
    case $1 in
    thou) echo "mil" ;;
    uin) echo "microinch" ;;
    um) echo "micrometer" ;;
    in2) echo "in^2" ;; mm2) echo "mm^2" ;; cm2) echo "cm^2" ;;
    in3) echo "in^3" ;;
    ozf) echo "ounce force" ;;
    "ozf in") echo "ounce force in" ;;
    inH2O) echo "inch water" ;;
    inHg) echo "inch Hg" ;;
    mmHg) echo "mm Hg" ;;
    cfm) echo "ft^3/min" ;;
    m3/h) echo "m^3/hour" ;;
    L/s) echo "liter/s" ;; L/min) echo "liter/min" ;; L) echo "liter" ;;
    PS) echo "metrichorsepower" ;;
    km/h) echo "km/hour" ;;
    h) echo "hour" ;;
    deg) echo "degree" ;; rad) echo "radian" ;;
    rpm) echo "revolution/min" ;; rev) echo "revolution" ;;
    degC) echo "K" ;; degF) echo "degF" ;;
    m/s2) echo "m/s^2" ;; ft/s2) echo "ft/s^2" ;;
    gn) echo "gravity" ;;
    g/cm3) echo "g/cm^3" ;; kg/m3) echo "kg/m^3" ;; lb/in3) echo "lb/in^3" ;; lb/ft3) echo "lb/ft^3" ;;
    %) echo "percent" ;;
    "") echo "1" ;;
    *) echo "$1" ;;
    esac
}

checks=0 failed=0
same() { # what, ours, theirs
    checks=$((checks + 1))
    if ! awk -v a="$2" -v b="$3" 'BEGIN { d = a - b; if (d < 0) d = -d; s = b < 0 ? -b : b
                                          exit !(b == b + 0 && d <= 1e-12 * s) }'; then
        echo "$1: thou has $2, GNU units has $3"
        failed=$((failed + 1))
    fi
}

list=$(mktemp)
trap 'rm -f "$list"' EXIT
"$B/test/units" --list >"$list"
while IFS='|' read -r name factor offset length mass time temperature angle; do
    theirs=$(gnu_name "$name")
    si="m^$length kg^$mass s^$time K^$temperature radian^$angle"
    same "$name" "$factor" "$(units -t -o '%.15g' "1 $theirs" "$si" 2>&1 || true)"
    case $name in
    degC) same "0 degC" "$offset" "$(units -t -o '%.15g' 'tempC(0)' K)" ;;
    degF) same "0 degF" "$offset" "$(units -t -o '%.15g' 'tempF(0)' K)" ;;
    esac
done <"$list"
[ "$checks" -gt 50 ] || { echo "the list of units is short: $checks"; exit 1; }
echo "$checks checks"
[ "$failed" -eq 0 ]
