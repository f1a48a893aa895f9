#!/bin/sh
# What src/history writes, read back by git; what it can't work with, refused in one sentence.
set -eu
B=${B:-build}
drive=$(realpath "$B")/tool/history_drive
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
cd "$dir"
mkdir home
export HOME="$dir/home" XDG_CONFIG_HOME="$dir/home" GIT_CONFIG_NOSYSTEM=1
git config --global init.defaultBranch main
git config --global user.name "Ada Quill"
git config --global user.email ada@example.org
git config --global advice.detachedHead false
export GIT_AUTHOR_DATE="1700000000 +0000" GIT_COMMITTER_DATE="1700000000 +0000"
# libgit2 1.5 leaks a match where it refuses an extension; under the sanitizers that is not news
printf 'leak:libpcre2\n' >leaks
export LSAN_OPTIONS="suppressions=$dir/leaks:print_suppressions=0"
checks=0
fail() {
    echo "FAIL: $*" >&2
    exit 1
}
is() { # what, expected, found
    [ "$2" = "$3" ] || fail "$1: expected <$2>, found <$3>"
    checks=$((checks + 1))
}
fsck() {
    out=$(git -C "$1" fsck --strict --no-dangling 2>&1) || fail "git fsck in $1: $out"
    is "git fsck in $1" "" "$out"
}
refused() { # part of the sentence, command...
    part=$1
    shift
    if "$@" >out 2>err; then fail "$* should be refused"; fi
    grep -q -e "$part" err || fail "$* says: $(cat err)"
    is "one sentence" 1 "$(wc -l <err)"
}
clock=1700000000
keep() { # book, message
    clock=$((clock + 60))
    "$drive" keep "$1" $clock 60 "$2" 'jobs/*.job' 'parts/*.part' shop.vocab .gitignore >/dev/null
}
status() { git -C "$1" status --porcelain; }

# --- a book of its own: the first record, changes, additions, deletions
mkdir -p book/jobs book/parts
is "a repository is made" made "$("$drive" init book)"
is "and only once" there "$("$drive" init book)"
is "the index is ignored, and what a killed write leaves" ".thou/ .thou-*.new" "$(set -f; echo $(cat book/.gitignore))"
is "nothing is recorded by that" "" "$(git -C book rev-parse -q --verify HEAD || true)"
printf 'a 1\na 2\n' >book/jobs/a.job
printf 'b\n' >book/jobs/b.job
printf 'card\n' >book/parts/x.part
printf '' >book/shop.vocab
keep book "Begin"
fsck book
is "status is clean" "" "$(status book)"
is "files" ".gitignore jobs/a.job jobs/b.job parts/x.part shop.vocab" "$(git -C book ls-files | xargs)"
is "tree" ".gitignore jobs/a.job jobs/b.job parts/x.part shop.vocab" \
    "$(git -C book ls-tree -r --name-only HEAD | xargs)"
is "log" "Ada Quill ada@example.org 2023-11-14T23:14:20+01:00 Begin" \
    "$(git -C book log -1 --format='%an %ae %aI %s')"
printf 'a 1\na 2, corrected\n' >book/jobs/a.job
rm book/jobs/b.job book/parts/x.part
mkdir book/.thou && touch book/.thou/index.db
keep book "Correct

By hand."
fsck book
is "status is clean" "" "$(status book)"
is "no folder is left empty" "" "$(git -C book ls-tree HEAD parts)"
is "changes" "M jobs/a.job D jobs/b.job D parts/x.part" \
    "$(git -C book diff-tree -r --name-status HEAD^ HEAD | xargs)"
is "body" "By hand." "$(git -C book log -1 --format=%b)"
is "blame" "Begin Correct" "$(git -C book blame -s --line-porcelain jobs/a.job | sed -n 's/^summary //p' | xargs)"
is "reflog" "commit: Correct commit (initial): Begin" "$(git -C book reflog --format=%gs | xargs)"
is "reflog of the branch" 2 "$(git -C book reflog main | wc -l)"
is "clone" "$(git -C book rev-parse HEAD)" "$(git clone -q book clone && git -C clone rev-parse HEAD)"
git init -q --bare far.git
git -C book push -q ../far.git main
is "push" "$(git -C book rev-parse HEAD)" "$(git -C far.git rev-parse main)"
refused "nothing has changed" keep book "Again"
is "git works on" "" "$(cd book && git commit -q --allow-empty -m "By git" && status .)"

# --- the same ids as git gives
git init -q same
mkdir same/jobs
printf 'bind height I3 = 1.412 in\n' >same/jobs/a.job
id=$("$drive" record same 1700000000 0 "Same" jobs/a.job)
git init -q by-git
mkdir by-git/jobs
cp same/jobs/a.job by-git/jobs
(cd by-git && git add jobs && git commit -q -m "Same")
is "git gives the same id" "$(git -C by-git rev-parse HEAD)" "$id"

# --- what the person staged or changed is left alone
printf 'mine\n' >book/paper.txt
printf 'c staged\n' >book/jobs/c.job
git -C book add paper.txt jobs/c.job
git -C book rm -q --cached shop.vocab
printf 'c now\n' >book/jobs/c.job
printf 'mine, later\n' >book/paper.txt
printf 'a 3\n' >>book/jobs/a.job
"$drive" record book $clock 0 "Only a" jobs/a.job >/dev/null
is "only that path" "M jobs/a.job" "$(git -C book diff-tree -r --name-status HEAD^ HEAD | xargs)"
is "staged things" "AM jobs/c.job AM paper.txt D shop.vocab ?? shop.vocab" "$(status book | xargs)"
is "staged bytes" "c staged mine" "$(git -C book show :jobs/c.job :paper.txt | xargs)"
is "status of ours" "A jobs/c.job" "$("$drive" status book 'jobs/*.job' shop.vocab)"
"$drive" record book $clock 0 "c too" jobs/c.job >/dev/null
is "the path is clean" "AM paper.txt D shop.vocab ?? shop.vocab" "$(status book | xargs)"
fsck book
git -C book add shop.vocab

# --- a file that changed since it was checked
printf 'checked\n' >checked
printf 'other\n' >book/jobs/a.job
before=$(git -C book rev-parse HEAD)
refused "changed: jobs/a.job changed" "$drive" record book 1 0 No jobs/a.job=checked
is "nothing was recorded" "$before" "$(git -C book rev-parse HEAD)"
is "nor staged" " M jobs/a.job" "$(status book | grep jobs)"
git -C book checkout -q jobs/a.job

# --- saved twice within a second, same size: neither git nor we take it for clean
printf 'one\n' >book/jobs/a.job
keep book "One"
printf 'two\n' >book/jobs/a.job
is "ours" "C jobs/a.job" "$("$drive" status book 'jobs/*.job')"
is "git's" " M jobs/a.job" "$(status book | grep jobs)"
keep book "Two"

# --- a subfolder of a larger repository
git init -q large
printf 'shop\n' >large/readme
mkdir -p large/work/book/jobs
(cd large && git add readme && git commit -q -m "Start")
is "the larger one is used" there "$("$drive" init large/work/book)"
printf 'x\n' >large/work/book/jobs/x.job
keep large/work/book "In a subfolder"
fsck large
is "status is clean" "" "$(status large)"
is "the whole tree" "readme work/book/.gitignore work/book/jobs/x.job" \
    "$(git -C large ls-tree -r --name-only HEAD | xargs)"
is "versions" 1 "$("$drive" versions large/work/book jobs/x.job | wc -l)"
is "recorded" x "$("$drive" recorded large/work/book jobs/x.job)"
printf 'private/\n' >large/.gitignore
mkdir -p large/private/book/jobs
refused "ignores" "$drive" status large/private/book 'jobs/*.job'
is "an ignored folder gets its own" made "$("$drive" init large/private/book)"

# --- a linked worktree
git -C large worktree add -q ../linked -b side
printf 'y\n' >linked/work/book/jobs/y.job
keep linked/work/book "In a worktree"
is "status is clean" "" "$(status linked)"
is "on its branch" "In a worktree" "$(git -C large log -1 --format=%s side)"
is "not on the other" "In a subfolder" "$(git -C large log -1 --format=%s main)"
is "reflog" "commit: In a worktree" "$(git -C linked reflog -1 --format=%gs)"
fsck large

# --- a branch name with folders, packed references, index of version 4
git -C large switch -q -c shop/2026/june
git -C large pack-refs --all
git -C large update-index --index-version 4
printf 'z\n' >large/work/book/jobs/z.job
keep large/work/book "On a long branch"
is "branch" "On a long branch" "$(git -C large log -1 --format=%s shop/2026/june)"
is "status" "?? .gitignore" "$(status large)"
fsck large

# --- line ends by .gitattributes; a filter that is a program
git init -q ends
mkdir -p ends/jobs
printf '*.job text eol=crlf\nsecret.job filter=lock\n' >ends/.gitattributes
printf 'a\r\nb\r\n' >ends/jobs/w.job
"$drive" record ends 1700000000 0 "Ends" jobs/w.job >/dev/null
is "stored as git stores" "a b" "$(git -C ends cat-file -p HEAD:jobs/w.job | tr '\n' ' ' | sed 's/ $//')"
touch ends/jobs/w.job
is "clean" "?? .gitattributes" "$(status ends)"
is "clean for us" "" "$("$drive" status ends 'jobs/*.job')"
printf 'key\n' >ends/jobs/secret.job
refused "filter=lock" "$drive" record ends 1700000000 0 "No" jobs/secret.job

# --- versions as git log finds them, over a history with merges
git init -q turns
(
    cd turns
    mkdir jobs
    n=0
    say() { # path, text
        n=$((n + 1))
        export GIT_AUTHOR_DATE="$((1700000000 + n * 60)) +0000"
        export GIT_COMMITTER_DATE="$GIT_AUTHOR_DATE"
        printf '%s\n' "$2" >"jobs/$1"
        git add jobs
        git commit -q -m "$2"
    }
    say a.job one
    say b.job other
    git switch -q -c side
    say a.job "side change"
    say b.job "side other"
    git switch -q main
    say c.job "main other"
    git merge -q -m "Merge that takes the side's" side
    git switch -q -c left
    say a.job left
    git switch -q -c right HEAD^
    say a.job right
    git merge -q left -m x >/dev/null 2>&1 || true
    printf 'both\n' >jobs/a.job
    git commit -q -am "Merge by hand"
    git switch -q -c ours
    say a.job "thrown away"
    git switch -q right
    say b.job more
    git merge -q -s ours -m "Keep ours" ours
    git rm -q jobs/a.job
    git commit -q -m "Gone"
    say a.job "back again"
)
for path in jobs/a.job jobs/b.job jobs/c.job jobs/none.job; do
    is "versions of $path" "$(git -C turns log --format=%H -- $path)" \
        "$("$drive" versions turns $path | cut -d' ' -f1)"
    for id in $("$drive" versions turns $path | awk '$2 != "deleted" { print $1 }'); do
        is "bytes at $id" "$(git -C turns show "$id:$path")" "$("$drive" at turns $path "$id" | tail -n +2)"
    done
done
# the same along the trail: made, read again, damaged, cut short, grown, of another folder
trail_says() { # path
    is "the trail's versions of $1" "$(git -C turns log --format=%H -- "$1")" \
        "$(DRIVE_STORE=$dir/turns/.thou "$drive" versions turns "$1" | cut -d' ' -f1)"
    is "and all that is told of them" "$("$drive" versions turns "$1")" \
        "$(DRIVE_STORE=$dir/turns/.thou "$drive" versions turns "$1")"
}
paths="jobs/a.job jobs/b.job jobs/c.job jobs/none.job"
for path in $paths; do trail_says $path; done
is "it is kept" yes "$([ -s turns/.thou/past ] && echo yes)"
cp turns/.thou/past whole
printf 'x' | dd of=turns/.thou/past bs=1 seek=200 conv=notrunc 2>/dev/null
for path in $paths; do trail_says $path; done
is "a damaged one is made again" "$(cksum <whole)" "$(cksum <turns/.thou/past)"
head -c 300 whole >turns/.thou/past
for path in $paths; do trail_says $path; done
is "one cut short, too" "$(cksum <whole)" "$(cksum <turns/.thou/past)"
(cd turns && git switch -q -c later && git mv jobs/b.job jobs/d.job && git commit -q -m "Another name" &&
    mkdir -p jobs/deep && cp jobs/d.job jobs/deep/e.job && git add jobs && git commit -q -m "Deep")
for path in $paths jobs/d.job jobs/deep/e.job; do trail_says $path; done
git -C turns switch -q right
for path in $paths jobs/d.job; do trail_says $path; done
is "of a subfolder" "$("$drive" versions large/work/book jobs/x.job)" \
    "$(DRIVE_STORE=$dir/store "$drive" versions large/work/book jobs/x.job)"
is "one of another place is not used" "$("$drive" versions turns jobs/a.job)" \
    "$(DRIVE_STORE=$dir/store "$drive" versions turns jobs/a.job)"
is "without a place to keep it" "$("$drive" versions turns jobs/a.job)" \
    "$(DRIVE_STORE=/dev/null/x "$drive" versions turns jobs/a.job)"
git -C turns switch -q right
is "a deletion is a version" 1 "$("$drive" versions turns jobs/a.job | grep -c ' deleted ')"
git clone -q --depth 2 "file://$dir/turns" shallow
is "a shallow clone ends where it ends" "$(git -C shallow log --format=%H -- jobs/a.job)" \
    "$("$drive" versions shallow jobs/a.job | cut -d' ' -f1)"

# --- a sparse checkout: what was left out is not deleted
git clone -q large sparse
git -C sparse sparse-checkout set --no-cone '/work/book/jobs/x.job' '/work/book/.gitignore'
is "left out" "" "$("$drive" status sparse/work/book 'jobs/*.job')"

# --- refused, each in one sentence
git clone -q book r
printf 'new\n' >r/jobs/new.job
keep_r() { "$drive" keep r 1700000000 0 "No" 'jobs/*.job'; }
git -C r checkout -q --detach
refused "detached head" keep_r
is "reading goes on" "A jobs/new.job" "$("$drive" status r 'jobs/*.job')"
git -C r switch -q main
git -C r switch -q -c other
printf 'other\n' >r/jobs/a.job
git -C r commit -q -am other
git -C r switch -q main
printf 'main\n' >r/jobs/a.job
git -C r commit -q -am main
git -C r merge -q other >/dev/null 2>&1 || true
refused "a merge is under way" keep_r
git -C r merge --abort
git -C r rebase -q other >/dev/null 2>&1 || true
refused "a rebase is under way" keep_r
git -C r rebase --abort
git -C r cherry-pick other >/dev/null 2>&1 || true
refused "a cherry-pick is under way" keep_r
git -C r cherry-pick --abort
git -C r bisect start >/dev/null
refused "a bisection is under way" keep_r
git -C r bisect reset >/dev/null 2>&1
git -C r read-tree -m main~1 main other # conflicts without a merge under way
refused "in conflict" keep_r
git -C r read-tree main
touch r/.git/index.lock
refused "index.lock is there: another git program" keep_r
rm r/.git/index.lock
touch r/.git/refs/heads/main.lock
refused "main.lock is there: another git program" keep_r
[ ! -e r/.git/index.lock ] || fail "a refusal leaves index.lock"
rm r/.git/refs/heads/main.lock
git config --global --unset user.email
refused 'git config --global user.email' keep_r
git config --global user.email ada@example.org
refused "bare" "$drive" status far.git 'jobs/*.job'
mkdir nowhere
refused "no git repository holds" "$drive" status nowhere 'jobs/*.job'
refused "can't be opened" "$drive" status not-there 'jobs/*.job'
git init -q --object-format=sha256 sha256
refused "extensions.objectformat" "$drive" status sha256 'jobs/*.job'
git init -q partial
git -C partial config core.repositoryFormatVersion 1
git -C partial config extensions.partialClone origin
refused "extensions.partialclone" "$drive" status partial 'jobs/*.job'
git -C partial config --unset extensions.partialClone
git -C partial config extensions.refStorage reftable
refused "extensions.refstorage" "$drive" status partial 'jobs/*.job'
git -C r update-index --split-index
refused "index" keep_r
git -C r update-index --no-split-index
mkdir elsewhere
git init -q dirlink
ln -s ../elsewhere dirlink/jobs
refused "does not follow" "$drive" status dirlink 'jobs/*.job'
if [ "$(id -u)" = 0 ]; then # only root can give a folder away
    git init -q foreign
    chown -R 12345 foreign
    refused "safe.directory $dir/foreign" "$drive" status foreign 'jobs/*.job'
    git config --global --add safe.directory "$dir/foreign"
    is "trusted" "" "$("$drive" status foreign 'jobs/*.job')"
fi
fsck r
keep_r >/dev/null
is "and then it works" "" "$(status r)"

# --- a damaged object is said, never read as something else
git init -q hurt
mkdir hurt/jobs
printf 'right\n' >hurt/jobs/a.job
"$drive" record hurt 1700000000 0 "Right" jobs/a.job >/dev/null
blob=$(git -C hurt rev-parse HEAD:jobs/a.job)
file=hurt/.git/objects/$(echo "$blob" | cut -c1-2)/$(echo "$blob" | cut -c3-)
wrong=$(printf 'wrong\n' | git -C hurt hash-object -w --stdin)
chmod u+w "$file"
cp "hurt/.git/objects/$(echo "$wrong" | cut -c1-2)/$(echo "$wrong" | cut -c3-)" "$file"
refused "git fsck" "$drive" recorded hurt jobs/a.job

# --- two at once: one waits or is refused, nothing is torn
git init -q two
mkdir two/jobs
printf '0\n' >two/jobs/a.job
"$drive" record two 1700000000 0 "Start" jobs/a.job >/dev/null
for i in 1 2 3 4 5 6; do
    printf '%s\n' $i >"two/jobs/n$i.job"
    "$drive" record two 1700000000 0 "n$i" "jobs/n$i.job" >/dev/null 2>>two.err &
done
wait
fsck two
is "each is recorded or refused" 6 \
    $(($(git -C two log --oneline | grep -c ' n') + $(grep -c 'changed:\|another thou' two.err)))
echo "$checks checks"
