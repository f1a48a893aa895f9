/*
 * What a hand slips to where ` = ` belongs, or puts beside it: `stroke + 3.48 in`, `stroke, 3.48
 * in`, `chamber 1:44.8`, `chamber1 44.8`. A copy of a note in which each such mark is a colon, or a
 * blank where the mark alone says nothing; near_miss.c looks at both.
 */
#include "compute/bind.h"

typedef enum Mark {
    MARK_NONE,
    MARK_BLANK, /* as a comma: it may as well end a sentence's part */
    MARK_JOINS, /* as a plus: it joins a name and a value, or nothing */
} Mark;

static char char_at(Str s, size_t i) {
    return i < s.n ? s.p[i] : ' ';
}

static bool is_word_char(char c) {
    return is_alpha(c) || is_digit(c);
}

/* Typographic dashes and dots, and the wide equals sign: three bytes each. */
static Mark wide_mark(Str s, size_t i) {
    Str rest = str_skip(s, i);
    if (rest.n < 3) return MARK_NONE;
    unsigned char last = (unsigned char)rest.p[2];
    if (str_starts(rest, STR("\uFF1D"))) return MARK_JOINS;
    if (!str_starts(rest, STR("\xE2\x80"))) return MARK_NONE;
    if (last >= 0x90 && last <= 0x95) return MARK_JOINS;
    return last == 0xA6 ? MARK_BLANK : MARK_NONE;
}

/* `stroke...4.125`, `stroke. 4.125`; not the dots of `.125`, `62.` and `I1..I6`. */
static bool dots_part(Str s, size_t i) {
    enum { RANGE = 2 };
    size_t from = i, to = i + 1; /* a run's length past a range's does not matter */
    while (from > 0 && s.p[from - 1] == '.' && i - from <= RANGE)
        from--;
    while (char_at(s, to) == '.' && to - i <= RANGE)
        to++;
    if (to - from > RANGE) return true;
    bool behind_number = from > 0 && is_digit(s.p[from - 1]);
    return !behind_number && (to - from == 2 || is_blank(char_at(s, to)));
}

/* ` 0 `: with shift it is an equals sign on some keyboards. */
static bool is_lone_nought(Str s, size_t i) {
    return s.p[i] == '0' && i > 0 && is_blank(s.p[i - 1]) && i + 1 < s.n && is_blank(s.p[i + 1]);
}

/* Signs and dots that belong to numbers, ranges, lists and places keep their meaning. */
static Mark mark_at(Str s, size_t i) {
    char c = s.p[i], before = i ? s.p[i - 1] : ' ', behind = char_at(s, i + 1);
    bool ends = is_blank(behind);
    switch (c) {
    case '~':
    case '*':
    case '!':
    case '^':
    case '<':
    case '>':
    case '=': return MARK_JOINS;
    case '_': return is_word_char(before) && is_word_char(behind) ? MARK_BLANK : MARK_JOINS;
    case ':': return ends || is_blank(before) || is_digit(before) ? MARK_JOINS : MARK_NONE;
    case '+': return ends ? MARK_JOINS : MARK_NONE;
    case '-': return ends || behind == '-' || before == '-' ? MARK_JOINS : MARK_NONE;
    case ';': return MARK_BLANK;
    case ',': return is_digit(before) && !ends ? MARK_NONE : MARK_BLANK;
    case '.': return dots_part(s, i) ? MARK_BLANK : MARK_NONE;
    case '0': return is_lone_nought(s, i) ? MARK_JOINS : MARK_NONE;
    default: return wide_mark(s, i);
    }
}

static size_t mark_bytes(Str s, size_t i) {
    return (unsigned char)s.p[i] < 0x80 ? 1 : 3;
}

/* Letters of a word that a number does not belong to: `chamber1`, and not `I1` or `S31#7`. */
enum { GLUED_LEAST = 3 };

Str note_unmarked(Arena *a, Str note) {
    char *out = arena_array(a, note.n, 3); /* a mark becomes three bytes at most */
    size_t n = 0, letters = 0, changes = 0;
    bool colon = false; /* stands there already, as for the second of `--` */
    for (size_t i = 0; i < note.n;) {
        Mark mark = mark_at(note, i);
        if (mark == MARK_NONE) {
            char c = note.p[i++];
            if (is_digit(c) && letters >= GLUED_LEAST) {
                out[n++] = ' ';
                changes++;
            }
            letters = is_alpha(c) ? letters + 1 : 0;
            colon &= is_blank(c);
            out[n++] = c;
            continue;
        }
        out[n++] = ' ';
        if (mark == MARK_JOINS && !colon) {
            out[n++] = ':';
            out[n++] = ' ';
            colon = true;
        }
        i += mark_bytes(note, i);
        letters = 0;
        changes++;
    }
    return changes ? (Str){out, n} : (Str){0};
}
