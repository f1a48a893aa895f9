# The examples of format/*.md as folders of files, or (with -v new=1) the same texts with the `back`
# blocks replaced by DIR/NUMBER/new where there is one. Needs -v dir=DIR.
# An example is a line `Example 3.2 [on the NAME]`, its `log` blocks, then its `back` block.

function begin_example(line,    words, n) {
    n = split(line, words, /[ .]/)
    number = words[2] "." words[3]
    on = ""
    if (match(line, /^Example [0-9.]+ on the [a-z]+/)) {
        on = substr(line, RSTART, RLENGTH)
        sub(/.* /, "", on)
    }
    if (new) return
    if (number in seen) complain("example " number " stands twice")
    seen[number] = 1
    where = dir "/" number
    system("mkdir -p '" where "/book/jobs' '" where "/book/parts'")
    printf "" > (where "/book/shop.vocab")
    close(where "/book/shop.vocab")
}

function complain(text) {
    print FILENAME ":" FNR ": " text > "/dev/stderr"
    faults = 1
}

function job_file(    i) {
    file = where "/book/jobs/example.job"
    printf "" > file
    print (on == "" ? 0 : lines[on]) > (where "/skip")
    close(where "/skip")
    if (on == "") return
    if (!(on in lines)) complain("no preamble " on)
    for (i = 1; i <= lines[on]; i++) print preamble[on, i] > file
}

function open_block(info,    words, n) {
    n = split(info, words, " ")
    block = words[1]
    if (block == "log" && words[2] == "preamble") {
        block = "preamble"
        on = words[3]
        lines[on] = 0
    } else if (block != "log" && block != "back") {
        block = "other"
    }
    if (new || block == "other" || block == "preamble") return
    if (number == "") complain("a " block " block with no example above it")
    if (block == "back") file = where "/back"
    else if (n == 1) job_file()
    else file = where "/book/" words[2]
    if (block == "back" || n > 1) printf "" > file
}

function close_block() {
    if (file != "") close(file)
    if (block == "back") number = ""
    file = block = ""
}

function replace(    text, name) {
    name = dir "/" number "/new"
    while ((getline text < name) > 0) {
        if (!dropped) dropped = 1
        print text
    }
    close(name)
}

/^```/ {
    if (block == "") {
        open_block(substr($0, 4))
        if (new) {
            print
            if (block == "back" && number != "") {
                dropped = 0
                replace()
            }
        }
    } else {
        if (new) print
        close_block()
        dropped = 0
    }
    next
}
block == "" && /^Example [0-9]+\.[0-9]+/ { begin_example($0) }
block == "preamble" { preamble[on, ++lines[on]] = $0 }
(block == "log" || block == "back") && !new { print > file }
new && !(block == "back" && dropped) { print }
END {
    if (block != "") complain("a block is never closed")
    exit faults
}
