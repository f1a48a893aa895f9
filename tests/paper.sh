#!/bin/sh
# thou new JOB --paper: that it fits the paper, and asks in the order in which thou fill does.
. "$(dirname "$0")/tools/begin.sh"
ok() {
    rc=$?
    checks=$((checks + 1))
    [ $rc -eq 0 ] && return
    failed=$((failed + 1))
    echo "FAIL $1"
    head -n 40 out err
}
mkdir -p "$dir/book/jobs" && cd "$dir/book" && : >shop.vocab

# 80 columns and 60 lines are what A4 and Letter both hold at ten characters and six lines an inch
fits() {
    awk 'BEGIN { RS = "\f" }
        { n = split($0, line, "\n") - 1
          if (n > 60) { print "page " NR " has " n " lines"; bad = 1 }
          for (i = 1; i <= n; i++) if (length(line[i]) > 80) { print "too wide: " line[i]; bad = 1 }
          if (line[1] !~ "page " NR " of ") { print "page " NR " has no number"; bad = 1 }
          if (NR == 1) { sub(/.*of /, "", line[1]); pages = line[1] } }
        END { if (NR != pages) { print NR " pages, and " pages " are said"; bad = 1 } exit bad }' out
}
for layout in "inline 1 2" "inline 6 2" "V 8 2" "V 16 4" "flat 4 2" "inline 4 5"; do
    set -- $layout
    "$thou" new "p$2$3" --paper --layout "$1" --cylinders "$2" --valves "$3" >out 2>err; ok "$layout"
    fits >err; ok "$layout fits the page"
    grep -q '^compressed springs:' out; ok "$layout has its caution"
    [ ! -e "jobs/p$2$3.job" ]; ok "$layout writes no log"
done
"$thou" new none --paper >out 2>err
[ $? -ne 0 ] && grep -q 'how many places' err; ok "no layout, no form"
eval "$(sed -n 's/.* as in \(thou new none .*\), or .*/\1/p' err | sed "s|^thou|'$thou'|")" >out 2>err
[ -s out ] && [ ! -e jobs/none.job ]; ok "and the command it proposes prints one"
printf 'job = bare\n' >jobs/bare.job
"$thou" new bare --paper >out 2>err
[ $? -ne 0 ] && grep -q 'write into it .layout = ., .cylinders = ' err; ok "a log that says none is told what to write"
"$thou" new -h | tr -s ' \n' ' ' | grep -q 'without that there is no form'; ok "the help says so"

# places by bank as the log declares them, and the same as thou fill asks
cat >jobs/v.job <<'X'
layout = V
cylinders = 8
valves per cylinder = 2
bank left = 1 3 5 7
bank right = 2 4 6 8
X
order() { # FORM: the places on the paper
    awk -v form="$1" 'BEGIN { RS = "[\n\f]" } $0 == form || $0 == form ", continued" { on = 1; next }
        $0 == "" { on = 0 } on && /^[A-Z0-9]+ +\|/ { sub(/ .*/, ""); print }' out
}
"$thou" new v --paper >out 2>err; ok "a log that is there"
order Heights >paper
yes 1.720 | head -n 16 | "$thou" fill v 'installed height' --day 2031-03-04 >err 2>&1
sed -n 's/^\([IE][0-9]*\) *|.*/\1/p' jobs/v.job >asked
[ "$(wc -l <paper)" -eq 16 ] && cmp -s paper asked; ok "heights in the order they are asked"
head -n 2 paper | tr '\n' ' ' | grep -q '^I1 E1 $' && sed -n 9p paper | grep -q '^I2$'; ok "the left bank first"
order Chambers | tr '\n' ' ' | grep -q '^1 3 5 7 2 4 6 8 $'; ok "chambers by bank"
"$thou" new v --paper >out 2>err; grep -q 'Set ____' out && grep -q '@ _____ in' out; ok "what is not known can be written"
printf 'spring set = S31\nspring load #1 = 182 lbf @ 1.720 in, 421 @ 1.220\n' >>jobs/v.job
"$thou" new v --paper >out 2>err; grep -q '@ 1.720 in' out && grep -q '^S31#16 ' out && ! grep -q 'Set ____' out
ok "what is known is printed"
"$thou" check v >out 2>err; ok "and the log is sound"

end_checks
