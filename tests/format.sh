#!/bin/sh
# Runs every example of format/*.md and every case of tests/conformance, and compares what comes back.
#   sh tests/format.sh            all of them
#   sh tests/format.sh 3.2        one example, or all of section 3: `sh tests/format.sh 3`
#   sh tests/format.sh 017        one case of the corpus, by its number or its whole name
#   UPDATE=1 sh tests/format.sh   writes what came back as the new expectation; read the diff before you commit it
set -u
here=$(cd "$(dirname "$0")/.." && pwd)
B=${B:-build}
case $B in /*) ;; *) B=$here/$B ;; esac
thou=$B/thou
only=${1:-}
if [ -n "${UPDATE:-}" ] && [ -n "${CI:-}" ]; then
    echo "UPDATE is not for CI: expectations are changed by hand there" >&2
    exit 2
fi
if [ ! -x "$thou" ]; then
    echo "$thou is not there: run make first" >&2
    exit 2
fi
tmp=$(mktemp -d)
trap 'rm -rf "$tmp"' EXIT
unset THOU_BOOK
HOME=$tmp
export HOME

wanted() { # a case's number or name
    [ -z "$only" ] && return 0
    case $1 in
    "$only" | "$only".* | "$only"-*) return 0 ;;
    esac
    return 1
}

# The corpus in the same shape as the examples: DIR/book, DIR/back, DIR/skip.
corpus_case() { # FILE.job; its name is in $name
    dir=$tmp/$name
    mkdir -p "$dir/book/jobs" "$dir/book/parts"
    : >"$dir/book/shop.vocab"
    if [ -d "${1%.job}.d" ]; then cp -R "${1%.job}.d/." "$dir/book/"; fi
    cp "$1" "$dir/book/jobs/example.job"
    if [ -f "${1%.job}.back" ]; then cp "${1%.job}.back" "$dir/back"; else : >"$dir/back"; fi
    echo 0 >"$dir/skip"
}

run_case() { # NAME; leaves DIR/new when an update is asked for and something differs
    dir=$tmp/$1
    if [ ! -f "$dir/back" ]; then
        echo "FAIL $1: it has no back"
        return 1
    fi
    (cd "$dir/book" && "$thou" check --json jobs/example.job >../check.json 2>../check.err)
    check_rc=$?
    (cd "$dir/book" && "$thou" sheet --json jobs/example.job >../sheet.json 2>../sheet.err)
    sheet_rc=$?
    if [ $check_rc -gt 1 ] || [ $sheet_rc -gt 1 ]; then
        echo "FAIL $1: check ended with $check_rc, sheet with $sheet_rc"
        cat "$dir/check.err" "$dir/sheet.err"
        return 1
    fi
    read -r skip <"$dir/skip"
    out=
    if [ -n "${UPDATE:-}" ]; then out=$dir/new; fi
    # an empty file has no first line to count by: a blank one stands in
    for f in check.json sheet.json back; do
        if [ ! -s "$dir/$f" ]; then echo >"$dir/$f"; fi
    done
    if ! awk -f "$here/tests/tools/backs.awk" -v skip="$skip" -v file=jobs/example.job \
        -v rc=$check_rc -v out="$out" "$dir/check.json" "$dir/sheet.json" "$dir/back" >"$dir/differs"; then
        echo "FAIL $1"
        head -n 24 "$dir/differs"
        return 1
    fi
    return 0
}

set -f
cd "$here" || exit 2
set +f
awk -f tests/tools/examples.awk -v dir="$tmp" format/*.md || exit 1
for f in tests/conformance/*.job; do
    name=${f##*/}
    name=${name%.job}
    if wanted "$name"; then corpus_case "$f"; fi
done

checks=0 failed=0
for dir in "$tmp"/*/; do
    name=${dir%/}
    name=${name##*/}
    wanted "$name" || continue
    checks=$((checks + 1))
    run_case "$name" || failed=$((failed + 1))
done

if [ -n "${UPDATE:-}" ]; then
    for f in format/*.md; do
        awk -f tests/tools/examples.awk -v dir="$tmp" -v new=1 "$f" >"$tmp/text" && cp "$tmp/text" "$f"
    done
    for f in tests/conformance/*.job; do
        new=$tmp/$(basename "$f" .job)/new
        if [ -f "$new" ]; then cp "$new" "${f%.job}.back"; fi
    done
fi

[ $failed -eq 0 ] || echo "$failed of $checks failed"
if [ $checks -eq 0 ]; then
    echo "no example or case is called $only" >&2
    exit 2
fi
echo "$checks checks"
[ $failed -eq 0 ]
