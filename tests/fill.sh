#!/bin/sh
# thou fill: through pipes, a terminal of its own, a serial line; killed, torn and changed under it.
. "$(dirname "$0")/tools/begin.sh"
pty=$B/tool/pty
export NO_COLOR=1 TERM=xterm
ok() { # NAME; the last command's code says whether
    rc=$?
    checks=$((checks + 1))
    [ $rc -eq 0 ] && return
    failed=$((failed + 1))
    echo "FAIL $1"
    head -n 40 out err 2>/dev/null
}
fresh() { # a book with one job: four cylinders, as thou new leaves it
    rm -rf "$dir/book"
    mkdir -p "$dir/book/jobs" "$dir/book/parts"
    cd "$dir/book" || exit 2
    : >shop.vocab
    "$thou" new a --layout inline --cylinders 4 --valves 2 --day 2031-03-02 >/dev/null || exit 2
    cp jobs/a.job before
}
fill() { # ARGUMENTS; values on standard input
    "$thou" fill a "$@" --day 2031-03-04 >out 2>err
}
talk() { # COLUMNS ARGUMENTS; the script on standard input
    columns=$1
    shift
    "$pty" "$columns" "$thou" fill a "$@" --day 2031-03-04 >out 2>err
}
same() { # TEXT: what stands behind the old log now
    { cat before; echo; echo "$1"; } | cmp -s - jobs/a.job
}
kept() { # how many values the side file has
    [ "$(grep -c '^[a-z].* = ' .thou/fill/a)" -eq "$1" ]
}

# ---- through a pipe ----------------------------------------------------------------------------
fresh
printf '44.8\n44.6\n44.9\n44.7 ; third fill\n' | fill chamber --by KL --with B2; ok "a pipe fills"
same "2031-03-04  Chamber volume
by = KL
with = B2

cylinder | chamber volume cc
1        | 44.8
2        | 44.6
3        | 44.9
4        | 44.7   ; third fill"; ok "a pipe's grid"
[ ! -e .thou/fill/a ]; ok "the side file is gone"
grep -q 'spread 0.3 cc of 4' out; ok "the running spread"
"$thou" check a >out 2>err; ok "the log is sound"
# held against awk: largest less smallest of the same four values
spread=$(printf '44.8\n44.6\n44.9\n44.7\n' | awk 'NR==1||$1<l{l=$1} NR==1||$1>h{h=$1} END{printf "%.1f", h-l}')
grep -q "spread $spread cc of 4" out || "$thou" sheet a --json | grep '"tag":"chamber spread"' | grep -q "\"value\":$spread"; ok "the spread is awk's"

fresh
printf '44.8\n44.6\n44,9\n44.7\n' | fill chamber; [ $? -eq 2 ]; ok "a comma in a pipe stops"
cmp -s before jobs/a.job; ok "nothing was written"
grep -q "line 3: '44,9'" err; ok "the line is named"
kept 2; ok "two values are kept"
printf '44.9\n44.7\n' | fill; ok "it goes on"
same "2031-03-04  Chamber volume

cylinder | chamber volume cc
1        | 44.8
2        | 44.6
3        | 44.9
4        | 44.7"; ok "nothing was shifted"

fresh
printf '44.8\n44.6\n' | fill chamber; [ $? -eq 1 ]; ok "too few end with 1"
grep -q '2 values are still wanted' err; ok "too few are counted"
printf '44.9\n' | fill; [ $? -eq 1 ]; kept 3; ok "a second time"
printf -- '-\n' | fill; ok "a dash for the last"
grep -q '^4        | -$' jobs/a.job; ok "the dash is written"

fresh
printf '44.8 ?\nskip\n44.9\nwrite\n' | fill chamber; ok "doubt, skip, write"
same "2031-03-04  Chamber volume

cylinder | chamber volume cc
1        | 44.8 ?
3        | 44.9"; ok "what was skipped has no row"

fresh
printf 'about 44\n' | fill chamber; [ $? -eq 2 ]; ok "words are no value"
[ ! -e .thou/fill/a ]; ok "no side file for nothing"
printf '44.8 | 44.6\n' | fill chamber; [ $? -eq 2 ]; ok "a bar is no value"
printf '3 mm\n' | fill chamber; [ $? -eq 2 ] && cmp -s before jobs/a.job; ok "a wrong unit is no value"
printf '3.500\n' | fill stroke; ok "the engine as a whole"
grep -q '^stroke = 3.500 in$' jobs/a.job; ok "is a line"
printf 'x\n' | fill chambre; [ $? -eq 2 ] && grep -q "did you mean 'chambers'" err; ok "a near name"
fill 'chamber 9' </dev/null; [ $? -eq 2 ]; ok "no such place"
fill 'spring load' </dev/null; [ $? -eq 2 ] && grep -q '@ VALUE in' err; ok "a curve wants its condition"
printf '182\n184\n' | fill 'spring load S31#1..2 @ 1.720 in'; ok "items that are new"
grep -q '^S31#2  | 184$' jobs/a.job; ok "items are rows"

# ---- what the log's own grids lack -------------------------------------------------------------
fresh
fill </dev/null; [ $? -eq 1 ] && grep -q '^thou: 53 values are still wanted' err; ok "all dashes of a new log"
yes skip | head -n 53 | fill; ok "all of them can be skipped"
cmp -s before jobs/a.job; ok "skipping writes nothing"
fresh
sed -i 's/^1          | -          | -/1          | 44.8       | -/' jobs/a.job
fill </dev/null; grep -q '^thou: 52 values' err; ok "what is there is not asked for"

# ---- files as they come ------------------------------------------------------------------------
fresh
sed -i 's/$/\r/' jobs/a.job && printf 'last line' >>jobs/a.job && cp jobs/a.job before
printf '44.8\n44.6\n44.9\n44.7\n' | fill chamber; ok "CRLF and no last line end"
head -c "$(wc -c <before)" jobs/a.job | cmp -s - before; ok "what was there is untouched"
tail -n 4 jobs/a.job | grep -c "$(printf '\r')" | grep -q 4; ok "CRLF goes on"
fresh
printf 'a\000b\n' >>jobs/a.job && cp jobs/a.job before
printf '44.8\n44.6\n44.9\n44.7\n' | fill chamber
head -c "$(wc -c <before)" jobs/a.job | cmp -s - before; ok "a NUL in the log survives"
fresh
printf '\n>>\npasted mail\n' >>jobs/a.job && cp jobs/a.job before
printf '44.8\n' | fill chamber; [ $? -eq 2 ] && cmp -s before jobs/a.job && grep -q 'block note' err
ok "an open block note would swallow it"
fresh
chmod 444 jobs/a.job
if [ "$(id -u)" -ne 0 ]; then
    printf '44.8\n44.6\n44.9\n44.7\n' | fill chamber; [ $? -eq 2 ] && kept 4; ok "a log that may not be written"
fi
mkdir -p "$dir/lone" && cd "$dir/lone" && printf 'cylinders = 2\n' >lone.job && cp lone.job before
printf '44.8\n' | "$thou" fill lone.job chamber --day 2031-03-04 >out 2>err; [ -e .thou-fill-lone ]; ok "a lone log keeps beside itself"
printf '44.6\n' | "$thou" fill lone.job --day 2031-03-04 >out 2>err; [ ! -e .thou-fill-lone ] && grep -q '^2        | 44.6$' lone.job; ok "and is written"

# ---- at a terminal -----------------------------------------------------------------------------
fresh
cat >script <<'X'
expect Heights
expect I1  installed height in
send
expect I1  installed height in
send 1.721
expect 1.721 in
expect I1  shim in
send .015
expect I1  spring
send 3
expect E1  installed
send back
expect was #3
send 4
expect E1  installed
send 1,72
expect is not taken
expect E1  installed
send 17.20
expect not plausible
expect E1  shim
send back
expect was 17.20
send 1.720 ; looks low
expect 1.720 in
send ?
expect doubted
expect E1  shim
send skip
expect E1  spring
send help
expect leave the rest
send next
expect write
expect Enter writes
send
expect written
X
talk 40 heights --set S31 <script; ok "a sitting at 40 columns"
same "2031-03-04  Heights
spring set = S31

valve | installed height in | shim in | spring
I1    | 1.721               | .015    | #4
E1    | 1.720 ?             | -       | -   ; looks low" || same "2031-03-04  Heights
spring set = S31

valve | installed height in | shim in | spring
I1    | 1.721               | .015    | #4
E1    | 1.720 ?             |         | -   ; looks low"; ok "its grid"
sed '/^> /d; /^thou:/d' out | awk 'length > 40 { bad = 1; print "too wide: " $0 } END { exit bad }' >err; ok "40 columns are kept"

# computed margins at once: seat load and bind clearance, by hand from the loads
fresh
cat >>jobs/a.job <<'X'

2031-03-03  Springs
spring set = S31
limit bind clearance = at least .060 in by shop
limit seat load = 178 .. 188 lbf by shop
valve lift = .500 in

spring | spring load lbf @ 1.720 in | spring load lbf @ 1.220 in | bind height in
#1     | 182                        | 421                        | 1.142
X
printf '1.712\n.015\n1\nstop\n' | fill heights
# 182 + (1.720 - 1.712) * (421 - 182) / .500 = 185.8; 1.712 - .500 - 1.142 = .070
grep -q 'bind clearance I1 0.070 in: holds, 0.010 in to spare' out; ok "the margin of a computed value"
grep -q 'seat load I1 185.8 lbf: holds, 2.2 lbf to spare' out; ok "and of another"
rm .thou/fill/a
printf '1.690\n.015\n1\nstop\n' | fill heights
grep -q 'BROKEN' out; ok "a broken limit is said at once"
# a sum of binary fractions that is its limit but for rounding: as the sheet has it, no digit more
fresh
sed -i 's/^cylinders = 4/cylinders = 6/' jobs/a.job
printf '\n2031-03-03 Chambers\nlimit chamber spread = at most .5 cc by shop\n' >>jobs/a.job
printf '44.1\n44.2\n44.3\n44.4\n44.5\n44.6\nwrite\n' | fill 'chamber 1..6'
grep -q 'chamber spread 0.5 cc: holds, 0.0 cc to spare (at most .5 cc by shop)' out && ! grep -q '0\.50' out
ok "a value that equals its limit to rounding"
"$thou" sheet a 2>err | grep -q 'chamber spread at most .5 cc by shop: 0.5 cc holds, margin 0.0 cc'; ok "is shown as the sheet shows it"
fresh
printf '\n2031-03-03 Chambers\nlimit chamber spread = at most .5 cc by shop\n' >>jobs/a.job
printf '44.1\n44.62\n' | fill 'chamber 1..2'
grep -q 'chamber spread 0.52 cc: BROKEN, 0.02 cc out' out; ok "one just past it has the digits that tell"

# ---- killed, torn, changed ---------------------------------------------------------------------
fresh
cat >script <<'X'
expect 1  chamber
send 44.8
expect 2  chamber
send 44.6
expect 3  chamber
kill
X
talk 80 chamber <script; [ $? -eq 137 ] && cmp -s before jobs/a.job && kept 2; ok "killed: two values are kept"
cp .thou/fill/a torn
printf 'chamber volume 3 = 4' >>.thou/fill/a
cat >script <<'X'
expect kept
expect cut off
expect 3  chamber
send 44.9
expect 4  chamber
send 44.7
expect Enter writes
send
expect written
X
talk 80 <script; ok "it goes on where it was"
same "2031-03-04  Chamber volume

cylinder | chamber volume cc
1        | 44.8
2        | 44.6
3        | 44.9
4        | 44.7"; ok "with every value once"
cp jobs/a.job after
mkdir -p .thou/fill
{ cat torn; printf 'chamber volume 3 = 44.9\nchamber volume 4 = 44.7\n'; } >.thou/fill/a
fill </dev/null; grep -q 'in the log already' err && cmp -s after jobs/a.job && [ ! -e .thou/fill/a ]
ok "a cut between log and side file writes nothing twice"
fresh
printf '44.8\n44.6\n44.9\n' | fill chamber --by KL
cp .thou/fill/a whole
size=$(wc -c <whole) n=0 bad=0
entry="2031-03-04  Chamber volume
by = KL

cylinder | chamber volume cc
1        | 44.8
2        | 44.6
3        | 44.9
4        | 44.7"
values() { printf '44.8\n44.6\n44.9\n44.7\n'; }
# the rest is typed; what there is goes to the log below its heading, or nothing does
finish() {
    n_kept=0
    [ ! -e .thou/fill/a ] || n_kept=$(sed '$!b; /./!d' .thou/fill/a | grep -c '^chamber volume . = .*[0-9]$')
    if [ "$n_kept" -gt 0 ]; then values | sed "1,${n_kept}d" | fill; else values | fill chamber --by KL; fi
}
while [ $n -lt "$size" ]; do
    cp before jobs/a.job
    head -c $n whole >.thou/fill/a
    fill </dev/null
    [ $? -le 1 ] && cmp -s before jobs/a.job || bad=$((bad + 1))
    finish
    same "$entry" && [ ! -e .thou/fill/a ] || bad=$((bad + 1))
    n=$((n + 7))
done
[ $bad -eq 0 ]; ok "a side file cut anywhere is understood"
cp before jobs/a.job && : >.thou/fill/a
values | fill chamber --by KL && same "$entry"; ok "an empty one is none"
cp before jobs/a.job && head -c 200 /dev/zero >.thou/fill/a
values | fill chamber --by KL && same "$entry"; ok "nor is one of zeros"
cp before jobs/a.job && sed '/heading/d' whole >.thou/fill/a && cp .thou/fill/a headless
values | fill chamber --by KL; [ $? -eq 2 ] && cmp -s before jobs/a.job && cmp -s headless .thou/fill/a
ok "values without a heading go nowhere"
grep -q 'not the heading' err && grep -q '.thou/fill/a' err; ok "and it is said where they are"
sed 's/heading = 2031-03-04 /heading = /' whole >.thou/fill/a
values | fill chamber; [ $? -eq 2 ] && cmp -s before jobs/a.job; ok "nor below a heading without its date"

# every call that changes the disk killed, torn and failing in its turn; a program that is linked as a
# whole cannot be made to fail so
calls() { ASAN_OPTIONS="${ASAN_OPTIONS:+$ASAN_OPTIONS:}verify_asan_link_order=0" LD_PRELOAD=$B/tool/kill_at.so "$@"; }
fresh
values >four
calls env COUNT_TO="$dir/calls" "$thou" fill a chamber --by KL --day 2031-03-04 <four >out 2>err
sweeps='KILL_AT KILL_HALF FAIL_AT'
if [ -e "$dir/calls" ]; then
    read -r all writes <"$dir/calls"
    [ "$all" -gt 15 ] && [ "$writes" -gt 5 ] && same "$entry"; ok "the calls are counted"
else
    sweeps=''
fi
for how in $sweeps; do
    bad='' n=1
    most=$all
    [ $how = KILL_HALF ] && most=$writes
    while [ $n -le "$most" ]; do
        fresh
        values >four
        calls env $how=$n "$thou" fill a chamber --by KL --day 2031-03-04 <four >out 2>err
        rc=$?
        [ $how = FAIL_AT ] || [ $rc -eq 137 ] || bad="$bad $n:ran"
        [ $rc -ne 0 ] || same "$entry" || bad="$bad $n:code"
        if cmp -s before jobs/a.job; then
            told=$(grep -c '^chamber volume .:' out)
            said=$(sed -n 's/^thou: \([0-9]\) value.* kept in .*/\1/p' err)
            finish
            [ "$n_kept" -ge "$told" ] && [ "${said:-$n_kept}" = "$n_kept" ] || bad="$bad $n:lost"
            [ $how != FAIL_AT ] || [ "$n_kept" -eq 0 ] || [ -n "$said" ] || bad="$bad $n:unsaid"
        else
            fill chamber </dev/null
        fi
        same "$entry" && [ ! -e .thou/fill/a ] || bad="$bad $n:entry"
        n=$((n + 1))
    done
    [ -z "$bad" ]; ok "$how loses nothing ($bad)"
done
# a disk that has room for the first lines, for some of the values, for none
full() { # BLOCKS ARGUMENTS; what it says goes through a pipe, for files cannot grow
    blocks=$1
    shift
    { (trap '' XFSZ && ulimit -f "$blocks" && exec "$thou" fill a "$@" --day 2031-03-04 2>&1); echo "rc $?"; } | cat >out
}
fresh
values | full 0 chamber --by KL; grep -q '^rc 2$' out && ! ls -A .thou/fill | grep -q .; ok "no room at all"
grep -q 'nothing was asked: cannot write' out && ! grep -q 'kept in' out; ok "is said, and no more"
values | fill chamber --by KL && same "$entry"; ok "with room again the entry has its heading"
fresh
yes 44.8 | head -n 4 | sed 's/$/ ; a remark so long that it takes up its room in the file, and more/' >four
full 1 chamber --by KL <four; grep -q '^rc 2$' out && cmp -s before jobs/a.job; ok "room for some values"
n=$(grep -c '^chamber volume' .thou/fill/a)
[ "$n" -gt 0 ] && [ "$n" -lt 4 ] && [ -z "$(tail -c 1 .thou/fill/a)" ] && grep -q "^thou: $n value.* kept in" out; ok "says how many are kept"
grep -q "'chamber volume $((n + 1)) = 44.8 ; a remark.*' is not kept" out; ok "and which one is not"
sed "1,${n}d" four | fill && [ "$(grep -c '| 44.8   ; a remark' jobs/a.job)" -eq 4 ] && grep -q '^2031-03-04  Chamber' jobs/a.job
ok "and goes on from there"
fresh
printf 'x' >.thou
values | fill chamber; [ $? -eq 2 ] && cmp -s before jobs/a.job && ! grep -q 'kept in' err; ok "no folder to keep it in"

fresh
cat >script <<'X'
expect 1  chamber
send 44.8
expect 2  chamber
run echo 'A note from the editor.' >>jobs/a.job
send 44.6
expect changed meanwhile
expect 3  chamber
send 44.9
send 44.7
expect Enter writes
run echo 'Another.' >>jobs/a.job
send
expect 4 values are kept
expect nothing was
X
talk 80 chamber <script; [ $? -eq 2 ]; ok "changed at the last moment"
tail -n 1 jobs/a.job | grep -q '^Another' && kept 4; ok "nothing is lost on either side"
fill </dev/null; ok "the same command writes it"
grep -q '^Another' jobs/a.job && grep -q '^A note' jobs/a.job && grep -q '^4        | 44.7$' jobs/a.job
ok "behind what the editor wrote"

fresh
sed 's/^E1 .*/E1      | 1.690               | .015    | S31#2/' jobs/a.job >theirs
cat >script <<'X'
expect I1  installed height in
run cp theirs jobs/a.job
send 1.712
expect it answers installed height E1, shim E1, spring E1, not asked any more
expect I1  shim in
send .015
expect I1  spring
send next
send stop
X
talk 200 heights --set S31 <script; ok "what another answers meanwhile"
! grep -q '^E1 ' out && ! grep -q 'E1 =' .thou/fill/a; ok "is not asked any more"
grep -q '; skip shim E1' .thou/fill/a && fill </dev/null && [ "$(grep -c '^E1 ' jobs/a.job)" = "$(grep -c '^E1 ' theirs)" ]
ok "nor another time"
fresh
sed '0,/^1  *| -/s//1          | 44.1/' jobs/a.job >theirs
cat >script <<'X'
expect 1  chamber
run cp theirs jobs/a.job
send 44.8
expect chamber volume 1 stands in it too by now
expect 2  chamber
send stop
X
talk 200 chamber <script; ok "what was typed while another entered it is said"
fresh
printf '\n2031-03-03 All\nchamber 1..4 = 44.1 44.2 44.3 44.4\n' >>jobs/a.job
cp jobs/a.job theirs && printf '\n2031-03-03 Again\nchamber 2 = 44.3\n' >>theirs
printf 'expect 1  chamber\nrun cp theirs jobs/a.job\nsend 44.8\nexpect meanwhile\nexpect 2  chamber\nsend stop\n' >script
talk 200 chamber <script; ok "what is measured once more is asked for all the same"

fresh
cat >script <<'X'
expect 1  chamber
run printf '44.1\n' | $thou fill a chamber --day 2031-03-04 >second 2>&1 || :
send 44.8
expect 2  chamber
run printf '44.1\n' | $thou fill a --day 2031-03-04 >>second 2>&1 || :
send stop
X
export thou
talk 80 chamber <script && kept 1; [ "$(grep -c 'another thou fill' second)" -eq 2 ]; ok "two at once are refused, from the first question on"
[ "$(wc -l <second)" -eq 2 ]; ok "and the second speaks of no values"
fresh
printf 'expect 1  chamber\nkill\n' >script
talk 80 chamber --by AP <script; [ $? -eq 137 ] && values | fill chamber --by KL && same "$entry"; ok "one that was killed before a value leaves nothing"

fresh
printf '44.8\n' | fill chamber
mkdir old && cp jobs/a.job old/a.job
printf '44.6\n' | "$thou" fill old/a.job --book . >out 2>err; [ $? -eq 2 ] && grep -q 'holds values for jobs/a.job' err
ok "another log of the same name does not get them"
(cd old && printf 'write\n' | "$thou" fill ../jobs/a.job >../out 2>../err); ok "from another folder it is the same log"
grep -q '^1        | 44.8$' jobs/a.job && cmp -s before old/a.job; ok "and gets them"

# ---- gauges ------------------------------------------------------------------------------------
fresh
printf 'N 001 +44.8 cc\r\nN 002 +44.6 cc\r\nN 003 +44.9 cc\r\nN 004 +44.7 cc\r\n' >gauge
"$thou" fill a chamber --day 2031-03-04 --from gauge --pattern 'N ... +VALUE UNIT' </dev/null >out 2>err; ok "a gauge's file"
grep -q '^3        | 44.9 cc$' jobs/a.job; ok "its values"
fresh
printf '44.8\nERR 2\n44.9\n' >gauge
"$thou" fill a chamber --day 2031-03-04 --from gauge </dev/null >out 2>err; [ $? -eq 2 ] && kept 1 && grep -q 'gauge, line 2' err; ok "an error of the gauge shifts nothing"
fill chamber --from gauge --pattern 'no number' </dev/null; [ $? -eq 2 ]; ok "a pattern without VALUE"
fill chamber --speed 9600 </dev/null; [ $? -eq 2 ]; ok "speed without a line"
fill chamber --from nowhere </dev/null; [ $? -eq 2 ]; ok "no such file"
fill chamber --from gauge --speed 9600 </dev/null; [ $? -eq 2 ]; ok "a file has no speed"
fresh
cat >script <<'X'
expect 1  chamber
gauge 01A+0044.8
expect 2  chamber
gauge 91
expect is not taken
expect 2  chamber
send 44.6
expect 3  chamber
gauge 01A+0044.9
expect 4  chamber
send back
expect 3  chamber
gauge 01A+0045.0
expect 4  chamber
gauge 01A+0044.7
expect Enter writes
send
expect written
X
talk 40 chamber --from GAUGE --speed 4800 --pattern '01A+VALUE' <script; ok "a serial gauge and the keyboard"
grep -q '^3        | 0045.0$' jobs/a.job; ok "digits as the gauge sent them"
"$thou" check a >out 2>err; ok "and the log is sound"

fresh
printf '\n2031-03-03 Found it\ngauge HM2 = reads .003 in high\n' >>jobs/a.job
printf '1.723\nstop\n' | fill 'installed height' --with HM2
grep -q '1.720 in (its gauge is off: corrected)' out; ok "a gauge found off"

end_checks
