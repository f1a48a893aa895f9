#!/bin/sh
# thou completion, tried in the shells themselves; a shell that is not installed is left out.
. "$(dirname "$0")/tools/begin.sh"
export PATH="$B:$PATH" LC_ALL=C.UTF-8 XDG_DATA_HOME="$dir/home"
mkdir -p "$dir/book/jobs" "$dir/other/jobs"
cd "$dir/book" || exit 2
touch jobs/26-001.job jobs/26-002.job "jobs/a b.job" ../other/jobs/99-9.job
printf 'units = us\n' >shop.vocab

# expects SHELL LINE WORDS...: completing the line offers these words, and with `!` in front, not those
expects() {
    shell=$1 line=$2
    shift 2
    complete_in_$shell "$line" >"$dir/got" 2>"$dir/err"
    for word in "$@"; do
        checks=$((checks + 1))
        case $word in
        !*) grep -qx -e "${word#!}" "$dir/got" || continue ;;
        *) grep -qx -e "$word" "$dir/got" && continue ;;
        esac
        failed=$((failed + 1))
        echo "FAIL $shell: '$line' $word: offered $(tr '\n' ',' <"$dir/got" | cut -c1-300)"
        head -n 3 "$dir/err"
    done
}

complete_in_bash() {
    bash --norc -c '
        source <(thou completion bash)
        line=$1
        read -r -a COMP_WORDS <<<"${line//=/ = }"
        [[ $line == *" " ]] && COMP_WORDS+=("")
        COMP_CWORD=$((${#COMP_WORDS[@]} - 1)) COMP_LINE=$line COMP_POINT=${#line}
        _thou
        printf "%s\n" "${COMPREPLY[@]}"' complete "$1"
}

complete_in_fish() {
    fish --no-config -c 'thou completion fish | source; complete -C "$argv[1]"' "$1" | cut -f1
}

# A real line editor on a pseudo-terminal: the candidates are those that compadd is handed.
complete_in_zsh() {
    zsh -f -c '
        zmodload zsh/zpty
        zpty sub zsh -f -i
        tell() { zpty -w sub "$1"; }
        tell "unset zle_bracketed_paste; PS1=; PS2=; stty -echo 2>/dev/null"
        tell "autoload -Uz compinit; compinit -u -D; source <(thou completion zsh)"
        tell "compadd() { [[ \$* == *-[OAD]* ]] && { builtin compadd \"\$@\"; return; }
            local -a hits; builtin compadd -O hits \"\$@\"; print -rl -- \$hits >>\$HITS; builtin compadd \"\$@\"; }"
        tell "HITS='"$dir"'/hits; print -r -- ready >\$HITS.ready"
        for i in {1..100}; do [[ -e $2/hits.ready ]] && break; zpty -rt sub junk; sleep .1; done
        zpty -w -n sub "$1"$'"'\\t'"'
        for i in {1..20}; do sleep .1; zpty -rt sub junk; done
        zpty -d sub' complete "$1" "$dir" >/dev/null 2>"$dir/err"
    cat "$dir/hits" 2>/dev/null
    rm -f "$dir/hits" "$dir/hits.ready"
}

all_shells() {
    for s in $shells; do expects "$s" "$@"; done
}

shells=
for s in bash zsh fish; do
    if command -v $s >/dev/null 2>&1; then shells="$shells $s"; else
        echo "$s is not installed: its completion was not tried"; fi
done

for s in bash zsh fish; do
    checks=$((checks + 1))
    thou completion $s >"$dir/text" && [ -s "$dir/text" ] || failed=$((failed + 1))
    if command -v $s >/dev/null 2>&1; then
        checks=$((checks + 1))
        $s -n "$dir/text" || failed=$((failed + 1))
    fi
    # every command and every option that -h shows
    for command in $(thou help | sed -n 's/^  \([a-z]*\)  *[a-z].*/\1/p'); do
        for option in $(thou $command -h | sed -n 's/^  \(-., \)\{0,1\}--\([a-z-]*\).*/\2/p'); do
            checks=$((checks + 1))
            grep -q -e "$command" "$dir/text" && grep -q -e "[ -]$option" "$dir/text" && continue
            failed=$((failed + 1))
            echo "FAIL $s: nothing of $command --$option"
        done
    done
done

all_shells 'thou ' check sheet why find tag list completion help
all_shells 'thou sh' sheet '!check'
all_shells 'thou sheet 26' 26-001 26-002 '!99-9'
all_shells 'thou check 26-001 26-' 26-001 26-002
all_shells 'thou sheet --uni' --units '!--words'
all_shells 'thou sheet --units ' metric us
all_shells 'thou why 26-001 spring lo' load '!loss' '!26-001'
all_shells 'thou why --units us 26-001 spring lo' load
all_shells 'thou tag bind ' clearance height '!loss'
all_shells 'thou help she' sheet
all_shells 'thou completion ' bash zsh fish
all_shells 'thou sheet --book ../other 9' 99-9 '!26-001'
expects bash 'thou sheet --units=me' metric
expects bash 'thou sheet a' 'a\\ b'
expects fish 'thou sheet --units=me' --units=metric
expects bash 'thou nosuch ' ''

# outside of a book, nothing is said
cd / || exit 2
all_shells 'thou sheet 26' '!26-001'
checks=$((checks + 1))
thou completion csh >/dev/null 2>&1 && failed=$((failed + 1))

end_checks
