#!/bin/sh
# Runs every measurement and writes tests/bench/FIGURES.md. Nothing else should run meanwhile.
set -u
B=${B:-build}
out=tests/bench/FIGURES.md
missed=0
section() { # TITLE COMMAND
    printf '%s\n' "$1" >&2
    text=$(sh -c "$2" 2>&1)
    [ $? -eq 0 ] || missed=1
    printf '\n## %s\n\n`%s`\n\n```\n%s\n```\n' "$1" "$2" "$text"
}
{
    printf '# Figures\n\nWritten by `make bench` on %s, %s processors (%s). ' "$(date +%Y-%m-%d)" \
        "$(nproc)" "$(sed -n 's/^model name[^:]*: //p' /proc/cpuinfo | head -n 1)"
    printf 'Ratios are of commands run in turn, the best of each.\n'
    for script in tests/bench/*.sh; do
        section "$(basename "$script" .sh)" "sh $script"
    done
    for program in tests/bench/*.c; do
        name=$(basename "$program" .c)
        case $name in make-book | run | insert_rows) continue ;; esac # what the scripts work with
        section "$name" "$B/bench/$name"
    done
} >"$out.new"
mv "$out.new" "$out"
cat "$out"
exit $missed
