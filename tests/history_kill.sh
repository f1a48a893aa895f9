#!/bin/sh
# Recording is killed before every call that changes something on the disk, in the middle of every
# write, and every such call is made to fail. Each time git must find a sound repository, before
# the record or after it; the next record must succeed; what the person staged must be as it was.
# Every point takes minutes: THOU_FULL=1 asks for that. Else each sweep takes about
# SAMPLE points spread from the first to the last, others on another day.
set -eu
SAMPLE=5
B=${B:-build}
drive=$(realpath "$B")/tool/history_drive
shim=$(realpath "$B")/tool/kill_at.so
# a build under AddressSanitizer wants to be loaded first, and does as well behind the shim
export ASAN_OPTIONS="${ASAN_OPTIONS:+$ASAN_OPTIONS:}verify_asan_link_order=0"
# in memory where there is such a folder: what is killed is tested here, not the disk
dir=$(mktemp -d -p /dev/shm 2>/dev/null || mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
mkdir home
export HOME="$dir/home" XDG_CONFIG_HOME="$dir/home" GIT_CONFIG_NOSYSTEM=1
export DRIVE_NAME="Ada Quill" DRIVE_MAIL=ada@example.org
git config --global init.defaultBranch main
git config --global user.name "Ada Quill"
git config --global user.email ada@example.org
checks=0
fail() {
    echo "FAIL ($case): $*" >&2
    exit 1
}
ok() { checks=$((checks + 1)); }

# The book to record: one log changed, one new, one gone; the person has staged a paper of their
# own, and changed it again since.
mkdir -p base/jobs
"$drive" init base >/dev/null
printf 'bind height I3 = 1.412 in\n' >base/jobs/a.job
printf 'old\n' >base/jobs/gone.job
"$drive" record base 1700000000 0 "First" .gitignore jobs/a.job jobs/gone.job >/dev/null
printf 'bind height I3 = 1.142 in\n' >base/jobs/a.job
printf 'new\n' >base/jobs/b.job
rm base/jobs/gone.job
printf 'staged\n' >base/paper.txt
git -C base add paper.txt
printf 'and changed since\n' >>base/paper.txt
before=$(git -C base rev-parse HEAD)

# And one to record the very first time, in an empty repository.
mkdir -p empty/jobs
"$drive" init empty >/dev/null && rm empty/.gitignore
printf 'one\n' >empty/jobs/a.job
printf 'staged\n' >empty/paper.txt
git -C empty add paper.txt
printf 'and changed since\n' >>empty/paper.txt

sound() { # what git finds in the book
    git -C "$1" fsck --strict --no-dangling >fsck.out 2>&1 || fail "git fsck: $(cat fsck.out)"
    ! grep -v '^notice: ' fsck.out || fail "git fsck says: $(cat fsck.out)"
    git -C "$1" status --porcelain >/dev/null || fail "git status fails"
    [ "$(git -C "$1" show :paper.txt)" = staged ] || fail "what was staged is gone"
}

one() { # name, template, id before, id after, variable, N, message
    case="$1 $5=$6"
    rm -rf w
    cp -a "$2" w
    if env "$5=$6" LD_PRELOAD="$shim" "$drive" keep w 1700000100 60 "$7" 'jobs/*.job' >out 2>err; then
        [ "$5" = FAIL_AT ] || fail "was not killed"
        now=$(git -C w rev-parse HEAD)
        [ "$now" = "$4" ] || fail "says it recorded, and did not"
    elif [ "$5" = FAIL_AT ]; then
        [ -s err ] || fail "fails without a word"
    fi
    now=$(git -C w rev-parse -q --verify HEAD || echo none)
    case $now in
    "$3" | "$4") ;;
    *) fail "HEAD is at $now, neither before nor after" ;;
    esac
    sound w
    ok
    # a look clears the locks; then git itself can work again
    "$drive" status w 'jobs/*.job' >left || fail "cannot be read: $(cat err)"
    [ ! -e w/.git/index.lock ] || fail "index.lock is left after a look"
    if [ "$now" = "$4" ]; then
        [ ! -s left ] || fail "recorded, but status finds $(cat left)"
    else
        [ -s left ] || fail "not recorded, but status finds nothing"
        "$drive" keep w 1700000100 60 "$7" 'jobs/*.job' >out 2>err || fail "next record: $(cat err)"
        [ "$(cat out)" = "$4" ] || fail "the next record is not the same"
    fi
    sound w
    [ "$(git -C w status --porcelain)" = "AM paper.txt" ] || fail "status: $(git -C w status --porcelain)"
    # where removing its own file was made to fail, that file stays until the next record
    left=$(find w/.git -name '*.lock' ! -name thou.lock -o -name 'thou.ref' -o -name 'thou.index*')
    [ -z "$left" ] || [ "$5" = FAIL_AT ] && ! find w/.git -name 'index.lock' | grep -q . ||
        fail "left behind: $left"
    ok
}

sweep() { # name, template, id before, message, ways
    rm -rf w
    cp -a "$2" w
    case="$1 whole"
    after=$(COUNT_TO="$dir/count" LD_PRELOAD="$shim" "$drive" keep w 1700000100 60 "$4" 'jobs/*.job') ||
        fail "does not record"
    read -r calls writes <count
    [ "$calls" -gt 20 ] && [ "$writes" -gt 5 ] || fail "only $calls calls counted"
    for how in $5; do
        n=$calls
        [ $how != KILL_HALF ] || n=$writes
        step=1 i=1
        if [ -z "${THOU_FULL:-}" ] && [ "$n" -gt $SAMPLE ]; then
            step=$((n / SAMPLE))
            i=$((1 + $(date +%j | sed 's/^0*//') % step))
        fi
        while [ "$i" -le "$n" ]; do
            one "$1" "$2" "$3" "$after" "$how" "$i" "$4"
            i=$((i + step))
        done
    done
}
sweep second base "$before" "Second" "KILL_AT KILL_HALF FAIL_AT"
sweep first empty none "Very first" KILL_AT
echo "$checks checks"
