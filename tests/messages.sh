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

"$thou" check "$here/tests/conformance/395-unjudged-between-judged.job" >out 2>&1
what="a limit between judged places"
says 'cannot be judged yet at I1 I2: `valve lift` is missing'
lacks 'net lift'
check "two things missing" '2026-03-03  Heights
valve lift I1 = .500 in
lash I2 = .012 in
limit net lift I = at least .4 in by shop'
says 'cannot be judged yet at I1 I2: `lash` or `valve lift` is missing'

end_checks
