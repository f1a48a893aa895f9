#!/bin/sh
# The program from outside: exit codes, messages, where answers go, what it never does.
#   sh tests/cli.sh       B=build by default
. "$(dirname "$0")/tools/begin.sh"

fail() {
    failed=$((failed + 1))
    echo "FAIL $what: $1"
    sed 's/^/  out: /' "$dir/out" | head -n 5
    sed 's/^/  err: /' "$dir/err" | head -n 5
}
# run EXIT-CODE WHAT ARGUMENTS...: in the present folder
run() {
    want=$1 what=$2
    shift 2
    "$thou" "$@" >"$dir/out" 2>"$dir/err" </dev/null
    got=$?
    checks=$((checks + 1))
    [ $got -eq "$want" ] || fail "ended with $got, not $want"
}
says() { # FILE TEXT: the last run's out or err holds the text
    checks=$((checks + 1))
    grep -qF -e "$2" "$dir/$1" || fail "no '$2' in $1"
}
silent() { # FILE
    checks=$((checks + 1))
    [ ! -s "$dir/$1" ] || fail "$1 is not empty"
}
holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >/dev/null 2>&1 || fail "does not hold"
}

mkdir -p "$dir/book/jobs" "$dir/book/parts" "$dir/book/deep/er" "$dir/alone"
cd "$dir/book" || exit 2
good='layout = inline
cylinders = 4
valves per cylinder = 2

2026-03-02  First
chamber 1..4 = 44.8 44.6 44.9 44.7 cc
'
printf '%s' "$good" >jobs/26-001.job
printf '%s' "$good" >jobs/26-002.job
printf '%schamver 1 = 44.8 cc\n' "$good" >jobs/25-100.job
printf '%schamber 1 44.8 cc\n' "$good" >jobs/24-777.job
printf 'bind height = 1.140 in\n' >parts/P-1.part
printf 'units = us\n' >shop.vocab

# the program itself
run 2 "no command"
says out "thou COMMAND"
run 0 "--help" --help
run 0 "--version" --version
says out "thou 0."
run 2 "a mistyped command" chekc
says err "did you mean 'check'?"
run 0 "help" help
run 0 "help of a command" help check
cp "$dir/out" "$dir/help"
run 0 "-h of a command" check -h
holds "-h and help say the same" cmp -s "$dir/out" "$dir/help"
run 2 "help of nothing" help nosuchthing
for command in start new check sheet why help; do
    run 0 "$command --help" $command --help
    says out "thou $command"
    says out "Options"
done

# options
run 2 "an unknown option" check --jsn
says err "--jsn"
says err "did you mean '--json'?"
silent out
run 2 "an unknown letter" check -z
run 2 "a flag with a value" check --json=yes
run 2 "an option without its value" sheet 26-001 --at
says err "--at wants a value"
run 2 "an option twice" check --json --json
run 2 "a date that is none" sheet 26-001 --at 2026-02-30
says err "no day '2026-02-30'"
run 2 "a date of another form" sheet 26-001 --at 3/2/2026
run 2 "a choice that is none" sheet 26-001 --units furlongs
says err "metric|us"
run 2 "a count of nothing" check --jobs 0
run 2 "too large a count" check --jobs 99999999999999999999
run 2 "two answers at once" sheet 26-001 --json --csv
run 0 "glued and apart" sheet 26-001 --units=us --at 2026-03-02
run 2 "too few words" sheet
says err "thou sheet JOB"
run 2 "too many words" sheet 26-001 26-002
says err "'26-002' is one word too many"
run 2 "-- ends the options" check -- --json
says err "no job '--json'"

# check
run 0 "a good job" check 26-001
silent out
silent err
run 1 "a job with an error" check 25-100
says out "jobs/25-100.job:7:1: error: "
says out "[unknown-tag]"
says err "1 job, 1 error, 0 warnings"
run 0 "only a warning" check 24-777
says out "[looks-like-reading]"
run 1 "the whole book" check
says err "4 jobs, 1 error, 1 warning"
cp "$dir/out" "$dir/one"
run 1 "the whole book with eight threads" check --jobs 8
holds "threads change nothing" cmp -s "$dir/out" "$dir/one"
run 1 "as JSON" check --json
says out '"code":"unknown-tag"'
silent err
run 0 "the codes" check --list
says out "unknown-tag"
says out "limit-broken"
run 0 "the codes as JSON" check --list --json
says out '{"code":"unknown-tag","level":"error"'
run 1 "a path" check ./jobs/25-100.job
says out "./jobs/25-100.job:7:1"

# why
run 0 "why, in words" why 26-001 chamber spread
says out "0.3 cc"
run 0 "why, of a place" why 26-001 chamber volume 3
says out "44.9 cc"
cat >jobs/26-020.job <<'EOF'
job = 26-020
layout = inline
cylinders = 4

2026-01-02  Two hands, two mics
gauge HM1 = reads .003 in high
by = Ada
with = HM1
piston below deck 1 = .010 in
by = Ben
with = HM2
piston below deck 2 = .012 in
EOF
run 0 "why says who read it, with what" why 26-020 piston below deck 1
says out "corrected for its gauge 0.007 in"
says out "by Ada"
run 0 "also below another name" why 26-020 piston below deck 2
says out "by Ben with HM2"
rm jobs/26-020.job
run 2 "why of a mistyped quantity" why 26-001 chamver volume 3
says err "did you mean 'chamber volume'"
run 2 "why of a place that is not there" why 26-001 chamber volume 9
says err "'9' is no place"
run 0 "why of a place that no line names" why 26-001 installed height I4
says out "installed height I4 is missing"
run 0 "why of all such places" why 26-001 installed height
says out "installed height E4 is missing"
run 0 "and of an earlier day" why 26-001@2026-03-02 installed height I4
says out "installed height I4 is missing"
run 2 "why of one that the layout has not" why 26-001 installed height I5
says err "'I5' is no place"
run 2 "why of nothing" why 26-001

# which job
run 0 "a unique part" check 001
run 2 "an ambiguous part" check 26-0
says err "could be 2 jobs: '26-001', '26-002'"
run 2 "a near name" check 26-011
says err "did you mean"
run 2 "no name" check ""
run 2 "a file that is not there" check jobs/26-999.job
says err "jobs/26-999.job"
run 2 "a folder for a file" check ./jobs
says err "is a folder"
cd deep/er || exit 2
run 1 "found from below" check
says out "../../jobs/25-100.job:7:1"
cd "$dir/alone" || exit 2
run 2 "no book" check
says err "there is no book here"
run 2 "a name and no book" check 26-001
run 1 "--book" check --book ../book
run 2 "--book that is not there" check --book ../nothing
export THOU_BOOK=../book
run 1 "THOU_BOOK" check
run 0 "THOU_BOOK and a name" check 26-002
run 2 "--book before THOU_BOOK" check --book ../nothing
unset THOU_BOOK
printf '%s' "$good" >lone.job
run 0 "a lone file" check lone.job
run 0 "a lone file's sheet" sheet lone.job
says out "44.8"
printf 'spring part = P-1\n' >part.job
run 1 "a lone file has no cards" check part.job
says out "[part-missing]"
cp part.job ../book/jobs/26-003.job
run 0 "a job of the book has" check ../book/jobs/26-003.job
mkdir -p ../other/jobs
cp part.job ../other/jobs/1.job
export THOU_BOOK=../book
run 1 "a file of another book has none of THOU_BOOK's" check ../other/jobs/1.job
unset THOU_BOOK

# cards and the shop's vocabulary
cd "$dir/book" || exit 2
printf 'bynd height = 1.140 in\n' >parts/P-1.part
run 1 "a card's fault, by the job that names it" check 26-003
says out "parts/P-1.part:1:1: error: "
run 0 "and not by another" check 26-001
run 1 "a card by its path" check parts/P-1.part
printf 'bynd height = 1.140 in\n' >parts/P-2.part
run 1 "all cards with the whole book" check
says out "parts/P-2.part:1:1: error: "
rm parts/P-2.part
printf 'quantity = port match\n  colour = red\n' >shop.vocab
run 1 "a fault in the shop's vocabulary" check 26-001
says out "shop.vocab:2:3: error: "
says err "not checked"
run 1 "and nothing is computed with it" sheet 26-001
silent out
printf 'units = us\n' >shop.vocab
printf 'bind height = 1.140 in\n' >parts/P-1.part

# files that cannot be read or written
if [ "$(id -u)" != 0 ]; then
    chmod 0 jobs/26-002.job
    run 2 "a file that cannot be read" check 26-002
    says err "26-002.job"
    run 2 "and the rest is checked" check
    says out "25-100.job:7:1"
    chmod 644 jobs/26-002.job
fi
ln -s nowhere jobs/26-900.job
run 2 "a dangling link, and the rest is checked" check
says err "jobs/26-900.job"
says out "25-100.job:7:1"
rm jobs/26-900.job
what="stdout closed"
"$thou" check 25-100 >&- 2>"$dir/err"
holds "$what" test $? -eq 2
what="a full disk"
"$thou" check 25-100 >/dev/full 2>"$dir/err"
holds "$what" test $? -eq 2
holds "and it is said" grep -q "could not be written" "$dir/err"
"$thou" check --list 2>"$dir/quiet" | head -n 1 >/dev/null
holds "a reader that goes away is no error to talk of" test ! -s "$dir/quiet"

# new and start
run 0 "new" new 26-010 --layout V --cylinders 8 --valves 2 --day 2026-04-01
says out "jobs/26-010.job"
holds "a row for every valve" sh -c 'test $(grep -c "^[IE][1-8] .*|" jobs/26-010.job) -eq 16'
holds "a row for every cylinder" sh -c 'test $(grep -c "^[1-8] .*|" jobs/26-010.job) -eq 8'
holds "its day" grep -q "^2026-04-01 " jobs/26-010.job
run 0 "what new makes is fine" check 26-010
echo "note" >>jobs/26-010.job
cp jobs/26-010.job "$dir/was"
run 2 "new never overwrites" new 26-010
says err "there already"
holds "not a byte" cmp -s jobs/26-010.job "$dir/was"
run 2 "a layout that is none" new 26-011 --layout spiral --cylinders 8
holds "and nothing was written" test ! -e jobs/26-011.job
run 2 "a name with a slash" new ../26-011
run 0 "like another" new 26-012 --like 26-010
holds "the same rows" sh -c 'test $(grep -c "^[IE][1-8] .*|" jobs/26-012.job) -eq 16'
run 2 "like another, but not" new 26-013 --like 26-010 --cylinders 4
run 0 "without places" new bench
says err "no rows"
printf ';; ours\njob = {job}\n\n{day}  In\n\n{cylinder} | - |\n' >template.job
run 0 "the shop's own template" new 26-014
holds "is used" grep -q "  In" jobs/26-014.job
printf '{cilinder} | -\n' >template.job
run 2 "a template with a slip" new 26-015
says err "{cilinder}"
rm template.job
ls "$dir/book/jobs" >"$dir/files"
holds "no temporary file stays" sh -c '! ls -A jobs | grep -q "\.new$"'
cd "$dir" || exit 2
run 0 "start" start shop
says out "shop/jobs/first.job"
run 0 "its first job is fine" check --book shop
holds "a shop.vocab" test -s shop/shop.vocab
holds ".thou is ignored" grep -qx "\.thou/" shop/.gitignore
echo "mine" >shop/shop.vocab
run 0 "start again" start shop
silent out
holds "and nothing is touched" grep -qx mine shop/shop.vocab
touch file
run 2 "start in a file" start file

# --- a correcting entry: its readings belong to the day they correct, all else to its own
mkdir -p corrected/jobs && cat >corrected/jobs/a.job <<'LOG'
layout = inline
cylinders = 2
valves per cylinder = 2

2026-11-02 First
owner = A. Verrin
spring I1 = S#1

2026-11-04 Sold, and another spring
owner = B. Hallam
spring I1 = S#3

2026-11-06 corrects 2026-11-02
owner = C. Orm
spring I1 = S#2
chamber 1 = 44.0 cc
LOG
for day in '02 A. Verrin S#1' '04 B. Hallam S#3' '06 C. Orm S#2'; do
    set -- $day
    run 0 "the sheet of the ${1}th" sheet a --book corrected --at "2026-11-$1"
    says out "$2 $3"
    says out "$4"
    says out '44.0'
done

# --- more gauges found off than there is room for, in the log that another continues
{
    printf 'layout = inline\ncylinders = 2\nvalves per cylinder = 2\n\n2026-11-02  Gauges\n'
    i=0
    while [ $i -lt 70 ]; do echo "gauge HM$i = reads .003 in high"; i=$((i + 1)); done
} >corrected/jobs/b.job
printf 'continues = b\n\n2026-11-09  On\nchamber 1 = 44.0 cc\n' >corrected/jobs/c.job
run 1 "too many gauges in the log before" check c --book corrected
says out 'corrected/jobs/c.job:1:1: error: this log tells of more than 64 gauges'

end_checks
