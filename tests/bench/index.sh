#!/bin/sh
# The figures of the index: made cold against plain inserts of as many rows in one run, its size
# against the logs, and whole runs of find, against rg over the same files. Prints a line each; ends
# with 1 when one is missed. JOBS=10000 ROUNDS=5.
set -eu
B=$(realpath "${B:-build}")
jobs=${JOBS:-10000} rounds=${ROUNDS:-5}
thou=$B/thou run=$B/bench/run
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
unset THOU_BOOK
missed=0

judge() { # NAME VALUE MOST
    if awk -v v="$2" -v most="$3" 'BEGIN { exit !(v + 0 <= most + 0) }'; then word=ok; else
        word=MISSED missed=1; fi
    printf '%-46s %10s   at most %-8s %s\n' "$1" "$2" "$3" "$word"
}
ms() { awk -v line="$1" 'NR == line { printf "%.2f", $1 * 1000 }' r; }
ended() { awk '$4 != 0 { bad = 1 } END { exit bad }' r || { echo "a command failed:"; cat r; exit 2; }; }

"$B/bench/make-book" book "$jobs"
logs=$(cat book/jobs/* | wc -c)
export THOU_BOOK="$dir/book"
"$run" "$rounds" "rm -rf book/.thou; exec $thou find drawer" \
    "exec $B/bench/insert_rows plain.db $((jobs * 270))" >r
ended
printf '%s jobs, %s bytes: cold %s s (%s s of processor), %s plain rows %s s\n' "$jobs" "$logs" \
    "$(awk 'NR == 1 { print $1 }' r)" "$(awk 'NR == 1 { print $2 }' r)" "$((jobs * 270))" "$(awk 'NR == 2 { print $1 }' r)"
judge "cold index : plain inserts" "$(awk 'NR == 1 { a = $1 } NR == 2 { printf "%.2f", a / $1 }' r)" 1
judge "index file : logs" "$(stat -c %s book/.thou/index.db | awk -v l="$logs" '{ printf "%.2f", $1 / l }')" 1

sleep 3 # stamps that are younger than the index are not trusted
"$thou" find drawer >first 2>&1
"$run" $((rounds * 4)) "exec $thou find --as-is --limit 100 --part HL-1450" \
    "exec $thou find --as-is --limit 100 drawer" \
    "exec $thou find --as-is --limit 100 shim<.016" \
    "exec $thou find --limit 100 drawer" \
    "rg -c drawer book/jobs >/dev/null" "exec true" >r || true # -l would leave a file at its first hit
printf 'a process that does nothing takes %s ms\n' "$(ms 6)"
judge "find by part, as is, ms" "$(ms 1)" 10
judge "find by words, as is, ms" "$(ms 2)" 10
judge "find by value, as is, ms" "$(ms 3)" 10
judge "find by words, nothing changed, ms" "$(ms 4)" 25
judge "find by words : rg of one word" "$(awk 'NR == 4 { a = $1 } NR == 5 { printf "%.2f", a / $1 }' r)" 0.33
"$run" $((rounds * 2)) "echo 'Looked at again.' >>book/jobs/26-00007.job; exec $thou find --limit 100 drawer" \
    "echo 'Looked at again.' >>book/jobs/26-00007.job" >r
ended
judge "find after one edited job, ms" "$(ms 1)" 40
exit $missed
