# What the tests of the program from outside begin with: . "$(dirname "$0")/tools/begin.sh"
#   here   the project's folder
#   B      the build to test, B=build by default; thou is the program in it
#   dir    a folder for this run, gone at its end; HOME is in it, and nothing of the machine's own
#          settings is seen
#   checks, failed   counted by the test, told by `end_checks`, which ends it
set -u
here=$(cd "$(dirname "$0")/.." && pwd)
B=${B:-build}
case $B in /*) ;; *) B=$here/$B ;; esac
thou=$B/thou
dir=$(mktemp -d)
trap 'chmod -R u+rwx "$dir"; rm -rf "$dir"' EXIT
unset THOU_BOOK NO_COLOR COLUMNS GIT_AUTHOR_NAME GIT_AUTHOR_EMAIL
export HOME="$dir/home" XDG_CONFIG_HOME="$dir/home" GIT_CONFIG_NOSYSTEM=1 TZ=UTC
mkdir "$HOME"
checks=0 failed=0

# [NAME MAIL]: with history, recorded in that name. In memory where there is such a folder: the disk
# is not what is tested.
begin_git() {
    memory=$(mktemp -d -p /dev/shm 2>/dev/null) && rm -rf "$dir" && dir=$memory
    export HOME="$dir/home" XDG_CONFIG_HOME="$dir/home"
    mkdir -p "$HOME"
    git config --global init.defaultBranch main
    [ $# -eq 0 ] || git config --global user.name "$1"
    [ $# -eq 0 ] || git config --global user.email "$2"
}

# For scripts that have nothing more to show of what failed.
fail() {
    failed=$((failed + 1))
    echo "FAIL $*"
}
is() { # WHAT EXPECTED FOUND
    checks=$((checks + 1))
    [ "$2" = "$3" ] || fail "$1: expected <$2>, found <$3>"
}
holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" || fail "$what"
}

end_checks() {
    [ "$failed" = 0 ] || echo "$failed of $checks failed"
    echo "$checks checks"
    [ "$failed" = 0 ]
    exit
}
