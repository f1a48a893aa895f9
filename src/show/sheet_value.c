/* One value as the sheet shows it: its digits, and a mark for what is not plain about it. */
#include "base/utf8.h"
#include "show/sheet_parts.h"

#include <math.h>

bool sheet_counts(const Sheet *s, const Reading *r) {
    return reading_counts(s->s, r);
}

static const Source *map_source(Sheet *s, const Source *source) {
    if (source->lines) return source;
    for (uint32_t i = 0; i < s->mapped_count; i++) {
        if (s->mapped[i].text.p == source->text.p) return &s->mapped[i];
    }
    Source *own = s->mapped_count < SOURCE_MOST ? &s->mapped[s->mapped_count++]
                                                : arena_alloc(s->a, sizeof *own);
    *own = *source;
    source_map(own, s->a);
    return own;
}

uint32_t sheet_line(Sheet *s, const Source *source, uint32_t off) {
    return source_line_at(map_source(s, source), off);
}

Str sheet_place(Sheet *s, const Source *source, uint32_t off) {
    return say_place(s->a, map_source(s, source), off);
}

Str sheet_at(Sheet *s, const Job *j, const Reading *r) {
    return sheet_place(s, j->sources[r->source], r->off);
}

Str sheet_date(Sheet *s, int32_t day) {
    char text[DATE_TEXT];
    return arena_printf(s->a, "%s", date_text((Date){day, -1}, text));
}

void sheet_section(Sheet *s, Str title) {
    s->paper->section(s, title);
}

void sheet_say(Sheet *s, int indent, int hang, Str text) {
    s->paper->line(s, &(SheetLine){.indent = indent, .hang = hang, .text = text});
}

uint32_t sheet_ref(Sheet *s, TagId tag, uint32_t i, uint32_t reading) {
    arena_grow(s->a, s->refs, s->ref_count, s->ref_room);
    s->refs[s->ref_count++] = (Ref){tag, i, reading};
    return s->ref_count;
}

bool sheet_skips(const Sheet *s, const Tag *tag) {
    if (tag->holds_entry || tag->kind == TAG_PLACEMENT || tag->kind == TAG_BANK ||
        tag->kind == TAG_GAUGE || tag->kind == TAG_SCRAP)
        return true;
    (void)s;
    return tag->role != ROLE_NONE && tag->role != ROLE_RUN_TIME;
}

static bool has(uint8_t st, uint8_t bits) {
    return (st & bits) != 0;
}

Str sheet_mark(Sheet *s, Str text, uint8_t st) {
    static const struct {
        uint8_t bits;
        char sign;
    } marks[MARK_BROKEN] = {
        [MARK_SUSPECT] = {V_SUSPECT, '?'},
        [MARK_NOMINAL] = {V_NOMINAL, '*'},
        [MARK_CARRIED] = {V_CARRIED | V_EXTENDED, '~'},
        [MARK_PARTIAL] = {V_PARTIAL, '+'},
    };
    char signs[MARKS + 1] = {0};
    size_t n = 0;
    for (int i = 0; i < MARK_BROKEN; i++) {
        if (!has(st, marks[i].bits)) continue;
        s->marked[i] = true;
        signs[n++] = marks[i].sign;
    }
    return n ? arena_printf(s->a, "%.*s%s", STR_ARG(text), signs) : text;
}

Value sheet_reading(Sheet *s, const Job *j, const Reading *r) {
    const Unit *unit = r->unit && s->how->system ? unit_in(r->unit, s->how->system) : r->unit;
    return (Value){.text = say_reading(s->a, j, r, s->how->system, false), .unit = unit};
}

const Unit *sheet_unit(const Sheet *s, TagId tag, const Value *values, uint32_t n) {
    const Unit *unit = NULL;
    for (uint32_t i = 0; i < n; i++) {
        if (!values[i].unit) continue;
        if (unit && values[i].unit != unit) return say_unit(s->j, tag, s->how->system).unit;
        unit = values[i].unit;
    }
    return unit ? unit : say_unit(s->j, tag, s->how->system).unit;
}

Cell sheet_under(Sheet *s, const Value *v, const Unit *unit) {
    Cell cell = {.text = v->text, .tone = v->tone, .ref = v->ref};
    if (v->unit && v->unit != unit && v->unit->name[0])
        cell.text = arena_printf(s->a, "%.*s %s", STR_ARG(v->text), v->unit->name);
    return cell;
}

const CardUse *sheet_card(const Sheet *s, TagId tag, SubjectId id, uint32_t reading, double value) {
    for (uint8_t i = 0; i < s->j->card_count; i++) {
        const CardUse *use = &s->j->cards[i];
        if (!use->card || reading >= use->card->reading_count) continue;
        const Reading *r = &use->card->readings[reading];
        if (r->tag == tag && r->value == value && state_card_applies(s->s, use, id)) return use;
    }
    return NULL;
}

/* Decimals at which the value does not look as if it met a limit that it breaks. */
static int places_for(const Sheet *s, TagId tag, SubjectId id, Shown how, double si) {
    int places = how.places;
    for (uint32_t i = 0; i < s->verdicts.count; i++) {
        const Verdict *v = &s->verdicts.items[i];
        if (v->kind != VERDICT_BROKEN || v->subject != id || v->force->tag != tag) continue;
        int need = places_to_tell(how.unit, si, v->bound, places);
        if (need > places) places = need;
    }
    return places;
}

Str sheet_number(Sheet *s, TagId tag, SubjectId id, double si, bool with_unit) {
    Shown how = say_unit(s->j, tag, s->how->system);
    how.places = places_for(s, tag, id, how, si);
    return say_number(s->a, how, si, with_unit);
}

static Value missing_value(Sheet *s, TagId tag, SubjectId id, uint8_t st) {
    Tone tone = has(st, V_SUSPECT) ? TONE_DOUBT : TONE_DIM;
    uint32_t own = state_reading(s->s, tag, id, UINT32_MAX);
    if (own == NO_READING || !(s->j->readings[own].flags & READ_SUSPECT))
        return (Value){.text = STR("-"), .tone = tone};
    Value v = sheet_reading(s, s->j, &s->j->readings[own]);
    v.text = sheet_mark(s, v.text, V_SUSPECT);
    v.tone = tone;
    return v;
}

static Str choice_name(const Tag *tag, double number) {
    for (uint8_t i = 0; i < tag->choice_count; i++) {
        if (tag->choices[i].number == number) return tag->choices[i].name;
    }
    return STR("-");
}

/* A usual value that the vocabulary states, as the balance factor: it tells nothing of this engine.
 */
static bool constant(const Formula *f) {
    if (!f) return true;
    bool names = f->kind >= F_TAG && f->kind <= F_SPOT;
    return !names && constant(f->a) && constant(f->b);
}

/* Whose reading a value is; NULL when it is worked out. */
static const Job *owner_of(const Sheet *s, TagId tag, SubjectId id, const Col *c, uint32_t i) {
    if (!has(c->st[i], V_READ)) return NULL;
    if (!has(c->st[i], V_NOMINAL)) return s->j;
    const CardUse *use = sheet_card(s, tag, id, c->from[i], c->v[i]);
    return use ? use->card : NULL;
}

/* A number that is there: one that was read with its digits as written. */
static Value number_value(Sheet *s, TagId tag, SubjectId id, const Col *c, uint32_t i) {
    const Job *owner = owner_of(s, tag, id, c, i);
    if (owner) return sheet_reading(s, owner, &owner->readings[c->from[i]]);
    return (Value){.text = sheet_number(s, tag, id, c->v[i], false),
                   .unit = say_unit(s->j, tag, s->how->system).unit};
}

Value sheet_value(Sheet *s, TagId tag, uint32_t i) {
    const Tag *t = &s->v->tags[tag];
    const Col *c = eval_tag(s->e, tag);
    SubjectId id = s->j->classes[t->of].ids[i];
    uint8_t st = c->st[i];
    if (t->kind == TAG_WORDS || t->kind == TAG_PART || t->kind == TAG_SET ||
        t->kind == TAG_CARRIER || t->kind == TAG_STOCK || t->kind == TAG_DATE)
        return (Value){.text = sheet_words(s, tag, id)};
    if (has(st, V_MISSING)) return missing_value(s, tag, id, st);
    if (t->kind == TAG_CHOICE) return (Value){.text = sheet_mark(s, choice_name(t, c->v[i]), st)};
    if (t->is && constant(t->is) && !has(st, V_READ)) return (Value){.text = STR("-")};
    Value v = number_value(s, tag, id, c, i);
    v.text = sheet_mark(s, v.text, st);
    return v;
}

Str sheet_words(Sheet *s, TagId tag, SubjectId id) {
    Str words = state_words(s->s, tag, id);
    return words.n ? words : STR("-");
}

bool sheet_members(Sheet *s, TagId tag, uint32_t i, uint32_t *there, uint32_t *all) {
    const Tag *t = &s->v->tags[tag];
    if (!t->is || t->is->kind != F_AGGREGATE || t->is->here) return false;
    const Col *members = eval_node(s->e, t->is->a);
    SubjectId id = s->j->classes[t->of].ids[i];
    *there = *all = 0;
    for (uint32_t m = 0; m < members->n && m < s->j->place_count[t->is->over]; m++) {
        SubjectId member = s->j->classes[t->is->over].ids[m];
        if (id != SUBJECT_ENGINE && !state_under(s->s, member, id)) continue;
        ++*all;
        *there += !(members->st[m] & V_MISSING);
    }
    return *all > 0;
}

SubjectId sheet_set(const Sheet *s, SubjectId id) {
    SubjectId up = s->j->subjects[id].up;
    bool set = up != SUBJECT_NONE && s->v->classes[s->j->subjects[up].cls].kind == CLASS_SET;
    return set ? up : SUBJECT_NONE;
}
