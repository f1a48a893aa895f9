#!/bin/sh
# The figures of `thou fit`: the whole program on logs of 16 valves with 24 springs and of 32 with 64,
# four sizes of shim, stacks of up to three. The search alone, also with a drawer that runs
# short, is tests/bench/fit.c. Prints a line each; ends with 1 when one is missed.
set -eu
B=$(realpath "${B:-build}")
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
unset THOU_BOOK
missed=0
judge() { # NAME VALUE MOST
    if awk -v v="$2" -v most="$3" 'BEGIN { exit !(v + 0 <= most + 0) }'; then word=ok; else
        word=MISSED missed=1; fi
    printf '%-46s %10s   at most %-8s %s\n' "$1" "$2" "$3" "$word"
}
log() { # CYLINDERS SPRINGS: two valves a cylinder
    awk -v cylinders="$1" -v springs="$2" 'function r(a, b) { return a + int(rand() * (b - a + 1)) }
    BEGIN {
        srand(7)
        printf "job = bench\nlayout = inline\ncylinders = %d\nvalves per cylinder = 2\n\n2026-01-02  Parts\n", cylinders
        print "spring set = S1\naim seat load = 100 lbf\nlimit seat load = 92 .. 108 lbf by shop"
        print "limit bind clearance = at least .050 in by shop\nvalve lift I = each .450 in\nvalve lift E = each .450 in"
        print "shim stock = many x .015, many x .020, many x .030, many x .060 in"
        print "spring | spring load lbf @ 1.800 in | spring load lbf @ 1.300 in | bind height in"
        for (i = 1; i <= springs; i++) printf "#%d | %.1f | %.1f | %.3f\n", i, r(860, 1000) / 10, r(1900, 2050) / 10, r(1230, 1260) / 1000
        print "\n2026-01-03  Heights\nvalve | bare height | shim"
        for (i = 1; i <= cylinders; i++) printf "I%d | %.3f | 0\nE%d | %.3f | 0\n", i, r(1790, 1850) / 1000, i, r(1790, 1850) / 1000
    }'
}
log 8 24 >"$dir/16.job"
log 16 64 >"$dir/32.job"
for n in 16 32; do
    "$B/bench/run" 10 "exec $B/thou fit --json $dir/$n.job" "exec true" >"$dir/r"
    "$B/thou" fit --json "$dir/$n.job" | tail -n 1
    judge "thou fit, $n valves, whole process, ms" "$(awk 'NR == 1 { printf "%.1f", $1 * 1000 }' "$dir/r")" "$([ $n = 16 ] && echo 10 || echo 50)"
done
exit $missed
