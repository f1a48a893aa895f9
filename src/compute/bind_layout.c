/*
 * The places of the engine, made from what the job says of its layout when the first place is used;
 * banks and heads, which the job names.
 */
#include "compute/bind.h"

#include "compute/eval.h"
#include <math.h>

/* Of one class of place, and of heads with their spares: no engine comes near. */
enum { PLACES_MOST = 256, HEADS_MOST = 256 };

static bool count_of(Binder *b, const Class *k, Str asked_for, uint32_t *out) {
    if (k->count == TAG_NONE) {
        *out = k->fixed;
        return true;
    }
    double n = engine_value_so_far(b->job, k->count);
    if (n >= 1 && n <= PLACES_MOST && n == floor(n)) {
        *out = (uint32_t)n;
        return true;
    }
    Str name = b->v->tags[k->count].name;
    if (isnan(n)) {
        fault(b, LAYOUT_MISSING, asked_for,
              "the log does not say yet how many %.*s there are: write `%.*s = ` with the number "
              "at the top",
              STR_ARG(k->plural), STR_ARG(name));
    } else {
        fault(b, LAYOUT_MISSING, asked_for,
              "`%.*s` must be a whole number from 1 to %d to number the %.*s", STR_ARG(name),
              (int)PLACES_MOST, STR_ARG(k->plural));
    }
    return false;
}

static void make_place(Binder *b, ClassId c, SubjectId up, char letter, uint32_t number,
                       uint8_t suffix) {
    subject_add(b, &(Subject){.cls = c,
                              .kind = SUBJECT_PLACE,
                              .letter = letter,
                              .suffix = suffix,
                              .number = number,
                              .up = up,
                              .home = SUBJECT_NONE});
}

/* n places of class c on one place: shared among the letters, the first gets the odd one. */
static void make_places_on(Binder *b, ClassId c, SubjectId up, uint32_t n) {
    const Class *k = &b->v->classes[c];
    char letter = b->job->subjects[up].letter;
    uint32_t number = b->job->subjects[up].number;
    if (k->suffixed) {
        for (uint32_t i = 1; i <= n; i++)
            make_place(b, c, up, letter, number, (uint8_t)i);
        return;
    }
    uint32_t letters = (uint32_t)strlen(k->letters);
    if (letters == 0) letters = 1;
    for (uint32_t l = 0; l < letters; l++) {
        uint32_t share = n / letters + (l < n % letters);
        for (uint32_t i = 1; i <= share; i++)
            make_place(b, c, up, k->letters[l], number, share > 1 ? (uint8_t)i : 0);
    }
}

static bool make_class(Binder *b, ClassId c, Str asked_for) {
    const Class *k = &b->v->classes[c];
    uint32_t n;
    if (!count_of(b, k, asked_for, &n)) return false;
    if (k->up == CLASS_ENGINE) {
        for (uint32_t i = 1; i <= n; i++)
            make_place(b, c, SUBJECT_ENGINE, k->letters[0], i, 0);
        return true;
    }
    uint32_t parents = b->job->place_count[k->up];
    for (uint32_t i = 0; i < parents; i++)
        make_places_on(b, c, b->job->classes[k->up].ids[i], n);
    return true;
}

bool lay_out(Binder *b, ClassId c, Str asked_for) {
    const Class *k = &b->v->classes[c];
    if (k->kind == CLASS_ITEM) return lay_out(b, k->up, asked_for);
    if (k->kind != CLASS_PLACE || c == CLASS_ENGINE || b->made[c]) return true;
    if (b->look_only) return false;
    Findings *findings = b->findings;
    if (b->unmade[c]) b->findings = NULL; /* said once; the counts may stand further down */
    bool made = lay_out(b, k->up, asked_for) && make_class(b, c, asked_for);
    b->findings = findings;
    b->unmade[c] = !made;
    if (made) b->made[c] = b->laid_out = true;
    return made;
}

void lay_out_rest(Binder *b) {
    Findings *findings = b->findings;
    b->findings = NULL; /* a place that nobody names need not be there */
    const Reading *all = b->job->readings, *end = all + b->job->reading_count;
    for (const Reading *r = all; r < end; r++) {
        if (r->subject != SUBJECT_ENGINE) continue; /* nearly all are of a place or an item */
        ClassId c = b->v->tags[r->tag].of;
        if (c == CLASS_ENGINE) continue;
        lay_out(b, c, (Str){0});
        if (b->v->classes[c].kind == CLASS_ITEM) fit_unnamed(b, c, (uint32_t)(r - all));
    }
    b->findings = findings;
}

bool job_places(Job *j, ClassId cls) {
    Binder *b = j->binder;
    Findings *findings = b->findings;
    b->findings = NULL; /* nobody wrote the line that asks */
    bool made = lay_out(b, cls, (Str){0});
    b->findings = findings;
    return made;
}

/* ---- banks ----------------------------------------------------------------------------------- */

static bool good_name(Binder *b, BindCode code, Str name) {
    if (name.n == 0 || name.n > 24 || str_find_char(name, ' ', 0) != SIZE_MAX ||
        str_find_char(name, ':', 0) != SIZE_MAX || is_digit(name.p[0])) {
        fault(
            b, code, name.n ? name : b->line.left,
            "a bank or head needs a name of one word, as `bank left = 1 3 5 7` or `head B = left`");
        return false;
    }
    if (looks_like_subject(b, name) && named_subject(b, CLASS_BANK, name) == SUBJECT_NONE &&
        named_subject(b, CLASS_CARRIER, name) == SUBJECT_NONE) {
        fault(b, code, name, "`%.*s` already means a place: give the bank or head another name",
              STR_ARG(name));
        return false;
    }
    return true;
}

static ClassId class_of_kind(const Binder *b, ClassKind kind) {
    for (ClassId c = 0; c < b->v->class_count; c++) {
        if (b->v->classes[c].kind == kind) return c;
    }
    return CLASS_NONE;
}

static bool are_places(const Job *j, ClassId c, const SubjectList *list) {
    for (uint32_t i = 0; i < list->count; i++) {
        const Subject *s = &j->subjects[list->ids[i]];
        if (s->cls != c || s->kind != SUBJECT_PLACE) return false;
    }
    return true;
}

/* Every word of text as a place of class c. A head's name is none: on itself, it would lie above
 * itself. */
static bool read_members(Binder *b, ClassId c, Str text, BindCode code, SubjectList *out) {
    out->count = 0;
    for (Str rest = text, word; (word = str_word(&rest)).n;) {
        if (word.n && word.p[word.n - 1] == ',') word.n--;
        SubjectList one = {0};
        if (word.n == 0) continue;
        bool named = looks_like_subject(b, word);
        if (named && !read_subjects(b, c, word, &one)) return false;
        if (!named || !are_places(b->job, c, &one)) {
            fault(b, code, word,
                  "`%.*s` is no %.*s: write their numbers from front to rear, as 1 3 5 7",
                  STR_ARG(word), STR_ARG(b->v->classes[c].name));
            return false;
        }
        for (uint32_t i = 0; i < one.count; i++)
            subjects_push(b, out, one.ids[i]);
        SubjectId twice = named_twice(out);
        if (twice == SUBJECT_NONE) continue;
        fault(b, code, word, "%.*s %.*s is named twice", STR_ARG(b->v->classes[c].name),
              STR_ARG(subject_name(b->job, twice, b->job->arena)));
        return false;
    }
    return out->count > 0;
}

void bind_bank(Binder *b, Str name, Str right) {
    ClassId c = class_of_kind(b, CLASS_BANK);
    if (!good_name(b, BANK_FORM, name) || !lay_out(b, b->v->classes[c].holds, b->line.left)) return;
    SubjectList members = {0};
    if (!read_members(b, b->v->classes[c].holds, right, BANK_FORM, &members)) return;
    if (b->line.struck) return;
    SubjectId bank = named_subject(b, CLASS_BANK, name);
    for (uint32_t i = 0; i < members.count; i++) {
        SubjectId up = b->job->subjects[members.ids[i]].up;
        if (up == SUBJECT_ENGINE && bank == SUBJECT_NONE) continue;
        if (up == bank) continue; /* said again */
        fault(b, BANK_FORM, right,
              "%u is on another bank already, or this bank was declared otherwise above",
              b->job->subjects[members.ids[i]].number);
        return;
    }
    if (bank != SUBJECT_NONE) return;
    bank = subject_add(b, &(Subject){.cls = c,
                                     .kind = SUBJECT_BANK,
                                     .up = SUBJECT_ENGINE,
                                     .home = SUBJECT_NONE,
                                     .name = name});
    for (uint32_t i = 0; i < members.count; i++) {
        b->job->subjects[members.ids[i]].up = bank;
        subjects_push(b, &b->bank_order, members.ids[i]);
    }
}

/* ---- heads ----------------------------------------------------------------------------------- */

SubjectId carrier_subject(Binder *b, Str name) {
    SubjectId id = named_subject(b, CLASS_CARRIER, name);
    if (id != SUBJECT_NONE) return id;
    ClassId c = class_of_kind(b, CLASS_CARRIER);
    if (c == CLASS_NONE || !good_name(b, HEAD_FORM, name)) return SUBJECT_NONE;
    if (b->job->classes[c].count == HEADS_MOST) {
        fault(b, TOO_MANY, name, "a log has at most %d heads: is this one of them misspelt?",
              HEADS_MOST);
        return SUBJECT_NONE;
    }
    return subject_add(b, &(Subject){.cls = c,
                                     .kind = SUBJECT_CARRIER,
                                     .up = SUBJECT_ENGINE,
                                     .home = SUBJECT_NONE,
                                     .name = name});
}

/* Where position n of a head comes to sit; SUBJECT_NONE when the head is not fitted there. */
static SubjectId fitted_place(const Binder *b, SubjectId carrier, uint32_t n) {
    const SubjectList *fit = b->fitted[carrier].count ? &b->fitted[carrier] : NULL;
    return fit && n >= 1 && n <= fit->count ? fit->ids[n - 1] : SUBJECT_NONE;
}

static void carry(Binder *b, SubjectId carried) {
    const Subject s = b->job->subjects[carried];
    SubjectId place = fitted_place(b, s.home, s.number);
    ClassId held = b->v->classes[b->job->subjects[s.home].cls].holds;
    if (place != SUBJECT_NONE && s.cls != held)
        place = subject_find(b, s.cls, SUBJECT_NONE, s.letter, b->job->subjects[place].number,
                             s.suffix);
    Event *e = add_event(b, EVENT_CARRY);
    e->subject = carried;
    e->subject2 = place;
}

void carry_new_place(Binder *b, SubjectId carried, Str text) {
    const Subject *s = &b->job->subjects[carried];
    uint32_t places = s->home < b->fitted_room ? b->fitted[s->home].count : 0;
    if (!places) return;
    if (s->number > places)
        fault(b, HEAD_FORM, text, "head %.*s has only %u places where it sits",
              STR_ARG(b->job->subjects[s->home].name), places);
    carry(b, carried);
}

static bool head_places(Binder *b, Str right, SubjectList *out) {
    if (str_ieq(right, STR("none"))) return true;
    SubjectId bank = named_subject(b, CLASS_BANK, right);
    ClassId held = b->v->classes[class_of_kind(b, CLASS_CARRIER)].holds;
    if (bank == SUBJECT_NONE) return read_members(b, held, right, HEAD_FORM, out);
    for (uint32_t i = 0; i < b->bank_order.count; i++) {
        if (b->job->subjects[b->bank_order.ids[i]].up == bank)
            subjects_push(b, out, b->bank_order.ids[i]);
    }
    return true;
}

static void fit_carrier(Binder *b, SubjectId carrier, SubjectList places) {
    if (carrier >= b->fitted_room) {
        uint32_t room = b->job->subject_room;
        SubjectList *grown = arena_array(b->job->arena, room, sizeof *grown);
        if (b->fitted_room) memcpy(grown, b->fitted, b->fitted_room * sizeof *grown);
        b->fitted = grown;
        b->fitted_room = room;
    }
    b->fitted[carrier] = places;
}

/* Two heads on one bank within an entry are a slip, as one part in two places is. */
static bool place_taken(Binder *b, SubjectId carrier, const SubjectList *places, Str right) {
    for (uint32_t i = b->job->event_count; i-- > 0;) {
        const Event *e = &b->job->events[i];
        if (e->entry != b->entry) return false;
        if (e->kind != EVENT_CARRY || e->subject == carrier || !places->count) continue;
        if (b->job->subjects[e->subject].kind != SUBJECT_CARRIER) continue;
        for (uint32_t k = 0; k < places->count; k++) {
            if (e->subject2 != places->ids[k]) continue;
            fault(b, HEAD_FORM, right, "head %.*s was put there already in this entry",
                  STR_ARG(b->job->subjects[e->subject].name));
            return true;
        }
    }
    return false;
}

void bind_carrier(Binder *b, Str name, Str right) {
    ClassId heads = class_of_kind(b, CLASS_CARRIER);
    if (b->line.struck) return;
    if (!lay_out(b, b->v->classes[heads].holds, b->line.left)) return;
    SubjectId carrier = carrier_subject(b, name);
    SubjectList places = {0};
    if (carrier == SUBJECT_NONE || !head_places(b, right, &places)) return;
    for (SubjectId id = 0; id < b->job->subject_count; id++) {
        const Subject *s = &b->job->subjects[id];
        if (s->kind != SUBJECT_CARRIED || s->home != carrier || s->number <= places.count) continue;
        if (places.count == 0) continue;
        Str place = subject_name(b->job, id, b->job->arena);
        fault(b, HEAD_FORM, right, "%.*s was measured, but there are only %u places for this head",
              STR_ARG(place), places.count);
        return;
    }
    if (place_taken(b, carrier, &places, right)) return;
    fit_carrier(b, carrier, places);
    Event *head = add_event(b, EVENT_CARRY);
    head->subject = carrier;
    if (places.count) head->subject2 = b->job->subjects[places.ids[0]].up;
    for (uint32_t i = 0; i < places.count; i++) {
        Event *e =
            add_event(b, EVENT_CARRY); /* every place learns its head, measured on it or not */
        e->subject = carrier;
        e->subject2 = places.ids[i];
    }
    for (SubjectId id = 0; id < b->job->subject_count; id++) {
        const Subject *s = &b->job->subjects[id];
        if (s->kind == SUBJECT_CARRIED && s->home == carrier) carry(b, id);
    }
}
