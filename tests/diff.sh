#!/bin/sh
# thou diff: stages, days, versions and jobs against each other; values worked out here with awk.
#   sh tests/diff.sh       B=build by default
. "$(dirname "$0")/tools/begin.sh"
begin_git "Kay Lund" kl@example.org
# The rows of --json that a pattern picks.
rows() { # arguments of diff...; a pattern last
    for pattern in "$@"; do :; done
    n=$(($# - 1))
    "$thou" diff --json $(printf '%s\n' "$@" | head -n $n) 2>"$dir/err" | grep -e "$pattern"
}
field() { sed -n "s/.*\"$1\":\"\{0,1\}\([^,\"}]*\).*/\1/p"; }
side() { sed -n "s/.*\"$1\":{\([^}]*\)}.*/\1/p"; }

mkdir "$dir/book" && cd "$dir/book" || exit 2
"$thou" start >/dev/null || fail start
rm jobs/first.job
cat >jobs/31-002.job <<'LOG'
job = 31-002
layout = inline
cylinders = 4
valves per cylinder = 2
limit bind clearance = at least .060 in by shop

2031-03-02 08:00  As it came
stage = as arrived
chamber 1..4 = 44.8 44.6 44.9 44.7 cc

2031-03-02 16:00  Cut
chamber 1..4 = 43.8 43.6 43.9 43.7 cc

2031-03-04  First
stage = first assembly
spring set = S1
Heights are good.
spring | spring load lbf @ 1.720 in | spring load lbf @ 1.220 in | bind height in
#1     | 183                        | 421                        | 1.142
#2     | 184                        | 424                        | 1.149
#3     | 185                        | 425                        | 1.143
valve lift I = each .500 in
valve lift E = each .490 in
valve | installed height | spring
I1    | 1.722            | #1
E1    | 1.718            | #2

2031-09-10  Down again
stage = teardown
spring load #1 = 186 lbf @ 1.700 in, 410 @ 1.200
spring load #2 = 183 lbf @ 1.720 in, 424 @ 1.220
spring I1 = #2
spring E1 = #1
installed height I1 = 1.725 ? in
LOG
"$thou" keep >/dev/null 2>"$dir/err" || fail "keep: $(cat "$dir/err")"

# --- a stage against what stood before it
"$thou" diff 31-002:teardown >"$dir/text"
is "what is compared" "A 31-002 before 'teardown' B 31-002 at the end of 'teardown'" "$(head -n 2 "$dir/text" | xargs -d '\n')"
is "springs changed places" "E1 spring S1#2 S1#1" "$(grep -E '^ +E1 +spring ' "$dir/text" | xargs)"
is "one is doubted" 1 "$(grep -c 'installed height *1\.722 *1\.725?' "$dir/text")"
is "followed by its number" 1 "$(grep -c 'S1#1, I1 -> E1 *spring load' "$dir/text")"
is "and says what ^ is" 1 "$(tr -s '\n ' ' ' <"$dir/text" | grep -c 'not read there: taken from the curve of its own readings, so that both are compared at one condition (spring load)')"
# at 1.700 A has no reading: its own curve gives 183 + (421 - 183) * .02 / .5
load=$(rows 31-002:teardown '"spring load".*"subject":"S1#1".*"at":{"value":1.700')
a=$(awk 'BEGIN { printf "%.1f", 183 + (421 - 183) * (1.720 - 1.700) / (1.720 - 1.220) }')
is "A at 1.700, from its curve" "$a curve" "$(printf '%s' "$load" | side a | field value) $(printf '%s' "$load" | side a | field by)"
is "B was read there" "186 reading" "$(printf '%s' "$load" | side b | field value) $(printf '%s' "$load" | side b | field by)"
is "the difference" "$(awk -v a="$a" 'BEGIN { printf "%.1f", 186 - a }')" "$(printf '%s' "$load" | field difference)"
is "in percent of A" "$(awk 'BEGIN { a = 183 + 238 * .04; printf "%.1f", 100 * (186 - a) / a }')" "$(printf '%s' "$load" | field percent)"
load=$(rows 31-002:teardown '"spring load".*"subject":"S1#1".*"at":{"value":1.720')
b=$(awk 'BEGIN { printf "%.1f", 186 + (410 - 186) * (1.700 - 1.720) / (1.700 - 1.200) }')
is "B at 1.720, beyond its end by less than a tenth" "$b curve" "$(printf '%s' "$load" | side b | field value) $(printf '%s' "$load" | side b | field by)"
is "read at one height: as read" "184 183 -1 -0.54" "$(rows 31-002:teardown '"spring load".*"S1#2".*1.720' | sed 's/.*"a":{[^}]*"value":\([0-9]*\).*"b":{[^}]*"value":\([0-9]*\).*"difference":\([-0-9.]*\),"percent":\([-0-9.]*\).*/\1 \2 \3 \4/')"
is "the same is not told" 0 "$(rows 31-002:teardown '"change":"same"' | wc -l)"
is "but with --all" 1 "$("$thou" diff --json --all 31-002:teardown | grep '"change":"same"' | grep -c '"S1#2"')"
is "nor what was not read again" 0 "$("$thou" diff --json --all 31-002:teardown | grep -c 'S1#3')"
is "computed with a limit" 1 "$(rows 31-002:teardown '"computed".*"bind clearance".*"E1"' | wc -l)"
is "the others when asked" 0 "$(rows 31-002:teardown '"seat load"' | wc -l)"
is "with --computed" yes "$("$thou" diff --json --computed 31-002:teardown | grep -q '"seat load"' && echo yes)"
is "notes are nothing" 0 "$("$thou" diff --json --all 31-002:teardown | grep -c 'Heights')"
is "the first stage" 2 "$("$thou" diff "31-002:as arrived" >/dev/null 2>&1; echo $?)"
is "no such stage" "it has 'as arrived', 'first assembly', 'teardown'" "$("$thou" diff 31-002:dyno 2>&1 | sed 's/.*; //')"
is "two stages" "$("$thou" diff --json 31-002:teardown)" "$("$thou" diff --json "31-002:first assembly" 31-002:teardown)"

# --- two entries of one day, days
cut=$("$thou" diff --json 31-002@2031-03-02T08:00 31-002@2031-03-02T16:00)
is "two entries of a day" 4 "$(printf '%s\n' "$cut" | grep -c '"change":"changed","tag":"chamber volume"')"
is "each 1 cc less" "-1.0" "$(printf '%s\n' "$cut" | field difference | sort -u)"
is "two days" "$cut" "$("$thou" diff --json 31-002@2031-03-02T08:00 31-002@2031-03-02)"
is "a day and today" 1 "$("$thou" diff --json 31-002@2031-03-05 | grep -c '"S1#1".*"at":{"value":1.700')"
is "before it all" 2 "$("$thou" diff 31-002@2030-01-01 >/dev/null 2>&1; echo $?)"

# --- nothing differs
is "nothing differs" "1 No reading differs." "$("$thou" diff 31-002 31-002 >"$dir/text"; echo $?) $(grep -o 'No reading differs\.' "$dir/text")"
is "nor from the last record" 1 "$("$thou" diff 31-002 >/dev/null; echo $?)"

# --- versions: moved and reworded notes are no change, a correction in place is one
cp jobs/31-002.job "$dir/v1"
sed -i 's/^Heights are good\.$//; s/  First$/  First time together/; s/16:00  Cut/16:00  Cut by one/' jobs/31-002.job
printf '\nHeights were good, by the way.\n' >>jobs/31-002.job
is "notes reworded and moved" 1 "$("$thou" diff 31-002 >/dev/null; echo $?)"
is "not a row" 0 "$("$thou" diff --json --all 31-002 | grep -c '"change":"changed"')"
sed -i 's/| 1\.149/| 1.194/' jobs/31-002.job
is "a correction" '"bind height" "S1#2" 1.149 1.194 0.045 3.9' "$(rows 31-002 '"bind height"' | sed 's/.*"tag":\("[^"]*"\).*"class":"[^"]*","subject":\("[^"]*"\).*"a":{"value":\([0-9.]*\).*"b":{"value":\([0-9.]*\).*"difference":\([-0-9.]*\),"percent":\([-0-9.]*\).*/\1 \2 \3 \4 \5 \6/')"
"$thou" keep >/dev/null 2>&1
first=$(git rev-parse HEAD^) second=$(git rev-parse HEAD)
is "version against version" 1 "$("$thou" diff --json "31-002@$first" "31-002@$(echo "$second" | cut -c1-7)" | grep -c '"bind height"')"
is "version against file" "$("$thou" diff --json "31-002@$first" 31-002 | sed 's/@[0-9a-f]*\.job/.job/g')" "$("$thou" diff --json "31-002@$first" "31-002@last" | sed 's/@[0-9a-f]*\.job/.job/g')"
today=$(date +%Y-%m-%d)
is "as it was kept by a day" 1 "$("$thou" diff --kept "31-002@$today" >/dev/null 2>&1; echo $?)"
is "which day means the records" 2 "$("$thou" diff --kept 31-002@2001-01-01 >/dev/null 2>&1; echo $?)"

# --- two jobs of two sets: by place
sed -e 's/31-002/31-003/; s/spring set = S1/spring set = S2/; s/| 183  /| 187  /' "$dir/v1" >jobs/31-003.job
pair=$("$thou" diff --json "31-002:first assembly" "31-003:first assembly" | grep '"spring load".*1.720' | head -n 1)
is "by the place they share" "S1#1 S2#1 I1" "$(printf '%s' "$pair" | side a | field subject) $(printf '%s' "$pair" | side b | field subject) $(printf '%s' "$pair" | field place)"
is "their loads" "183 187 4" "$(printf '%s' "$pair" | side a | field value) $(printf '%s' "$pair" | side b | field value) $(printf '%s' "$pair" | field difference)"
is "in words" 1 "$("$thou" diff "31-002:first assembly" "31-003:first assembly" | grep -c 'I1: S1#1 / S2#1 *spring load')"

# --- units: one log in inches, one in millimetres
sed -e 's/31-002/31-004/; s/installed height | spring/installed height mm | spring/; s/| 1\.722  /| 43.75  /; s/| 1\.718  /| 43.62  /' "$dir/v1" >jobs/31-004.job
height=$("$thou" diff --json "31-002:first assembly" "31-004:first assembly" | grep '"installed height".*"I1"')
is "compared in B's unit" "mm 43.75" "$(printf '%s' "$height" | field unit) $(printf '%s' "$height" | side b | field value)"
is "to the hundredth" "$(awk 'BEGIN { printf "%.2f", 43.75 - 1.722 * 25.4 }')" "$(printf '%s' "$height" | field difference | awk '{ printf "%.2f", $1 }')"

# --- CSV has the rows of JSON
is "CSV" "$(($("$thou" diff --json 31-002:teardown | wc -l) + 1))" "$("$thou" diff --csv 31-002:teardown | wc -l)"
is "not both" 2 "$("$thou" diff --csv --json 31-002 >/dev/null 2>&1; echo $?)"

# --- which places a bank has is a row of its own, and no note
printf 'job = 31-009\nengine = BK-9\nlayout = V\ncylinders = 4\nvalves per cylinder = 2\nbank left = 1 3\nbank right = 2 4\n\n2026-01-01  Day\nA note.\nchamber 1..4 = 44 44 44 44 cc\n' >jobs/31-009.job
"$thou" keep >/dev/null 2>&1
sed -i 's/left = 1 3/left = 1 2/; s/right = 2 4/right = 3 4/' jobs/31-009.job
is "a bank's places" "left 1 3 1 2" "$("$thou" diff 31-009 | awk '$1 == "left" { print $1, $3, $4, $5, $6 }')"
is "said in the record" 1 "$("$thou" keep 2>/dev/null | grep -c "bank left corrected '1 3' -> '1 2'")"
is "and in the past" 1 "$("$thou" past 31-009 | grep -c "^  20.*bank left corrected '1 3' -> '1 2'")"
sed -i 's/^A note\./Another note./' jobs/31-009.job
is "a note is still none" 1 "$("$thou" diff 31-009 >/dev/null; echo $?)"

end_checks
