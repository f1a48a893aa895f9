#!/bin/sh
# The examples and the conformance corpus under valgrind: no wrong access, nothing lost.
set -u
command -v valgrind >/dev/null 2>&1 || { echo "valgrind is not installed: skipped"; exit 0; }
v="valgrind --quiet --error-exitcode=99 --leak-check=full --errors-for-leak-kinds=definite"
bad=0 n=0
run() {
    $v "$@" >/dev/null 2>build-valgrind.log
    rc=$?
    n=$((n + 1))
    if [ $rc = 99 ] || [ $rc -gt 128 ]; then
        echo "valgrind: $*"
        cat build-valgrind.log
        bad=1
    fi
}
run "$B/thou" check --book examples --jobs 1
for job in examples/jobs/*.job; do run "$B/thou" sheet "$job"; done
set -- tests/conformance/*.job
while [ $# -gt 0 ]; do # forty logs a run: starting valgrind costs more than a log
    batch=
    i=0
    while [ $# -gt 0 ] && [ $i -lt 40 ]; do
        batch="$batch $1"
        shift
        i=$((i + 1))
    done
    run "$B/thou" check --jobs 1 $batch
done
rm -f build-valgrind.log
echo "valgrind: $n runs, $([ $bad = 0 ] && echo clean || echo faulty)"
exit $bad
