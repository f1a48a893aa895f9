#!/bin/sh
# thou trend on the book in examples/: what its story says must come out (design: the springs of two
# shops), the numbers against sums done here from the logs, the rows against each other, and what it
# says when it cannot.
. "$(dirname "$0")/tools/begin.sh"
export COLUMNS=80 NO_COLOR=1
cp -r "$here/examples" "$dir/book" || exit 2
cd "$dir/book" || exit 2

has() { # WHAT PATTERN, in the file `out`
    checks=$((checks + 1))
    grep -Eq -- "$2" "$dir/out" || { failed=$((failed + 1)); echo "not so: $1 ($2)"; }
}
hasnt() {
    checks=$((checks + 1))
    ! grep -Eq -- "$2" "$dir/out" || { failed=$((failed + 1)); echo "not so: $1 ($2)"; }
}
trend() { "$thou" trend "$@" >"$dir/out" 2>&1; code=$?; }
ends() { # WHAT CODE
    checks=$((checks + 1))
    [ "$code" = "$2" ] || { failed=$((failed + 1)); echo "not so: $1 (ended with $code)"; }
}
same() { # WHAT GOT WANTED
    checks=$((checks + 1))
    [ "$2" = "$3" ] || { failed=$((failed + 1)); echo "not so: $1 (got $2, wanted $3)"; }
}
value() { # KEY of the line of `out` that holds $2
    grep -- "$2" "$dir/out" | sed -n "s/.*\"$1\":\(\"[^\"]*\"\|[-0-9.e+]*\).*/\1/p" | tr -d '"' | head -1
}

# ---- the launch: 4E took a set, its new spring has 43 h ------------------------------------------
trend spring load 25-041
ends "an answer" 0
has "the height is stated" '^spring load at 1\.700 in, lbf, over hours$'
has "E4's first spring" '^  S23#3 +E4 +2 +95\.5 +80\.5 +-15\.0 +-15\.7 .* drifting'
has "and why some drift though the rate may be 0" '^  Drifting by first and last, further apart than readings repeat to; how fast'
has "it is the odd one" 'Odd one out.*: S23#3 \(E4\)\.$'
has "and it took a set" 'Changed alike at every height \(it took a set\):.*S23#3'
hasnt "no rate fell there" 'its rate fell'
has "the struck 291.5 is left out and counted" 'Left out: 1 struck\.'
has "nothing was set up for the spare" '^  S23#13 +I1 +2 +99\.0 +99\.0 .* not enough readings'

trend spring load --json 25-041
same "a line a spring" "$(grep -c '"kind":"series"' "$dir/out")" 14
same "the chain counts each visit once" "$(value n '"item":"S23#2"')" 3
same "the new spring of E4" "$(grep '"item":"S23#14"' "$dir/out" | grep -c '"x":43,"value":96')" 1
# by hand: (96.0 - 99.0) / 43 h
same "its rate" "$(value rate '"item":"S23#14"' | cut -c1-9)" "-0.069767"
# least squares of (0, 99.5) (38, 97.0) (81, 95.5): -161.833/3284.667, done with bc
sxy=$(echo 'scale=9; m=119/3; y=292/3; (0-m)*(99.5-y)+(38-m)*(97-y)+(81-m)*(95.5-y)' | bc)
sxx=$(echo 'scale=9; m=119/3; (0-m)^2+(38-m)^2+(81-m)^2' | bc)
same "least squares" "$(value rate '"item":"S23#2"' | cut -c1-8)" "-0$(echo "scale=9; $sxy/$sxx" | bc | cut -c2-7)"
same "the kind of change" "$(value change_kind '"item":"S23#3"')" shift
same "of the corrected reading only one" "$(grep '"item":"S23#5"' "$dir/out" | grep -c '"struck":1')" 1

trend spring load @ 1.280 in 25-041
has "at the open height the same spring lost under 7 percent" '^  S23#3 +E4 +2 +220\.0 +205\.5 +-14\.5 +-6\.6 '
trend spring load @ 1.9 in 25-041
has "beyond the curves nothing is said" 'Left out: .*no curve reaches'

trend seat load 25-041
has "1I is under the shop's 95" '^  I1 +S23#6 .* gone$'
has "6I as well" '^  I6 +S23#12 .* gone$'
has "by whom" '^  I1 +95 \.\. 101 lbf by shop +past it$'
has "a new spring is a new series" 'A new series, with S23#14, fitted 2024-11-11: E4'
same "no others are gone" "$(grep -c ' gone$' "$dir/out")" 2

trend chamber 25-041
has "milling is no drift" 'A new series, after milled, 2024-11-08'
hasnt "and not called one" 'drifting'

# ---- the flat four: 3E's inner broke --------------------------------------------------------------
trend spring load 26-003
has "in the shop's units" '^spring load at 39\.0 mm, N, over hours$'
has "3E" '^  S24#2 +E3 +3 +326\.0 +241\.0 +-85\.0 +-26\.1 '
has "its rate fell" 'its rate fell: look for'
has "of that one alone" 'cracked coil\): S24#2 \(E3\)\.$'
has "the odd one" 'Odd one out.*S24#2 \(E3\)'
hasnt "the others took a set at most" 'took a set\):.*S24#2'

# ---- parts, lots, the shop ------------------------------------------------------------------------
trend spring load --part CW-170D
has "one build" '^  TM-231-0442  S23 +14 +-5\.4 '
trend spring load --part V39D --json
same "only that part" "$(grep '"kind":"series"' "$dir/out" | grep -vc '"part":"V39D"')" 0
trend spring load --part CW-170D --until 40
has "up to 40 h" '^  TM-231-0442  S23 +14 +-4\.5 '
trend spring load --part no-such
ends "no such part" 1
trend check spring --control
has "the tester as it was read" '2025-08-20  25-030   119\.1 .* outside'
has "and what that means" '^Not in control'
trend check spring --control --json
same "a line a reading" "$(grep -c '"kind":"point"' "$dir/out")" 26
# NIST/SEMATECH e-Handbook 6.3.2.2: mean -+ 3 mean moving range / 1.128
grep '"kind":"point"' "$dir/out" | sed 's/.*"value":\([0-9.]*\).*/\1/' >"$dir/values"
high=$(awk '{ s += $1; if (NR > 1) r += ($1 > p ? $1 - p : p - $1); p = $1 }
    END { printf "%.1f", s / NR + 3 * r / (NR - 1) / 1.128 }' "$dir/values")
same "limits" "$(value high '"kind":"control"' | cut -c1-5)" "$high"

# ---- rows, charts ---------------------------------------------------------------------------------
trend spring load --csv 25-041
same "CSV has a line a series" "$(wc -l <"$dir/out")" 15
same "and one count of columns" "$(awk -F, '{ print NF }' "$dir/out" | sort -u | wc -l)" 1
trend spring load 25-041 --svg "$dir/chart.svg"
cp "$dir/chart.svg" "$dir/out"
same "a line a spring" "$(grep -c '<polyline' "$dir/out")" 14
has "axes" '>hours \(h\)<'
has "units" '>spring load \(lbf\)<'
trend seat load 25-041 --svg "$dir/limits.svg"
cp "$dir/limits.svg" "$dir/out"
has "limits by author" '>95 \.\. 101 lbf by shop<'
has "said to those who cannot see it" '^<title>seat load: TM-231-0442</title>$'
if command -v xmllint >/dev/null; then
    checks=$((checks + 1))
    xmllint --noout "$dir/chart.svg" "$dir/limits.svg" || failed=$((failed + 1))
fi
trend spring load 25-041 --svg "$dir/chart.svg"
ends "a file that is there is kept" 2

# ---- rises ----------------------------------------------------------------------------------------
# by hand from the logs: TM-231-0442's 4 went 5 -> 12, OS-23-1187's 3 4 -> 14, MS-355-0071's 1 4 -> 9;
# MS-355-0038's 3, 5 and 7 came down from 17..22 and rose nowhere
trend leak down --rise 5 --with 'leaks at' --json
same "three rose" "$(grep -c '"kind":"rise"' "$dir/out")" 3
same "from" "$(value from 'TM-231-0442')" 5
same "to" "$(value to 'TM-231-0442')" 12
has "where it leaked" '"engine":"TM-231-0442","subject":"4".*"said":"exhaust, you can hear it from the door"'
trend leak down --rise 6 --json
same "a rise of 5 is less than 6" "$(grep -c MS-355 "$dir/out")" 0
trend leak down --rise -12 --csv
same "falls" "$(grep -c '^MS-355-0038,[357],' "$dir/out")" 3
trend spring load --rise -14
has "a load that fell, and at which height" '^  TM-231-0442  S23#3 @ 1\.700 in +E4 +95\.5 +80\.5 +-15\.0 '
trend leak down --rise 50
ends "none" 1
trend leak down --rise five
ends "no number" 2
trend leak down --with 'leaks at'
ends "nothing to go with" 2
trend leak down --rise 5 --with bore
has "no fact" 'fact in words'

# ---- what it cannot say ---------------------------------------------------------------------------
trend spring load 26-014
has "one reading" '^  S31#1 +I1 +1 +181\.0 +181\.0 +not enough readings'
trend leak down 26-014
ends "nothing to follow" 1
trend owner
ends "words have no trend" 2
has "says so" 'is no number'
trend sprng load
has "a near name" "did you mean 'spring load'"
trend spring load --engine TM-231-044
has "a near engine" "did you mean 'TM-231-0442'"
ends "and ends with trouble" 2
trend spring load --over fathoms 25-041
has "what it runs over" 'days, or what an engine gathers'
trend seat load @ 1.7 in 25-041
has "no curve" 'is no curve'

# hours that nobody wrote down: days, said
sed '/^hours = /d' jobs/25-041.job >x && mv x jobs/25-041.job
sed '/^hours = /d' jobs/24-021.job >x && mv x jobs/24-021.job
sed '/^hours = /d' jobs/23-007.job >x && mv x jobs/23-007.job
trend spring load 25-041
has "over days" '^spring load at 1\.700 in, lbf, over days$'
has "and why" 'No hours are written down'
has "per year" '^ +year|per year'
trend spring load --over hours 25-041
has "asked for hours, it says that they are missing" 'whose run is not known|not enough readings'

# two jobs of one engine that do not continue each other are one history, in the order of days
cat >jobs/a-2.job <<'JOB'
engine = Q-1
layout = inline
cylinders = 1
valves per cylinder = 2
2031-03-01  In again
hours = 50
spring set = Z
spring load #1 = 96 lbf @ 1.7 in, 196 @ 1.2
JOB
cat >jobs/a-3.job <<'JOB'
engine = Q-1
layout = inline
cylinders = 1
valves per cylinder = 2
2030-03-01  New
hours = 0
spring set = Z
spring load #1 = 100 lbf @ 1.7 in, 200 @ 1.2
spring I1 = #1
JOB
cat >jobs/a-4.job <<'JOB'
engine = Q-2
layout = inline
cylinders = 1
valves per cylinder = 2
2030-03-01  Another engine whose set has the same name
hours = 0
spring set = Z
spring load #1 = 60 lbf @ 1.7 in, 160 @ 1.2
JOB
trend spring load --engine Q-1 --json
same "joined by the serial" "$(value n '"item":"Z#1"')" 2
same "first" "$(value first '"item":"Z#1"')" 100.0
same "it ran on in the engine until it was read again" "$(grep -c '"x":50,"value":96' "$dir/out")" 1
same "another engine's set of that name is another" "$(grep -c '"engine":"Q-2"' "$dir/out")" 0

# ---- what the tester repeats to, over the whole book ---------------------------------------------
# Q-5 reads two springs again at once, 4 lbf apart; Q-6 reads nothing again. By hand: of 96 100 98 the
# squares about their mean are 8, of 90 94 they are 8; 16 over 3 degrees of freedom, sd 2.309. A read
# to 2.309 with 3 degrees differs from another by 3.182 * 1.4142 * 2.309 = 10.4 at most.
mkdir -p again/jobs
cd again || exit 2
: >shop.vocab
said() { # WHAT PATTERN, which may be folded into lines
    checks=$((checks + 1))
    tr '\n' ' ' <"$dir/out" | grep -Eq -- "$2" || { failed=$((failed + 1)); echo "not so: $1 ($2)"; }
}
one_engine() { # SERIAL
    printf 'engine = %s\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\n' "$1"
}
{
    one_engine Q-5
    cat <<'JOB'
2031-03-01  Springs on the tester, twice
hours = 0
spring set = Z
spring load #1 = 96 lbf @ 1.7 in
spring load #1 = 100 lbf @ 1.7 in
spring load #1 = 140? lbf @ 1.7 in
x spring load #1 = 12 lbf @ 1.7 in
spring load #1 = 98 lbf @ 1.7 in
spring load #2 = 90 lbf @ 1.7 in
spring load #2 = 94 lbf @ 1.7 in
JOB
} >jobs/a-5.job
{
    one_engine Q-6
    cat <<'JOB'
2031-03-01  New
hours = 0
spring set = Y
spring load #1 = 100 lbf @ 1.7 in
spring load #2 = 100 lbf @ 1.7 in
spring I1 = #1
spring E1 = #2
2031-05-01  After a season
hours = 50
spring load #1 = 97 lbf @ 1.7 in
spring load #2 = 80 lbf @ 1.7 in
JOB
} >jobs/a-6.job
trend spring load --engine Q-6
said "from another engine's repeats" 'repeats to 2\.31 lbf \(standard deviation\), from 2 repeated readings in the whole book\.'
has "a change below what the tester sees" '^  Y#1 .* 100\.0 +97\.0 .* steady'
has "one above" '^  Y#2 .* 100\.0 +80\.0 .* drifting'
trend spring load --json
same "where in JSON" "$(value repeats_in '"kind":"all"')" book
same "how many" "$(value repeats '"kind":"all"')" 2
same "how much" "$(value repeatability '"kind":"all"' | cut -c1-6)" 2.3094
if command -v sqlite3 >/dev/null; then
    same "a view of the jobs" "$(sqlite3 .thou/index.db \
        "SELECT job, tag, things, readings, round(squares, 6), unit FROM repeats")" \
        "a-5|spring load|2|5|16.0|lbf"
    same "a view of the book" "$(sqlite3 .thou/index.db \
        "SELECT tag, jobs, things, readings, df, round(sd, 4), unit FROM repeatability")" \
        "spring load|1|2|5|3|2.3094|lbf"
fi
# the same in another unit of another job: 10 N are 2.248 lbf, squares 50 N^2 = 2.527 lbf^2
{
    one_engine Q-8
    printf '2031-03-01  New\nhours = 0\nspring set = X\n'
    printf 'spring load #1 = %s N @ 43 mm\n' 400 410
} >jobs/a-7.job
trend spring load --engine Q-6
said "its repeats are added in the same unit" 'repeats to 2\.15 lbf \(standard deviation\), from 3 '
if command -v sqlite3 >/dev/null; then
    same "converted" "$(sqlite3 .thou/index.db "SELECT df, round(sd * sd * df, 3) FROM repeatability")" \
        "4|18.527"
fi
# edited: nothing of what the job said before stays
sed -i '/#1 = 1\(00\|40?\) lbf/d' jobs/a-5.job
rm jobs/a-7.job
trend spring load --engine Q-6
said "too few are left" '0\.36 lbf \(standard deviation\), as the vocabulary states it; repeats in the whole book are too few\.'
has "now the tester is thought better" '^  Y#1 .* 100\.0 +97\.0 .* drifting'
sed -i 's/^spring load #1 = 96 lbf.*/&\nspring load #1 = 100 lbf @ 1.7 in/' jobs/a-5.job
trend spring load --engine Q-6
said "written again, it counts again" 'from 2 repeated readings'
has "and the verdict is the old one" '^  Y#1 .* steady'
rm jobs/a-5.job
trend spring load --engine Q-6
said "deleted, it counts no more" '0\.36 lbf \(standard deviation\), as the'
has "and the verdict changes" '^  Y#1 .* drifting'
# a lone file of no book knows only itself
mkdir "$dir/alone" && cp jobs/a-6.job "$dir/alone/lone.job"
trend spring load "$dir/alone/lone.job"
said "a lone file says so" 'repeats in the logs read are too few\.'
# and is read by its own vocabulary: the quantities of the book one stands in are not its own
printf '\nquantity = stem wear\n  of = valve\n  unit = in\n  source = this test\n' >shop.vocab
trend stem wear "$dir/alone/lone.job"
ends "a quantity of another book" 2
has "is not one of the file's" "no quantity 'stem wear"
cd .. || exit 2

# A piston that is fitted does not touch the springs: no reading of their load, and no new series.
mkdir -p "$dir/fitted/jobs" && cd "$dir/fitted" || exit 2
{
    printf 'engine = Q\nlayout = inline\ncylinders = 4\nvalves per cylinder = 2\n'
    printf 'spring I1 = T#1\nspring load T#1 = 121 lbf @ 1.8 in, 279 @ 1.4\n\n2026-02-01 Heads\n'
    printf 'hours = 0\ninstalled height I1 = 1.797 in\n\n2026-02-03 Block\npiston diameter 1 = 3.7768 in\n'
    printf '\n2026-02-04 Block\npiston 2 = P#2\npiston 1 = P#1\n'
} >jobs/a.job
: >shop.vocab
trend seat load --json --engine Q
same "a load a time the springs were touched" "$(value n '"subject":"I1"')" 1
printf '\n2026-02-05 Springs\nspring I1 = none\nspring I1 = T#1\n' >>jobs/a.job
trend seat load --json --engine Q
same "and one more when the spring was out" "$(value n '"subject":"I1"')" 2
cd .. || exit 2

# A log that continues another, read again: its old number is still among those that need the other.
mkdir -p "$dir/renewed/jobs" && cd "$dir/renewed" || exit 2
{
    printf 'engine = Q\nlayout = inline\ncylinders = 4\nvalves per cylinder = 2\n\n2026-02-01 New\n'
    printf 'hours = 0\nleak down 1 = 4 %%\n'
} >jobs/a.job
printf 'continues = a\nengine = Q\n\n2026-06-01 Run\nhours = 20\nleak down 1 = 6 %%\n' >jobs/b.job
: >shop.vocab
trend leak down --engine Q
for turn in 1 2; do
    printf '\nA note, the %s.\n' "$turn" >>jobs/b.job
    trend leak down --engine Q
    has "both logs, at turn $turn" '^  1 +2 +4 +6 '
    hasnt "nothing was damaged at turn $turn" 'damaged'
done
rm jobs/b.job
trend leak down --engine Q
has "one log is left" '^  1 +1 +4 +4 '
hasnt "and nothing was damaged" 'damaged'
cd .. || exit 2

# What a spring ran last counts too, when the entry that reads it also puts another in its place, takes it
# out, or scraps it: the sheet and the trend say the same.
mkdir -p "$dir/out_again/jobs" && cd "$dir/out_again" || exit 2
{
    printf 'engine = Q\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\nspring set = S\n'
    printf '\n2026-01-01\nhours = 0\nspring I1 = #1\nspring E1 = #3\nspring I2 = #4\nspring E2 = #5\n'
    printf '\n2026-02-01\nhours = 20\n'
    printf '\n2026-03-01\nhours = 50\nspring I1 = #2\nspring E1 = none\nscrapped #4 = lost its rate\n'
    printf '\n2026-04-01\nhours = 60\n'
} >jobs/a.job
: >shop.vocab
for over in hours days; do
    trend spring hours --engine Q --over $over
    has "displaced, over $over" '^  S#1 +I1 +3 +0\.0 +50\.0 '
    has "put in, over $over" '^  S#2 +I1 +2 +0\.0 +10\.0 '
    has "taken out, over $over" '^  S#3 +E1 +3 +0\.0 +50\.0 '
    has "scrapped, over $over" '^  S#4 +I2 +3 +0\.0 +50\.0 '
    has "left in, over $over" '^  S#5 +E2 +4 +0\.0 +60\.0 '
done
"$thou" sheet --json jobs/a.job >"$dir/out"
same "and so says the sheet" "$(grep '"spring hours"' "$dir/out" | grep -c '"value":50.0')" 3
cd .. || exit 2

# Hours that went backwards (another meter): what ran is not known, within a log and between two, and no
# number is made of it; of a place, readings on one meter are not set beside those on another.
mkdir -p "$dir/meter/jobs" && cd "$dir/meter" || exit 2
{
    printf 'engine = Q\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\nspring set = S\n'
    printf '\n2026-01-01\nhours = 0\nspring I1 = #1\nleak down 1 = 4 %%\nspring load #1 = 100 lbf @ 1.8 in\n'
    printf '\n2026-02-01\nhours = 50\nleak down 1 = 6 %%\nlimit spring hours = at most 60 h by shop\n'
    printf '\n2026-03-01 Another meter\nhours = 5\nleak down 1 = 7 %%\naccept hours = another meter by KL\n'
    printf 'spring load #1 = 98 lbf @ 1.8 in\n'
} >jobs/a.job
: >shop.vocab
trend spring hours --engine Q
has "the last that is known" '^  S#1 +I1 +2 +0\.0 +50\.0 '
has "nothing is left of what is not known" '^  S#1  at most 60 h by shop  not known$'
has "and it is said" 'Left out: 1 not known for all of the time it was fitted\.'
trend leak down --engine Q
has "of a place, the first meter" '^  1 +2 +4 +6 '
has "and what was read on the other is left out" 'Left out: 1 whose run is not known\.'
trend spring load --over hours --engine Q
has "of an item as well" 'Left out: 1 whose run is not known\.'
sed '/Another meter/,$d' jobs/a.job >a && mv a jobs/a.job
{
    printf 'engine = Q\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\nspring set = S\n'
    printf '\n2026-06-01\nhours = 5\nspring I1 = #1\nleak down 1 = 9 %%\nspring load #1 = 97 lbf @ 1.8 in\n'
    printf '\n2026-07-01\nhours = 60\nleak down 1 = 9 %%\n'
} >jobs/b.job
trend leak down --engine Q
has "between two logs of a place" '^  1 +2 +4 +6 '
has "later ones too, though they are over the first meter" 'Left out: 2 whose run is not known\.'
trend spring load --over hours --engine Q
has "between two logs of an item" 'Left out: 1 whose run is not known\.'
cd .. || exit 2

# Logs that go on from each other in a ring, or more of them in a row than a job holds: `check` says so, and
# every reading is in the trend, once.
mkdir -p "$dir/ring/jobs" && cd "$dir/ring" || exit 2
: >shop.vocab
log() { # NAME BEFORE DAY HOURS CHAMBER
    printf 'engine = Q\nlayout = inline\ncylinders = 2\nvalves per cylinder = 2\n' >"jobs/$1.job"
    [ -z "$2" ] || echo "continues = $2" >>"jobs/$1.job"
    printf '\n%s\nhours = %s\nchamber 1 = %s cc\n' "$3" "$4" "$5" >>"jobs/$1.job"
}
log a c 2031-01-01 10 44.1
log b a 2031-02-01 20 44.2
log c b 2031-03-01 30 44.3
log tail c 2031-04-01 40 44.4
"$thou" check tail >"$dir/out" 2>&1
has "a ring is said, though it stands further back" '^jobs/tail\.job:5:13: error: .* in a ring: .*\[continues-missing\]$'
trend chamber --json --engine Q
same "and is read once, behind another log" "$(value n '"kind":"series"')" 4
rm jobs/tail.job
trend chamber --json --engine Q
same "a ring alone" "$(value n '"kind":"series"')" 3
same "its latest log counts last" "$(value last '"kind":"series"')" 44.3
rm jobs/*
before= n=1
while [ "$n" -le 36 ]; do
    log "j$n" "$before" "20$((n + 30))-01-01" "$n" "44.$((n + 10))"
    before=j$n n=$((n + 1))
done
"$thou" check >"$dir/out" 2>&1
same "too long a row is said of each log that does not see all" "$(grep -c 'more than 32 jobs' "$dir/out")" 4
has "and where it was cut" '^jobs/j36\.job:5:13: error: .* before j5\.job is not known here'
trend chamber --json --engine Q
same "each of them is in the trend" "$(value n '"kind":"series"')" 36
cd .. || exit 2

# The same length in two units, and one that is a hair under: what is on its limit is not past it, what is
# past it is shown with the digits that say so, as check and the sheet do, and equal readings are in control.
mkdir -p "$dir/equal/jobs" && cd "$dir/equal" || exit 2
: >shop.vocab
log() { # LAST READING
    printf 'engine = Q\nlayout = inline\ncylinders = 1\nvalves per cylinder = 2\n'
    printf 'limit installed height = at least 1.707 in by shop\n'
    printf '\n2031-01-01\nhours = 0\ninstalled height I1 = 1.711 in\n'
    printf '\n2031-02-01\nhours = 10\ninstalled height I1 = 1.709 in\n'
    printf '\n2031-03-01\nhours = 20\ninstalled height I1 = %s\n' "$1"
}
log '43.3578 mm' >jobs/a.job
trend installed height --engine Q
has "on its limit" '^  I1 +3 +1\.711 +1\.707 .* drifting$'
has "nothing is left, and it is not past it" '^  I1  at least 1\.707 in by shop +0\.0 \('
trend installed height --json --engine Q
has "nor for a program" '"limit":"at least 1\.707 in","past":false,"value":0\.00,'
log '43.35 mm' >jobs/a.job
"$thou" check >"$dir/out" 2>&1
has "check says 1.7067" 'installed height I1 is 1\.7067 in'
trend installed height --engine Q
has "the trend too" '^  I1 +3 +1\.711 +1\.7067 .* gone$'
has "and where it is drawn" '^  I1 .* 1\.7067$'
has "past it" 'by shop +past it$'
trend installed height --csv --engine Q
has "as CSV" ',3,1\.711,1\.7067,'
trend installed height --json --engine Q
has "as JSON" '"last":1\.7067,'
has "and its last point" '"x":20,"value":1\.7067}'
n=1
while [ "$n" -le 19 ]; do
    { printf 'engine = K%s\nlayout = inline\ncylinders = 1\nvalves per cylinder = 2\n' "$n"
    [ "$n" -le 9 ] && read='1.707 in' || read='43.3578 mm'
    printf '\n2032-01-%02d\ninstalled height I1 = %s\n' "$n" "$read"; } >"jobs/k$n.job"
    n=$((n + 1))
done
rm jobs/a.job
trend installed height --control
has "equal readings are in control" '^In control'
has "and stand in the middle" '^  2032-01-01  k1 +1\.707 {17}o$'
trend installed height --control --svg "$dir/equal.svg"
cp "$dir/equal.svg" "$dir/out"
has "drawn on an axis that tells" '>1\.70<'
has "and said" '^<svg .*role="img"'
has "by its title" '^<title>installed height, in the order of days</title>$'
rm jobs/*
n=1
while [ "$n" -le 45 ]; do
    { printf 'engine = <K%s>\nlayout = inline\ncylinders = 1\nvalves per cylinder = 2\n' "$n"
    printf '\n2033-01-01\nhours = 0\ninstalled height I1 = 1.7 in\n'; } >"jobs/k$n.job"
    n=$((n + 1))
done
trend installed height --svg "$dir/many.svg"
cp "$dir/many.svg" "$dir/out"
same "a chart an engine, however many" "$(grep -c 'class="title"' "$dir/out")" 45
has "and how many is said" '<title>installed height over hours: 45 charts</title>'
hasnt "escaped" '<K'
cd .. || exit 2

end_checks
