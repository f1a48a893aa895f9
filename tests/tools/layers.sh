#!/bin/sh
# Data flows one way: no room includes a room above it, and only src/cli talks to the outside.
set -u
cd "$(dirname "$0")/../.." || exit 2
bad=0
rooms_of() { # what a room may include, itself aside
    case $1 in
    base) echo "" ;;
    log | units | stats) echo "base" ;;
    vocab) echo "base log units" ;;
    compute) echo "base log units vocab stats" ;;
    book) echo "base log units vocab stats compute" ;;
    index | history) echo "base log units vocab stats compute book" ;;
    show) echo "base log units vocab stats compute book" ;;
    api) echo "base log units vocab stats compute book" ;;
    cli) echo "base log units vocab stats compute book index history show api" ;;
    *) echo "" ;;
    esac
}
for file in $(git ls-files 'src/*/*.c' 'src/*/*.h'); do
    room=$(echo "$file" | cut -d/ -f2)
    allowed=" $room $(rooms_of "$room") "
    for used in $(sed -n 's/^#include "\([a-z]*\)\/.*/\1/p' "$file" | sort -u); do
        case $allowed in
        *" $used "*) ;;
        *" thou "*) ;;
        *)
            [ "$used" = thou ] && continue
            echo "$file: includes a file of $used, a room above or beside it"
            bad=1
            ;;
        esac
    done
    [ "$room" = cli ] && continue
    if grep -nE '(^|[^a-z_])(printf|puts|putchar|exit|getenv)\(' "$file" | grep -vE 'PRINTF|^\S*:\s*\*|//' | sed "s|^|$file:|" | grep .; then
        echo "$file: printf, puts, exit and getenv belong to src/cli"
        bad=1
    fi
done
exit $bad
