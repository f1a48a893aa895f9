# What stands in the same way for every command.

function __thou_ask # KIND [TYPED...]: words of the book that the line names
    set -l typed (commandline -opc)
    set -l book
    set -l at (contains -i -- --book $typed)
    and set book --book $typed[(math $at + 1)]
    command $typed[1] completion $book --words $argv 2>/dev/null
end

function __thou_is # COMMAND: it is the line's; without, there is none yet
    set -l typed (commandline -opc)
    if test (count $argv) -eq 0
        test (count $typed) -eq 1
    else
        test (count $typed) -gt 1; and test $typed[2] = $argv[1]
    end
end

function __thou_slot # "--OPTIONS THAT TAKE A VALUE" KIND...
    set -l valued (string split ' ' -- $argv[1])
    set -l slots $argv[2..-1]
    set -l typed
    set -l skip no
    for word in (commandline -opc)[3..-1]
        if test $skip = yes
            set skip no
        else if contains -- $word $valued
            set skip yes
        else if not string match -q -- '-?*' $word
            set -a typed $word
        end
    end
    set -l at 0
    for slot in $slots
        set -l kind (string replace -r '\+$' '' -- $slot)
        if test $at -eq (count $typed); or test $kind != $slot; or test $kind = tags
            set -l rest
            test $at -lt (count $typed); and set rest $typed[(math $at + 1)..-1]
            __thou_kind $kind $rest
            return
        end
        set at (math $at + 1)
    end
end

function __thou_kind # KIND [TYPED...]
    switch $argv[1]
        case jobs
            __thou_ask jobs
            string match -q -- '*/*' (commandline -ct); and __fish_complete_path (commandline -ct)
        case tags
            __thou_ask tags -- $argv[2..-1] ''
        case commands
            __thou_commands
        case files
            __fish_complete_path (commandline -ct)
        case folders
            __fish_complete_directories (commandline -ct)
        case none
        case '*'
            string split '|' -- $argv[1]
    end
end

complete -c thou -f
complete -c thou -n __thou_is -a '(__thou_commands)'
complete -c thou -n __thou_is -l help -s h -d 'lists the commands'
complete -c thou -n __thou_is -l version -d 'which version this is'
