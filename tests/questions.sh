#!/bin/sh
# The fifteen questions that a shop asks of its past builds (format/questions.md): each command of
# the page is run on the book in examples/, and every line shown under it must come back, in that
# order; a line of three dots stands for lines that are not shown. REGEN=1 writes nothing: the page
# is kept by hand, so that a person has looked at each answer.
set -u
B=$(realpath "${B:-build}")
page=$(realpath format/questions.md)
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
unset THOU_BOOK
cp -r examples "$dir/examples" || exit 2
awk -v dir="$dir" '
    /^```$/ && on { on = 0; close(file); next }
    /^```$/ { on = 1; file = sprintf("%s/%02d", dir, ++n); next }
    on { print > file }' "$page"
checks=0 failed=0
cd "$dir" || exit 2
PATH=$B:$PATH
for block in [0-9][0-9]; do
    command=$(sed -n '1s/^\$ //p' "$block")
    sed 1d "$block" >wanted
    COLUMNS=80 NO_COLOR=1 sh -c "$command" >got 2>&1
    checks=$((checks + 1))
    if ! awk 'NR == FNR { got[FNR] = $0; n = FNR; next }
        $0 == "..." { gap = 1; next }
        { at++; if (gap || !shown) while (at <= n && got[at] != $0) at++
          if (at > n || got[at] != $0) { print "line not there: " $0; bad = 1; exit }
          gap = 0; shown = 1 }
        END { exit bad || !shown }' got wanted >why; then
        failed=$((failed + 1))
        echo "not so: $command"
        cat why
    fi
done
# The effect of a cut belongs to the log of the cut: 24-021 touched the seats in the same entry, 26-011
# continues the log of a cut and 25-041 one whose cut is not alone.
checks=$((checks + 1))
got=$(thou find --book examples --ever --json 'chamber per thou > 0' 2>/dev/null |
    sed 's/.*"job":"\([^"]*\)".*/\1/' | sort -u | tr '\n' ' ')
[ "$got" = "25-022 26-014 " ] || { failed=$((failed + 1)); echo "cc per thou of milling in: $got"; }
[ "$checks" -ge 15 ] || { echo "only $checks commands in format/questions.md"; exit 1; }
[ "$failed" = 0 ] || exit 1
echo "$checks checks"
