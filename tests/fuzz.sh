#!/bin/sh
# The fuzz targets (tests/fuzz) on what they once found: single inputs in tests/fuzz/found, named by
# their target, and the corpus each came to, tests/fuzz/found/TARGET.tar.gz. `make fuzz` goes on from
# there.
set -u
B=$(realpath "${B:-build}")
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
checks=0 failed=0
for t in log vocab csv; do
    mkdir "$dir/$t"
    for f in tests/fuzz/found/"$t"-*; do
        [ -f "$f" ] && cp "$f" "$dir/$t/"
    done
    [ -f "tests/fuzz/found/$t.tar.gz" ] && tar -xzf "tests/fuzz/found/$t.tar.gz" -C "$dir/$t"
    ran=$(find "$dir/$t" -type f -print0 | sort -z | xargs -0 -r -n 500 "$B/tool/replay-$t" 2>"$dir/err")
    if [ $? -ne 0 ]; then
        failed=$((failed + 1))
        echo "FAIL the target $t on what was found before"
        tail -n 5 "$dir/err"
    fi
    checks=$((checks + $(echo "$ran" | awk '{ n += $1 } END { print n + 0 }')))
done
echo "$checks checks"
[ "$checks" -gt 0 ] && [ "$failed" -eq 0 ]
