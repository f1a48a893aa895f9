# Compares what `thou check --json` and `thou sheet --json` said of one case with its `back`.
#   awk -f backs.awk -v skip=LINES -v file=FILE -v rc=HOW_CHECK_ENDED check.json sheet.json back
# Silent and 0 when they agree; else both sides and 1. With -v out=FILE the new expectation goes there.

# One flat JSON object (with at most one object inside, whose keys get its name before them) into F.
function parse(s,    key, value, prefix) {
    split("", F)
    prefix = ""
    while (match(s, /"([^"\\]|\\.)*"[ ]*:[ ]*/)) {
        key = substr(s, RSTART + 1, RLENGTH - 1)
        sub(/"[ ]*:[ ]*$/, "", key)
        if (substr(s, 1, RSTART) ~ /}/) prefix = ""
        s = substr(s, RSTART + RLENGTH)
        if (substr(s, 1, 1) == "{") {
            prefix = key "."
            s = substr(s, 2)
            continue
        }
        if (match(s, /^"([^"\\]|\\.)*"/)) value = unescape(substr(s, 2, RLENGTH - 2))
        else {
            match(s, /^[^,}]*/)
            value = substr(s, 1, RLENGTH)
        }
        s = substr(s, RLENGTH + 1)
        F[prefix key] = value
    }
}

function unescape(s) {
    gsub(/\\"/, "\"", s)
    gsub(/\\\//, "/", s)
    gsub(/\\t/, "\t", s)
    gsub(/\\\\/, "\\", s)
    return s
}

# Blanks once, no zero before the point: 0.5 and .5 are one value.
function plain(s) {
    gsub(/[ \t]+/, " ", s)
    sub(/^ /, "", s)
    sub(/ $/, "", s)
    while (match(s, /(^|[ =@-])0\.[0-9]/)) {
        s = substr(s, 1, RSTART + RLENGTH - 4) substr(s, RSTART + RLENGTH - 2)
    }
    return s
}

function finding(    place) {
    place = F["line"] - (F["file"] == log_name ? skip : 0)
    if (F["file"] != log_name) place = F["file"] ":" place
    return F["level"] " " F["code"] " " place ":" F["col"]
}

function what() {
    return F["tag"] (F["subject"] == "" ? "" : " " F["subject"])
}

function condition() {
    if ("at.spot" in F) return " @ " F["at.spot"]
    if ("at.value" in F) return " @ " F["at.value"] " " F["at.unit"]
    return ""
}

# Digits that JSON has no number for (1-3/4) stand in `text`.
function value() {
    return ("text" in F ? F["text"] : F["value"]) (F["unit"] == "" ? "" : " " F["unit"])
}

function line_of(    s) {
    if (F["kind"] == "reading") {
        # a number as it was written, where JSON has no such number: +1.72, 5/16
        if ("text" in F) F["value"] = F["text"]
        s = "reading " what() " = " value() condition()
        return s (F["state"] == "" || F["state"] == "ok" ? "" : " " F["state"])
    }
    if (F["kind"] == "computed") {
        if (!("value" in F)) return "missing " what()
        s = "computed " what() " = " value()
        if (F["nominal"] == "true") s = s " nominal"
        if (F["carried"] == "true") s = s " carried"
        if ("of" in F && F["n"] != F["of"]) s = s " " F["n"] " of " F["of"]
        return s
    }
    if (F["kind"] == "missing") return "missing " what()
    if (F["kind"] == "fact") return "fact " what() " = " value()
    if (F["kind"] == "limit") {
        s = "limit " what() " by " F["by"] " " F["verdict"]
        return s ("margin" in F ? " " F["margin"] (F["unit"] == "" ? "" : " " F["unit"]) : "")
    }
    return ""
}

# What a line is about, without its value: to find its new value in an update.
function about(s) {
    if (s ~ /^limit /) {
        sub(/ (holds|broken|accepted|unjudged).*/, "", s)
        return s
    }
    sub(/^(computed|missing) /, "computed ", s)
    sub(/ = .*/, "", s)
    return s
}

BEGIN { log_name = file }
FNR == 1 { input++ }
input == 1 && /^\{/ { parse($0); got[++gots] = finding(); errors += F["level"] == "error"; next }
input == 2 && /^\{/ {
    parse($0)
    s = plain(line_of())
    if (s != "") {
        said[++saids] = s
        has[s]++
    }
    next
}
input == 3 && !/^[ \t]*$/ && !/^#/ {
    s = plain($0)
    if (s ~ /^(error|warning) /) want[++wants] = s
    else if (s == "exactly") exactly = 1
    else listed[++listeds] = s
}
input == 3 && /^#/ { comment[++comments] = $0 }

function missing_lines(    i, bad) {
    for (i = 1; i <= listeds; i++) {
        if (has[listed[i]] > 0) {
            has[listed[i]]--
            continue
        }
        bad = bad "    expected   " listed[i] "\n" nearest(listed[i])
    }
    if (!exactly) return bad
    for (i = 1; i <= saids; i++) {
        if (said[i] ~ /^(fact|limit)/ || has[said[i]] <= 0) continue
        has[said[i]]--
        bad = bad "    unexpected " said[i] "\n"
    }
    return bad
}

function nearest(s,    i, key, bad) {
    key = about(s)
    for (i = 1; i <= saids; i++) {
        if (about(said[i]) == key) bad = bad "    came back  " said[i] "\n"
    }
    return bad
}

function finding_faults(    i, same, bad) {
    same = wants == gots
    for (i = 1; i <= gots && same; i++) same = want[i] == got[i]
    if (same) return ""
    for (i = 1; i <= wants; i++) bad = bad "    expected   " want[i] "\n"
    for (i = 1; i <= gots; i++) bad = bad "    came back  " got[i] "\n"
    return bad (gots ? "" : "    came back  no finding\n")
}

function write_new(    i, j, key, done) {
    for (i = 1; i <= comments; i++) print comment[i] > out
    if (exactly) print "exactly" > out
    for (i = 1; i <= gots; i++) print got[i] > out
    for (i = 1; i <= listeds; i++) {
        key = about(listed[i])
        done = 0
        for (j = 1; j <= saids; j++) {
            if (about(said[j]) != key || (j in used)) continue
            used[j] = done = 1
            print said[j] > out
            break
        }
        if (!done) print listed[i] > out
    }
}

END {
    bad = finding_faults() missing_lines()
    if (rc != "" && rc != (errors > 0)) bad = bad "    check ended with " rc " and had " errors + 0 " errors\n"
    if (bad == "") exit 0
    if (out != "") write_new()
    printf "%s", bad
    exit 1
}
