#!/bin/sh
# The sheet as a page: valid, of one piece, closed against what a log may hold, and fit to be read on a
# telephone and printed. What a browser or a validator is needed for is skipped where there is none.
#   sh tests/html.sh       B=build by default
. "$(dirname "$0")/tools/begin.sh"

lacks() { ! grep -qiE -e "$2" "$1" || return 1; } # FILE PATTERN
has() { grep -qF -e "$2" "$1"; }                  # FILE TEXT

page() { # NAME ARGUMENTS...: $dir/NAME.html; a log with an error in it still has a sheet (exit 1)
    name=$1
    shift
    "$thou" sheet "$@" --html - >"$dir/$name.html" 2>"$dir/err"
    [ $? -le 1 ] || fail "no page $name: $(cat "$dir/err")"
}

# inline, V and flat; two and four valves; heads not yet on the engine; history; a log without places
jobs="26-014 25-022 26-003 25-030 26-019 25-041 bench-2"
for job in $jobs; do
    page "$job" --book "$here/examples" "$job"
    page "$job-owner" --book "$here/examples" "$job" --for owner
done

# ---- of one piece ----------------------------------------------------------------------------
for f in "$dir"/*.html; do
    n=$(basename "$f")
    holds "$n: it asks for nothing" lacks "$f" '(src|href|xlink:href|action)=|url\(|@import|https?:'
    holds "$n: no script" lacks "$f" '<script|<[^>]* on[a-z]+=|javascript:'
    holds "$n: its language" has "$f" '<html lang="en">'
    holds "$n: telephones" has "$f" 'name="viewport"'
    holds "$n: it ends" has "$f" '</html>'
done
holds "the plan has every valve of a six" [ "$(grep -o 'class="small"' "$dir/26-014.html" | wc -l)" -eq 12 ]
holds "and every cylinder" [ "$(grep -o 'class="bore"' "$dir/26-014.html" | wc -l)" -eq 6 ]
holds "sixteen valves of four cylinders" [ "$(grep -o 'class="small"' "$dir/25-030.html" | wc -l)" -eq 16 ]
holds "heads on no bank are drawn" has "$dir/26-019.html" 'not on the engine yet'
holds "banks by their names" has "$dir/25-022.html" '>bank left</text>'
holds "drift where there is history" has "$dir/25-041.html" 'entry after entry'
holds "none where there is not" lacks "$dir/26-014.html" 'entry after entry'
holds "limits in the chart" has "$dir/26-014.html" '178 .. 188 lbf by shop</text>'
holds "a working" has "$dir/26-014.html" '= 1 + swept volume / clearance volume'

# ---- charts ------------------------------------------------------------------------------------
{
    printf 'layout = inline\ncylinders = 1\nvalves per cylinder = 2\n\n2031-02-03  Springs\n'
    printf 'spring set = Kreis-Nova-2024\naim seat load = 100 lbf\n'
    printf 'spring load #1 = 88 lbf @ 1.85 in, 188 @ 1.35\nspring load #2 = 90 lbf @ 1.85 in, 190 @ 1.35\n'
    printf '\n2031-02-04  Heights\ninstalled height I1 = 1.8 in\ninstalled height E1 = 1.8 in\n'
    printf 'shim I1 = 0 in\nshim E1 = 0 in\nspring I1 = #1\nspring E1 = #2\n'
} >"$dir/set.job"
page set "$dir/set.job"
holds "lines of one set are told apart" has "$dir/set.html" '>#2</text>'
holds "and the set is named once" has "$dir/set.html" '<figcaption>spring load over height, spring set Kreis-Nova-2024</figcaption>'
holds "an aim at one height is drawn" has "$dir/set.html" '<line class="limit"'

# ---- for the owner (rules: no notes, remarks or struck readings but those meant for him) ------
holds "the shop sees remarks" has "$dir/26-014.html" 'slipped on the anvil'
holds "and struck readings" has "$dir/26-014.html" '2.732'
holds "and notes" has "$dir/26-014.html" 'We shall see on the 6th.'
for gone in 'slipped on the anvil' '2\.732' 'We shall see' 'Struck' 'wrong drum' 'flows like a drain' 'Replaced by'; do
    holds "the owner does not see $gone" lacks "$dir/26-014-owner.html" "$gone"
done
holds "but what is for him" has "$dir/26-014-owner.html" 'waiting for one gasket'
"$thou" sheet --book "$here/examples" 26-014 --for owner >"$dir/owner.txt" 2>/dev/null
holds "as text likewise: remarks" lacks "$dir/owner.txt" 'slipped on the anvil|wrong drum'
holds "as text likewise: struck" lacks "$dir/owner.txt" '2\.732'
holds "as text likewise: his note" has "$dir/owner.txt" 'waiting for one gasket'

# ---- what a log may hold ----------------------------------------------------------------------
bad='<script>alert(1)</script>"&'"'"'</style><b>'
{
    echo 'job = <script>x&y</script>"q"'
    echo "owner = $bad"
    echo "title = </title>$bad"
    echo 'layout = inline'
    echo 'cylinders = 2'
    echo 'valves per cylinder = 2'
    echo 'bank <i>a = 1 2'
    echo
    echo "2031-02-03  $bad"
    echo "by = $bad"
    echo "$bad a note"
    echo "owner: $bad"
    echo "spring part = $bad"
    echo 'spring set = <u>'
    echo "chamber 1..2 = 44.8 44.6 cc   ; $bad"
    echo "limit chamber spread = at most .1 cc by <img src=x onerror=alert(1)>"
    echo "x chamber 1 = 99 cc ; $bad"
    echo "chamber 2 = 44.7 ? cc ; $bad"
    echo
    echo 'spring | spring load lbf @ 1.720 in | spring load lbf @ 1.220 in | bind height in'
    i=1
    while [ $i -le 150 ]; do
        echo "#$i | 18$((i % 10)) | 42$((i % 10)) | 1.14$((i % 10))"
        i=$((i + 1))
    done
} >"$dir/hostile.job"
page hostile "$dir/hostile.job"
page hostile-owner "$dir/hostile.job" --for owner
for n in hostile hostile-owner; do
    holds "$n: no script comes through" lacks "$dir/$n.html" '<script|<img|<i>a|<b>[^<]*a note|onerror=alert\(1\)>'
    holds "$n: one style sheet, one title" [ "$(grep -c '</style>' "$dir/$n.html")" -eq 1 ]
    holds "$n: it is said as it was written" has "$dir/$n.html" '&lt;script&gt;alert(1)&lt;/script&gt;'
done

# ---- a file ------------------------------------------------------------------------------------
cp "$dir/hostile.job" "$dir/log.job"
"$thou" sheet "$dir/log.job" --html "$dir/log.job" >/dev/null 2>"$dir/err"
holds "a log is never replaced by its page" cmp -s "$dir/hostile.job" "$dir/log.job"
holds "and it is said" has "$dir/err" 'is no page that thou sheet wrote'
"$thou" sheet "$dir/log.job" --html "$dir/file.html" >/dev/null 2>&1
"$thou" sheet "$dir/log.job" --html "$dir/file.html" >/dev/null 2>"$dir/err"
page log "$dir/log.job"
holds "a page is made anew" cmp -s "$dir/file.html" "$dir/log.html"
"$thou" sheet "$dir/log.job" --html "$dir/none/file.html" >/dev/null 2>"$dir/err"
holds "no folder: trouble" [ $? -eq 2 ]

# ---- valid -------------------------------------------------------------------------------------
validator=$B/npm/node_modules/.bin/html-validate
if [ ! -x "$validator" ] && command -v npm >/dev/null 2>&1; then
    mkdir -p "$B/npm"
    npm install --prefix "$B/npm" --no-audit --no-fund --silent html-validate@9.7.1 >"$dir/npm" 2>&1
fi
if [ -x "$validator" ]; then
    # `standard`: what the HTML standard forbids; taste is left to us
    echo '{"root":true,"extends":["html-validate:standard"]}' >"$dir/.htmlvalidate.json"
    checks=$((checks + 1))
    (cd "$dir" && "$validator" --config "$dir/.htmlvalidate.json" ./*.html) >"$dir/valid" 2>&1 ||
        { fail "html-validate finds faults"; head -n 40 "$dir/valid"; }
else
    echo "skipped: no validator (npm install html-validate did not work here)"
fi

# ---- in a browser ------------------------------------------------------------------------------
browser() {
    timeout 120 chromium --headless --no-sandbox --disable-gpu --disable-background-networking \
        --hide-scrollbars --user-data-dir="$dir/profile" "$@" 2>/dev/null
}
wide() { # NAME WIDTH: the page is no wider than a window of that width. A copy says how wide it is.
    sed 's|</body>|<script>parent.postMessage(document.documentElement.scrollWidth,"*")</script></body>|' \
        "$dir/$1.html" >"$dir/copy.html"
    printf '<body><iframe src="copy.html" style="border:0;width:%spx;height:900px"></iframe><script>%s</script>' \
        "$2" 'onmessage=e=>{document.title="wide "+e.data+" px"}' >"$dir/frame.html"
    got=$(browser --virtual-time-budget=4000 --dump-dom "file://$dir/frame.html" |
        sed -n 's/.*wide \([0-9]*\) px.*/\1/p')
    holds "$1 at $2: ${got:-nothing} px wide" [ "${got:-9999}" -le "$2" ]
}
sheets() { # NAME MOST: printed on no more sheets of paper, A4 and Letter
    for paper in A4 letter; do
        sed "s/@page{/@page{size:$paper;/" "$dir/$1.html" >"$dir/paper.html"
        browser --no-pdf-header-footer --print-to-pdf="$dir/$1.pdf" "file://$dir/paper.html" >/dev/null
        n=$(pdfinfo "$dir/$1.pdf" 2>/dev/null | sed -n 's/^Pages: *//p')
        size=$(pdfinfo "$dir/$1.pdf" 2>/dev/null | sed -n 's/^Page size:.*(\(.*\))/\1/p')
        holds "$1: ${size:-no paper} is the $paper asked for" [ "$size" = "$paper" ]
        holds "$1 prints on ${n:-no} pages of $paper, not on $2 at most" [ "${n:-99}" -le "$2" ]
    done
}
# A character that no font of the reader's has is drawn as an empty box, so what the program itself puts
# on a page is ASCII (and the no-break space), which every text font holds. The example logs are ASCII.
strange() { # FILE: the characters in it that are not; those of a log come through as they are
    pdftotext "$1" - | LC_ALL=C tr -d '\n\f -~' | LC_ALL=C sed 's/\xc2\xa0//g'
}
glyphs() { # NAME
    holds "$1: only characters that every font has" [ -z "$(strange "$dir/$1.pdf")" ]
    pdffonts "$dir/$1.pdf" >"$dir/fonts"
    holds "$1: its fonts are in the file" awk 'NR > 2 { n++; if ($(NF - 4) != "yes") bad = 1 } END { exit bad || !n }' "$dir/fonts"
}
if command -v chromium >/dev/null 2>&1 && command -v pdfinfo >/dev/null 2>&1; then
    for width in 390 1280; do
        wide 26-014 $width
        wide 25-022 $width
        wide hostile $width
    done
    for file in "$here"/examples/jobs/*.job; do
        job=$(basename "$file" .job)
        [ -f "$dir/$job.html" ] || page "$job" --book "$here/examples" "$job"
        sheets "$job" 4
        glyphs "$job"
    done
    sheets hostile 9
    page=1 heads=0 rows=0
    while [ $page -le "${n:-0}" ]; do # each page with rows of the long table has its heading
        pdftotext -layout -f $page -l $page "$dir/hostile.pdf" "$dir/page.txt"
        if [ "$(grep -c '#[0-9]' "$dir/page.txt")" -gt 8 ]; then
            rows=$((rows + 1))
            grep -q '^ *spring' "$dir/page.txt" && heads=$((heads + 1))
        fi
        page=$((page + 1))
    done
    holds "table heads on $heads of $rows pages" [ "$rows" -gt 1 ]
    holds "table heads on each of $rows pages" [ "$heads" -eq "$rows" ]
    pdftotext "$dir/26-014.pdf" "$dir/page.txt"
    sed 's|</h1>| \xe2\x86\x80</h1>|' "$dir/26-014.html" >"$dir/odd.html"
    sheets odd 4
    holds "a character of few fonts is noticed" [ -n "$(strange "$dir/odd.pdf")" ]
    holds "print has no working" lacks "$dir/page.txt" 'swept volume / clearance'
else
    echo "skipped: no chromium or no pdfinfo here"
fi

end_checks
