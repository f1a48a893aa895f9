# What stands in the same way for every command.

_thou_ask() { # KIND [TYPED...]: words of the book that the line names
    local i book=()
    for ((i = 1; i + 1 < COMP_CWORD; i++)); do
        [[ ${COMP_WORDS[i]} == --book ]] && book=(--book "${COMP_WORDS[i + 1]}")
    done
    "${COMP_WORDS[0]}" completion "${book[@]}" --words "$@" 2>/dev/null
}

_thou_offer() { # reads words a line each: those that begin as the current one
    local word
    while IFS= read -r word; do
        [[ ${word,,} == "${cur,,}"* ]] && COMPREPLY+=("$(printf '%q' "$word")")
    done
}

_thou_kind() { # KIND [TYPED...]
    case $1 in
    jobs)
        _thou_offer < <(_thou_ask jobs)
        [[ $cur == */* ]] && _thou_kind files
        ;;
    tags) _thou_offer < <(_thou_ask tags -- "${@:2}" "$cur") ;;
    commands) COMPREPLY=($(compgen -W "$commands" -- "$cur")) ;;
    files)
        compopt -o filenames 2>/dev/null
        COMPREPLY+=($(compgen -f -- "$cur"))
        ;;
    folders)
        compopt -o filenames 2>/dev/null
        COMPREPLY+=($(compgen -d -- "$cur"))
        ;;
    none) ;;
    *) COMPREPLY=($(compgen -W "${1//|/ }" -- "$cur")) ;;
    esac
}

_thou() {
    local IFS=$' \t\n' cur=${COMP_WORDS[COMP_CWORD]} prev=${COMP_WORDS[COMP_CWORD - 1]}
    local commands options values slots word kind i typed=() start=0
    COMPREPLY=()
    commands=$(_thou_table)
    if ((COMP_CWORD == 1)); then
        COMPREPLY=($(compgen -W "$commands --help --version" -- "$cur"))
        return
    fi
    _thou_table "${COMP_WORDS[1]}"
    # --units=me comes as three words
    if [[ $cur == = ]]; then
        cur=
    elif [[ $prev == = ]]; then
        prev=${COMP_WORDS[COMP_CWORD - 2]}
    fi
    for word in $values; do
        if [[ $prev == "${word%%:*}" ]]; then
            _thou_kind "${word#*:}"
            return
        fi
    done
    if [[ $cur == -* ]]; then
        COMPREPLY=($(compgen -W "$options" -- "$cur"))
        return
    fi
    for ((i = 2; i < COMP_CWORD; i++)); do
        word=${COMP_WORDS[i]}
        if [[ $word == -?* ]]; then
            [[ " $values " == *" $word:"* ]] && ((i++))
            [[ ${COMP_WORDS[i]} == = ]] && ((i++))
            continue
        fi
        typed+=("$word")
    done
    i=0
    for word in $slots; do
        kind=${word%+}
        if ((i == ${#typed[@]})) || [[ $word == *+ || $kind == tags ]]; then
            _thou_kind "$kind" "${typed[@]:i}"
            return
        fi
        ((i++))
    done
}

complete -F _thou thou
