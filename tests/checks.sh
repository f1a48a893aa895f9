#!/bin/sh
# Holds format/checks.md, `thou check --list` and the examples together: the same codes with the same
# levels in both, each code with a cause and a cure, each shown by an example or a case of the corpus.
. "$(dirname "$0")/tools/begin.sh"
cd "$here" || exit 2

"$B/thou" check --list | awk '{ print $1, $2 }' | sort >"$dir/listed" || exit 2
[ -s "$dir/listed" ] || { echo "thou check --list says nothing" >&2; exit 2; }
# | `code` | level (a) | cause | cure |   where "by the rule" is either level
awk -F ' *[|] *' '/^[|] `[a-z-]+`/ {
    gsub(/`/, "", $2)
    if ($4 == "" || $5 == "") print "no-cause-or-cure", $2 > "/dev/stderr"
    if ($3 ~ /^by the rule/) { print $2, "error"; print $2, "warning" }
    else { sub(/[^a-z].*/, "", $3); print $2, $3 }
}' format/checks.md 2>"$dir/holes" | sort >"$dir/stated"

while read -r code level; do
    checks=$((checks + 1))
    grep -qx "$code $level" "$dir/stated" || fail "format/checks.md does not have $code ($level)"
done <"$dir/listed"
while read -r code level; do
    checks=$((checks + 1))
    grep -qx "$code $level" "$dir/listed" || fail "format/checks.md has $code ($level), the program has not"
done <"$dir/stated"
while read -r _ code; do
    fail "format/checks.md has no cause or no cure for $code"
done <"$dir/holes"

cat format/*.md tests/conformance/*.back | sed -n 's/^\(error\|warning\) \([a-z-]*\) .*/\2/p' | sort -u >"$dir/shown"
for code in $(awk '{ print $1 }' "$dir/listed" | uniq); do
    checks=$((checks + 1))
    grep -qx "$code" "$dir/shown" || fail "no example and no case shows $code"
done

end_checks
