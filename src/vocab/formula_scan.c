#include "vocab/formula_scan.h"

#include "base/buf.h"
#include "base/number.h"

/* ---- faults -----------------------------------------------------------------------------------
 */

Node *scan_fail(Parser *ps, VocabKind kind, Str at, const char *format, ...) {
    if (ps->failed) return NULL;
    ps->failed = true;
    if (!at.n) /* at the end: the caret goes under the last character */
        at = (Str){ps->end - 1, 1};
    Buf text = {0};
    va_list args;
    va_start(args, format);
    buf_vprintf(&text, format, args);
    va_end(args);
    Str message = buf_str(&text);
    vocab_fault(ps->findings, kind, ps->source, at, "%.*s", STR_ARG(message));
    buf_release(&text);
    return NULL;
}

bool scan_enter(Parser *ps) {
    if (++ps->depth <= FORMULA_DEPTH_MOST) return true;
    scan_fail(ps, K_DEEP, (Str){ps->p, ps->p < ps->end},
              "nested more than %d deep; use helper tags", FORMULA_DEPTH_MOST);
    return false;
}

/* ---- words and marks --------------------------------------------------------------------------
 */

void skip_blanks(Parser *ps) {
    while (ps->p < ps->end && is_blank(*ps->p))
        ps->p++;
}

bool is_word_start(char c) {
    return is_alpha(c) || (unsigned char)c >= 0x80 || c == '_';
}

/* Length of the word at p; `leak-down` is one word, `a -b` and `2-1` are not. */
static size_t word_length(const char *p, const char *end) {
    const char *q = p;
    if (q == end || !is_word_start(*q)) return 0;
    for (; q < end; q++) {
        bool inside = is_word_start(*q) || is_digit(*q) || *q == '\'' || *q == '.' || *q == '%';
        if (!inside && !(*q == '-' && q + 1 < end && is_word_start(q[1]))) break;
    }
    return (size_t)(q - p);
}

Str word_here(Parser *ps) {
    skip_blanks(ps);
    return (Str){ps->p, word_length(ps->p, ps->end)};
}

bool take_word(Parser *ps, Str word) {
    skip_blanks(ps);
    if (ps->p == ps->end || to_lower(*ps->p) != word.p[0]) return false;
    Str here = word_here(ps);
    if (!word_eq(here, word)) return false;
    ps->p += here.n;
    return true;
}

bool take_mark(Parser *ps, char mark) {
    skip_blanks(ps);
    if (ps->p == ps->end || *ps->p != mark) return false;
    ps->p++;
    return true;
}

/* The words from here to the next mark or number, blanks between them. */
Str words_here(Parser *ps) {
    Str first = word_here(ps);
    const char *q = first.p + first.n, *last = q;
    while (q < ps->end && is_blank(*q)) {
        while (q < ps->end && is_blank(*q))
            q++;
        size_t n = word_length(q, ps->end);
        if (n == 0) break;
        q += n;
        last = q;
    }
    return (Str){first.p, (size_t)(last - first.p)};
}

bool is_joint(Str word) {
    static const Str joints[] = {WORD("at"),   WORD("in"),    WORD("else"),  WORD("over"),
                                 WORD("here"), WORD("when"),  WORD("where"), WORD("while"),
                                 WORD("read"), WORD("fitted")};
    for (size_t i = 0; i < sizeof joints / sizeof *joints; i++)
        if (word_eq(word, joints[i])) return true;
    return false;
}

/* The words up to the first that joins: what was probably meant as one name. */
Str words_as_name(Str words) {
    Str rest = words;
    size_t end = 0;
    for (Str word = str_word(&rest); word.n; word = str_word(&rest)) {
        if (end && is_joint(word)) break;
        end = (size_t)(word.p + word.n - words.p);
    }
    return (Str){words.p, end};
}

/* ---- numbers ----------------------------------------------------------------------------------
 */

/* A unit is one word with no blanks: letters, digits and / ^ - * between them. */
Str unit_here(Parser *ps) {
    skip_blanks(ps);
    const char *q = ps->p;
    if (q == ps->end || !(is_word_start(*q) || *q == '%' || *q == '"')) return (Str){q, 0};
    for (q++; q < ps->end; q++) {
        bool joins =
            strchr("/^-*", *q) && q + 1 < ps->end && (is_word_start(q[1]) || is_digit(q[1]));
        if (!is_word_start(*q) && !is_digit(*q) && !joins) break;
    }
    return (Str){ps->p, (size_t)(q - ps->p)};
}

const Unit *take_unit(Parser *ps, Str text) {
    bool two_meanings;
    const Unit *unit = unit_certain(text, &two_meanings);
    if (two_meanings)
        scan_fail(ps, K_FORMULA_UNIT, text, "'%.*s' can be a force or a mass; write lbf or lbm",
                  STR_ARG(text));
    else if (!unit)
        scan_fail(ps, K_FORMULA_UNIT, text,
                  "unknown unit '%.*s' (a division has blanks around its /; a product needs its *)",
                  STR_ARG(text));
    else
        ps->p = text.p + text.n;
    return unit;
}

/* Digits and dots only: 1/2 is a division here and 1-1/2 would be two things, so that is refused.
 */
bool take_digits(Parser *ps, double *out) {
    const char *q = ps->p;
    while (q < ps->end && (is_digit(*q) || *q == '.'))
        q++;
    Str digits = {ps->p, (size_t)(q - ps->p)};
    bool mixed = q + 1 < ps->end && (*q == '-' || *q == '/') && is_digit(q[1]);
    Number number;
    NumberFault fault = number_read(digits, &number);
    if (fault != NUMBER_OK || number.len != digits.n) {
        scan_fail(ps, K_SYNTAX, digits, "'%.*s' is no number: %s", STR_ARG(digits),
                  number_fault_text(fault == NUMBER_OK ? NUMBER_DOTS : fault));
        return false;
    }
    if (mixed) {
        scan_fail(ps, K_SYNTAX, digits, "put blanks around the - or / between numbers");
        return false;
    }
    ps->p = q;
    *out = number.value;
    return true;
}
