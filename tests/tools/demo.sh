#!/bin/sh
# The main job on the book in examples/: what a newcomer sees first.
set -u
thou=$1
show() {
    printf '\n$ thou %s\n' "$*"
    "$thou" "$@"
}
cat <<'END'
The book in examples/ is that of an invented engine shop. One log, 26-019, was left with the slips of a long
day in it; this is what `thou check` says of it:
END
show check --book examples 26-019
echo
echo "And this is the build sheet of 26-014, the job to read first:"
show sheet --book examples 26-014
echo
echo "Where one number comes from:"
show why --book examples 26-014 bind clearance I3
echo
echo "Next: README.md has a first log to write yourself. The program is $thou; \`make install\` puts it on your path."
exit 0
