#!/bin/sh
# The selective fit gives the optimum of GLPK (Debian's libglpk-dev) on 1,000 random instances.
# Without that library the comparison is left out, and says so.
set -eu
B=${B:-build}
CC=${CC:-cc}
mkdir -p "$B/test"
if ! echo '#include <glpk.h>' | $CC -E - >/dev/null 2>&1; then
    echo "left out: libglpk-dev is not installed"
    echo "0 checks"
    exit 0
fi
$CC -std=c11 -O2 -g ${SAN:-} -Wall -Wextra -D_GNU_SOURCE -Isrc -Itests -include base/banned.h \
    -o "$B/test/fit_glpk" tests/glpk/fit_glpk.c "$B/libthou.a" -lglpk -lm
exec "$B/test/fit_glpk"
