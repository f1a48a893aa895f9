#!/bin/sh
# The manual: a page for each command that says what -h says, and pages that formatters take cleanly.
. "$(dirname "$0")/tools/begin.sh"
export LC_ALL=C

holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >"$dir/out" 2>&1 && return
    failed=$((failed + 1))
    echo "FAIL $what"
    head -n 8 "$dir/out" | sed 's/^/  /'
}

mkdir "$dir/man"
"$B/tool/manual" "$dir/man" "$here/format/thou-log.man" || exit 1
cp -r "$dir/man" "$dir/again"
"$B/tool/manual" "$dir/again" "$here/format/thou-log.man"
holds "the same pages every time" diff -r "$dir/man" "$dir/again"
commands=$("$thou" help | sed -n 's/^  \([a-z]*\)  *[a-z].*/\1/p')
holds "a page a command, two more" test "$(ls "$dir/man" | wc -l)" -eq $(($(echo "$commands" | wc -w) + 2))
holds "help lists some" test "$(echo "$commands" | wc -w)" -gt 7

words() { tr -s ' \n' '\n\n' | grep .; }
part() { # FROM TO: the lines between two headings of a formatted page
    sed -n "/^$1\$/,/^$2\$/p" "$dir/page" | sed '1d;$d'
}
if command -v groff >/dev/null 2>&1; then
    for command in $commands; do
        "$thou" "$command" -h >"$dir/help"
        groff -man -Tascii -P-cbou "$dir/man/thou-$command.1" >"$dir/page" 2>"$dir/complaints"
        sed '1,3d; /^Options$/,$d' "$dir/help" | words >"$dir/help.words"
        part DESCRIPTION OPTIONS | words >"$dir/page.words"
        holds "$command: -h and the page say the same" diff "$dir/help.words" "$dir/page.words"
        sed '1,/^Options$/d' "$dir/help" | words >"$dir/help.words"
        part OPTIONS 'EXIT STATUS' | words >"$dir/page.words"
        holds "$command: and of options" diff "$dir/help.words" "$dir/page.words"
        summary=$(sed -n '2s/^ *//p' "$dir/help")
        part NAME SYNOPSIS | words | tr '\n' ' ' >"$dir/name"
        holds "$command: its name and summary" grep -qF -e "thou-$command - $summary" "$dir/name"
    done
    for page in "$dir/man"/*; do
        groff -man -ww -Tutf8 "$page" >/dev/null 2>"$dir/complaints"
        holds "groff takes $(basename "$page")" test ! -s "$dir/complaints"
    done
    groff -man -Tascii -P-cbou "$dir/man/thou.1" >"$dir/page"
    holds "who deletes .thou is told what may be lost" grep -q 'but for .thou/fill' "$dir/page"
    groff -man -Tascii -P-cbou "$dir/man/thou-log.5" >"$dir/page"
    for name in 'bind clearance' 'chamber volume' 'spring load' layout; do
        holds "the vocabulary has $name" grep -q "^ *$name (" "$dir/page"
    done
else
    echo "groff is not installed: the pages were not formatted with it"
fi
if command -v man >/dev/null 2>&1; then
    for page in "$dir/man"/*; do
        LC_ALL=C.UTF-8 MANROFFSEQ= man --warnings=w -E UTF-8 -l -Tutf8 -Z "$page" 2>"$dir/complaints" >/dev/null
        holds "man takes $(basename "$page")" test ! -s "$dir/complaints"
    done
else
    echo "man is not installed: the pages were not shown with it"
fi
if command -v mandoc >/dev/null 2>&1; then
    # pages carry no date, so that the same source makes the same pages
    for page in "$dir/man"/*; do
        mandoc -Tlint -W warning "$page" 2>&1 | grep -v 'missing date' >"$dir/complaints"
        holds "mandoc takes $(basename "$page")" test ! -s "$dir/complaints"
    done
else
    echo "mandoc is not installed: the pages were not looked at with it"
fi

# the examples of the format's page are lines that the program reads
{
    printf 'layout = inline\ncylinders = 4\nvalves per cylinder = 2\nspring set = S1\n\n2026-03-02  All\n'
    sed -n '/^.SH READINGS/,/^.SH FILES/s/^\.B //p' "$here/format/thou-log.man" | sed 's/\\-/-/g'
} >"$dir/all.job"
"$thou" check "$dir/all.job" >"$dir/findings" 2>/dev/null
grep -o '\[[a-z-]*\]$' "$dir/findings" | grep -vE 'limit-|gap|suspect-unrepeated|heading-unspaced' >"$dir/bad"
holds "the page's examples: $(tr '\n' ' ' <"$dir/bad")" test ! -s "$dir/bad"
holds "of which there are some" test "$(wc -l <"$dir/all.job")" -gt 14

# the -h screens keep to the width there is, and say the same in each
for command in $commands; do
    COLUMNS=200 "$thou" "$command" -h | tr -d ' \n' >"$dir/help.words"
    for width in 80 60 40 200; do
        COLUMNS=$width "$thou" "$command" -h >"$dir/help"
        most=$width
        [ $most -le 80 ] || most=80
        holds "$command -h keeps to $width columns" awk -v most=$most \
            'length > most { print; bad = 1 } END { exit bad }' "$dir/help"
        tr -d ' \n' <"$dir/help" >"$dir/page.words"
        holds "$command -h leaves out nothing at $width" cmp "$dir/help.words" "$dir/page.words"
    done
done

end_checks
