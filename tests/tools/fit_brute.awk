# Every choice for a small log of tests/fit.sh, tried one after the other; independent of the program.
#   awk -f tests/tools/fit_brute.awk LOG
# Reads the grid of springs (load at two heights, bind height), the grid of valves (bare height), the
# drawer, the aim, the window of the seat load and the least bind clearance; prints the least
# "worst_deviation sum_squares", or "none". Seat load: straight line between the two points, at most a
# tenth of the span beyond them (format/trade.vocab, spring load). Steps of 1 lbf.
function load(s, h,    span) {
    span = high - low
    if (h < low - .1 * span - 1e-9 || h > high + .1 * span + 1e-9) return -1
    return at_low[s] + (at_high[s] - at_low[s]) * (h - low) / span
}
function steps(x) { return x < 0 ? -int(-x + .5 + 1e-7) : int(x + .5 + 1e-7) }
function place(v,    s, k, h, l, d, t, open) {
    if (v > valves) {
        if (best == "" || worst < best || (worst == best && squares < best_squares)) {
            best = worst; best_squares = squares
        }
        return
    }
    for (s = 1; s <= springs; s++) {
        if (used[s]) continue
        for (k = 0; k < stacks; k++) {
            if (one[k] > left[1] || two[k] > left[2]) continue
            h = bare[v] - one[k] * size[1] - two[k] * size[2]
            l = load(s, h); open = load(s, h - lift)
            if (l < 0 || open < 0) continue
            if (l < least - 1e-4 || l > most + 1e-4 || h - lift - bind[s] < clear - 1e-6) continue
            d = steps(l - aim)
            was = worst + 0; was_squares[v] = squares; was_worst[v] = worst
            used[s] = 1; left[1] -= one[k]; left[2] -= two[k]
            if ((d < 0 ? -d : d) > worst) worst = d < 0 ? -d : d
            squares += d * d
            place(v + 1)
            worst = was_worst[v]; squares = was_squares[v]
            used[s] = 0; left[1] += one[k]; left[2] += two[k]
        }
    }
}
/^aim seat load/ { aim = $5 }
/^limit seat load/ { least = $5; most = $7 }
/^limit bind clearance/ { clear = $7 }
/^valve lift/ { lift = $(NF - 1) }
/^shim stock/ {
    for (i = 4; i < NF; i += 3) { n++; left[n] = $i == "many" ? 99 : $i; sub(/,/, "", $(i + 2)); size[n] = $(i + 2) }
}
/^spring \|/ { split($0, head, "|"); split(head[2], a, " "); high = a[5]; split(head[3], a, " "); low = a[5]; in_springs = 1; next }
/^valve \|/ { in_springs = 0; in_valves = 1; next }
/^[^#IE]/ { in_springs = 0; in_valves = 0 }
/^#/ && in_springs { s = substr($1, 2) + 0; springs = s > springs ? s : springs; at_high[s] = $3; at_low[s] = $5; bind[s] = $7 }
/^[IE][0-9]/ && in_valves { valves++; bare[valves] = $3 }
END {
    for (i = 0; i <= 3; i++) for (j = 0; i + j <= 3; j++) { one[stacks] = i; two[stacks] = j; stacks++ }
    worst = 0; squares = 0
    place(1)
    print best == "" ? "none" : best " " best_squares
}
