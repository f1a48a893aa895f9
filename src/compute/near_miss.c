/*
 * Notes that were meant as something else: a reading whose equals sign is missing or otherwise
 * written, a limit without one (near_grid.c: a grid whose bars touch their cells). A note is never
 * read, so each of these would be lost in silence; as would a reading in a remark or a title.
 */
#include "compute/bind.h"

/* Whether text begins with a unit of the dimension, of one word or two: `lbf ft`. */
static bool begins_with_unit(Str text, Dim dim) {
    Str rest = text;
    for (int words = 0; words < 2 && str_word(&rest).n; words++) {
        Str unit = {text.p, (size_t)(rest.p - text.p)};
        while (unit.n && (unit.p[unit.n - 1] == '.' || unit.p[unit.n - 1] == ','))
            unit.n--;
        const Unit *u = unit_find(unit, dim);
        if (u && u->dim == dim) return true;
    }
    return false;
}

/* A number that makes a note read like a measurement: it has a point, or a unit, or a condition
 * behind it, or ends the line. */
static bool telling_number(Str s, Dim dim) {
    Number n, next;
    Str behind = s;
    if (str_ieq(str_word(&behind), STR("each"))) s = str_trim(behind);
    if (number_read(s, &n) != NUMBER_OK) return false;
    Str rest = str_trim(str_skip(s, n.len));
    while (number_read(rest, &next) == NUMBER_OK) /* a list of them */
        rest = str_trim(str_skip(rest, next.len));
    return rest.n == 0 || n.places > 0 || n.fraction || rest.p[0] == '@' ||
           begins_with_unit(rest, dim);
}

/* `@ 4000 412`: the condition first. */
static bool begins_with_condition(const Tag *tag, Str s) {
    Number n;
    return tag->has_curve && s.n && s.p[0] == '@' &&
           number_read(str_trim(str_skip(s, 1)), &n) == NUMBER_OK;
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

/* `A`, of what is measured on heads: no line need have named it yet. */
static bool short_head(const Binder *b, const Tag *tag, Str word) {
    return b->v->classes[tag->of].kind == CLASS_CARRIER && word.n <= 2 && word.n &&
           is_alpha(word.p[0]);
}

/* `3: 44.9`, `I1 - 1.720`, `: 44.9`: the colon may touch the subject. */
static Said cut(const Binder *b, const Tag *tag, Str rest) {
    Said said = {.joined = take_joiner(&rest), .value = rest};
    if (said.joined) said.whole = rest;
    Str behind = rest, first = str_word(&behind);
    bool colon = first.n > 1 && first.p[first.n - 1] == ':';
    if (colon) first.n--;
    if (looks_like_subject(b, first) || short_head(b, tag, first)) {
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

bool has_hash(Str text) {
    Str word = str_word(&text);
    return str_find_char(word, '#', 0) != SIZE_MAX;
}

bool cell_value(Str word) {
    Number n;
    return str_eq(word, STR("-")) || has_hash(word) || number_read(word, &n) == NUMBER_OK;
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
    return named_subject(b, CLASS_BANK, right) != SUBJECT_NONE || (joined && is_digit(right.p[0]));
}

/* `with: HM2`, `continues: 26-003`, `lot: H-2`: one word with a digit, or a fact that others rest
 * on; of these also `continues 26-003`, and behind a name of several words `firing order 1-3-4-2`.
 * `owner: ...` is a note for him. */
static bool names_one(const Tag *tag, Str text, bool joined) {
    Str rest = text, word = str_word(&rest);
    if (!word.n || str_trim(rest).n || tag->role == ROLE_OWNER || tag->role == ROLE_TITLE)
        return false;
    bool digit = false, others_rest = tag->role != ROLE_NONE;
    for (size_t i = 0; i < word.n; i++)
        digit |= is_digit(word.p[i]);
    bool long_name = str_find_char(tag->name, ' ', 0) != SIZE_MAX;
    return joined ? digit || others_rest : digit && (others_rest || long_name);
}

/* `I1 S1#7`, `S1#7 I1`: a place and what sits there. */
static bool tells_seat(const Binder *b, const Said *said, Str rest) {
    if (said->subject.n && (has_hash(said->value) || str_ieq(said->value, STR("none"))))
        return true;
    Str item = str_word(&rest), place = str_trim(rest);
    return has_hash(item) && place.n && !has_hash(place) && looks_like_subject(b, place);
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
    Said said = cut(b, tag, rest);
    Str word = said.whole.n ? said.whole : said.value.n ? said.value : said.subject;
    switch (tag->kind) {
    case TAG_NUMBER:
        return telling_number(rest, tag->dim) || telling_number(said.value, tag->dim) ||
               telling_number(said.whole, tag->dim) || begins_with_condition(tag, said.value);
    case TAG_PLACEMENT: return tells_seat(b, &said, rest);
    case TAG_SCRAP: return has_hash(rest);
    case TAG_PART:
    case TAG_SET:
        return word.n && str_find_char(word, ' ', 0) == SIZE_MAX &&
               (said.joined || is_digit(word.p[word.n - 1]));
    case TAG_BANK:
    case TAG_CARRIER: return names_carrier(b, tag, rest);
    case TAG_CHOICE:
    case TAG_WORDS:
        return one_of_choices(tag, said.value) ||
               names_one(tag, said.joined ? said.whole : rest, said.joined);
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

/* `wit h= T2`: a few words, known or not, and an equals sign with a blank on one side alone. */
static bool half_spaced(Str note, size_t equals) {
    enum { NAME_MOST = 40 };
    if (equals == 0 || equals > NAME_MOST || equals + 1 >= note.n) return false;
    char before = note.p[equals - 1];
    bool half = is_blank(before) != is_blank(note.p[equals + 1]);
    return half && is_alpha(note.p[0]) &&
           (is_blank(before) || is_alpha(before) || is_digit(before));
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
    bool named = id != TAG_NONE && ends_name(b, &b->v->tags[id], str_trim(rest));
    if (!named && !half_spaced(note, equals)) return false;
    fault(b, EQUALS_UNSPACED, note,
          "this reads like a reading, but the equals sign needs a blank on either side; "
          "write `%.*s = ...`, or put > before it if it is a note",
          STR_ARG(left));
    if (named && !is_rule_word(first)) note_unread(b, id);
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
static bool limit_unsaid(Binder *b, Str note, Str text) {
    Str rest = text, first = str_word(&rest), behind;
    bool aim = str_ieq(first, STR("aim"));
    if (!is_rule_word(first)) return false;
    TagId id = match_note(b, str_trim(rest), &behind);
    if (id == TAG_NONE) return false;
    if (!(aim ? reads_like(b, &b->v->tags[id], behind) : has_range(behind))) return false;
    looks_like(b, note, "a line for", first);
    return true;
}

/* `I1 installed height 1.720`, `#3 bind height 1.142`: the subject first. */
static bool subject_first(Binder *b, Str note, Str text) {
    Str rest = text, first = str_word(&rest), behind;
    if (first.n && first.p[first.n - 1] == ':') first.n--;
    if (!looks_like_subject(b, first)) return false;
    rest = str_trim(rest);
    TagId id = vocab_match(b->v, rest, &behind);
    if (id == TAG_NONE) return false;
    const Tag *tag = &b->v->tags[id];
    (void)take_joiner(&behind);
    bool reads = tag->kind == TAG_NUMBER      ? telling_number(behind, tag->dim)
                 : tag->kind == TAG_PLACEMENT ? has_hash(behind)
                                              : false;
    if (!reads) return false;
    fault(b, LOOKS_LIKE_READING, note,
          "this is taken as a note, but it reads like a reading of `%.*s`: write the name first, "
          "as `%.*s %.*s = `, or put > before it",
          STR_ARG(b->v->tags[id].name), STR_ARG(b->v->tags[id].name), STR_ARG(first));
    return true;
}

/* text is the note, or the note without its marks. */
static bool meant_to_count(Binder *b, Str note, Str text) {
    Str rest;
    if (limit_unsaid(b, note, text)) return true;
    TagId id = match_note(b, text, &rest);
    if (id == TAG_NONE) return subject_first(b, note, text);
    if (!reads_like(b, &b->v->tags[id], rest)) return false;
    looks_like(b, note, b->v->tags[id].kind == TAG_NUMBER ? "a reading of" : "a line for",
               b->v->tags[id].name);
    note_unread(b, id);
    return true;
}

/* Whether its first letters are a word that names or rules begin with, or stand before a number as
 * those of a place: few sentences pass. */
static bool may_count(const Binder *b, Str note) {
    enum { LINE_MOST = 1000 }; /* nobody measures a line longer than this */
    size_t n = 0;
    if (note.n > LINE_MOST) return false;
    while (n < note.n && is_alpha(note.p[n]))
        n++;
    Str word = {note.p, n};
    return n == note.n || !is_blank(note.p[n]) || is_rule_word(word) || vocab_begins(b->v, word);
}

static void near_miss(Binder *b, Str note) {
    if (equals_unspaced(b, note) || meant_to_count(b, note, note)) return;
    if (!may_count(b, note)) return;
    Str unmarked = note_unmarked(b->job->arena, note);
    if (unmarked.n) (void)meant_to_count(b, note, unmarked);
}

/* ---- what is no note, and may hold a reading ----------------------------------------------------
 */

/* `lash I1 = .012 in ; lash E1 = .014 in`, `... ; E1 = .014`. */
void doubt_remark(Binder *b) {
    Str remark = b->line.remark, rest;
    size_t equals = str_find(remark, STR(" = "), 0);
    if (equals == SIZE_MAX) return;
    Str left = str_trim(str_before(remark, equals)), right = str_trim(str_skip(remark, equals + 3));
    TagId id = vocab_match(b->v, left, &rest);
    bool named = id == TAG_NONE ? looks_like_subject(b, left) : ends_name(b, &b->v->tags[id], rest);
    if (!named || !cell_value(str_word(&right))) return;
    fault(
        b, LOOKS_LIKE_READING, remark,
        "this stands behind a `;` and is taken as a remark, but it reads like a reading: write it "
        "on a line of its own, or without its ` = `");
}

/* `Dyno hours=12`: some words of it are a name, up to its equals sign. */
static bool title_equals(const Binder *b, Str title) {
    size_t equals = str_find_char(title, '=', 0);
    if (equals == SIZE_MAX) return false;
    Str left = str_before(title, equals), rest;
    for (Str from = left; from.n; from = str_trim(from)) {
        TagId id = vocab_match(b->v, from, &rest);
        if (id != TAG_NONE && ends_name(b, &b->v->tags[id], rest)) return true;
        (void)str_word(&from);
    }
    return false;
}

/* `Chamber 1 44.9 cc`. `Milled .010 in` is a title: the reading is below. */
static bool title_reads(const Binder *b, Str title) {
    Str rest;
    TagId id = vocab_match(b->v, title, &rest);
    if (id == TAG_NONE || b->v->tags[id].kind != TAG_NUMBER) return false;
    Said said = cut(b, &b->v->tags[id], rest);
    return said.subject.n && telling_number(said.value, b->v->tags[id].dim);
}

void doubt_title(Binder *b) {
    Str title = b->line.body;
    if (!title_equals(b, title) && !title_reads(b, title)) return;
    fault(b, LOOKS_LIKE_READING, title,
          "this is taken as the entry's title, but it reads like a reading: write it on a line of "
          "its own below, with ` = `");
}

void bind_note(Binder *b) {
    Str note = b->line.body;
    if (b->line.quoted_note || note.n == 0 || note.p[0] == ';' || grid_unbarred(b, note)) return;
    if (note.p[0] == 'x' && note.n > 1 && is_blank(note.p[1])) return;
    near_miss(b, note);
}
