#!/bin/sh
# format/editors: made from the vocabulary as it is, and tried in the editors that are installed:
# what they colour a line as is what the scanner makes of it, and findings are jumped to.
. "$(dirname "$0")/tools/begin.sh"
tool=$B/tool/editors editors=$here/format/editors
export LC_ALL=C.UTF-8 TERM=xterm-256color
mkdir -p "$dir/got/vim/syntax" "$dir/got/emacs" "$dir/got/nano" "$dir/got/textmate" "$dir/jobs"

holds() { # WHAT COMMAND...
    what=$1
    shift
    checks=$((checks + 1))
    "$@" >"$dir/out" 2>&1 && return
    failed=$((failed + 1))
    echo "FAIL $what"
    head -n 12 "$dir/out" | sed 's/^/  /'
}

# 1. what is generated is what is kept
"$tool" "$dir/got" || exit 1
for file in vim/syntax/thou.vim emacs/thou-names.el nano/thou.nanorc textmate/thou.tmLanguage.json; do
    holds "$file is made from this vocabulary (make editors)" cmp "$dir/got/$file" "$editors/$file"
done

# 2. lines of every kind, and those that look like another
cat >"$dir/jobs/kinds.job" <<'END'
layout = inline
cylinders = 2
valves per cylinder = 2

2026-03-02  A heading
2026-03-02 14:20  Another
a note with a=b and x|y in it
chamber 1..2 = 44.8 44.9 cc  ; read twice
x chamber 1 = 41.8 cc
limit bind clearance = at least .060 in by shop
valve lift = .500 in ?
> chamber 1 = 44.9 cc
; a remark = alone
cylinder | chamber cc | milled in
1        | 44.9       | .003
| 2      | 44.8 ?     | -     |
|2 | 44.8 | .003
a = b | c
a | b = c
chamber 1 =
= 5
|
>>
2026-03-02 in a note
chamber 1 = 5
<<
2026-03-02	a tab behind it
20 cc of oil = too much
bind clearance I1 = .064
END
kinds_of() { "$tool" --kinds "$1"; }
samples="$dir/jobs/kinds.job"
for f in "$here"/examples/jobs/2[36]*.job "$here"/examples/parts/V*.part; do samples="$samples $f"; done
# same FILE EDITOR: the editor's kinds against the scanner's; what is no line for the scanner has no colour
same() {
    kinds_of "$1" >"$dir/scanner"
    holds "$2: lines of $(basename "$1")" sh -c "paste '$dir/scanner' '$dir/kinds' | awk -F'\t' \
        '\$1 != \"broken\" && \$1 != \"blank\" && \$1 != \$2 { print NR \": \" \$0; bad = 1 } END { exit bad }'"
}

vim_like() { # NAME COMMAND...: syntax groups and :make
    name=$1
    shift
    cat >"$dir/kinds.vim" <<'END'
let words = {'thouHeading': 'heading', 'thouDate': 'heading', 'thouReading': 'reading', 'thouGrid': 'grid', 'thouNote': 'quoted'}
let kinds = []
for n in range(1, line('$'))
  let stack = synstack(n, match(getline(n), '\S') + 1)
  call add(kinds, empty(stack) ? 'note' : get(words, synIDattr(stack[0], 'name'), 'other'))
endfor
call writefile(kinds, $OUT)
END
    for f in $samples; do
        rm -f "$dir/kinds"
        OUT=$dir/kinds "$@" -c "set rtp+=$editors/vim" -c 'filetype plugin on' -c 'syntax on' -c "edit $f" \
            -c "source $dir/kinds.vim" -c 'qa!' </dev/null >/dev/null 2>&1
        same "$f" "$name"
    done
    cat >"$dir/groups.vim" <<'END'
function Group(line, text)
  call search('\%' . a:line . 'l\V' . a:text)
  return synIDattr(synID(line('.'), col('.'), 1), 'name')
endfunction
call writefile([Group(8, 'chamber'), Group(8, '44.8'), Group(8, 'cc'), Group(8, '; read'), Group(10, 'limit'),
  \ Group(10, 'bind'), Group(11, '?'), Group(14, 'chamber'), Group(14, '|'), Group(9, 'x chamber')], $OUT)
END
    OUT=$dir/groups "$@" -c "set rtp+=$editors/vim" -c 'filetype plugin on' -c 'syntax on' -c "edit $dir/jobs/kinds.job" \
        -c "source $dir/groups.vim" -c 'qa!' </dev/null >/dev/null 2>&1
    echo thouName thouNumber thouUnit thouRemark thouWord thouName thouDoubt thouColumn thouBar thouWord |
        tr ' ' '\n' >"$dir/wanted"
    holds "$name: names, numbers, units, remarks" diff "$dir/wanted" "$dir/groups"
    printf '%s\n' 'silent make!' \
        'call writefile(map(filter(getqflist(), "v:val.valid"), {i, v -> printf("%d:%d:%s", v.lnum, v.col, v.type)}), $OUT)' \
        >"$dir/make.vim"
    (cd "$dir" && OUT=$dir/jumps PATH=$B:$PATH "$@" -c "set rtp+=$editors/vim" -c 'filetype plugin on' -c 'syntax on' \
        -c 'edit jobs/faulty.job' -c "source $dir/make.vim" -c 'qa!' </dev/null >/dev/null 2>&1)
    holds "$name: :make finds the lines" diff "$dir/findings" "$dir/jumps"
}

cat >"$dir/jobs/faulty.job" <<'END'
layout = inline
cylinders = 2

2026-03-02  First
chamver 1 = 44.8 cc
chamber 1 44.8 cc
    chamber 2 = 44,8 cc
END
(cd "$dir" && "$thou" check jobs/faulty.job 2>/dev/null) >"$dir/check.out"
sed -n 's/^jobs\/faulty.job:\([0-9]*\):\([0-9]*\): \(.\).*/\1:\2:\3/p' "$dir/check.out" >"$dir/findings"
holds "there are findings to go to" test "$(wc -l <"$dir/findings")" -ge 3

if command -v vim >/dev/null 2>&1; then vim_like Vim vim -N -u NONE -i NONE -es; else
    echo "vim is not installed: it was not tried"; fi
if command -v nvim >/dev/null 2>&1; then vim_like Neovim nvim -u NONE -i NONE -es; else
    echo "nvim is not installed: it was not tried"; fi

# 3. Emacs
if command -v emacs >/dev/null 2>&1; then
    cat >"$dir/try.el" <<'END'
(require 'thou-mode)
(defun try-kind ()
  (let ((line (buffer-substring-no-properties (line-beginning-position) (line-end-position)))
        (face (progn (back-to-indentation) (get-text-property (point) 'face))))
    (cond ((eq face 'font-lock-comment-face) "quoted")
          ((eq face 'font-lock-function-name-face) "heading")
          ((string-match-p thou-grid-regexp line) "grid")
          ((string-match-p thou-reading-regexp line) "reading")
          (t "note"))))
(dolist (file (split-string (getenv "FILES")))
  (find-file file)
  (unless (eq major-mode 'thou-mode) (error "no thou-mode for %s" file))
  (font-lock-ensure)
  (let (kinds)
    (goto-char (point-min))
    (while (not (eobp)) (push (try-kind) kinds) (forward-line))
    (with-temp-file (concat (getenv "OUT") "/" (file-name-nondirectory file) ".kinds")
      (dolist (kind (nreverse kinds)) (insert kind "\n")))))
(find-file (car (split-string (getenv "FILES"))))
(font-lock-ensure)
(dolist (want '((8 "chamber" font-lock-variable-name-face) (8 "44.8" font-lock-constant-face)
                (10 "limit" font-lock-keyword-face) (14 "chamber" font-lock-variable-name-face)
                (8 "; read" font-lock-comment-face) (11 "?" font-lock-warning-face)))
  (goto-char (point-min))
  (forward-line (1- (car want)))
  (search-forward (cadr want) (line-end-position))
  (unless (eq (get-text-property (match-beginning 0) 'face) (caddr want))
    (error "line %d %s is %s" (car want) (cadr want) (get-text-property (match-beginning 0) 'face))))
(find-file (getenv "CHECK"))
(setq default-directory (file-name-as-directory (getenv "OUT")))
(compilation-mode)
(compilation--ensure-parse (point-max))
(let (jumps)
  (goto-char (point-min))
  (condition-case nil
      (while t
        (compilation-next-error 1)
        (let* ((message (get-text-property (point) 'compilation-message))
               (loc (compilation--message->loc message)))
          (push (format "%d:%d:%s" (cadr loc) (1+ (or (car loc) 0)) (if (= (compilation--message->type message) 2) "e" "w"))
                jumps)))
    (error nil))
  (with-temp-file (concat (getenv "OUT") "/emacs.jumps")
    (dolist (jump (nreverse jumps)) (insert jump "\n"))))
END
    { echo; cat "$dir/check.out"; } >"$dir/check.emacs" # the search for the next finding leaves out the first place
    holds "Emacs takes the files, and colours as it should" env OUT="$dir" FILES="$samples" CHECK="$dir/check.emacs" \
        emacs -Q --batch -L "$editors/emacs" -l "$dir/try.el"
    for f in $samples; do
        cp "$dir/$(basename "$f").kinds" "$dir/kinds" 2>/dev/null || : >"$dir/kinds"
        same "$f" Emacs
    done
    cut -d: -f1,3 "$dir/findings" >"$dir/wanted"
    cut -d: -f1,3 "$dir/emacs.jumps" >"$dir/jumps" 2>/dev/null
    holds "Emacs goes to the findings" diff "$dir/wanted" "$dir/jumps"
    cp -r "$editors/emacs" "$dir/el"
    holds "Emacs compiles the files without a warning" sh -c "cd '$dir/el' && emacs -Q --batch -L . \
        --eval '(setq byte-compile-error-on-warn t)' -f batch-byte-compile thou-names.el thou-mode.el"
else
    echo "emacs is not installed: it was not tried"
fi

# 4. nano, on a terminal
if command -v nano >/dev/null 2>&1 && command -v script >/dev/null 2>&1; then
    printf 'include "%s/nano/thou.nanorc"\n' "$editors" >"$dir/nanorc"
    (sleep 1; printf '\030') | (cd "$dir" && timeout 20 script -qec \
        "stty rows 40 cols 100; nano --rcfile=$dir/nanorc jobs/kinds.job" /dev/null) >"$dir/screen" 2>&1
    holds "nano shows the log" grep -q 'valves per cylinder' "$dir/screen"
    holds "nano has no complaint" sh -c "! grep -aiE 'mistake|error|bad regex|not understood' '$dir/screen'"
    holds "nano colours" grep -aq "$(printf '\033')\[[0-9;]*3[0-9]" "$dir/screen"
else
    echo "nano or script is not installed: nano was not tried"
fi

# 5. the TextMate grammar, its patterns tried in the order an editor tries them
if command -v jq >/dev/null 2>&1 && command -v perl >/dev/null 2>&1; then
    grammar=$editors/textmate/thou.tmLanguage.json
    holds "the grammar is JSON with its scope" jq -e '.scopeName == "text.thou"' "$grammar"
    holds "what it includes is there" jq -e '[.. | .include? // empty | ltrimstr("#")] - (.repository | keys) == []' "$grammar"
    jq -r '.patterns[] | [.name, (.match // ""), (.begin // ""), (.end // "")] | join("\u0001")' "$grammar" >"$dir/patterns"
    cat >"$dir/try.pl" <<'END'
open my $p, '<', shift or die; my @rules = map { chomp; [split /\x01/, $_, -1] } <$p>;
my %word = ('comment.block.thou' => 'quoted', 'comment.line.thou' => 'quoted', 'markup.heading.thou' => 'heading',
            'meta.grid.thou' => 'grid', 'meta.reading.thou' => 'reading');
my $end;
LINE: while (<>) {
    s/[\r\n]+$//;
    if (defined $end) { print "quoted\n"; undef $end if /$end/; next }
    for my $r (@rules) {
        my ($name, $match, $begin, $stop) = @$r;
        if ($begin ne '' ? /$begin/ : /$match/) {
            $end = $stop if $begin ne '';
            print "$word{$name}\n";
            next LINE;
        }
    }
    print "note\n";
}
END
    for f in $samples; do
        perl "$dir/try.pl" "$dir/patterns" "$f" >"$dir/kinds"
        same "$f" "TextMate grammar"
    done
    jq -r '.repository[].match' "$grammar" >"$dir/patterns"
    holds "its inner patterns compile" perl -ne 'chomp; qr/$_/' "$dir/patterns"
else
    echo "jq or perl is not installed: the TextMate grammar was not tried"
fi

end_checks
