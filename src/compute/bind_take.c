/* From a token to subjects: places of the engine, of a bank, on a head; items of a set. */
#include "compute/bind_subject_parts.h"

#include "base/near.h"
#include "base/utf8.h"
#include "vocab/formula.h"

/* ---- places ---------------------------------------------------------------------------------- */

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

bool take_subject(const Asked *q, SubjectId id) {
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
    if (id != SUBJECT_NONE) return take_subject(q, id);
    bool any = false;
    for (uint8_t suffix = 1; suffix <= 8 && !t->suffix; suffix++) {
        id = subject_find(b, c, SUBJECT_NONE, letter, t->number, suffix);
        if (id == SUBJECT_NONE) break;
        any = true;
        if (!take_subject(q, id)) return false;
    }
    return any || no_such_place(q, c);
}

static bool lies_under(const Binder *b, SubjectId id, SubjectId under) {
    while (id != SUBJECT_NONE && id != under)
        id = b->job->subjects[id].up;
    return id == under;
}

bool take_all_places(const Asked *q, ClassId c, char letter, SubjectId under) {
    Binder *b = q->b;
    uint32_t before = q->out->count;
    if (!lay_out(b, c, q->text)) return false;
    const SubjectList *list = &b->job->classes[c];
    for (uint32_t i = 0; i < list->count; i++) {
        SubjectId id = list->ids[i];
        const Subject *s = &b->job->subjects[id];
        if (s->kind != SUBJECT_PLACE || (letter && s->letter != letter)) continue;
        if (under != SUBJECT_NONE && !lies_under(b, id, under)) continue;
        if (!take_subject(q, id)) return false;
        list = &b->job->classes[c];
    }
    if (q->out->count > before) return true;
    fault(b, NO_SUCH_PLACE, q->text, "this engine has no such %.*s",
          STR_ARG(b->v->classes[c].plural));
    return false;
}

/* ---- banks ----------------------------------------------------------------------------------- */

/* The n-th place of a bank, from the front. */
static SubjectId bank_place(const Binder *b, SubjectId bank, uint32_t n) {
    const SubjectList *order = &b->bank_order;
    uint32_t seen = 0;
    for (uint32_t i = 0; i < order->count; i++) {
        if (b->job->subjects[order->ids[i]].up == bank && ++seen == n) return order->ids[i];
    }
    return SUBJECT_NONE;
}

bool take_places_of_bank(const Asked *q, ClassId c, SubjectId bank) {
    const SubjectList *order = &q->b->bank_order;
    for (uint32_t i = 0; i < order->count; i++) {
        const Subject *s = &q->b->job->subjects[order->ids[i]];
        if (s->up != bank) continue;
        if (!(s->cls == c ? take_subject(q, order->ids[i])
                          : take_all_places(q, c, 0, order->ids[i])))
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

/* ---- heads ----------------------------------------------------------------------------------- */

static SubjectId carried_place(const Asked *q, ClassId c, SubjectId carrier, char letter,
                               uint32_t number, uint8_t suffix) {
    Binder *b = q->b;
    SubjectId id = subject_find(b, c, carrier, letter, number, suffix);
    if (id != SUBJECT_NONE) return id;
    if (b->look_only) return SUBJECT_NONE;
    ClassId held = b->v->classes[b->job->subjects[carrier].cls].holds;
    SubjectId up = carrier;
    if (c != held) up = carried_place(q, held, carrier, 0, number, 0);
    id = subject_add(b, &(Subject){.cls = c,
                                   .kind = SUBJECT_CARRIED,
                                   .letter = letter,
                                   .number = number,
                                   .suffix = suffix,
                                   .up = up,
                                   .home = carrier});
    carry_new_place(b, id, q->text);
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
        SubjectId carried = carried_place(q, c, carrier, t->letter, t->number, suffix);
        if (carried == SUBJECT_NONE || !take_subject(q, carried)) return false;
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

/* ---- items of a set -------------------------------------------------------------------------- */

/* What a letter is taken for on paper. */
static char looks_like(char c) {
    c = to_lower(c);
    return c == 'i' || c == 'l' ? '1' : c == 'o' ? '0' : c;
}

static bool look_alike(Str a, Str b) {
    if (a.n != b.n) return false;
    for (size_t i = 0; i < a.n; i++) {
        if (looks_like(a.p[i]) != looks_like(b.p[i])) return false;
    }
    return true;
}

/* Whether two names of sets differ by a slip. S31 and S32 do not: sets are numbered, and the inner
 * springs are often the next one. */
static bool slip_apart(Str a, Str b) {
    if (look_alike(a, b)) return true;
    if (near_distance(a, b, 1) > 1) return false;
    if (a.n != b.n) return true;
    size_t i = 0;
    while (i < a.n && to_lower(a.p[i]) == to_lower(b.p[i]))
        i++;
    return i + 1 < a.n && to_lower(a.p[i]) == to_lower(b.p[i + 1]); /* two swapped */
}

/* Whether the set named first here is a slip in the name of the other: that has an item of this
 * number, or was told up to the one before it. */
static bool slip_in_set(const Binder *b, ClassId item, Str name, SubjectId other, uint32_t number) {
    Str is = b->job->subjects[other].name;
    bool has = subject_find(b, item, other, 0, number, 0) != SUBJECT_NONE;
    if (has) return slip_apart(name, is);
    return number > 1 && subject_find(b, item, other, 0, number - 1, 0) != SUBJECT_NONE &&
           (slip_apart(name, is) || near_distance(name, is, 1) <= 1);
}

/* `1#3` for #13: a set that was named nowhere above has a word for its name. */
static bool doubt_numbered_set(const Asked *q, Str name, uint32_t number) {
    for (size_t i = 0; i < name.n; i++) {
        if (!is_digit(name.p[i])) return false;
    }
    fault(q->b, SET_NEAR, q->text,
          "set `%.*s` is met here first: is it #%.*s%u? If it is a set, name it once above",
          STR_ARG(name), STR_ARG(name), number);
    return true;
}

/* The first of the sets that a new name is held against: those named last. Where there are
 * hundreds, near names are the rule, and each of them held against all takes its time. */
static uint32_t first_compared(const SubjectList *sets) {
    enum { COMPARED = 256 };
    return sets->count > COMPARED ? sets->count - COMPARED : 0;
}

/* `S13#7` where S31 has a #7: a set is there by being named, and a slip must not make one. */
static void doubt_set(const Asked *q, ClassId set_class, SubjectId made, uint32_t number) {
    Binder *b = q->b;
    const SubjectList *sets = &b->job->classes[set_class];
    ClassId item = b->v->classes[set_class].holds;
    Str name = b->job->subjects[made].name;
    if (doubt_numbered_set(q, name, number)) return;
    for (uint32_t i = first_compared(sets); i < sets->count; i++) {
        SubjectId other = sets->ids[i];
        Str is = b->job->subjects[other].name;
        if (other == made || !slip_in_set(b, item, name, other, number)) continue;
        fault(b, SET_NEAR, q->text,
              "set `%.*s` is met here first, and it is nearly `%.*s`: a slip? If it is another "
              "set, name it once above with `%.*s = %.*s`",
              STR_ARG(name), STR_ARG(is), STR_ARG(b->v->tags[b->v->classes[item].set_tag].name),
              STR_ARG(name));
        return;
    }
}

/* `spring set = VI` where there is a V1: the readings of one set would be those of two. */
void doubt_new_set(Binder *b, ClassId set_class, SubjectId made, Str text) {
    const SubjectList *sets = &b->job->classes[set_class];
    for (uint32_t i = first_compared(sets); i < sets->count; i++) {
        Str is = b->job->subjects[sets->ids[i]].name;
        if (sets->ids[i] == made || !look_alike(text, is)) continue;
        fault(b, SET_NEAR, text,
              "set `%.*s` is met here first, and reads like `%.*s`: a slip? Another set needs a "
              "name that cannot be taken for that one",
              STR_ARG(text), STR_ARG(is));
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
        size_t len;
        if (str_find_char(t->set, ' ', 0) != SIZE_MAX ||
            str_find_char(t->set, '\t', 0) != SIZE_MAX ||
            utf8_odd_blank(t->set, 0, &len) != SIZE_MAX) {
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
    SubjectId item = item_subject(b, c, set, t->number);
    if (item == SUBJECT_NONE) return false;
    subjects_push(b, q->out, item);
    return true;
}

bool take_token(const Asked *q, const Token *t) {
    if (t->hash) return take_item(q, t);
    if (t->scope.n) return take_scoped(q, t);
    if (!t->number) {
        ClassId c = place_class(q, t);
        return take_all_places(q, c, t->letter, SUBJECT_NONE);
    }
    return take_places(q, t);
}
