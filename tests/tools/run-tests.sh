#!/bin/sh
# Runs each test program and script it is given; shows a failing one's output, and a closing count.
set -u
export B
passed=0 failed=0
log=$(mktemp)
trap 'rm -f "$log"' EXIT
for t in "$@"; do
    case $t in
    *.sh) sh "$t" >"$log" 2>&1; rc=$? ;;
    *) "$t" >"$log" 2>&1; rc=$? ;;
    esac
    # a script says "N checks" last; a cmocka program counts its tests
    n=$(sed -n -e 's/^\[  PASSED  \] \([0-9]*\) test.*/\1/p' -e 's/^\([0-9]*\) checks$/\1/p' "$log" | tail -n 1)
    if [ $rc -eq 0 ]; then
        passed=$((passed + ${n:-1}))
        printf '  ok    %s (%s)\n' "$t" "${n:-1}"
    else
        bad=$(grep -c '^\[  FAILED  \] [a-z_]' "$log" || true)
        [ "$bad" -gt 0 ] || bad=1
        failed=$((failed + bad)) passed=$((passed + ${n:-0}))
        printf '  FAIL  %s\n' "$t"
        grep -v '^\[       OK \]\|^\[ RUN ' "$log" | tail -n 60
    fi
done
echo "$passed passed, $failed failed"
[ $failed -eq 0 ] && [ $passed -gt 0 ]
