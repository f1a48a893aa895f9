#include "base/pattern.h"

#include "base/number.h"

typedef struct Match {
    Str pattern, line;
    size_t p, at;         /* how far either is matched */
    Str number, unit;     /* of the match so far */
    size_t retry, resume; /* behind the last `...` of the pattern, and where it is tried next */
    bool can_retry;
} Match;

static bool takes(Str s, size_t at, Str word) {
    return str_starts(str_skip(s, at), word);
}

static unsigned times(Str pattern, Str word) {
    unsigned n = 0;
    for (size_t at = 0; (at = str_find(pattern, word, at)) != SIZE_MAX; at += word.n)
        n++;
    return n;
}

const char *pattern_fault(Str pattern) {
    if (pattern.n > PATTERN_MOST) return "it is longer than 200 characters";
    if (times(pattern, STR("VALUE")) != 1) return "it must say once, as VALUE, where the number is";
    if (times(pattern, STR("UNIT")) > 1) return "it says UNIT twice";
    return NULL;
}

static bool take_number(Match *m) {
    Number n;
    Str rest = str_skip(m->line, m->at);
    bool loose = m->p >= 8 && takes(m->pattern, m->p - 8, STR("..."));
    char before = loose && m->at ? m->line.p[m->at - 1] : ' ';
    if (is_digit(before) || is_alpha(before) || strchr(".,-+/", before)) return false;
    if (number_read(rest, &n) != NUMBER_OK) return false;
    m->number = (Str){rest.p, n.len};
    m->at += n.len;
    return true;
}

static bool of_unit(char c) {
    return is_alpha(c) || c == '/' || c == '"' || c == '\'' || c == '%' || (unsigned char)c >= 0x80;
}

static bool take_unit(Match *m) {
    size_t from = m->at;
    while (m->at < m->line.n && of_unit(m->line.p[m->at]))
        m->at++;
    m->unit = (Str){m->line.p + from, m->at - from};
    return m->unit.n > 0;
}

static bool take_step(Match *m) {
    if (takes(m->pattern, m->p, STR("VALUE"))) {
        m->p += 5;
        return take_number(m);
    }
    if (takes(m->pattern, m->p, STR("UNIT"))) {
        m->p += 4;
        return take_unit(m);
    }
    if (is_blank(m->pattern.p[m->p])) {
        m->p++;
        while (m->at < m->line.n && is_blank(m->line.p[m->at]))
            m->at++;
        return true;
    }
    bool same = m->at < m->line.n && m->line.p[m->at] == m->pattern.p[m->p];
    m->p++;
    m->at++;
    return same;
}

/* One `...` after another takes as little as it can; only the last is ever taken back, which is
 * enough, for what stands before it has matched as far left as it could. */
bool pattern_fits(Str pattern, Str line, Str *number, Str *unit) {
    Match m = {.pattern = pattern, .line = str_trim(line)};
    for (;;) {
        bool ok = true;
        if (m.p == pattern.n) {
            if (m.at == m.line.n) break;
            ok = false;
        } else if (takes(pattern, m.p, STR("..."))) {
            m.p += 3;
            m.can_retry = true;
            m.retry = m.p;
            m.resume = m.at;
            continue;
        } else {
            ok = take_step(&m);
        }
        if (ok) continue;
        if (!m.can_retry || m.resume >= m.line.n) return false;
        m.p = m.retry;
        m.at = ++m.resume;
    }
    *number = m.number;
    *unit = m.unit;
    return true;
}
