/*
 * What a reading was taken on: from text (`3`, `I1..I6`, `left:1..4`, `B:2`, `S31#7`, `all`) to
 * subjects. The forms are format/format.md, "Subjects".
 */
#include "compute/bind.h"

#include "base/near.h"
#include "vocab/formula.h"

/* ---- one token ------------------------------------------------------------------------------ */

typedef struct Token { /* [carrier or bank `:`] [set `#`] [letter] number [letter] [suffix] */
    Str scope;         /* before the colon */
    bool hash;
    Str set; /* before the # */
    char letter;
    uint32_t number; /* 0 when there is none */
    uint8_t suffix;
} Token;

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
static bool read_plain(const Binder *b, Str s, Token *t) {
    enum { PLAIN_MOST = 8 };
    if (!s.n || s.n > PLAIN_MOST) return false;
    *t = (Token){0};
    size_t i = !is_digit(s.p[0]);
    if (s.p[0] == '#')
        t->hash = true;
    else if (i && !(t->letter = class_letter(b, s.p[0])))
        return false;
    size_t from = i;
    for (; i < s.n && is_digit(s.p[i]); i++)
        t->number = t->number * 10 + (uint32_t)(s.p[i] - '0');
    return i == s.n && i > from && t->number > 0;
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

/* ---- from tokens to subjects ----------------------------------------------------------------- */

typedef struct Asked { /* one call of read_subjects */
    Binder *b;
    ClassId cls;
    Str text; /* the token at hand */
    SubjectList *out;
} Asked;

/* The class of places that a letter (or a bare number) means for a tag of class cls. */
static ClassId place_class(const Asked *q, const Token *t) {
    const Vocab *v = q->b->v;
    ClassId c = q->cls;
    if (t->letter) {
        c = q->b->letter_class[(unsigned char)t->letter];
        if (c == CLASS_NONE) return c;
        const Class *k = &v->classes[c];
        if (!t->suffix) return k->suffixed ? k->up : c;
        for (ClassId d = 0; d < v->class_count; d++) {
            if (v->classes[d].suffixed && v->classes[d].up == c) return d;
        }
        return c;
    }
    if (v->classes[c].kind == CLASS_ITEM) c = v->classes[c].up;
    const Class *k = &v->classes[c];
    if (k->kind == CLASS_PLACE && c != CLASS_ENGINE) return c;
    for (c = 0; c < v->class_count; c++) {
        if (v->classes[c].kind == CLASS_PLACE && c != CLASS_ENGINE && !v->classes[c].letters[0])
            return c;
    }
    return CLASS_NONE;
}

static bool wrong_class(const Asked *q, ClassId got) {
    const Vocab *v = q->b->v;
    const Class *want = &v->classes[q->cls];
    if (q->cls == CLASS_ENGINE) {
        fault(q->b, UNKNOWN_SUBJECT, q->text,
              "this is a value of the whole engine and takes no place: leave `%.*s` out",
              STR_ARG(q->text));
        return false;
    }
    const char *form = want->letters[0] ? want->letters : "";
    fault(q->b, UNKNOWN_SUBJECT, q->text, "this is measured on a %.*s%s%.1s%s, not on a %.*s",
          STR_ARG(want->name), form[0] ? " (as " : "", form, form[0] ? "3)" : "",
          STR_ARG(v->classes[got].name));
    return false;
}

/* Takes a subject of whatever class if the tag's class allows it. */
static bool accept(const Asked *q, SubjectId id) {
    Binder *b = q->b;
    const Vocab *v = b->v;
    const Subject *s = &b->job->subjects[id];
    const Class *want = &v->classes[q->cls];
    if (s->cls == q->cls) {
        subjects_push(b, q->out, id);
        return true;
    }
    if (want->kind == CLASS_ITEM && s->cls == want->up) {
        SubjectId item = item_at(b, q->cls, id, q->text);
        if (item == SUBJECT_NONE) return false;
        subjects_push(b, q->out, item);
        return true;
    }
    if (want->kind == CLASS_ITEM && s->cls == want->set) {
        subjects_push(b, q->out, id);
        return true;
    }
    if (want->kind != CLASS_ITEM && want->kind != CLASS_SET && class_under(v, q->cls, s->cls)) {
        subjects_push(b, q->out, id);
        return true;
    }
    return wrong_class(q, s->cls);
}

static bool no_such_place(const Asked *q, ClassId c) {
    const Class *k = &q->b->v->classes[c];
    uint32_t most = 0;
    const SubjectList *list = &q->b->job->classes[c];
    for (uint32_t i = 0; i < list->count; i++) {
        const Subject *s = &q->b->job->subjects[list->ids[i]];
        if (s->kind == SUBJECT_PLACE && s->number > most) most = s->number;
    }
    fault(q->b, NO_SUCH_PLACE, q->text,
          "this engine has no %.*s %.*s: its %.*s are numbered 1 to %u", STR_ARG(k->name),
          STR_ARG(q->text), STR_ARG(k->plural), most);
    return false;
}

static bool take_places(const Asked *q, const Token *t) {
    Binder *b = q->b;
    ClassId c = place_class(q, t);
    if (c == CLASS_NONE) {
        fault(b, UNKNOWN_SUBJECT, q->text, "`%.*s` is no place", STR_ARG(q->text));
        return false;
    }
    if (!lay_out(b, c, q->text)) return false;
    const Class *k = &b->v->classes[c];
    char letter = t->letter;
    if (!letter && k->letters[0] && k->letters[1]) {
        fault(b, SUBJECT_NEEDED, q->text, "`%.*s` could be several %.*s: write %c%u or %c%u",
              STR_ARG(q->text), STR_ARG(k->plural), k->letters[0], t->number, k->letters[1],
              t->number);
        return false;
    }
    if (!letter && k->letters[0]) letter = k->letters[0];
    SubjectId id = subject_find(b, c, SUBJECT_NONE, letter, t->number, t->suffix);
    if (id != SUBJECT_NONE) return accept(q, id);
    bool any = false;
    for (uint8_t suffix = 1; suffix <= 8 && !t->suffix; suffix++) {
        id = subject_find(b, c, SUBJECT_NONE, letter, t->number, suffix);
        if (id == SUBJECT_NONE) break;
        any = true;
        if (!accept(q, id)) return false;
    }
    return any || no_such_place(q, c);
}

static bool lies_under(const Binder *b, SubjectId id, SubjectId under) {
    while (id != SUBJECT_NONE && id != under)
        id = b->job->subjects[id].up;
    return id == under;
}

/* All places of class c (and a letter), at or under `under` (SUBJECT_NONE: anywhere). */
static bool take_all(const Asked *q, ClassId c, char letter, SubjectId under) {
    Binder *b = q->b;
    uint32_t before = q->out->count;
    if (!lay_out(b, c, q->text)) return false;
    const SubjectList *list = &b->job->classes[c];
    for (uint32_t i = 0; i < list->count; i++) {
        SubjectId id = list->ids[i];
        const Subject *s = &b->job->subjects[id];
        if (s->kind != SUBJECT_PLACE || (letter && s->letter != letter)) continue;
        if (under != SUBJECT_NONE && !lies_under(b, id, under)) continue;
        if (!accept(q, id)) return false;
        list = &b->job->classes[c];
    }
    if (q->out->count > before) return true;
    fault(b, NO_SUCH_PLACE, q->text, "this engine has no such %.*s",
          STR_ARG(b->v->classes[c].plural));
    return false;
}

static ClassId own_place_class(const Asked *q) {
    const Class *k = &q->b->v->classes[q->cls];
    return k->kind == CLASS_ITEM ? k->up : q->cls;
}

/* The n-th place of a bank, from the front. */
static SubjectId bank_place(const Binder *b, SubjectId bank, uint32_t n) {
    const SubjectList *order = &b->bank_order;
    uint32_t seen = 0;
    for (uint32_t i = 0; i < order->count; i++) {
        if (b->job->subjects[order->ids[i]].up == bank && ++seen == n) return order->ids[i];
    }
    return SUBJECT_NONE;
}

/* All places of class c on a bank, in the order in which the job gives the bank's places. */
static bool take_bank(const Asked *q, ClassId c, SubjectId bank) {
    const SubjectList *order = &q->b->bank_order;
    for (uint32_t i = 0; i < order->count; i++) {
        const Subject *s = &q->b->job->subjects[order->ids[i]];
        if (s->up != bank) continue;
        if (!(s->cls == c ? accept(q, order->ids[i]) : take_all(q, c, 0, order->ids[i])))
            return false;
    }
    return true;
}

static bool take_on_bank(const Asked *q, SubjectId bank, Token t) {
    SubjectId place = t.number ? bank_place(q->b, bank, t.number) : SUBJECT_NONE;
    if (place == SUBJECT_NONE) {
        fault(q->b, NO_SUCH_PLACE, q->text, "bank `%.*s` has no place %u", STR_ARG(t.scope),
              t.number);
        return false;
    }
    t.number = q->b->job->subjects[place].number;
    return take_places(q, &t);
}

static SubjectId carried_place(const Asked *q, ClassId c, SubjectId carrier, char letter,
                               uint32_t number, uint8_t suffix) {
    Binder *b = q->b;
    SubjectId id = subject_find(b, c, carrier, letter, number, suffix);
    if (id != SUBJECT_NONE) return id;
    ClassId held = b->v->classes[b->job->subjects[carrier].cls].holds;
    SubjectId up = carrier;
    if (c != held) up = carried_place(q, held, carrier, 0, number, 0);
    id = subject_add(b, (Subject){.cls = c,
                                  .kind = SUBJECT_CARRIED,
                                  .letter = letter,
                                  .number = number,
                                  .suffix = suffix,
                                  .up = up,
                                  .home = carrier});
    carry_new_place(b, id);
    return id;
}

/* `B:2`, `B:I3`: the engine must have a place of that kind for it to come to sit at. */
static bool take_on_carrier(const Asked *q, SubjectId carrier, const Token *t) {
    Binder *b = q->b;
    ClassId c = place_class(q, t);
    ClassId held = b->v->classes[b->job->subjects[carrier].cls].holds;
    if (c == CLASS_NONE || (c != held && !class_under(b->v, c, held))) {
        fault(b, UNKNOWN_SUBJECT, q->text, "`%.*s` is no place on a head", STR_ARG(q->text));
        return false;
    }
    if (!lay_out(b, c, q->text)) return false;
    const Class *k = &b->v->classes[c];
    if (!t->letter && k->letters[0]) {
        fault(b, SUBJECT_NEEDED, q->text, "write %.*s:%c%u", STR_ARG(t->scope), k->letters[0],
              t->number);
        return false;
    }
    if (!t->number || t->number > b->job->place_count[held]) return no_such_place(q, held);
    bool any = false;
    for (uint8_t suffix = 0; suffix <= 8; suffix++) {
        if (t->suffix && suffix != t->suffix) continue;
        if (subject_find(b, c, SUBJECT_NONE, t->letter, t->number, suffix) == SUBJECT_NONE)
            continue;
        any = true;
        if (!accept(q, carried_place(q, c, carrier, t->letter, t->number, suffix))) return false;
    }
    return any || no_such_place(q, c);
}

/* A head is there by being named; a slip in a bank's name must not make one. */
static bool near_bank(const Asked *q, Str scope) {
    Binder *b = q->b;
    for (uint32_t i = 0; i < b->bank_order.count; i++) {
        Str bank = b->job->subjects[b->job->subjects[b->bank_order.ids[i]].up].name;
        if (bank.n < 3 || near_distance(scope, bank, 1 + (bank.n > 4)) > 1 + (bank.n > 4)) continue;
        fault(
            b, UNKNOWN_SUBJECT, q->text,
            "`%.*s` is no bank; did you mean `%.*s`? For a head of that name write `head %.*s = ` "
            "with its bank first",
            STR_ARG(scope), STR_ARG(bank), STR_ARG(scope));
        return true;
    }
    return false;
}

static bool take_scoped(const Asked *q, const Token *t) {
    Binder *b = q->b;
    SubjectId bank = named_subject(b, CLASS_BANK, t->scope);
    if (bank != SUBJECT_NONE) return take_on_bank(q, bank, *t);
    SubjectId carrier = named_subject(b, CLASS_CARRIER, t->scope);
    if (carrier == SUBJECT_NONE && near_bank(q, t->scope)) return false;
    if (carrier == SUBJECT_NONE) carrier = carrier_subject(b, t->scope);
    if (carrier == SUBJECT_NONE) return false;
    return take_on_carrier(q, carrier, t);
}

/* Whether two names of sets differ by a slip. S31 and S32 do not: sets are numbered, and the inner
 * springs are often the next one. */
static bool slip_apart(Str a, Str b) {
    if (near_distance(a, b, 1) > 1) return false;
    if (a.n != b.n) return true;
    size_t i = 0;
    while (i < a.n && to_lower(a.p[i]) == to_lower(b.p[i]))
        i++;
    return i + 1 < a.n && to_lower(a.p[i]) == to_lower(b.p[i + 1]); /* two swapped */
}

/* `S13#7` where S31 has a #7: a set is there by being named, and a slip must not make one. */
static void doubt_set(const Asked *q, ClassId set_class, SubjectId made, uint32_t number) {
    Binder *b = q->b;
    const SubjectList *sets = &b->job->classes[set_class];
    ClassId item = b->v->classes[set_class].holds;
    Str name = b->job->subjects[made].name;
    for (uint32_t i = 0; i < sets->count; i++) {
        SubjectId other = sets->ids[i];
        Str is = b->job->subjects[other].name;
        if (other == made || !slip_apart(name, is)) continue;
        if (subject_find(b, item, other, 0, number, 0) == SUBJECT_NONE) continue;
        fault(b, SET_NEAR, q->text,
              "set `%.*s` is met here first, and `%.*s` has a #%u: a slip? If it is another set, "
              "name it once above with `%.*s = %.*s`",
              STR_ARG(name), STR_ARG(is), number,
              STR_ARG(b->v->tags[b->v->classes[item].set_tag].name), STR_ARG(name));
        return;
    }
}

static bool take_item(const Asked *q, const Token *t) {
    Binder *b = q->b;
    ClassId c = q->cls;
    if (b->v->classes[c].kind != CLASS_ITEM) {
        fault(b, UNKNOWN_SUBJECT, q->text,
              "this is measured on a %.*s, and `%.*s` is a numbered part",
              STR_ARG(b->v->classes[c].name), STR_ARG(q->text));
        return false;
    }
    SubjectId set = b->set_in_use[c];
    if (t->set.n) {
        if (str_find_char(t->set, ' ', 0) != SIZE_MAX ||
            str_find_char(t->set, '\t', 0) != SIZE_MAX) {
            fault(b, UNKNOWN_SUBJECT, q->text,
                  "a set's name is one word: write it and the number without a blank, as S31#7");
            return false;
        }
        ClassId sets = b->v->classes[c].set;
        uint32_t known = b->job->classes[sets].count;
        set = set_subject(b, sets, t->set);
        if (b->job->classes[sets].count > known) doubt_set(q, sets, set, t->number);
    } else if (set == SUBJECT_NONE || (b->set_doubtful[c] && b->set_entry[c] == b->entry)) {
        const Class *k = &b->v->classes[c];
        fault(b, SET_UNSAID, q->text,
              set == SUBJECT_NONE
                  ? "no set is in use for `%.*s`: write `%.*s set = NAME` above, or NAME%.*s"
                  : "two sets are in use in this entry: write the set's name before `%.*s` "
                    "(`%.*s set` was said twice), as NAME%.*s",
              STR_ARG(q->text), STR_ARG(k->name), STR_ARG(q->text));
        return false;
    }
    subjects_push(b, q->out, item_subject(b, c, set, t->number));
    return true;
}

static bool take_token(const Asked *q, const Token *t) {
    if (t->hash) return take_item(q, t);
    if (t->scope.n) return take_scoped(q, t);
    if (!t->number) {
        ClassId c = place_class(q, t);
        return take_all(q, c, t->letter, SUBJECT_NONE);
    }
    return take_places(q, t);
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
        return take_all(q, own_place_class(q), 0, SUBJECT_NONE);
    }
    SubjectId id = named_subject(b, CLASS_BANK, q->text);
    if (id != SUBJECT_NONE) {
        ClassId c = own_place_class(q);
        if (c == b->job->subjects[id].cls) return accept(q, id);
        note_order(q, c);
        return take_bank(q, c, id);
    }
    id = named_subject(b, CLASS_CARRIER, q->text);
    if (id == SUBJECT_NONE && b->v->classes[q->cls].kind == CLASS_CARRIER && q->text.n <= 16) {
        id = carrier_subject(b, q->text);
        if (id == SUBJECT_NONE) return false;
    }
    if (id == SUBJECT_NONE) id = named_subject(b, CLASS_SET, q->text);
    if (id == SUBJECT_NONE && b->v->classes[q->cls].kind == CLASS_SET)
        id = set_subject(b, q->cls, q->text);
    if (id != SUBJECT_NONE) return accept(q, id);
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
        if (!take_token(q, &t)) return false;
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
    Token plain;
    if (read_plain(b, text, &plain)) return take_token(&q, &plain) && out->count > 0;
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

/* For command lines: what is not there already must not come to be by being asked for. */
bool job_subjects(Job *j, ClassId cls, Str text, SubjectList *out) {
    Binder b = *j->binder;
    uint32_t before = j->subject_count, counts[CLASS_MOST] = {0};
    for (ClassId c = 0; c < j->vocab->class_count; c++)
        counts[c] = j->classes[c].count;
    b.findings = NULL;
    b.table_room = 0; /* new subjects must not enter the binder's table: look them up in a copy */
    b.table_used = 0;
    subject_table_grow(&b);
    b.table_used = before;
    bool found = read_subjects(&b, cls, text, out);
    for (uint32_t i = 0; i < out->count; i++)
        found &= out->ids[i] < before;
    j->subject_count = before;
    for (ClassId c = 0; c < j->vocab->class_count; c++)
        j->classes[c].count = counts[c];
    return found;
}
