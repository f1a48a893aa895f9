#!/bin/sh
# The sheet as text, page, JSON and CSV: what a number stands in is said once, and is the right one.
. "$(dirname "$0")/tools/begin.sh"
cd "$dir" || exit 2

says() { tr -s ' ' ' ' <"$1" | grep -qxF -e "$2"; } # FILE LINE, its blanks aside
lacks() { ! grep -qE -e "$2" "$1"; }                # FILE PATTERN
page() { "$thou" sheet units.job --html - "$@" 2>err | sed "s/<[^>]*>/ /g" | tr -s ' ' ' '; }

cat >units.job <<'END'
layout = inline
cylinders = 3
valves per cylinder = 2
end play = 6 thou

2026-03-03  Short block
stroke = 3.480 cm
barometer = 101.25 kPa
air temperature = 20 degC
bore 1..3 = 8.030 8.031 8.032 cm
piston below deck 1 = 0.30 mm
piston below deck 2..3 = .012 .013 in
piston diameter 1..3 = 80.1 80.1 80.1 mm ?
rod length = 137 mm ?
oil pressure @ 4000 rpm = 3.9 bar

spring set = S1
spring | spring load N @ 43.7 mm | free length cm
#1     | 800                     | 5.10
#2     | 810                     | 5.11
END
two='(cm|mm|thou|kPa|bar|degC|N) (in|mm|hPa|kPa|psi|degF|lbf)([^a-z]|$)'
for width in 40 80; do
    COLUMNS=$width "$thou" sheet units.job >us
    COLUMNS=$width "$thou" sheet units.job --units metric >metric
    holds "at $width: a reading's unit" says us ' stroke 3.480 cm'
    holds "at $width: of temperature" says us ' air temperature 20 degC'
    holds "at $width: of pressure" says us ' barometer 101.25 kPa'
    holds "at $width: thousandths" says us ' end play 6 thou'
    holds "at $width: doubted, the mark is the number's" says us ' rod length 137? mm'
    holds "at $width: a condition stands with its unit" grep -q '@.43\.7.mm' us
    holds "at $width: no second unit" lacks us "$two"
    holds "at $width: its own in the system asked for" says metric ' barometer 101.25 kPa'
    holds "at $width: no second one there" lacks metric "$two"
done
holds "a column all in one unit has it above" says us ' cm cc in in cc'
holds "and its digits below" says us ' 1 8.030 176.2 0.30 mm 0.0118 1.52'
holds "a curve's too" says us ' S1#1 800'
page >page.txt
holds "the page has no second unit" lacks page.txt "(3.480|101.25|20|6|137\?|0.30) $two"
page --units metric >page.txt
holds "nor has it in another system" lacks page.txt "(3.480|101.25|20|6|137\?|0.30) $two"
"$thou" sheet units.job --csv >csv
holds "CSV: the unit of the number" grep -q '^reading,units,2026-03-03,,stroke,3.480,cm,' csv
holds "CSV: of pressure" grep -q ',barometer,101.25,kPa,' csv
"$thou" sheet units.job --json >json
holds "JSON: the unit of the number" grep -qF '"tag":"stroke","value":3.480,"unit":"cm"' json
"$thou" sheet units.job --json --units us >json
holds "JSON: converted with its unit" grep -qF '"tag":"stroke","value":1.3701,"unit":"in"' json


# A number that JSON cannot have as it was written keeps its digits all the same, and gains none.
cat >signs.job <<'END'
cylinders = 2
valves per cylinder = 2

2026-03-03
with = T1
bare height I1 = +1.735 in
bare height I2 = +1.730 in
bare height E1 = 1-1/2 in
gauge T1 = reads .001 in high
END
"$thou" sheet signs.job --csv | grep -F 'bare height' | cut -d, -f4-9 >csv
holds "CSV: a sign adds no digit" grep -qxF 'I1,bare height,1.735,in,+1.735,1.734' csv
holds "and takes none" grep -qxF 'I2,bare height,1.730,in,+1.730,1.729' csv
holds "of a fraction the value as it was read" grep -qxF 'E1,bare height,1.5,in,1-1/2,1.499' csv
printf 'owner = =1+1\ntitle = @SUM(A1)\n' | cat - signs.job >formula.job
"$thou" sheet formula.job --csv | tr -d '\r' >csv
holds "CSV: what a log says does not run in a spreadsheet" grep -qF ",'=1+1," csv
holds "nor as another formula" lacks csv ',[=@]'
"$thou" sheet signs.job --json >json
holds "JSON: the same" grep -qF '"value":1.730,"unit":"in","text":"+1.730"' json

# What could not be read is counted in lines, and a part without its card is none of them: it is on the sheet.
mkdir -p "$dir/faults/jobs" && cd "$dir/faults" || exit 2
: >shop.vocab
printf 'cylinders = 2\nvalves per cylinder = 2\ncam part = KC-9\n' >jobs/a.job
cat >want <<'END'
thou: 1 part of jobs/a.job has no card, so nothing that its maker says counts here: thou check a
END
for ask in 'sheet a' 'why a cylinders' 'fit a gasket'; do
    "$thou" $ask >out 2>err
    is "$ask: only the card is missing" "$(cat want)" "$(head -n 1 err)"
done
"$thou" sheet a >out 2>err
is "it is an error" 1 $?
holds "and the part is shown" grep -q 'cam part *KC-9' out
printf 'bore 1 = 4.0a in 5.0b\nvalve | shim in | spring\nI1 | 1,5 | x\n' >>jobs/a.job
"$thou" sheet a >out 2>err
holds "two faults on a line are one line" grep -q '^thou: 2 lines of jobs/a\.job could not be read and count for' err
holds "and the card is missing still" grep -q '^thou: 1 part ' err
printf 'cylinders = 2\nvalves per cylinder = 2\nspring I1 = S1#1\n\n2031-01-01\nouter spring I1 = S1#2\n' >jobs/a.job
"$thou" sheet a >out 2>err
is "read, though at odds with another" "thou: every line of jobs/a.job was read, but there are errors in it: thou check a" "$(cat err)"
cd "$dir" || exit 2

end_checks
