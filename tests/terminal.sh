#!/bin/sh
# Every command on a terminal, in a pipe, without colour, at 40 columns and in the C locale: no escape
# sequence gets into a pipe, tables keep to the width they promise, and what is valid UTF-8 stays so.
. "$(dirname "$0")/tools/begin.sh"
export PATH="$B:$PATH" TERM=xterm LC_ALL=C.UTF-8
cp -r "$here/examples" "$dir/book"
cd "$dir/book" || exit 2
printf 'owner = Zoë Ümlaut, 京都の舟\n\n2026-03-20  Größe\nchamver 1 = 44,8 cc\n' >jobs/27-001.job
escape=$(printf '\033')

holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >"$dir/said" 2>&1 && return
    failed=$((failed + 1))
    echo "FAIL $what"
    head -n 3 "$dir/said" | sed 's/^/  /'
}
plain() { ! grep -n "$escape" "$1"; }
valid() { iconv -f UTF-8 -t UTF-8 "$1" >/dev/null; }

# a line a command; those that ask for something get nothing to read
cat >"$dir/lines" <<'END'
help
help spring
help sheet
check
check --list
check 27-001
list
tag
tag bind clearance
sheet 26-014
sheet 26-014 --json
why 26-014 bind clearance
find HL
find HL --csv
trend bind clearance
diff 26-014 26-003
past 26-014
fit 26-014 springs
completion bash
nosuch
END
while IFS= read -r line; do
    eval "thou $line" >"$dir/out" 2>"$dir/err" </dev/null
    first=$?
    holds "thou $line in a pipe" plain "$dir/out"
    holds "thou $line: its messages in a pipe" plain "$dir/err"
    holds "thou $line: valid UTF-8" valid "$dir/out"
    cp "$dir/out" "$dir/utf8"
    LC_ALL=C TERM=dumb sh -c "thou $line" >"$dir/out" 2>"$dir/err" </dev/null
    holds "thou $line in the C locale ends the same" test $? -eq $first
    holds "thou $line in the C locale says the same" cmp "$dir/utf8" "$dir/out"
    COLUMNS=40 sh -c "thou $line" >"$dir/out" 2>"$dir/err" </dev/null
    holds "thou $line at 40 columns ends the same" test $? -eq $first
    holds "thou $line at 40 columns: valid UTF-8" valid "$dir/out"
done <"$dir/lines"

# what keeps to the width
wide() { # WIDTH FILE: no line over it, in characters
    awk -v most="$1" 'length > most { print FNR ": " $0; bad = 1 } END { exit bad }' "$2"
}
for width in 40 60 80; do
    for line in list tag 'tag spring load' help 'help spring'; do
        COLUMNS=$width sh -c "thou $line" 2>/dev/null | grep -v '[^ -~]' >"$dir/out"
        holds "thou $line keeps to $width columns" wide $width "$dir/out"
    done
done

if command -v script >/dev/null 2>&1; then
    on_terminal() { # LINE: on a terminal of 40 columns
        script -qec "stty rows 24 cols 40; $1" /dev/null </dev/null >"$dir/screen" 2>&1
    }
    for line in 'check 27-001' 'sheet 26-019' list 'tag bind clearance'; do
        on_terminal "thou $line"
        holds "thou $line has colour on a terminal" grep -q "$escape\[" "$dir/screen"
        on_terminal "NO_COLOR=1 thou $line"
        holds "thou $line with NO_COLOR has none" plain "$dir/screen"
        on_terminal "TERM=dumb thou $line"
        holds "thou $line on a dumb terminal has none" plain "$dir/screen"
        on_terminal "thou $line | cat"
        holds "thou $line into a pipe has none" sh -c "! grep -v 'error:\|warning:' '$dir/screen' | grep -q '$escape'"
    done
    for line in 'sheet nosuch' 'new' 'fill nosuch' 'start README.md' 'keep --nosuch'; do
        on_terminal "thou $line"
        tr -d '\r' <"$dir/screen" >"$dir/out"
        holds "thou $line folds its message on a terminal" sh -c "grep -q '^thou: ' '$dir/out'"
        holds "thou $line keeps its message to 40 columns" wide 40 "$dir/out"
        holds "thou $line says it in plain text" plain "$dir/out"
    done
    on_terminal 'thou find spring'
    tr -d '\r' <"$dir/screen" | sed "s/$escape\[[0-9;]*m//g" >"$dir/out"
    holds "thou find marks the words" grep -q "$escape\[1m[Ss]pring" "$dir/screen"
    holds "thou find folds what it found" wide 40 "$dir/out"
    thou find spring >"$dir/piped" 2>/dev/null
    holds "and folds nothing in a pipe" sh -c "awk 'length > 80' '$dir/piped' | grep -q ."
    holds "and leaves out nothing" [ "$(tr -s ' \n' ' ' <"$dir/out" | head -c 4000)" = "$(tr -s ' \n' ' ' <"$dir/piped" | head -c 4000)" ]
    on_terminal 'NO_COLOR=1 thou check'
    tr -d '\r' <"$dir/screen" >"$dir/out"
    thou check >"$dir/piped" 2>/dev/null
    messages() { grep -v '^  | \|^thou: \|^      ' "$1" | tr -s ' \n' ' '; }
    holds "findings keep to a terminal of 40 columns" wide 40 "$dir/out"
    holds "and leave out nothing" [ "$(messages "$dir/out")" = "$(messages "$dir/piped")" ]
    holds "in a pipe a finding is three lines" \
        [ "$(wc -l <"$dir/piped")" -eq "$(($(grep -c ':[0-9]*:[0-9]*: \(error\|warning\): ' "$dir/piped") * 3))" ]
    thou sheet nosuch 2>"$dir/err"
    holds "a message in a pipe is one line" [ "$(wc -l <"$dir/err")" -eq 1 ]
    on_terminal 'thou tag bind clearance'
    tr -d '\r' <"$dir/screen" | sed "s/$escape\[[0-9;]*m//g" >"$dir/out"
    holds "the terminal's width is kept" wide 40 "$dir/out"
    git init -q . && git config user.name 'A Builder of Long Name' && git config user.email a@b.example &&
        thou keep >/dev/null 2>"$dir/err"
    holds "the book is kept" test $? -eq 0
    for line in past 'past 24-009' 'past 26-014' 'trend seat load 25-041' 'trend spring load 25-041' \
        'trend installed height --engine OS-23-1187' 'diff 26-014 26-003' 'diff 25-041 25-030' \
        'fit 26-014' 'fit 26-011' 'sheet 24-009' 'sheet 26-014' 'sheet 25-030'; do
        on_terminal "NO_COLOR=1 thou $line"
        tr -d '\r' <"$dir/screen" | sed 's/[▁▂▃▄▅▆▇█·±]/#/g' >"$dir/out"
        holds "thou $line says something" test "$(wc -l <"$dir/out")" -gt 3
        holds "thou $line keeps to a terminal of 40 columns" wide 40 "$dir/out"
    done
    on_terminal 'NO_COLOR=1 thou sheet 26-014' && tr -d '\r' <"$dir/screen" >"$dir/out"
    holds "a fact that folds is whole" grep -q 'gasket promised for Friday, dyno on the 24th' - <<END
$(tr -s ' \n' '  ' <"$dir/out")
END
else
    echo "script is not installed: nothing was tried on a terminal"
fi

end_checks
