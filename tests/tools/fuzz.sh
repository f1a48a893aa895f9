#!/bin/sh
# Runs each fuzz target for MINUTES; seeds are the corpus, the examples and what was found before.
set -u
mkdir -p "$B/corpus-log" "$B/corpus-vocab" tests/fuzz/found
for f in tests/conformance/*.job examples/jobs/*.job; do
    { printf l; cat "$f"; } >"$B/corpus-log/$(basename "$f")"
done
for f in examples/parts/*.part; do
    { printf c; cat "$f"; } >"$B/corpus-log/$(basename "$f")"
done
cp format/trade.vocab examples/shop.vocab "$B/corpus-vocab/" 2>/dev/null
seconds=$(awk "BEGIN { print int(${MINUTES:-30} * 60) }")
for t in log vocab; do
    "$B/fuzz-$t" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -max_len=8192 \
        -artifact_prefix="tests/fuzz/found/$t-" "$B/corpus-$t" >"$B/fuzz-$t.log" 2>&1 &
done
bad=0
wait || bad=1
for t in log vocab; do
    tail -n 2 "$B/fuzz-$t.log"
    grep -q 'Done [0-9]* runs' "$B/fuzz-$t.log" || bad=1
done
exit $bad
