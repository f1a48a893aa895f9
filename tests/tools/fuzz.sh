#!/bin/sh
# Runs each fuzz target for MINUTES; seeds are the corpus, the examples and what was found before.
set -u
mkdir -p "$B/corpus-log" "$B/corpus-vocab" "$B/corpus-csv" tests/fuzz/found
for f in tests/conformance/*.job examples/jobs/*.job; do
    { printf l; cat "$f"; } >"$B/corpus-log/$(basename "$f")"
done
for f in examples/parts/*.part; do
    { printf c; cat "$f"; } >"$B/corpus-log/$(basename "$f")"
done
cp format/trade.vocab examples/shop.vocab "$B/corpus-vocab/" 2>/dev/null
printf '1VALUE UNIT\nspring;height [mm];load [N]\n1;43.70;"805.5"\n' >"$B/corpus-csv/points"
printf '4rows = valve\nvalve;lash [mm]\nI1;0,35\n' >"$B/corpus-csv/comma"
for t in log vocab csv; do
    [ -f "tests/fuzz/found/$t.tar.gz" ] && tar -xzf "tests/fuzz/found/$t.tar.gz" -C "$B/corpus-$t"
done
seconds=$(awk "BEGIN { print int(${MINUTES:-30} * 60) }")
for t in log vocab csv; do
    "$B/fuzz-$t" -max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -max_len=8192 \
        -artifact_prefix="tests/fuzz/found/$t-" "$B/corpus-$t" >"$B/fuzz-$t.log" 2>&1 &
done
bad=0
wait || bad=1
for t in log vocab csv; do
    tail -n 2 "$B/fuzz-$t.log"
    grep -q 'Done [0-9]* runs' "$B/fuzz-$t.log" || bad=1
done
exit $bad
