#!/bin/sh
# thou past, on a book whose records are made here: when each reading came in, what was corrected,
# the log as it stood; against git itself.
#   sh tests/past.sh       B=build by default
. "$(dirname "$0")/tools/begin.sh"
begin_git "Kay Lund" kl@example.org
keep() { # "YYYY-MM-DD HH:MM"
    SOURCE_DATE_EPOCH=$(date -u -d "$1" +%s) "$thou" keep >"$dir/out" 2>"$dir/err" || fail "keep: $(cat "$dir/err")"
}

mkdir "$dir/book" && cd "$dir/book" || exit 2
"$thou" start >/dev/null || fail start
rm jobs/first.job
is "nothing yet" 1 "$("$thou" past >/dev/null 2>&1; echo $?)"
cat >jobs/31-002.job <<'LOG'
job = 31-002
layout = inline
cylinders = 4
valves per cylinder = 2

2031-03-02  First
spring set = S1
chamber 1..4 = 44.8 44.6 44.9 44.7 cc
bind height #1 = 1.142 in
bind height #2 = 1.412 in
spring load #1 = 183 lbf @ 1.720 in, 421 @ 1.220
LOG
keep "2031-03-02 18:00"
cp jobs/31-002.job "$dir/v1"
sed -i 's/1\.412 in/1.142 in/; s/chamber 1..4 = 44.8/chamber 1..4 = 44.9/' jobs/31-002.job
printf '\n2031-03-04  Heights\ninstalled height I1 = 1.732 in\n' >>jobs/31-002.job
keep "2031-03-05 12:30"
cp jobs/31-002.job "$dir/v2"
printf '\n2031-03-09 corrects 2031-03-04\ninstalled height I1 = 1.722 in\n' >>jobs/31-002.job
sed -i 's/^bind height #1 = 1.142 in/bind height #1 = 1.142 ? in/; s/^2031-03-02  First/2031-03-02  Springs and chambers/' jobs/31-002.job
keep "2031-03-09 08:15"
cp jobs/31-002.job "$dir/v3"
id() { git log --reverse --format=%H | sed -n "$1p"; }
short() { id "$1" | cut -c1-10; }

# --- the book's records
is "records of the book" "$(git log --format=%h --abbrev=10 | xargs)" \
    "$("$thou" past | sed -n 's/^  \([0-9a-f]\{10\}\) .*/\1/p' | xargs)"
is "as rows" "$(git log --format=%s)" \
    "$("$thou" past --json | sed 's/.*"summary":"\(.*\)"}$/\1/')"
is "as CSV" "$(($(git log --oneline | wc -l) + 1))" "$("$thou" past --csv | wc -l)"

# --- the corrections of a job
cat >"$dir/want" <<'TEXT'
corrections
  2031-03-05 12:30 Kay Lund chamber volume 1 corrected 44.8 -> 44.9 cc
  2031-03-05 12:30 Kay Lund bind height S1#2 corrected 1.412 -> 1.142 in
  2031-03-09 08:15 Kay Lund bind height S1#1 doubted (1.142 in)
  2031-03-09 08:15 Kay Lund installed height I1 corrected 1.732 -> 1.722 in,
    in the log
TEXT
"$thou" past 31-002 >"$dir/text" || fail "past"
is "corrections" "$(cat "$dir/want")" "$(sed -n '/^corrections/,/^$/p' "$dir/text" | sed '/^$/d')"
is "records" 3 "$(sed -n '/^records/,/^$/p' "$dir/text" | grep -c '^  [0-9a-f]')"

# --- when each reading came in
row() { "$thou" past 31-002 --json | grep "\"kind\":\"reading\"" | grep "\"tag\":\"$1\"" | grep "\"subject\":\"$2\""; }
came() { row "$1" "$2" | sed 's/.*"id":"\([^"]*\)".*/\1/' | sort -u; }
is "chamber 3 came first" "$(short 1)" "$(came "chamber volume" 3)"
is "chamber 1, corrected since, too" "$(short 1)" "$(came "chamber volume" 1)"
is "the new value" 1 "$(row "chamber volume" 1 | grep -c '"value":44.9,')"
is "a later entry" "$(short 2) $(short 3)" "$(row "installed height" I1 | sed 's/.*"id":"\([^"]*\)".*/\1/' | xargs)"
is "both points of a load" 2 "$(row "spring load" "S1#1" | wc -l)"
# git blame knows when a line last changed; for lines that never did, that is when they came in
is "as git blame has it" "$(git blame -s --abbrev=9 jobs/31-002.job | sed -n 's/^^\{0,1\}\([0-9a-f]*\).*spring load.*/\1/p' | cut -c1-9)" \
    "$(came "spring load" "S1#1" | cut -c1-9)"
is "lines are those of the file" "$(grep -n 'spring load' jobs/31-002.job | cut -d: -f1)" \
    "$(row "spring load" "S1#1" | sed 's/.*"line":\([0-9]*\)}$/\1/' | sort -u)"
is "old and new value" '"was":{"value":1.412,"unit":"in"},"value":1.142,"unit":"in"' \
    "$("$thou" past 31-002 --json | grep '"S1#2".*"change":"value"' | grep -o '"was".*"unit":"in"' | head -n 1)"

# --- the log as it stood
flat() { printf '%s' "$1" | sed 's/@[0-9a-f]\{10\}\.job/.job/g' | tr -s '\n ' ' '; }
for n in 1 2 3; do
    is "bytes of version $n" "$(cat "$dir/v$n")" "$(git show "$(id $n)":jobs/31-002.job)"
    cp "$dir/v$n" jobs/31-002.job
    want=$("$thou" sheet 31-002)
    cp "$dir/v3" jobs/31-002.job
    # files are named with their version, so lines can break elsewhere
    is "sheet of version $n" "$(flat "$want")" "$(flat "$("$thou" sheet "31-002@$(short $n)")")"
    "$thou" past 31-002 --at "$(id $n)" | tail -n +3 >"$dir/then"
    is "and by past" "$(flat "$want")" "$(flat "$(head -n "$(printf '%s\n' "$want" | wc -l)" "$dir/then")")"
done
is "by a day" "31-002 as in $(short 1), kept 2031-03-02 18:00 by Kay Lund" "$("$thou" past 31-002 --at 2031-03-04 | head -n 1)"
is "the day itself" "31-002 as in $(short 2), kept 2031-03-05 12:30 by Kay Lund" "$("$thou" past 31-002 --at 2031-03-05 | head -n 1)"
is "a moment" "31-002 as in $(short 1), kept 2031-03-02 18:00 by Kay Lund" "$("$thou" past 31-002 --at 2031-03-05T12:00 | head -n 1)"
is "before it began" 2 "$("$thou" past 31-002 --at 2031-03-01 >/dev/null 2>&1; echo $?)"
is "no such record" 2 "$("$thou" past 31-002 --at 0123456789 >/dev/null 2>&1; echo $?)"
# checked as today: the slip of the first version is found
printf 'limit bind height = at most 1.200 in\n' >>shop.vocab
is "with today's limits" 1 "$("$thou" past 31-002 --at "$(short 1)" | grep -c 'error: bind height S1#2 is 1.412 in')"
is "so it ends with 1" 1 "$("$thou" past 31-002 --at "$(short 1)" >/dev/null; echo $?)"
git checkout -q shop.vocab

# --- what is not kept yet, and a job that is gone
printf '\n2031-03-12  Lash\nlash I1 = .014 in\n' >>jobs/31-002.job
is "not kept yet" 1 "$("$thou" past 31-002 | grep -c 'lash I1 *\.014 in *not kept yet')"
is "in rows without an id" 1 "$("$thou" past 31-002 --json | grep '"tag":"lash"' | grep -vc '"id"')"
rm jobs/31-002.job
keep "2031-03-13 09:00"
is "a job that is gone" 4 "$("$thou" past 31-002 --json | grep -c '"kind":"record"')"
is "has its past" "31-002 as in $(short 3), kept 2031-03-09 08:15 by Kay Lund" "$("$thou" past 31-002 --at "$(short 3)" | head -n 1)"
is "none at all" 2 "$("$thou" past 99-999 >/dev/null 2>&1; echo $?)"

# --- the store can go at any time
"$thou" past 31-002 >"$dir/with"
rm -rf .thou
"$thou" past 31-002 >"$dir/without"
is "the same without its store" "$(cat "$dir/with")" "$(cat "$dir/without")"
is "git fsck" "" "$(git fsck --strict --no-dangling 2>&1 | grep -v '^notice')"
is "status" "" "$(git status --porcelain)"

# --- libgit2 is loaded by nobody else
if command -v strace >/dev/null; then
    for c in "check" "sheet --book $here/examples 26-014" "why --book $here/examples 26-014 chamber 1"; do
        strace -f -e trace=openat -o "$dir/trace" "$thou" $c >/dev/null 2>&1
        is "no libgit2 for $c" 0 "$(grep -c 'libgit2' "$dir/trace")"
    done
fi
is "nor linked" 0 "$(ldd "$thou" 2>/dev/null | grep -c libgit2)"

end_checks
