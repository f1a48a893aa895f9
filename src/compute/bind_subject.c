/*
 * What a reading was taken on: text (`3`, `I1..I6`, `left:1..4`, `B:2`, `S31#7`, `all`) parted into
 * tokens and names; bind_take.c finds what they mean. The forms are format/format.md, "Subjects".
 */
#include "compute/bind_subject_parts.h"

typedef struct Plain { /* a token that is only a `#` or a letter, or neither, and a number */
    char mark;
    uint32_t number;
} Plain;

/* ---- one token ------------------------------------------------------------------------------ */

/* The class letter that c is, in either case; 0 when it is none. */
static char class_letter(const Binder *b, char c) {
    return c > 0 ? b->letter[(unsigned char)c] : 0;
}

static bool take_number(Str *s, uint32_t *out) {
    size_t i = 0;
    uint32_t n = 0;
    for (; i < s->n && is_digit(s->p[i]); i++) {
        if (n > 9999999) return false;
        n = n * 10 + (uint32_t)(s->p[i] - '0');
    }
    if (i == 0 || n == 0) return false;
    *out = n;
    *s = str_skip(*s, i);
    return true;
}

/* Reads the part behind the scope and the #: `I3a`, `3I`, `3`, `I`. */
static bool read_position(const Binder *b, Str s, Token *t) {
    t->letter = s.n ? class_letter(b, s.p[0]) : 0;
    if (t->letter) {
        s = str_skip(s, 1);
        if (s.n == 0) return true;
    }
    if (!take_number(&s, &t->number)) return false;
    if (s.n && !t->letter) {
        t->letter = class_letter(b, s.p[0]);
        if (t->letter) s = str_skip(s, 1);
    }
    if (s.n == 1 && s.p[0] >= 'a' && s.p[0] <= 'h') {
        t->suffix = (uint8_t)(s.p[0] - 'a' + 1);
        s = str_skip(s, 1);
    }
    return s.n == 0;
}

static bool read_token(const Binder *b, Str s, Token *t) {
    *t = (Token){0};
    size_t hash = str_find_char(s, '#', 0);
    if (hash != SIZE_MAX) {
        t->hash = true;
        t->set = (Str){s.p, hash};
        s = str_skip(s, hash + 1);
        return take_number(&s, &t->number) && s.n == 0;
    }
    size_t colon = str_find_char(s, ':', 0);
    if (colon != SIZE_MAX) {
        t->scope = (Str){s.p, colon};
        s = str_skip(s, colon + 1);
        if (colon == 0) return false;
    }
    return read_position(b, s, t);
}

/* A number with at most a # or a letter before it, as nearly every subject is; false when the text
 * is anything else. */
static bool read_plain(const Binder *b, Str s, Plain *out) {
    enum { PLAIN_MOST = 8 };
    if (!s.n || s.n > PLAIN_MOST) return false;
    size_t from = !is_digit(s.p[0]);
    out->mark = from ? s.p[0] : 0;
    if (from && out->mark != '#' && !class_letter(b, out->mark)) return false;
    uint32_t number = 0;
    for (size_t i = from; i < s.n; i++) {
        if (!is_digit(s.p[i])) return false;
        number = number * 10 + (uint32_t)(s.p[i] - '0');
    }
    out->number = number;
    return number > 0;
}

static SubjectId known_item(const Binder *b, ClassId cls, uint32_t number) {
    SubjectId set = b->set_in_use[cls];
    bool sure = set != SUBJECT_NONE && !(b->set_doubtful[cls] && b->set_entry[cls] == b->entry);
    return sure ? subject_find(b, cls, set, 0, number, 0) : SUBJECT_NONE;
}

SubjectId known_numbered(const Binder *b, ClassId cls, char mark, uint32_t number) {
    if (!number || b->job->is_card) return SUBJECT_NONE;
    if (mark == '#') return known_item(b, cls, number);
    const Class *k = &b->v->classes[cls];
    char letter = class_letter(b, mark);
    bool names = letter ? b->letter_class[(unsigned char)letter] == cls : !mark && !k->letters[0];
    if (!names || !b->made[cls] || k->suffixed) return SUBJECT_NONE;
    return subject_find(b, cls, SUBJECT_NONE, letter, number, 0);
}

static SubjectId known_token(const Binder *b, ClassId cls, const Token *t) {
    if (t->set.n || t->scope.n || t->suffix) return SUBJECT_NONE;
    return known_numbered(b, cls, t->hash ? '#' : t->letter, t->number);
}

SubjectId known_subject(const Binder *b, ClassId cls, Str text) {
    Plain p;
    return read_plain(b, text, &p) ? known_numbered(b, cls, p.mark, p.number) : SUBJECT_NONE;
}

bool looks_like_subject(const Binder *b, Str text) {
    size_t range = str_find(text, STR(".."), 0);
    if (range != SIZE_MAX) text.n = range;
    size_t comma = str_find_char(text, ',', 0);
    if (comma != SIZE_MAX) text.n = comma;
    Token t;
    if (text.n == 0) return false;
    if (read_token(b, text, &t) || str_ieq(text, STR("all"))) return true;
    return named_subject(b, CLASS_BANK, text) != SUBJECT_NONE ||
           named_subject(b, CLASS_CARRIER, text) != SUBJECT_NONE ||
           named_subject(b, CLASS_SET, text) != SUBJECT_NONE;
}

/* ---- names, ranges, lists -------------------------------------------------------------------- */

static ClassId own_place_class(const Asked *q) {
    const Class *k = &q->b->v->classes[q->cls];
    return k->kind == CLASS_ITEM ? k->up : q->cls;
}

/* Of valves the I may come first, or I and E by cylinder: no list of values can be laid on them. */
static void note_order(const Asked *q, ClassId c) {
    const char *letters = q->b->v->classes[c].letters;
    if (letters[0] && letters[1]) q->out->unordered = true;
}

/* A word that is no place: all, a bank, a head, a set. */
static bool take_name(const Asked *q) {
    Binder *b = q->b;
    if (str_ieq(q->text, STR("all"))) {
        note_order(q, own_place_class(q));
        return take_all_places(q, own_place_class(q), 0, SUBJECT_NONE);
    }
    SubjectId id = named_subject(b, CLASS_BANK, q->text);
    if (id != SUBJECT_NONE) {
        ClassId c = own_place_class(q);
        if (c == b->job->subjects[id].cls) return take_subject(q, id);
        note_order(q, c);
        return take_places_of_bank(q, c, id);
    }
    id = named_subject(b, CLASS_CARRIER, q->text);
    if (id == SUBJECT_NONE && b->v->classes[q->cls].kind == CLASS_CARRIER && q->text.n <= 16) {
        id = carrier_subject(b, q->text);
        if (id == SUBJECT_NONE) return false;
    }
    if (id == SUBJECT_NONE) id = named_subject(b, CLASS_SET, q->text);
    if (id == SUBJECT_NONE && b->v->classes[q->cls].kind == CLASS_SET)
        id = set_subject(b, q->cls, q->text);
    if (id != SUBJECT_NONE) return take_subject(q, id);
    fault(b, UNKNOWN_SUBJECT, q->text, "`%.*s` is no place, bank, head or part of a set",
          STR_ARG(q->text));
    return false;
}

/* `A..B`: both ends alike but for the number. The second may be a bare number: #1..8, left:1..4. */
static bool take_range(Asked *q, Str from, Str to) {
    Token a, z;
    Binder *b = q->b;
    if (!read_token(b, from, &a) || !a.number) goto bad;
    if (to.n && is_digit(to.p[0])) {
        z = a;
        z.number = 0;
        if (!take_number(&to, &z.number)) goto bad;
        if (to.n == 1 && class_letter(b, to.p[0]) == a.letter) to.n = 0; /* 1I..6I */
        if (to.n) goto bad;
    } else if (!read_token(b, to, &z)) {
        goto bad;
    }
    if (z.letter != a.letter || z.hash != a.hash || z.suffix != a.suffix ||
        (z.set.n && !str_ieq(z.set, a.set)) || (z.scope.n && !str_ieq(z.scope, a.scope)))
        goto bad;
    if (z.number < a.number || z.number - a.number >= 10000) goto bad;
    for (Token t = a; t.number <= z.number; t.number++) {
        SubjectId known = known_token(b, q->cls, &t);
        if (known != SUBJECT_NONE)
            subjects_push(b, q->out, known);
        else if (!take_token(q, &t))
            return false;
    }
    return true;
bad:
    fault(b, UNKNOWN_SUBJECT, q->text,
          "`%.*s` is no range of places: write it as 1..6 or I1..I6, one kind, from the lower to "
          "the higher",
          STR_ARG(q->text));
    return false;
}

static bool take_part(Asked *q) {
    size_t dots = str_find(q->text, STR(".."), 0);
    if (dots != SIZE_MAX) return take_range(q, (Str){q->text.p, dots}, str_skip(q->text, dots + 2));
    Token t;
    if (read_token(q->b, q->text, &t) && (t.number || !t.scope.n)) return take_token(q, &t);
    return take_name(q);
}

static bool take_default(const Asked *q) {
    Binder *b = q->b;
    const Class *k = &b->v->classes[q->cls];
    SubjectId id = SUBJECT_ENGINE;
    ClassId item = k->kind == CLASS_SET ? k->holds : q->cls;
    if (k->kind == CLASS_ITEM || k->kind == CLASS_SET) {
        if (b->set_in_use[item] != SUBJECT_NONE) id = b->set_in_use[item];
    }
    subjects_push(b, q->out, id);
    return true;
}

SubjectId named_twice(const SubjectList *list) {
    for (uint32_t i = 1; i < list->count; i++) {
        for (uint32_t k = 0; k < i; k++) {
            if (list->ids[i] == list->ids[k]) return list->ids[i];
        }
    }
    return SUBJECT_NONE;
}

bool read_subjects(Binder *b, ClassId cls, Str text, SubjectList *out) {
    Asked q = {.b = b, .cls = cls, .text = text, .out = out};
    out->count = 0;
    out->unordered = false;
    if (text.n == 0) return take_default(&q);
    if (b->job->is_card) {
        fault(b, UNKNOWN_SUBJECT, text, "a part card speaks of the part alone: leave `%.*s` out",
              STR_ARG(text));
        return false;
    }
    Plain p;
    if (read_plain(b, text, &p)) {
        bool hash = p.mark == '#';
        const Token t = {
            .hash = hash, .letter = hash ? 0 : class_letter(b, p.mark), .number = p.number};
        return take_token(&q, &t) && out->count > 0;
    }
    for (Str rest = text; rest.n;) {
        size_t comma = str_find_char(rest, ',', 0);
        q.text = str_before(rest, comma);
        rest = str_after(rest, comma);
        if (q.text.n == 0) continue;
        if (!take_part(&q)) return false;
    }
    if (str_find_char(text, ',', 0) == SIZE_MAX) return out->count > 0;
    SubjectId twice = named_twice(out);
    if (twice != SUBJECT_NONE) {
        fault(b, UNKNOWN_SUBJECT, text, "`%.*s` names %.*s twice", STR_ARG(text),
              STR_ARG(subject_name(b->job, twice, b->job->arena)));
        return false;
    }
    return out->count > 0;
}

/* For questions: what is not there already must not come to be by being asked for. */
bool job_subjects(Job *j, ClassId cls, Str text, SubjectList *out) {
    Binder b = *j->binder; /* its arrays are the job's own */
    b.findings = NULL;
    b.look_only = true;
    return read_subjects(&b, cls, text, out);
}
