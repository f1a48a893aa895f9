#!/bin/sh
# What findings say: the sentence names the right thing, and what it prints bears it out. Codes and
# places are the conformance corpus's matter.
. "$(dirname "$0")/tools/begin.sh"
cd "$dir" || exit 2

fail() {
    failed=$((failed + 1))
    echo "FAIL $what: $1"
    head -n 5 "$dir/out"
}
engine='layout = inline
cylinders = 2
valves per cylinder = 2
'
check() { # WHAT LINES: a log with these lines, checked
    what=$1
    printf '%s\n%s\n' "$engine" "$2" >log.job
    "$thou" check log.job >out 2>&1
}
says() { # TEXT
    checks=$((checks + 1))
    grep -qF -e "$1" out || fail "no '$1'"
}
lacks() { # TEXT
    checks=$((checks + 1))
    ! grep -qF -e "$1" out || fail "'$1'"
}

"$thou" check "$here/tests/conformance/401-unjudged-between-judged.job" >out 2>&1
what="a limit between judged places"
says 'cannot be judged yet at I1 I2: `valve lift` is missing'
lacks 'net lift'
check "two things missing" '2026-03-03  Heights
valve lift I1 = .500 in
lash I2 = .012 in
limit net lift I = at least .4 in by shop'
says 'cannot be judged yet at I1 I2: `lash` or `valve lift` is missing'

# A value that is outside must look it: in one unit, with the digits that takes.
check "a metric value under an inch's bound" '2026-03-03  Heads
head A = 1..2
milled A = 0.01 mm'
says 'it should lie in 0.0127 .. 3.8100 mm'
check "a value that rounds onto the bound" '2026-03-03  Heads
head A = 1..2
milled A = .0004 in'
says 'it should lie in 0.0005 .. 0.1500 in'
check "a bound as the vocabulary has it" '2026-03-03  Heads
valve lift I1 = 25.3 in'
says 'it should lie in 0.100 .. 1.300 in'
check "a condition" '2026-03-03  Springs
spring load S1#1 @ 437 mm = 182 lbf'
says 'its height should lie in 12.7 .. 88.9 mm'

# The sizes that were tried, and where they come from.
check "no stock is stated" '2026-03-03  Shims
shim I1 = .017 in'
says 'is no sum of the usual sizes (0.015, 0.030, 0.060 in): a slip'
lacks 'shim stock'
check "a stock is stated" 'shim stock = 4 x .015, 20 x .060 in

2026-03-03  Shims
shim I1 = .030 in
shim E1 = .040 in'
lacks 'shim I1'
says 'is no sum of the sizes in `shim stock` (0.015, 0.060 in; log.job:5)'

# A letter for a digit is named as such, wherever a number may stand.
letter() { # VALUE WORD LETTER DIGIT
    check "the value $1" "2026-03-03  Heights
installed height I1 = $1"
    says "\`$2\` holds a letter: is the $3 a $4?"
    lacks 'is no unit'
}
letter 1.8O2 1.8O2 O zero
letter '1.8o2 in' 1.8o2 o zero
letter '1.80l in ?' 1.80l l one
letter 'l.805 in' l.805 l one
letter I.805 I.805 I one
letter '.9O1' .9O1 O zero
check "litres are no slip" 'displacement = 2l'
lacks 'holds a letter'
check "a word is no number" '2026-03-03  Heights
installed height I1 = lol in'
says 'is no number'
lacks 'holds a letter'
for doubt in '1.805?? in' '1.805 in ??' '1.805 ? ? in'; do
    check "the doubt $doubt" "2026-03-03  Heights
installed height I1 = $doubt"
    says 'a value is doubted with one ?: take this one out'
    lacks 'is no number'
done

# A card that nearly has the name is named: a slip, or the case of a letter, which the file system tells apart.
what="a card of nearly the name"
mkdir -p cards/jobs cards/parts
: >cards/shop.vocab
: >cards/parts/Sp-1.part
: >cards/parts/KC-92.part
printf 'spring part = SP-1\ncam part = KC-29\ncam part = Q\n' >cards/jobs/a.job
"$thou" check --book cards >out 2>&1
says "no card parts/SP-1.part in this book (did you mean 'Sp-1'?), so"
says "no card parts/KC-29.part in this book (did you mean 'KC-92'?), so"
says "no card parts/Q.part in this book, so"

end_checks
