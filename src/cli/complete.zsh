# What stands in the same way for every command.

_thou_ask() { # KIND [TYPED...]: words of the book that the line names
    local -a book
    [[ -n ${opt_args[--book]} ]] && book=(--book ${(Q)opt_args[--book]})
    command ${thou_program:-thou} completion $book --words "$@" 2>/dev/null
}

_thou_jobs() {
    local -a names
    names=(${(f)"$(_thou_ask jobs)"})
    _alternative 'jobs:job:compadd -a names' 'files:file:_files'
}

_thou_tags() { # the words so far are those of the name
    local -a names
    names=(${(f)"$(_thou_ask tags -- "${(@Q)words[1,CURRENT]}")"})
    compadd -M 'm:{a-z}={A-Z}' -a names
}

_thou() {
    local curcontext=$curcontext thou_program=${(Q)words[1]} state line
    local -A opt_args
    if ((CURRENT == 2)); then
        _thou_commands
        return
    fi
    shift words
    ((CURRENT--))
    _thou_arguments $words[1]
}

if [[ ${funcstack[1]} == _thou ]]; then
    _thou "$@"
else
    compdef _thou thou
fi
