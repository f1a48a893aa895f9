#!/bin/sh
# The project's own checks on its source: form, layers, cppcheck, clang-tidy.
set -u
cd "$(dirname "$0")/../.." || exit 2
bad=0
git ls-files 'src/*.c' 'src/*.h' 'include/*.h' 'tests/*.c' 'tests/*.h' | xargs clang-format --dry-run --Werror || bad=1
sh tests/tools/layers.sh || bad=1
cppcheck --quiet --std=c11 --enable=warning,performance,portability --inline-suppr --error-exitcode=1 \
    --suppressions-list=.cppcheck -D_GNU_SOURCE -DTHOU_VERSION='"0"' -Isrc -Iinclude -j 2 src || bad=1
# banned.h poisons names that clang's own headers use: the compiler looks after those, and what it
# includes for every file is named here
out=$(git ls-files 'src/*.c' | xargs -P 2 -n 8 sh -c 'clang-tidy --quiet "$@" -- -std=c11 -include stdio.h -include stdlib.h -include string.h -include time.h -D_GNU_SOURCE -DTHOU_VERSION="\"0\"" -Isrc -Iinclude 2>/dev/null' sh) || {
    bad=1
    echo "${out:-clang-tidy failed without a word, or is not there}"
}
[ $bad -eq 0 ] && echo "lint: clean"
exit $bad
