#!/bin/sh
# The figures of `thou check`: the whole book against `wc -w` over the same files in one run, one
# job, how time grows with the book and with one log, and memory. Prints a line each; ends with 1
# when one is missed. JOBS=10000 LOG=50 (megabytes) ROUNDS=5; BIG=1 adds a book of 100,000 jobs.
set -eu
B=$(realpath "${B:-build}")
jobs=${JOBS:-10000} log=${LOG:-50} rounds=${ROUNDS:-5}
thou=$B/thou make_book=$B/bench/make-book run=$B/bench/run
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
unset THOU_BOOK
missed=0

judge() { # NAME VALUE MOST WHAT
    if awk -v v="$2" -v most="$3" 'BEGIN { exit !(v + 0 <= most + 0) }'; then word=ok; else
        word=MISSED missed=1; fi
    printf '%-46s %10s   at most %-8s %s\n' "$1" "$2" "$3" "$word"
}
field() { awk -v line="$2" -v at="$3" 'NR == line { print $at }' "$1"; }
ended() { # FILE: every command ended with 0 or 1
    awk '$4 > 1 { bad = 1 } END { exit bad }' "$1" || { echo "a command failed:"; cat "$1"; exit 2; }
}

"$make_book" book "$jobs"
words="cd book && find jobs -name '*.job' -print0 | xargs -0 wc -w"
"$run" "$rounds" "exec $thou check --book book" "$words" "exec $thou check --jobs 1 --book book" >r
ended r
printf '%s jobs, %s bytes: check %s s (%s s of processor), wc -w %s s, check with one thread %s s\n' \
    "$jobs" "$(cat book/jobs/* | wc -c)" "$(field r 1 1)" "$(field r 1 2)" "$(field r 2 1)" "$(field r 3 1)"
judge "check of the book : wc -w of its files" "$(awk 'NR == 1 { a = $1 } NR == 2 { printf "%.2f", a / $1 }' r)" 1
judge "memory for the book, MB" "$(awk 'NR == 1 { printf "%.1f", $3 / 1024 }' r)" 64

one=book/jobs/26-00001.job
"$run" 40 "exec $thou check $one" "exec true" >r
ended r
judge "one job, whole process, ms" "$(awk 'NR == 1 { printf "%.2f", $1 * 1000 }' r)" 5

# a tenth of the jobs must take about a tenth of the time: 1.5 leaves room for start-up and noise
"$make_book" tenth $((jobs / 10))
"$run" "$rounds" "exec $thou check --book tenth" "exec $thou check --book book" >r
ended r
judge "time a job, book : a tenth of it" "$(awk 'NR == 1 { a = $1 } NR == 2 { printf "%.2f", $1 / a / 10 }' r)" 1.5
rm -rf tenth
if [ -n "${BIG:-}" ]; then
    "$make_book" big $((jobs * 10))
    "$run" 2 "exec $thou check --book book" "exec $thou check --book big" >r
    ended r
    judge "time a job, ten books : one" "$(awk 'NR == 1 { a = $1 } NR == 2 { printf "%.2f", $1 / a / 10 }' r)" 1.5
    judge "memory for ten books, MB" "$(awk 'NR == 2 { printf "%.1f", $3 / 1024 }' r)" 64
    rm -rf big
fi

"$make_book" --log tenth.job $((log / 10))
"$make_book" --log whole.job "$log"
"$run" 2 "exec $thou check tenth.job" "exec $thou check whole.job" >r
ended r
printf 'one log of %s MB: %s s, %s MB\n' "$log" "$(field r 2 1)" "$(awk 'NR == 2 { printf "%.0f", $3 / 1024 }' r)"
judge "time a byte, log : a tenth of it" "$(awk 'NR == 1 { a = $1 } NR == 2 { printf "%.2f", $1 / a / 10 }' r)" 1.5
judge "memory a byte, log : a tenth of it" "$(awk 'NR == 1 { a = $3 } NR == 2 { printf "%.2f", $3 / a / 10 }' r)" 1.5
exit $missed
