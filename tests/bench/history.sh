#!/bin/sh
# The figures of src/history, each against its bound or against git in the same repository in the
# same run. JOBS=10000 COMMITS=5000 by default. Prints one line a figure; exits 1 when one is missed.
set -eu
B=${B:-build}
drive=$(realpath "$B")/tool/history_drive
thou=$(realpath "$B")/thou
jobs=${JOBS:-10000} commits=${COMMITS:-5000}
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
mkdir home
export HOME="$dir/home" XDG_CONFIG_HOME="$dir/home" GIT_CONFIG_NOSYSTEM=1
git config --global init.defaultBranch main
git config --global user.name "Ada Quill"
git config --global user.email ada@example.org
git config --global gc.auto 0
missed=0

# A book of $1 jobs of 4 kB, and $2 commits after it, each changing one job, each tenth the same.
import() {
    awk -v jobs="$1" -v commits="$2" '
    function blob(n, change,   i, s) {
        s = "title = job " n ", change " change "\n"
        for (i = 0; i < 90; i++) s = s "bind height I" i " = 1." (n * 7 + i * 13 + change) % 1000 " in ; as found\n"
        return s
    }
    function commit(k, what) {
        print "commit refs/heads/main\ncommitter Ada Quill <ada@example.org> " 1700000000 + k * 60 " +0000"
        print "data " length(what) "\n" what
    }
    function file(path, text) { print "M 100644 inline " path "\ndata " length(text) "\n" text }
    BEGIN {
        commit(0, "All")
        for (n = 0; n < jobs; n++) file(sprintf("jobs/26-%05d.job", n), blob(n, 0))
        for (k = 1; k <= commits; k++) {
            n = k % 10 == 0 ? int(jobs / 2) : (k * 7919) % jobs
            commit(k, "Change " k)
            file(sprintf("jobs/26-%05d.job", n), blob(n, k))
        }
    }' | git -C "$3" fast-import --quiet --depth=50
}
now() { date +%s%N; }
ms() { awk -v a="$1" -v b="$2" 'BEGIN { printf "%.1f", (b - a) / 1e6 }'; }
median() { sort -n | awk '{ v[NR] = $1 } END { print v[int((NR + 1) / 2)] }'; }
bound() { # what, found, bound
    if awk -v f="$2" -v b="$3" 'BEGIN { exit !(f <= b) }'; then word=holds; else word=MISSED missed=1; fi
    printf '%-62s %9s   bound %9s   %s\n' "$1" "$2" "$3" $word
}

# --- one changed job of many: recording it, against git add -A && git commit
git init -q many
import "$jobs" 0 many
git -C many checkout -q -f main
sleep 1.1 # so that git's index is younger than the files
git -C many update-index -q --refresh
touch many/.git/index
: >ours
: >gits
: >look
hot=jobs/$(printf '26-%05d.job' $((jobs / 2)))
for i in 1 2 3 4 5 6 7 8 9; do
    printf 'reading %s = 1.5 in\n' "$i" >>"many/$hot"
    a=$(now)
    "$thou" keep --book many -m "Ours $i" >/dev/null
    b=$(now)
    ms "$a" "$b" >>ours && echo >>ours
    a=$(now)
    "$drive" status many 'jobs/*.job' 'parts/*.part' shop.vocab >/dev/null
    b=$(now)
    ms "$a" "$b" >>look && echo >>look
    printf 'reading g%s = 1.5 in\n' "$i" >>"many/$hot"
    a=$(now)
    (cd many && git add -A && git commit -q -m "Git $i")
    b=$(now)
    ms "$a" "$b" >>gits && echo >>gits
done
[ -z "$(git -C many status --porcelain)" ] || { echo "status is not clean" >&2; exit 1; }
git -C many fsck --strict --no-dangling >/dev/null 2>&1 || { echo "git fsck fails" >&2; exit 1; }
o=$(median <ours) g=$(median <gits)
echo "book of $jobs jobs, medians of 9"
printf '%-62s %9s\n' "looking for changes when there are none, ms" "$(median <look)"
bound "thou keep of one changed job, ms, against git add and commit" "$o" "$g"

# --- the past of one path
for size in 500 "$jobs"; do
    git init -q "past$size"
    import "$size" "$commits" "past$size"
    git -C "past$size" checkout -q -f main
    job=$(printf '26-%05d' $((size / 2)))
    a=$(now)
    "$thou" past --book "past$size" "$job" >/dev/null
    b=$(now)
    printf '%-62s %9s\n' "making the trail of $commits commits, $size jobs, once, ms" "$(ms "$a" "$b")"
    : >times
    for i in 1 2 3 4 5; do
        a=$(now)
        "$thou" past --book "past$size" "$job" >/dev/null
        b=$(now)
        ms "$a" "$b" >>times && echo >>times
    done
    DRIVE_STORE=$dir/past$size/.thou "$drive" versions "past$size" "jobs/$job.job" >found
    git -C "past$size" log --format=%H -- "jobs/$job.job" >log
    cut -d' ' -f1 found | cmp - log || { echo "not the versions git finds" >&2; exit 1; }
    bound "thou past of $(wc -l <found) versions, $commits commits, $size jobs, ms" "$(median <times)" 300
done
exit $missed
