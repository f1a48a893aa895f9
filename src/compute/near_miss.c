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
    Str whole;   /* what stands behind the joiner, when that comes first: no place need be in it */
    bool joined; /* something stood where the equals sign belongs */
} Said;

/* `3: 44.9`, `I1 - 1.720`, `: 44.9`: the colon may touch the subject. */
static Said cut(const Binder *b, Str rest) {
    Said said = {.joined = take_joiner(&rest), .value = rest};
    if (said.joined) said.whole = rest;
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

/* `with: HM2`, `continues: 26-003`, `lot: H-2`: one word with a digit, or a fact that others rest
 * on. `owner: ...` is a note for him. */
static bool names_one(const Tag *tag, const Said *said) {
    Str rest = said->whole, word = str_word(&rest);
    if (!word.n || str_trim(rest).n || tag->role == ROLE_OWNER || tag->role == ROLE_TITLE)
        return false;
    bool digit = false;
    for (size_t i = 0; i < word.n; i++)
        digit |= is_digit(word.p[i]);
    return digit || tag->role != ROLE_NONE;
}

/* `many x .015 in`, `20 x .030 in`. */
static bool counts(Str text) {
    Str first = str_word(&text), times = str_word(&text);
    return str_eq(times, STR("x")) && (str_ieq(first, STR("many")) || is_digit(first.p[0]));
}

/* Behind a joiner one size will do; without it, how many of what. */
static bool tells_stock(Str text, bool joined) {
    bool size = text.n && (is_digit(text.p[0]) || text.p[0] == '.');
    return (joined && size) || counts(text);
}

/* Whether what stands behind a known name reads like its value. */
static bool reads_like(const Binder *b, const Tag *tag, Str rest) {
    Said said = cut(b, rest);
    bool blank = str_find_char(said.value, ' ', 0) != SIZE_MAX;
    switch (tag->kind) {
    case TAG_NUMBER:
        return telling_number(rest, tag->dim) || telling_number(said.value, tag->dim) ||
               telling_number(said.whole, tag->dim);
    case TAG_PLACEMENT: return said.subject.n && has_hash(said.value);
    case TAG_SCRAP: return has_hash(rest);
    case TAG_PART:
    case TAG_SET:
        return said.value.n && !blank && (said.joined || is_digit(said.value.p[said.value.n - 1]));
    case TAG_BANK:
    case TAG_CARRIER: return names_carrier(b, tag, rest);
    case TAG_CHOICE:
    case TAG_WORDS: return one_of_choices(tag, said.value) || names_one(tag, &said);
    case TAG_DATE: return said.joined && said.value.n;
    case TAG_GAUGE: return str_find(rest, STR(" reads "), 0) != SIZE_MAX;
    case TAG_STOCK: return tells_stock(said.joined ? said.whole : rest, said.joined);
    }
    return false;
}

static bool is_rule_word(Str word) {
    return str_ieq(word, STR("limit")) || str_ieq(word, STR("aim")) || str_ieq(word, STR("accept"));
}

static void looks_like(Binder *b, Str note, const char *like, Str what) {
    fault(b, LOOKS_LIKE_READING, note,
          "this is taken as a note, but it reads like %s `%.*s`: write it with ` = `, or "
          "put > before it",
          like, STR_ARG(what));
}

/* Whether a subject stands behind the name, a condition, or nothing. */
static bool ends_name(const Binder *b, const Tag *tag, Str rest) {
    size_t at = str_find_char(rest, '@', 0);
    Str subject = str_before(rest, at == SIZE_MAX ? rest.n : at), word = subject;
    if (!subject.n || looks_like_subject(b, subject)) return true;
    bool named = tag->kind == TAG_BANK || tag->kind == TAG_CARRIER || tag->kind == TAG_GAUGE;
    (void)str_word(&word);
    return named && !str_trim(word).n;
}

/* `chamber 3=44.9`, `limit bind clearance=at least .060 in by shop`: a name, perhaps a subject, and
 * an equals sign without its blanks. */
static bool equals_unspaced(Binder *b, Str note) {
    size_t equals = str_find_char(note, '=', 0);
    if (equals == SIZE_MAX) return false;
    Str left = str_before(note, equals), name = left, rest;
    Str first = str_word(&name);
    name = is_rule_word(first) ? str_trim(name) : left;
    TagId id = vocab_match(b->v, name, &rest);
    if (id == TAG_NONE || !ends_name(b, &b->v->tags[id], str_trim(rest))) return false;
    fault(b, EQUALS_UNSPACED, note,
          "this reads like a reading, but the equals sign needs a blank on either side; "
          "write `%.*s = ...`, or put > before it if it is a note",
          STR_ARG(left));
    if (!is_rule_word(first)) note_unread(b, id);
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
    if (!is_rule_word(first)) return false;
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
    if (equals_unspaced(b, note) || limit_unsaid(b, note)) return;
    TagId id = match_note(b, note, &rest);
    if (id == TAG_NONE) {
        (void)subject_first(b, note);
        return;
    }
    if (!reads_like(b, &b->v->tags[id], rest)) return;
    looks_like(b, note, b->v->tags[id].kind == TAG_NUMBER ? "a reading of" : "a line for",
               b->v->tags[id].name);
    note_unread(b, id);
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

/* Bytes of what other programs put between cells; 0. `¦` is on the key of some keyboards' bar. */
static size_t parts_cells(Str s) {
    if (s.n && (s.p[0] == ',' || s.p[0] == ';')) return 1;
    return str_starts(s, STR("\u00A6")) ? 2 : 0;
}

/* The next word of a row; with `glued`, also between marks that part cells: `E1,1.721,.015`. */
static Str row_word(Str *rest, bool glued) {
    Str word = str_word(rest);
    for (size_t i = 1; i < word.n; i++) {
        size_t mark = parts_cells(str_skip(word, i));
        if (!mark || (!glued && i + mark < word.n)) continue;
        if (glued)
            *rest = (Str){word.p + i + mark, (size_t)(rest->p + rest->n - word.p) - i - mark};
        word.n = i;
    }
    return word;
}

/* Whether the note is as many values as the grid above has columns. */
static bool fills_row(const Binder *b, Str note, bool glued) {
    Str rest = note, word = row_word(&rest, glued);
    uint32_t cells = 0;
    if (!starts_row(b, word)) return false;
    while ((word = row_word(&rest, glued)).n) {
        if (cell_value(word))
            cells++;
        else if (!parts_cells(word) && (!cells || !unit_find(word, DIM_NUMBER)))
            return false;
    }
    return cells == b->grid.count;
}

/* `valve,installed height in,shim`: a class, and a name behind what parts cells elsewhere. */
static bool head_unbarred(Binder *b, Str note) {
    for (size_t i = 1; i < note.n; i++) {
        char c = note.p[i];
        if (c != ',' && c != ';' && c != '\t' && c != '\xC2') continue;
        size_t mark = c == '\t' ? 1 : parts_cells(str_skip(note, i));
        if (!mark) continue;
        Str rest;
        if (vocab_class(b->v, str_before(note, i)) == CLASS_NONE ||
            vocab_match(b->v, str_trim(str_skip(note, i + mark)), &rest) == TAG_NONE)
            return false;
        fault(
            b, BARS_UNSPACED, note,
            "this reads like a grid's head, but its cells are not parted by ` | `: write them so, "
            "or put > before it if it is a note");
        return true;
    }
    return false;
}

/* `E2 #4 1.720` under a grid's head, as it comes out of a spreadsheet: a row without its bars. */
static bool bars_missing(Binder *b, Str note) {
    if (!b->grid.on || b->grid.broken) return head_unbarred(b, note);
    if (!fills_row(b, note, false) && !fills_row(b, note, true)) return head_unbarred(b, note);
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
