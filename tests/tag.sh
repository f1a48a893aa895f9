#!/bin/sh
# thou tag and thou help WORD: every name has a page, what a page says is what the vocabulary says.
. "$(dirname "$0")/tools/begin.sh"

fail() {
    failed=$((failed + 1))
    echo "FAIL $what: $1"
    head -n 12 "$dir/out" | sed 's/^/  out: /'
    head -n 5 "$dir/err" | sed 's/^/  err: /'
}
run() { # EXIT-CODE WHAT ARGUMENTS...
    want=$1 what=$2
    shift 2
    "$thou" "$@" >"$dir/out" 2>"$dir/err" </dev/null
    got=$?
    checks=$((checks + 1))
    [ $got -eq "$want" ] || fail "ended with $got, not $want"
}
says() { # FILE TEXT, whatever the folding
    checks=$((checks + 1))
    tr -s ' \n' '  ' <"$dir/$1" | grep -qF -e "$2" || fail "no '$2' in $1"
}
holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >/dev/null 2>&1 || fail "does not hold"
}

mkdir -p "$dir/book/jobs" "$dir/empty"
cat >"$dir/book/shop.vocab" <<'END'
quantity = bind clearance
  is = open height - bind height - .001 in

quantity = rocker polish
  unit = percent
  says = how much of the rocker shines

limit bind clearance I = at least .060 in by KL
END
cat >"$dir/book/jobs/26-001.job" <<'END'
layout = inline
cylinders = 1
valves per cylinder = 2

2026-03-02  Heights
installed height I1 = 1.720 in
valve lift = .500 in
spring set = S1
spring I1 = #1
bind height #1 = 1.140 in
END

cd "$dir/empty" || exit 2
# without a book: the built-in names
run 0 "all names" tag
for name in $(sed -n 's/^quantity = \([a-z]*\)$/\1/p' "$here/format/trade.vocab"); do
    what="the list has $name"
    checks=$((checks + 1))
    grep -q "^  $name " "$dir/out" || fail "missing"
done
names=$(grep -c '^\(quantity\|fact\) = ' "$here/format/trade.vocab")
holds "and no fewer than are declared" test "$(grep -c '^  [^ ]' "$dir/out")" -ge "$names"
run 0 "as JSON" tag --json
holds "an object a line, of every tag" test "$(wc -l <"$dir/out")" -ge "$names"
if command -v jq >/dev/null 2>&1; then holds "that jq reads" jq -e .tag "$dir/out"; fi
cp "$dir/out" "$dir/all.json"
run 0 "as CSV" tag --csv
holds "with as many rows" test "$(wc -l <"$dir/out")" -gt "$names"

# every page exists, and says what its block says
sed -n 's/^\(quantity\|fact\) = //p' "$here/format/trade.vocab" >"$dir/names"
while IFS= read -r name; do
    run 0 "the page of $name" tag $name
    what="the page of $name"
    checks=$((checks + 1))
    [ "$(head -n 1 "$dir/out")" = "$name" ] || fail "begins with another name"
done <"$dir/names"
# a page, whole: worked from the block in format/trade.vocab
run 0 "bind clearance" tag bind clearance
says out "also coil bind clearance"
says out "of each valve"
says out "unit in (or mm); computed ones are shown with 3 decimals"
says out "bind height) here (trade.vocab:"
says out "used by least bind clearance"
says out "rules open height over bind height"
says out "source common practice, no source"
run 0 "a curve" tag SPRING   Load
says out "curve over height in in"
says out "load loss"
says out "repeat-differs"
run 0 "another name" tag spring pressure
says out "spring load"
run 0 "a choice" tag layout
says out "one of inline, V, flat"
run 0 "usual words" tag stage
says out "usual as arrived, teardown, mock-up, "
run 0 "an order of places" tag firing order
says out "order numbers put the cylinders in an order, each once"
run 0 "stocked sizes" tag shim
says out "stocked 0.015 in, 0.03 in, 0.06 in"
says out "not-stocked"
run 0 "words of several names" tag bind
says out "bind clearance"
says out "bind height"
run 0 "words of a meaning only" tag coils touch
says out "bind clearance"
run 1 "no such name" tag sprng load
says err "did you mean 'spring load'"
holds "and nothing on stdout" test ! -s "$dir/out"

# in a book: the shop's own
cd "$dir/book" || exit 2
run 0 "a name of the shop" tag rocker polish
says out "declared by the shop"
run 0 "a formula of the shop" tag bind clearance
says out "formula open height - bind height - .001 in (shop.vocab:2)"
says out "limit I: at least .060 in by KL (shop.vocab:8)"
run 0 "its working shows the same" why 26-001 bind clearance I1
says out "= open height - bind height - .001 in (shop.vocab:2)"
printf 'quantity = x y = z\n' >shop.vocab
run 2 "with a faulty shop.vocab" tag
says err "shop.vocab has errors"
run 0 "help does not wait for it" help sheet

# the checks a page names are codes of the program
"$thou" check --list | cut -d' ' -f1 >"$dir/codes"
for code in $(sed -n 's/.*"checks":"\([^"]*\)".*/\1/p' "$dir/all.json" | tr -d ',' | tr ' ' '\n' | sort -u); do
    holds "the check $code" grep -qx -e "$code" "$dir/codes"
done

# help WORD
cd "$dir/empty" || exit 2
while IFS= read -r code; do
    run 0 "help $code" help "$code"
    says out "$code"
done <"$dir/codes"
run 0 "help by a word of a finding" help swapped
says out "digits-swapped"
run 0 "help by a tag" help seat load
says out "seat load"
run 0 "help by what a command does" help checks logs
says out "check"
run 2 "help of nothing" help digits-swaped
says err "did you mean 'digits-swapped'"

end_checks
