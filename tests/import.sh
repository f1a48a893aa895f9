#!/bin/sh
# thou fill --csv: separators, quotes, marks, maps, what is skipped and why, and never a row twice.
. "$(dirname "$0")/tools/begin.sh"
ok() {
    rc=$?
    checks=$((checks + 1))
    [ $rc -eq 0 ] && return
    failed=$((failed + 1))
    echo "FAIL $1"
    head -n 40 out err
}
fresh() {
    rm -rf "$dir/book"
    mkdir -p "$dir/book/jobs" && cd "$dir/book" || exit 2
    : >shop.vocab
    printf 'layout = inline\ncylinders = 4\nvalves per cylinder = 2\n\n2031-03-02 Begun\n' >jobs/a.job
    cp jobs/a.job before
}
csv() { # FILE OPTIONS
    file=$1
    shift
    "$thou" fill a --csv "$file" --day 2031-03-04 "$@" >out 2>err
}
unchanged() { cmp -s before jobs/a.job; }
said() { grep -qF "$1" err; }

# ---- a proposal, a dry run, the appending ------------------------------------------------------
fresh
printf 'spring,load lbf @ 1.720,load lbf @ 1.220,bind height in,operator\n1,182,421,1.142,AP\n2,184,424,1.149,"Long, tall ""Jo"""\n' >t.csv
csv t.csv --set S31; ok "a dry run"
unchanged; ok "writes nothing"
said 'imports/t.map was made from the head of t.csv'; ok "the map is said"
cat >map <<'X'
separator = comma
decimal = point
rows = spring
place column = spring
load lbf @ 1.720 = spring load lbf @ 1.720 in
load lbf @ 1.220 = spring load lbf @ 1.220 in
bind height in = bind height in
operator = -
X
grep -v '^;' imports/t.map | cmp -s - map; ok "the proposal"
cat >entry <<'X'
2031-03-04  Imported from t.csv

spring | spring load lbf @ 1.720 in | spring load lbf @ 1.220 in | bind height in
S31#1  | 182                        | 421                        | 1.142
S31#2  | 184                        | 424                        | 1.149

X
head -n 6 out | cmp -s - entry; ok "the grid that would be appended"
cp out dry
csv t.csv --set S31 --append; ok "the appending"
{ cat before; echo; cat dry; } | cmp -s - jobs/a.job; ok "appends just that"
"$thou" check a >out 2>err; ok "the log is sound"
cp jobs/a.job once
csv t.csv --set S31 --append; ok "a second time"
cmp -s once jobs/a.job && said '2 in the log already'; ok "takes no row twice"
sed -i 's/^S31#1 .*/x &/; s/1\.149/1.150/' jobs/a.job
cp jobs/a.job once
printf '3,183,422,1.145,AP\n' >>t.csv
csv t.csv --set S31 --append; ok "one row more"
grep -c '^S31#3  | 183' jobs/a.job | grep -q '^1$' && said '1 row of 3 to append, 2 in the log already'
ok "takes that one, though rows were struck and mended by hand"
printf 'spring,load lbf @ 1.720,load lbf @ 1.220,bind height in,operator\n4,180,420,1.140,A\n4,180,420,1.140,B\n' >t.csv
csv t.csv --set S31 --append; said '2 rows of 2'; ok "two equal rows of one file are two readings"
csv t.csv --set S31 --append; said '2 in the log already'; ok "and both are known again"
fresh
csv t.csv --append 2>err; [ $? -ne 0 ]; ok "no file"
printf 'valve,lash in\nI1,.014\n' >t.csv
csv t.csv --append; [ $? -eq 1 ] && unchanged && said 'nothing was written'; ok "the first use never appends"
csv t.csv --append; ok "the second does"

# ---- measured again, and not changed -----------------------------------------------------------
fresh
printf 'spring,spring load lbf @ 1.720 in\n1,182\n2,184\n2,184\n' >t.csv
csv t.csv --set S31; csv t.csv --set S31 --append; ok "a first day"
cp jobs/a.job once
csv t.csv --set S31 --append; said 't.csv:2: skipped: it is in the log already: 2031-03-04  Imported from t.csv' && cmp -s once jobs/a.job
ok "the same day: the entry that has it is named"
"$thou" fill a --csv t.csv --set S31 --append >out 2>err; said '0 rows of 3' && said 'say on which day: --day DATE' && cmp -s once jobs/a.job
ok "no day: nothing twice, and how to say that it was measured again"
again() { "$thou" fill a --csv t.csv --set S31 --day 2031-04-07 --append >out 2>err; }
again; ok "another day"
said "3 rows have the values that the log has below '2031-03-04  Imported from t.csv'" && [ "$(grep -c '^S31#2 ' jobs/a.job)" -eq 4 ]; ok "is another reading, and said"
"$thou" check a >out 2>err; ok "the log is sound"
"$thou" trend 'spring load' a >out 2>err; grep -q '^ *S31#1  2  182' out; ok "trend has both"
cp jobs/a.job once
again; said '3 in the log already' && said 'already: 2031-04-07' && cmp -s once jobs/a.job; ok "but once a day"
csv t.csv --set S31 --append; said 'already: 2031-03-04' && cmp -s once jobs/a.job; ok "the first day is known as before"
printf '3,186\n' >>t.csv
again; said '1 row of 4 to append, 3 in the log already' && ! said 'taken as measured again'; ok "a row more of that day"

# ---- forms of CSV ------------------------------------------------------------------------------
fresh
printf '\357\273\277Valve;"Lash [mm]";Note\r\nI1;0,35;x\r\n"E1";"0,45";"two\r\nlines"\r\nI2;;\r\nE2;1.234,5;\r\n\r\nI3;0,3,5;\r\nI9;0,35;\r\nI4;0,35\r\n;0,35;\r\nE4;viel;\r\nE3;0,45;\r\n' >t.csv
csv t.csv --decimal comma; [ $? -eq 1 ]; ok "a dry run that skips rows"
grep -q '^I1    | 0.35$' out && grep -q '^E1    | 0.45$' out && grep -q '^E3    | 0.45$' out; ok "decimal commas, BOM, CRLF, quotes"
[ "$(grep -c '^[IE][0-9]' out)" -eq 3 ]; ok "three rows of ten"
said 't.csv:5: skipped: it has no value'; ok "an empty row"
said "t.csv:6: skipped: '1.234,5' has a point"; ok "thousands are not guessed"
said "t.csv:8: skipped: '0,3,5' has two commas"; ok "two commas"
said 't.csv:9: skipped: '; ok "a place the engine does not have"
said 't.csv:10: skipped: it has 2 fields and the head has 3'; ok "too few fields"
said 't.csv:11: skipped: it names no place'; ok "no place"
said 't.csv:12: skipped: '; ok "a word for a number"
grep -q '^decimal = comma$' imports/t.map; ok "the map keeps the decimal mark"
csv t.csv --append; grep -q '^E3    | 0.45$' jobs/a.job; ok "and uses it"
fresh
printf 'valve,lash in\nI1,0;35\nE1,"0,35"\n' >t.csv
csv t.csv; [ $? -eq 1 ] && said 't.csv:2: skipped' && said 't.csv:3: skipped'; ok "a comma that was not declared is refused"
fresh
printf 'valve\tlash mm\nI1\t0.35\n' >t.csv
csv t.csv; ok "tabs"
grep -q '^separator = tab$' imports/t.map; ok "tabs are seen"
fresh
printf 'a;b,c\n1;2,3\n' >t.csv
csv t.csv; [ $? -eq 2 ] && said 'say it with --separator'; ok "what could be two things is asked"
printf 'valve;lash, in mm\nI1;0.35\n' >u.csv
csv u.csv --separator semicolon; [ $? -eq 2 ] && said 'u.map:1: it reads no column'; ok "a head nobody knows"
printf 'valve,lash mm\nI1,"0.35\n' >v.csv
csv v.csv; [ $? -eq 1 ] && said 'v.csv:2: skipped: a quote in it is never closed'; ok "an open quote"
printf 'valve,lash mm\nI1,"0.35"5\n' >v.csv
csv v.csv; [ $? -eq 1 ] && said 'behind a closing quote'; ok "text behind a quote"
printf 'valve,lash mm\nI1,\377\n' >v.csv
csv v.csv; [ $? -eq 2 ] && said 'no UTF-8'; ok "no UTF-8"
printf 'valve,lash mm\nI1,0.35 | 0.40\nE1,0.35 ; said KL\n' >v.csv
csv v.csv; said 'v.csv:2: skipped' && said 'v.csv:3: skipped'; ok "bars and remarks cannot be smuggled in"
printf 'valve,lash mm\n"I1\n2031-03-05 Owned",0.35\n' >v.csv
csv v.csv; said 'v.csv:2: skipped'; ok "nor lines"
printf 'valve,lash mm,Place Column,rows\nI1,0.35,a,b\n' >x.csv
csv x.csv; grep -q '^"Place Column" = -$' imports/x.map && grep -q '^"rows" = -$' imports/x.map; ok "a column that is called as a setting"
for empty in '' '\n\n' '\357\273\277' 'sep=;\r\n'; do
    printf "$empty" >w.csv
    csv w.csv; [ $? -eq 2 ] && said 'w.csv is empty' && [ ! -e imports/w.map ]; ok "an empty file"
done
fresh
printf 'sep=;\r\nvalve;lash mm;note\r\nI1;0.35;a, b\r\nE1;-;-\r\nI2;;-\r\n' >t.csv
csv t.csv; grep -q '^separator = semicolon$' imports/t.map && grep -q '^I1    | 0.35$' out; ok "a first line that states the separator"
said 't.csv:4: skipped: it has no value' && said 't.csv:5: skipped: it has no value' && said '1 row of 3'; ok "a row of dashes has no value"
sed -i 's/^separator = .*/separator = comma/' imports/t.map
csv t.csv; grep -q '^I1    | 0.35$' out; ok "the file knows better than the map"

# ---- heads as testers and spreadsheets have them -----------------------------------------------
fresh
printf 'Spring No.;Load [lbf] @ 1,720 in;Load, lbf @ 1,220 [in];Spring load @ 1,000 in [lbf];Bind height,in;Remark, short\n1;182,5;421;500,5;1,142;x\n' >t.csv
csv t.csv --decimal comma --set S31; ok "units in brackets and behind commas, conditions with a decimal comma"
cat >map <<'X'
separator = semicolon
decimal = comma
rows = spring
place column = Spring No.
Load [lbf] @ 1,720 in = spring load lbf @ 1.720 in
Load, lbf @ 1,220 [in] = spring load lbf @ 1.220 in
Spring load @ 1,000 in [lbf] = spring load lbf @ 1.000 in
Bind height,in = bind height in
Remark, short = -
X
grep -v '^;' imports/t.map | cmp -s - map; ok "are all found"
grep -q '^S31#1  | 182.5  .* | 421  .* | 500.5  .* | 1.142$' out; ok "and read"
for head in 'Spring Nr' 'spring nr.' 'Spring#' 'SPRING #' 'Spring number'; do
    fresh
    printf 'operator,bind height in,%s\nAP,1.142,1\n' "$head" >t.csv
    csv t.csv --set S31; grep -q '^rows = spring$' imports/t.map && grep -q "^place column = $head\$" imports/t.map; ok "$head names the place"
done

# ---- a tester that writes the height of every stroke -------------------------------------------
fresh
printf 'spring,height [mm],load [N]\n1,43.70,805.5\n1,31.00,1860\n2,43.70,809.0\n' >t.csv
csv t.csv --set S7; ok "a row a point"
grep -q '^condition column = height \[mm\]$' imports/t.map; ok "the condition column is seen"
grep -q '^spring load S7#1 = 1860 N @ 31.00 mm$' out; ok "a line a point"
csv t.csv --set S7 --append && "$thou" check a >out 2>err; ok "the log is sound"
csv t.csv --set S7 --append; said '3 in the log already'; ok "and known again"

# ---- maps written by hand ----------------------------------------------------------------------
fresh
mkdir imports
printf 'Cyl,Side,"Set = ""A"" [in]",decimal\n1,I,.014,9\n1,E,.018,9\n' >t.csv
printf '> ours\nrows = valve\nplace column = Side, Cyl\nSet = "A" [in] = lash in ; both sides\n"decimal" = -\n' >imports/own.map
csv t.csv --map own --append; ok "two columns name the place; odd names"
grep -q '^I1    | .014$' jobs/a.job && grep -q '^E1    | .018$' jobs/a.job; ok "are read"
map() { # LINES: what is said of a map with them
    printf 'rows = valve\nplace column = Cyl\n%s\n' "$1" >imports/m.map
    csv t.csv --map m
    [ $? -eq 2 ] && unchanged_since
}
cp jobs/a.job last
unchanged_since() { cmp -s last jobs/a.job; }
map 'Side = lassh' && said "imports/m.map:3: no quantity is called 'lassh' (did you mean 'lash'"; ok "an unknown quantity"
map 'Side = lash lbf' && said "'lbf' is no unit of 'lash'"; ok "a wrong unit"
map 'Side = lash in @ 1 in' && said 'no curve'; ok "a condition for nothing"
map 'Side = spring load lbf' && said "needs its height"; ok "a curve without its condition"
map 'Side = spring load lbf @ 1.7 lbf' && said 'behind the @'; ok "a condition of another kind"
map 'Side is lash' && said 'no equals sign'; ok "no equals sign"
map 'Nowhere = lash in' && said "no column 'Nowhere'"; ok "a column that is not there"
map 'Side = lash in
Side = lash in' && said 'stands there twice'; ok "a column twice"
map 'separator = colon' && said 'comma, semicolon or tab'; ok "an unknown separator"
map 'decimal = dot' && said 'point or comma'; ok "an unknown mark"
map 'Side = chamber cc' && said 'not measured on what the rows are'; ok "a quantity of another class"
printf 'place column = Cyl\nSide = lash in\n' >imports/m.map
csv t.csv --map m; [ $? -eq 2 ] && said 'what the rows are'; ok "no rows"
printf 'rows = valve\nSide = lash in\n' >imports/m.map
csv t.csv --map m; [ $? -eq 2 ] && said 'names the place'; ok "no place column"
csv t.csv --map ../m; [ $? -eq 2 ] && said "can be no map's name"; ok "a map outside of the book"
"$thou" fill a chamber --append </dev/null >out 2>err; [ $? -eq 2 ]; ok "--append without --csv"
"$thou" fill a chamber --csv t.csv >out 2>err; [ $? -eq 2 ]; ok "words beside --csv"

# ---- the log as it may be ----------------------------------------------------------------------
fresh
printf 'valve,lash in\nI1,.014\n' >t.csv
csv t.csv
printf '\n>>\npasted\n' >>jobs/a.job && cp jobs/a.job before
csv t.csv --append; [ $? -eq 2 ] && unchanged && said 'block note'; ok "an open block note"
fresh
csv t.csv 2>/dev/null
sed -i 's/$/\r/' jobs/a.job
printf 'valve,lash in\nI1,.014\n' >t.csv
csv t.csv; csv t.csv --append && ! grep -qv "$(printf '\r')\$" jobs/a.job; ok "CRLF stays CRLF"
csv t.csv --append; said '1 in the log already'; ok "and its marks are found"

# held against awk: every value of a plain CSV of 200 rows stands in the log once
fresh
awk 'BEGIN { srand(7); print "spring,bind height in"; for (i = 1; i <= 200; i++) printf "%d,%.3f\n", i, 1.1 + rand() / 20 }' >t.csv
csv t.csv --set S9; csv t.csv --set S9 --append
sed -n 's/^S9#\([0-9]*\) *| \([0-9.]*\)$/\1,\2/p' jobs/a.job >got
sed 1d t.csv | cmp -s - got; ok "200 rows, each once"

end_checks
