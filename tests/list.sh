#!/bin/sh
# thou list: every job of the book, with what thou check and the logs say of it.
. "$(dirname "$0")/tools/begin.sh"
export COLUMNS=80

fail() {
    failed=$((failed + 1))
    echo "FAIL $what: $1"
    head -n 4 "$dir/out" | sed 's/^/  out: /'
    head -n 3 "$dir/err" | sed 's/^/  err: /'
}
run() { # EXIT-CODE WHAT ARGUMENTS...
    want=$1 what=$2
    shift 2
    "$thou" "$@" >"$dir/raw" 2>"$dir/err" </dev/null
    got=$?
    tr -d '\r' <"$dir/raw" >"$dir/out"
    checks=$((checks + 1))
    [ $got -eq "$want" ] || fail "ended with $got, not $want"
}
has() { # FILE REGEX
    checks=$((checks + 1))
    grep -q -e "$2" "$dir/$1" || fail "no '$2' in $1"
}
holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >/dev/null 2>&1 || fail "does not hold"
}

# the examples: as many findings as check has, one row a job
cd "$here/examples" || exit 2
"$thou" check --json >"$dir/check" 2>/dev/null
run 0 "as CSV" list --csv
cp "$dir/out" "$dir/csv"
for path in jobs/*.job; do
    name=$(basename "$path" .job)
    errors=$(grep -c "\"file\":\"$path\".*\"level\":\"error\"" "$dir/check")
    warnings=$(grep -c "\"file\":\"$path\".*\"level\":\"warning\"" "$dir/check")
    last=$(sed -n 's/^ *\([0-9]\{4\}-[0-9][0-9]-[0-9][0-9]\).*/\1/p' "$path" | sort | tail -n 1)
    what="the row of $name"
    checks=$((checks + 1))
    grep -q "^$name,$path,.*,$last,[^,]*,[^,]*,$errors,$warnings\$" "$dir/csv" ||
        fail "not with $errors, $warnings, $last: $(grep "^$name," "$dir/csv")"
done
holds "and no row more" test "$(wc -l <"$dir/csv")" -eq $(($(ls jobs/*.job | wc -l) + 1))
run 0 "text" list
has out '^26-011   2026-02-25       0         0  14.5 h  MS-355-0071  Oxlode Oval Racing$'
holds "a line a job, the newest first" test "$(sed 1d "$dir/out" | awk '$2 ~ /-/ {print $2}' |
    sort -r -c 2>&1 | wc -l)" -eq 0
holds "no line over 80" test "$(awk 'length > 80' "$dir/out" | wc -l)" -eq 0
COLUMNS=40 run 0 "narrow" list
holds "no line over 40" test "$(awk 'length > 40' "$dir/out" | wc -l)" -eq 0
has out '^    97 h, OS-23-1187, P. Quessel$'

# a book of its own: orders, what a log does not say, what cannot be read
mkdir -p "$dir/book/jobs"
cd "$dir/book" || exit 2
job() { # NAME OWNER ENGINE LAST-DAY RUN
    printf 'owner = %s\nengine = %s\n\n%s  Seen\n%s\n' "$2" "$3" "$4" "$5" >"jobs/$1.job"
}
run 1 "an empty book" list
has err 'no jobs yet'
job a-1 "Ümit Weir" E-3 2026-01-01 "run time = 12.50 h"
job a-2 "B. Holm" E-1 2026-03-01 "run time = 90 min"
job a-3 "A very long name of an owner that does not fit on any line" E-2 2026-02-01 "chamver = 1"
printf 'just a note\n' >jobs/a-4.job
run 0 "with bare logs" list --csv
order() { # WHAT NAMES...
    checks=$((checks + 1))
    what=$1 got=$(sed '1d; s/,.*//' "$dir/out" | tr '\n' ' ')
    [ "$got" = "$2 " ] || fail "in the order $got"
}
order "by the last entry" "a-2 a-3 a-1 a-4"
has out '^a-4,jobs/a-4.job,,,,,,,,,0,0$'
has out '^a-1,.*,12.50,h,0,0$'
run 0 "by owner" list --csv --by owner
order "by owner" "a-3 a-2 a-1 a-4"
run 0 "by engine" list --csv --by engine
order "by engine" "a-2 a-3 a-1 a-4"
run 0 "by hours" list --csv --by run
order "by hours, whatever their unit" "a-1 a-2 a-3 a-4"
run 0 "by findings" list --csv --by findings
order "by findings" "a-3 a-2 a-1 a-4"
run 0 "by name" list --csv --by job
order "by name" "a-1 a-2 a-3 a-4"
for width in 20 40 60 80 120; do
    COLUMNS=$width run 0 "at $width columns" list
    holds "valid text at $width columns" iconv -f UTF-8 -t UTF-8 "$dir/out"
done
run 2 "an order there is not" list --by mood
has err 'wants last|job|'
ln -s nowhere jobs/a-5.job
run 2 "a log that cannot be read" list
has out '^a-5 *unread'
has err 'a-5.job'
rm jobs/a-5.job
printf 'quantity = x\n' >shop.vocab
run 2 "a faulty shop.vocab" list
cd / || exit 2
run 2 "no book" list
has err 'no book here'

end_checks
