#!/bin/sh
# thou keep, on a copy of the examples' book: what it records and says, read back with git.
#   sh tests/keep.sh       B=build by default
. "$(dirname "$0")/tools/begin.sh"
begin_git
clock=1772900000
keep() { # exit code, arguments...: in the book; the answer is in out, messages in err
    want=$1
    shift
    clock=$((clock + 3600))
    SOURCE_DATE_EPOCH=$clock "$thou" keep "$@" >"$dir/out" 2>"$dir/err"
    is "keep $* ends" "$want" $?
}
fsck() {
    is "git fsck" "" "$(git fsck --strict --no-dangling 2>&1 | grep -v '^notice')"
}
replace() { # file, old, new: exactly one line
    is "'$2' is in $1" 1 "$(grep -cF -e "$2" "$1")"
    awk -v old="$2" -v new="$3" '{ at = index($0, old)
        if (at) $0 = substr($0, 1, at - 1) new substr($0, at + length(old)); print }' "$1" >"$dir/new"
    cat "$dir/new" >"$1"
}

cp -r "$here/examples" "$dir/book"
cd "$dir/book" || exit 2
rm -rf .thou .git

# --- where it can't: one sentence each
keep 2
is "no repository" 1 "$(grep -c 'thou start' "$dir/err")"
"$thou" start >/dev/null || fail "start"
keep 2
is "nobody named" 1 "$(grep -c 'git config --global user.name' "$dir/err")"
is "in one sentence" 1 "$(wc -l <"$dir/err")"
git config --global user.name "Kay Lund"
git config --global user.email kl@example.org

# --- the first record
keep 0
jobs=$(ls jobs | wc -l) cards=$(ls parts | wc -l)
is "its summary" "$jobs logs, $cards cards, 2 files:" \
    "$(git log -1 --format=%s | sed 's/ [0-9]* readings added//')"
is "who and when" "Kay Lund kl@example.org $clock" "$(git log -1 --format='%an %ae %at')"
is "what is recorded" "$(ls jobs/*.job parts/*.part shop.vocab .gitignore | LC_ALL=C sort | xargs)" \
    "$(git ls-tree -r --name-only HEAD | LC_ALL=C sort | xargs)"
is "the rest is left alone" "?? README.md" "$(git status --porcelain)"
fsck
before=$(git rev-parse HEAD)
keep 0
is "nothing changed" "nothing has changed since the last record" "$(cat "$dir/out")"
is "no record of that" "$before" "$(git rev-parse HEAD)"

# --- readings: added, corrected in place, corrected by an entry, struck, doubted, taken out
replace jobs/26-014.job '#5     | 185                        | 423                        | 1.144' \
    '#5     | 185                        | 423                        | 1.141'
keep 0
is "a correction" "26-014: bind height S31#5 corrected 1.144 -> 1.141 in" "$(git log -1 --format=%s)"
is "is all of the message" "" "$(git log -1 --format=%b)"
is "is said" 1 "$(grep -c '^26-014: bind height S31#5 corrected 1.144 -> 1.141 in$' "$dir/out")"
is "with its id" 1 "$(grep -c "^kept as $(git rev-parse HEAD | cut -c1-10)" "$dir/out")"
printf '\n2026-03-12  Again\nspring load #5 = 183 lbf @ 1.720 in, 421 @ 1.220\ninstalled height I3 = 1.721 in\n' \
    >>jobs/26-014.job
keep 0
is "additions" "26-014: 3 readings added" "$(git log -1 --format=%s)"
printf '\n2026-03-13 corrects 2026-03-12\ninstalled height I3 = 1.723 in\n' >>jobs/26-014.job
keep 0
is "a correcting entry" "26-014: installed height I3 corrected 1.721 -> 1.723 in" "$(git log -1 --format=%s)"
replace jobs/26-014.job 'piston to valve E1 = .127 in' 'x piston to valve E1 = .127 in'
keep 0
is "struck" "26-014: piston to valve E1 struck (.127 in)" "$(git log -1 --format=%s)"
replace jobs/26-014.job 'piston to valve I1 = .108 in' 'piston to valve I1 = .108 ? in'
keep 0
is "doubted" "26-014: piston to valve I1 doubted (.108 in)" "$(git log -1 --format=%s)"
replace jobs/26-014.job 'bench height = 1.720 in' ''
keep 0
is "taken out" "26-014: 1 reading taken out" "$(git log -1 --format=%s)"
replace jobs/26-014.job 'limit seat load = 178 .. 188 lbf by shop' 'limit seat load = 178 .. 190 lbf by shop'
keep 0
is "a limit" "26-014: limit seat load corrected '178 .. 188 lbf by shop' -> '178 .. 190 lbf by shop'" \
    "$(git log -1 --format=%s)"

# --- notes, remarks, order and blanks are no readings
replace jobs/26-014.job 'Bore patches came out clean.' 'Bore patches came out quite clean.'
replace jobs/26-014.job '; slipped on the anvil, do again' '; it slipped'
keep 0
is "notes" "26-014: notes changed, no reading" "$(git log -1 --format=%s)"
replace jobs/26-014.job '2026-03-11  Waiting' '2026-03-11  Waiting for it'
keep 0
is "a title" "26-014: notes changed, no reading" "$(git log -1 --format=%s)"

# --- -m, several files, a new log, one that is gone, the shop's vocabulary
replace jobs/26-019.job 'owner = ' 'owner = The '
printf 'job = 26-777\n\n2026-03-20  First\nchamber 1..2 = 44.8 44.6 cc\n' >jobs/26-777.job
keep 0 -m "Before the weekend"
is "the person's line" "Before the weekend" "$(git log -1 --format=%s)"
is "and the summary" 1 "$(git log -1 --format=%b | grep -c '^26-777: log begun')"
git rm -q --cached jobs/26-777.job
rm jobs/26-777.job
printf '; a remark\n' >>shop.vocab
keep 0
is "gone, and shop.vocab" "26-777: log taken out of the book. shop.vocab: file changed" "$(git log -1 --format=%s)"
keep 2 -m "  "
fsck

# --- errors do not hold a record back, and are counted
printf '\n2026-03-14  Slip\nchamver 3 = 44.8 cc\n' >>jobs/26-014.job
keep 0
is "errors are told" 1 "$(grep -c 'with [0-9]* errors\{0,1\} and .*(thou check 26-014)$' "$dir/out")"
is "it is kept as written" "chamver 3 = 44.8 cc" "$(git show HEAD:jobs/26-014.job | tail -n 1)"

# --- what the person staged stays staged, what they changed stays changed
printf 'mine\n' >paper.txt
git add paper.txt
printf 'mine, later\n' >paper.txt
printf 'remark\n' >>README.md
printf '\n2026-03-15  On\nlash I1 = .014 in\n' >>jobs/26-014.job
keep 0
is "only the log" "jobs/26-014.job" "$(git diff-tree -r --name-only --no-commit-id HEAD)"
is "staged and changed" "AM paper.txt ?? README.md" "$(git status --porcelain | xargs)"
is "staged bytes" mine "$(git show :paper.txt)"

# --- the maps of CSV files belong to the book: a clone can read such a file again
printf 'place;lash [in]\nI1;.014\nE1;.016\n' >"$dir/clock.csv"
"$thou" fill 26-014 --csv "$dir/clock.csv" >/dev/null 2>&1
is "a map was made" imports/clock.map "$(ls imports/*)"
printf 'mine\n' >imports/mine.txt
keep 0
is "a map is kept" "imports/clock.map" "$(git diff-tree -r --name-only --no-commit-id HEAD)"
is "and called one" "clock.map: map begun" "$(git log -1 --format=%s)"
is "what is none is left alone" "?? imports/mine.txt" "$(git status --porcelain imports)"
keep 0
is "nothing changed with a map" "nothing has changed since the last record" "$(cat "$dir/out")"
printf '; looked over\n' >>imports/clock.map
printf '\n2026-03-15  On\nnote\n' >>jobs/26-014.job
keep 0
is "a log and a map" "26-014: notes changed, no reading. clock.map: map changed" "$(git log -1 --format=%s)"
is "past has the map's records" 2 "$("$thou" past | grep -c 'clock.map: map')"
"$thou" past 26-014 >"$dir/out" 2>"$dir/err" || fail "past beside a map"
rm imports/clock.map
keep 0
is "taken out" "clock.map: map taken out of the book" "$(git log -1 --format=%s)"

# --- what a write that was killed left is no part of the book
sleep 0 & gone=$!
wait $gone
printf 'half a l' >"jobs/.thou-$gone-0.new"
printf 'half a l' >"jobs/.thou-$$-0.new"
printf 'half a m' >"imports/.thou-$gone-1.new"
printf 'half a v' >".thou-$gone-0.new"
is "git passes it by" "" "$(git status --porcelain | grep 'thou-')"
keep 0
is "nothing of it is kept" "nothing has changed since the last record" "$(cat "$dir/out")"
is "and keep takes it away, but of one that runs" "jobs/.thou-$$-0.new" "$(command find . -name '.thou-*.new' | sed 's/^..//')"
mv "jobs/.thou-$$-0.new" "jobs/.thou-$gone-0.new"
"$thou" fill 26-014 --csv "$dir/clock.csv" >/dev/null 2>&1
"$thou" fill 26-014 --csv "$dir/clock.csv" --append >/dev/null 2>&1
is "so does the next write" "" "$(ls -A jobs | grep '^\.thou')"
keep 0

# --- a link is not followed, and said
ln -s 26-014.job jobs/same.job
keep 1
is "a link" 1 "$(grep -c 'jobs/same.job is a symbolic link' "$dir/err")"
rm jobs/same.job

# --- under way with git itself
git checkout -q --detach
printf '\n2026-03-16  On\nlash I1 = .014 in\n' >>jobs/26-014.job
keep 2
is "a detached head" 1 "$(grep -c 'detached head' "$dir/err")"
git switch -q main
touch .git/index.lock
keep 2
is "locked" 1 "$(grep -c 'index.lock is there' "$dir/err")"
rm .git/index.lock
keep 0
fsck

# --- in a subfolder of a larger repository, and in a linked worktree of it
mkdir "$dir/large" && cd "$dir/large" || exit 2
git init -q
mkdir -p shop/book
(cd shop/book && "$thou" start >/dev/null) || fail "start in a subfolder"
cd shop/book || exit 2
keep 0
is "paths in the whole" "shop/book/.gitignore shop/book/jobs/first.job shop/book/shop.vocab" \
    "$(git -C "$dir/large" ls-tree -r --name-only HEAD | xargs)"
is "status is clean" "" "$(git status --porcelain)"
git worktree add -q "$dir/linked" -b side 2>/dev/null
cd "$dir/linked/shop/book" || exit 2
printf '\n2026-04-01  On\nnote\n' >>jobs/first.job
keep 0
is "on its branch" "first: notes changed, no reading" "$(git log -1 --format=%s side)"
is "status is clean there" "" "$(git status --porcelain)"
fsck

end_checks
