/*
 * Notes that were meant as something else: a reading whose equals sign is missing or otherwise
 * written, a limit without one, a grid whose bars touch their cells. A note is never read, so
 * each of these would be lost in silence.
 */
#include "compute/bind.h"

/* A number that makes a note read like a measurement: it has a point, or a unit, or ends the line.
 */
static bool telling_number(Str s, Dim dim) {
    Number n;
    if (number_read(s, &n) != NUMBER_OK) return false;
    Str rest = str_trim(str_skip(s, n.len));
    if (rest.n == 0 || n.places > 0 || n.fraction) return true;
    Str unit = str_word(&rest);
    while (unit.n && (unit.p[unit.n - 1] == '.' || unit.p[unit.n - 1] == ','))
        unit.n--;
    const Unit *u = unit_find(unit, dim);
    return u && u->dim == dim;
}

/* What people put where ` = ` belongs: `chamber 3: 44.9`, `chamber 3 is 44.9`. */
static bool take_joiner(Str *s) {
    static const Str joiners[] = {{":=", 2}, {":", 1},      {"\uFF1D", 3}, {"->", 2},
                                  {"-", 1},  {"\u2013", 3}, {"is", 2}};
    for (size_t i = 0; i < sizeof joiners / sizeof *joiners; i++) {
        size_t n = joiners[i].n;
        if (!str_starts(*s, joiners[i]) || (s->n > n && !is_blank(s->p[n]))) continue;
        *s = str_trim(str_skip(*s, n));
        return true;
    }
    return false;
}

typedef struct Said { /* a note, cut as if it were a reading */
    Str subject;
    Str value;
    bool joined; /* something stood where the equals sign belongs */
} Said;

/* `3: 44.9`, `I1 - 1.720`, `: 44.9`: the colon may touch the subject. */
static Said cut(const Binder *b, Str rest) {
    Said said = {.joined = take_joiner(&rest), .value = rest};
    Str behind = rest, first = str_word(&behind);
    bool colon = first.n > 1 && first.p[first.n - 1] == ':';
    if (colon) first.n--;
    if (looks_like_subject(b, first)) {
        said.subject = first;
        said.value = str_trim(behind);
    } else {
        colon = false;
    }
    said.joined |= take_joiner(&said.value) || colon;
    return said;
}

/* A name with a colon behind it: `cylinders: 8`, `installed height: I1 1.720`. */
static TagId match_note(const Binder *b, Str note, Str *rest) {
    TagId id = vocab_match(b->v, note, rest);
    size_t colon = str_find_char(note, ':', 0);
    if (colon == SIZE_MAX || colon == 0 || colon > 60) return id;
    TagId named = vocab_find(b->v, (Str){note.p, colon});
    if (named == TAG_NONE) return id;
    *rest = str_skip(note, colon);
    return named;
}

static bool has_hash(Str text) {
    Str word = str_word(&text);
    return str_find_char(word, '#', 0) != SIZE_MAX;
}

static bool one_of_choices(const Tag *tag, Str text) {
    for (uint8_t i = 0; i < tag->choice_count; i++) {
        if (str_ieq(tag->choices[i].name, text)) return true;
    }
    return tag->role == ROLE_UNITS && (str_ieq(text, STR("metric")) || str_ieq(text, STR("us")));
}

/* `bank left: 1 3 5 7`, `head B: left`: the name is no subject yet. */
static bool names_carrier(const Binder *b, const Tag *tag, Str rest) {
    Str behind = rest, name = str_word(&behind), right = str_trim(behind);
    bool colon = name.n > 1 && name.p[name.n - 1] == ':';
    bool joined = take_joiner(&right) || colon;
    if (!right.n) return false;
    if (tag->kind == TAG_BANK) return is_digit(right.p[0]);
    return joined && (is_digit(right.p[0]) || named_subject(b, CLASS_BANK, right) != SUBJECT_NONE);
}

/* Whether what stands behind a known name reads like its value. */
static bool reads_like(const Binder *b, const Tag *tag, Str rest) {
    Said said = cut(b, rest);
    bool blank = str_find_char(said.value, ' ', 0) != SIZE_MAX;
    switch (tag->kind) {
    case TAG_NUMBER: return telling_number(rest, tag->dim) || telling_number(said.value, tag->dim);
    case TAG_PLACEMENT: return said.subject.n && has_hash(said.value);
    case TAG_SCRAP: return has_hash(rest);
    case TAG_PART:
    case TAG_SET: return said.value.n && !blank && is_digit(said.value.p[said.value.n - 1]);
    case TAG_BANK:
    case TAG_CARRIER: return names_carrier(b, tag, rest);
    case TAG_CHOICE:
    case TAG_WORDS: return one_of_choices(tag, said.value); /* `owner: ...` is a note for him */
    case TAG_DATE: return said.joined && said.value.n;
    case TAG_GAUGE: return str_find(rest, STR(" reads "), 0) != SIZE_MAX;
    case TAG_STOCK: return said.joined && said.value.n && is_digit(said.value.p[0]);
    }
    return false;
}

static void looks_like(Binder *b, Str note, const char *like, Str what) {
    fault(b, LOOKS_LIKE_READING, note,
          "this is taken as a note, but it reads like %s `%.*s`: write it with ` = `, or "
          "put > before it",
          like, STR_ARG(what));
}

/* `chamber 3=44.9`: the tag, perhaps a subject, and an equals sign without its blanks. */
static bool equals_unspaced(Binder *b, Str note, Str rest) {
    size_t equals = str_find_char(note, '=', 0);
    if (equals == SIZE_MAX || (rest.n && equals < (size_t)(rest.p - note.p))) return false;
    Str subject = str_trim((Str){rest.p, (size_t)(note.p + equals - rest.p)});
    if (subject.n && !looks_like_subject(b, subject)) return false;
    fault(b, EQUALS_UNSPACED, note,
          "this reads like a reading, but the equals sign needs a blank on either side; "
          "write `%.*s = ...`, or put > before it if it is a note",
          STR_ARG(str_trim((Str){note.p, equals})));
    return true;
}

/* ` at most ` and the like within text. */
static bool has_range(Str text) {
    static const char *const signs[] = {"at least", "at most", "..", "+/-", "by"};
    for (Str rest = text, word = str_word(&rest); word.n; word = str_word(&rest)) {
        for (size_t i = 0; i < sizeof signs / sizeof *signs; i++) {
            Str sign = str_from(signs[i]);
            if (str_starts((Str){word.p, (size_t)(rest.p + rest.n - word.p)}, sign) &&
                (sign.n != 2 || word.n == 2))
                return true;
        }
    }
    return false;
}

/* `limit chamber spread at most .5 cc by shop`: as a note it would limit nothing. */
static bool limit_unsaid(Binder *b, Str note) {
    Str rest = note, first = str_word(&rest), behind;
    bool aim = str_ieq(first, STR("aim"));
    if (!aim && !str_ieq(first, STR("limit")) && !str_ieq(first, STR("accept"))) return false;
    TagId id = match_note(b, str_trim(rest), &behind);
    if (id == TAG_NONE) return false;
    if (!(aim ? reads_like(b, &b->v->tags[id], behind) : has_range(behind))) return false;
    looks_like(b, note, "a line for", first);
    return true;
}

/* `I1 installed height 1.720`, `#3 bind height 1.142`: the subject first. */
static bool subject_first(Binder *b, Str note) {
    Str rest = note, first = str_word(&rest), behind;
    if (first.n && first.p[first.n - 1] == ':') first.n--;
    if (!looks_like_subject(b, first)) return false;
    rest = str_trim(rest);
    TagId id = vocab_match(b->v, rest, &behind);
    if (id == TAG_NONE || b->v->tags[id].kind != TAG_NUMBER) return false;
    (void)take_joiner(&behind);
    if (!telling_number(behind, b->v->tags[id].dim)) return false;
    fault(b, LOOKS_LIKE_READING, note,
          "this is taken as a note, but it reads like a reading of `%.*s`: write the name first, "
          "as `%.*s %.*s = `, or put > before it",
          STR_ARG(b->v->tags[id].name), STR_ARG(b->v->tags[id].name), STR_ARG(first));
    return true;
}

static void near_miss(Binder *b, Str note) {
    Str rest;
    if (limit_unsaid(b, note)) return;
    TagId id = match_note(b, note, &rest);
    if (id == TAG_NONE) {
        (void)subject_first(b, note);
        return;
    }
    if (!equals_unspaced(b, note, rest) && reads_like(b, &b->v->tags[id], rest))
        looks_like(b, note, b->v->tags[id].kind == TAG_NUMBER ? "a reading of" : "a line for",
                   b->v->tags[id].name);
}

/* `valve|installed height|shim` has no bar that is one: the grid would be lost. */
static bool bars_unspaced(Binder *b, Str note) {
    size_t bar = str_find_char(note, '|', 0);
    if (bar == SIZE_MAX || line_ruled(note)) return false;
    Str first = str_trim((Str){note.p, bar});
    bool head = first.n && (first.p[0] == '@' || vocab_class(b->v, first) != CLASS_NONE);
    if (!head && !b->grid.on) return false;
    fault(b, BARS_UNSPACED, note,
          head ? "this reads like a grid's head, but a bar needs a blank on either side"
               : "this reads like a row of the grid above, but a bar needs a blank on either side");
    return true;
}

/* The first word of a grid's row: a place or an item, or a point of curves under a corner. */
static bool starts_row(const Binder *b, Str word) {
    Number n;
    if (b->grid.corner) return number_read(word, &n) == NUMBER_OK;
    return looks_like_subject(b, word);
}

static bool cell_value(Str word) {
    Number n;
    return str_eq(word, STR("-")) || has_hash(word) || number_read(word, &n) == NUMBER_OK;
}

static Str row_word(Str *rest) {
    Str word = str_word(rest);
    if (word.n > 1 && (word.p[word.n - 1] == ',' || word.p[word.n - 1] == ';')) word.n--;
    return word;
}

/* `E2 #4 1.720` under a grid's head, as it comes out of a spreadsheet: a row without its bars. */
static bool bars_missing(Binder *b, Str note) {
    if (!b->grid.on || b->grid.broken) return false;
    Str rest = note, word = row_word(&rest);
    uint32_t cells = 0;
    if (!starts_row(b, word)) return false;
    while ((word = row_word(&rest)).n) {
        if (cell_value(word))
            cells++;
        else if (!cells || !unit_find(word, DIM_NUMBER))
            return false;
    }
    if (cells != b->grid.count) return false;
    fault(b, BARS_UNSPACED, note,
          "this reads like a row of the grid above, but has no bars: part its cells with ` | `, or "
          "put > before it if it is a note");
    return true;
}

void bind_note(Binder *b) {
    Str note = b->line.body;
    if (b->line.quoted_note || note.n == 0 || bars_unspaced(b, note) || bars_missing(b, note))
        return;
    if (note.p[0] == 'x' && note.n > 1 && is_blank(note.p[1])) return;
    near_miss(b, note);
}
