#!/bin/sh
# Holds format/checks.md, `thou check --list` and the examples together: the same codes with the same
# levels in both, each code with a cause and a cure, each shown by an example or a case of the corpus.
set -u
cd "$(dirname "$0")/.." || exit 2
B=${B:-build}
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
checks=0 failed=0
fail() {
    echo "FAIL $*"
    failed=$((failed + 1))
}

"$B/thou" check --list | awk '{ print $1, $2 }' | sort >"$tmp/listed" || exit 2
[ -s "$tmp/listed" ] || { echo "thou check --list says nothing" >&2; exit 2; }
# | `code` | level (a) | cause | cure |   where "by the rule" is either level
awk -F ' *[|] *' '/^[|] `[a-z-]+`/ {
    gsub(/`/, "", $2)
    if ($4 == "" || $5 == "") print "no-cause-or-cure", $2 > "/dev/stderr"
    if ($3 ~ /^by the rule/) { print $2, "error"; print $2, "warning" }
    else { sub(/[^a-z].*/, "", $3); print $2, $3 }
}' format/checks.md 2>"$tmp/holes" | sort >"$tmp/stated"

while read -r code level; do
    checks=$((checks + 1))
    grep -qx "$code $level" "$tmp/stated" || fail "format/checks.md does not have $code ($level)"
done <"$tmp/listed"
while read -r code level; do
    checks=$((checks + 1))
    grep -qx "$code $level" "$tmp/listed" || fail "format/checks.md has $code ($level), the program has not"
done <"$tmp/stated"
while read -r _ code; do
    fail "format/checks.md has no cause or no cure for $code"
done <"$tmp/holes"

cat format/*.md tests/conformance/*.back | sed -n 's/^\(error\|warning\) \([a-z-]*\) .*/\2/p' | sort -u >"$tmp/shown"
for code in $(awk '{ print $1 }' "$tmp/listed" | uniq); do
    checks=$((checks + 1))
    grep -qx "$code" "$tmp/shown" || fail "no example and no case shows $code"
done

echo "$checks checks"
[ $failed -eq 0 ]
