#!/bin/sh
# The figures of `thou trend` on a book of 10,000 jobs (three an engine, sixteen springs each): one
# engine, every build with the commonest part, all jobs at once. Prints a line each; ends with 1
# when one is missed. JOBS=10000 ROUNDS=5.
set -eu
B=$(realpath "${B:-build}")
jobs=${JOBS:-10000} rounds=${ROUNDS:-5}
thou=$B/thou make_book=$B/bench/make-book run=$B/bench/run
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
unset THOU_BOOK
missed=0

judge() { # NAME LINE MOST: milliseconds of wall time
    value=$(awk -v line="$2" 'NR == line { printf "%.1f", $1 * 1000 }' r)
    if awk -v v="$value" -v most="$3" 'BEGIN { exit !(v <= most) }'; then word=ok; else
        word=MISSED missed=1; fi
    printf '%-46s %10s   at most %-8s %s\n' "$1, ms" "$value" "$3" "$word"
}

"$make_book" book "$jobs"
"$thou" find --book book nothing-of-this >/dev/null 2>&1 || true # the index is made
"$run" "$rounds" "exec $thou trend spring load --book book --engine GN-5" \
    "exec $thou trend spring load --book book --part HL-1450" \
    "exec $thou trend seat load --book book" >r
awk '$4 > 1 { bad = 1 } END { exit bad }' r || { echo "a command failed:"; cat r; exit 2; }
judge "one engine of $jobs jobs, whole process" 1 20
judge "every build with the commonest part, a fifth" 2 150
judge "all $jobs jobs at once" 3 1000
exit $missed
