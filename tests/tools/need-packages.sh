#!/bin/sh
# Installs the Debian packages that building (`build`), or also checking (`dev`), thou needs and
# that are missing. Says what it does; one sentence when it can't.
set -eu
build="gcc make libc6-dev libsqlite3-dev libgit2-dev libgsl-dev libcmocka-dev git sqlite3"
dev="$build clang clang-format clang-tidy cppcheck valgrind libclang-rt-14-dev units libglpk-dev gawk chromium poppler-utils"
case "${1:-build}" in
build) want=$build ;;
dev) want=$dev ;;
*) echo "usage: need-packages.sh build|dev" >&2; exit 2 ;;
esac
command -v dpkg-query >/dev/null 2>&1 || exit 0 # not Debian: the compiler will say what is missing
missing=
for p in $want; do
    dpkg-query -W -f '${Status}' "$p" 2>/dev/null | grep -q 'ok installed' || missing="$missing $p"
done
[ -z "$missing" ] && exit 0
as=
if [ "$(id -u)" != 0 ]; then
    if ! command -v sudo >/dev/null 2>&1; then
        echo "These Debian packages are missing and need root to install:$missing" >&2
        exit 1
    fi
    as=sudo
fi
echo "Installing missing Debian packages${as:+ with sudo}:$missing"
export DEBIAN_FRONTEND=noninteractive
if ! { $as apt-get update -qq && $as apt-get install -y -qq --no-install-recommends $missing >/dev/null; }; then
    echo "Could not install:$missing (is there a network, and may you install packages?)" >&2
    exit 1
fi
