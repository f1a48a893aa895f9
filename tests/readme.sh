#!/bin/sh
# Every screen of README.md comes back as it stands there. `UPDATE=1 sh tests/readme.sh` rewrites the
# screens from the program; look at the difference before keeping it.
# DOC=format/fill.md does the same with another text.
#   ```log FILE     (or ```file FILE) writes FILE into a scratch folder, where `examples` is a copy of the book
#   ```console      lines that begin with `$ ` are run there; what follows is what comes back
set -u
: "${B:=build}" "${DOC:=README.md}"
root=$(cd "$(dirname "$0")/.." && pwd)
case $B in /*) bin=$B ;; *) bin=$root/$B ;; esac
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
cp -r "$root/examples" "$scratch/examples"
PATH=$bin:$PATH
HOME=$scratch
COLUMNS=80 LC_ALL=C.UTF-8
export PATH HOME COLUMNS LC_ALL
unset THOU_BOOK NO_COLOR
checks=0 failed=0
: >"$scratch/README.new"

screen() { # runs the commands of one block, writes the block anew
    while IFS= read -r typed; do
        case $typed in
        '$ '*)
            printf '%s\n' "$typed"
            (cd "$scratch" && sh -c "${typed#\$ }") 2>&1 </dev/null
            ;;
        esac
    done <"$1"
}

kind=
while IFS= read -r line || [ -n "$line" ]; do
    case $kind:$line in
    ':```log '* | ':```file '*)
        kind=log
        target=$scratch/${line#'```'* }
        mkdir -p "$(dirname "$target")"
        : >"$target"
        printf '%s\n' "$line" >>"$scratch/README.new"
        ;;
    ':```console')
        kind=console
        : >"$scratch/block"
        printf '%s\n' "$line" >>"$scratch/README.new"
        ;;
    'log:```')
        kind=
        printf '%s\n' "$line" >>"$scratch/README.new"
        ;;
    'console:```')
        kind=
        screen "$scratch/block" >"$scratch/got"
        checks=$((checks + 1))
        if ! cmp -s "$scratch/block" "$scratch/got"; then
            failed=$((failed + 1))
            [ "${UPDATE:-}" ] || diff -u "$scratch/block" "$scratch/got" | head -n 40
        fi
        cat "$scratch/got" >>"$scratch/README.new"
        printf '%s\n' "$line" >>"$scratch/README.new"
        ;;
    log:*)
        printf '%s\n' "$line" >>"$target"
        printf '%s\n' "$line" >>"$scratch/README.new"
        ;;
    console:*) printf '%s\n' "$line" >>"$scratch/block" ;;
    *) printf '%s\n' "$line" >>"$scratch/README.new" ;;
    esac
done <"$root/$DOC"
if [ "${UPDATE:-}" ]; then
    [ -z "${CI:-}" ] || exit 1
    cp "$scratch/README.new" "$root/$DOC"
    failed=0
fi
echo "$checks checks"
[ $failed -eq 0 ] && [ $checks -gt 0 ]
