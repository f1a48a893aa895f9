/* The sheet as rows for other programs: readings, facts, computed values, what is missing, limits.
 */
#include "show/sheet_parts.h"

#include <math.h>

typedef enum Key {
    KEY_KIND,
    KEY_JOB,
    KEY_ENTRY,
    KEY_SUBJECT,
    KEY_TAG,
    KEY_VALUE,
    KEY_UNIT,
    KEY_TEXT,
    KEY_CORRECTED,
    KEY_AT_VALUE,
    KEY_AT_UNIT,
    KEY_AT_SPOT,
    KEY_STATE,
    KEY_NOMINAL,
    KEY_CARRIED,
    KEY_N,
    KEY_OF,
    KEY_BY,
    KEY_VERDICT,
    KEY_MARGIN,
    KEY_BECAUSE,
    KEY_FILE,
    KEY_LINE,
    KEYS
} Key;

static const TableColumn columns[KEYS] = {
    [KEY_KIND] = {.key = "kind"},
    [KEY_JOB] = {.key = "job"},
    [KEY_ENTRY] = {.key = "entry"},
    [KEY_SUBJECT] = {.key = "subject"},
    [KEY_TAG] = {.key = "tag"},
    [KEY_VALUE] = {.key = "value", .json = JSON_NUMBER},
    [KEY_UNIT] = {.key = "unit"},
    [KEY_TEXT] = {.key = "text"}, /* a fact's words; a number whose digits are no JSON number */
    [KEY_CORRECTED] = {.key = "corrected", .json = JSON_NUMBER}, /* for a gauge found off */
    [KEY_AT_VALUE] = {.key = "at.value", .json = JSON_NUMBER},
    [KEY_AT_UNIT] = {.key = "at.unit"},
    [KEY_AT_SPOT] = {.key = "at.spot"},
    [KEY_STATE] = {.key = "state"},
    [KEY_NOMINAL] = {.key = "nominal", .json = JSON_WORD},
    [KEY_CARRIED] = {.key = "carried", .json = JSON_WORD},
    [KEY_N] = {.key = "n", .json = JSON_NUMBER}, /* members of an aggregate that are there */
    [KEY_OF] = {.key = "of", .json = JSON_NUMBER},
    [KEY_BY] = {.key = "by"},
    [KEY_VERDICT] = {.key = "verdict"},
    [KEY_MARGIN] = {.key = "margin", .json = JSON_NUMBER},
    [KEY_BECAUSE] = {.key = "because"}, /* what is missing for it */
    [KEY_FILE] = {.key = "file"},
    [KEY_LINE] = {.key = "line", .json = JSON_NUMBER},
};

static void put(Table *t, uint32_t row, Key key, Str text) {
    table_put(t, row, (uint32_t)key, text, TONE_PLAIN);
}

static uint32_t start(Sheet *s, Table *t, Str kind, TagId tag, SubjectId id) {
    uint32_t row = table_row(t);
    put(t, row, KEY_KIND, kind);
    put(t, row, KEY_JOB, s->j->name);
    if (tag != TAG_NONE) put(t, row, KEY_TAG, s->v->tags[tag].name);
    if (id != SUBJECT_ENGINE) put(t, row, KEY_SUBJECT, subject_name(s->j, id, s->a));
    return row;
}

static void put_place(Sheet *s, Table *t, uint32_t row, const Source *source, uint32_t off) {
    put(t, row, KEY_FILE, source->path);
    put(t, row, KEY_LINE, arena_printf(s->a, "%u", sheet_line(s, source, off)));
}

static void put_entry(Sheet *s, Table *t, uint32_t row, uint32_t entry) {
    int32_t day = s->j->entries[entry].date.day;
    if (day != DAY_NONE) put(t, row, KEY_ENTRY, sheet_date(s, day));
}

/* ---- readings and facts
 * ---------------------------------------------------------------------------- */

/* The digits as written as a number; where JSON has no such number, its value and the text. */
static void put_digits(Sheet *s, Table *t, uint32_t row, Str digits) {
    Buf number = {0};
    bool plain = json_reading(&number, digits);
    put(t, row, KEY_VALUE, arena_str(s->a, buf_str(&number)));
    if (!plain) put(t, row, KEY_TEXT, digits);
    buf_release(&number);
}

static const Unit *shown_in(const Sheet *s, const Unit *unit) {
    return s->how->system == SYSTEM_NONE ? unit : unit_in(unit, s->how->system);
}

static void put_condition(Sheet *s, Table *t, uint32_t row, const Reading *r) {
    if (isnan(r->at)) return;
    Str text = say_condition(s->a, s->j, r, s->how->system);
    if (r->flags & READ_SPOT) {
        put(t, row, KEY_AT_SPOT, text);
        return;
    }
    put(t, row, KEY_AT_VALUE, str_word(&text));
    put(t, row, KEY_AT_UNIT, str_from(shown_in(s, r->at_unit)->name));
}

static Str state_of(const Reading *r) {
    if (r->flags & READ_STRUCK) return STR("struck");
    if (r->flags & READ_REPLACED) return STR("replaced");
    if (r->flags & READ_REPEATED) return STR("repeat");
    return r->flags & READ_SUSPECT ? STR("suspect") : STR("ok");
}

static void reading_row(Sheet *s, Table *t, const Reading *r) {
    bool number = !(r->flags & READ_WORDS) && r->unit;
    uint32_t row = start(s, t, number ? STR("reading") : STR("fact"), r->tag, r->subject);
    put_entry(s, t, row, r->entry);
    put_place(s, t, row, s->j->sources[r->source], r->off);
    put(t, row, KEY_STATE, state_of(r));
    if (!number) {
        put(t, row, KEY_TEXT, reading_text(s->j, r));
        return;
    }
    const Unit *unit = shown_in(s, r->unit);
    put(t, row, KEY_UNIT, str_from(unit->name));
    if (unit == r->unit) {
        put_digits(s, t, row, reading_text(s->j, r));
        if (r->flags & READ_GAUGED)
            put(t, row, KEY_CORRECTED, say_reading(s->a, s->j, r, s->how->system, false));
    } else {
        put(t, row, KEY_VALUE, say_reading(s->a, s->j, r, s->how->system, false));
    }
    put_condition(s, t, row, r);
}

static TagId carrier_tag(const Sheet *s, ClassId cls) {
    for (uint32_t i = 0; i < s->v->tag_count; i++) {
        if (s->v->tags[i].kind == TAG_CARRIER &&
            str_eq(s->v->tags[i].name, s->v->classes[cls].name))
            return (TagId)i;
    }
    return TAG_NONE;
}

/* What was put where is a fact too. */
static void event_row(Sheet *s, Table *t, const Event *e) {
    const Subject *subject = &s->j->subjects[e->subject];
    uint32_t row;
    if (e->kind == EVENT_PLACE && subject->number) {
        TagId tag = s->v->classes[subject->cls].placement[e->slot - s->j->slot_base[subject->cls]];
        row = start(s, t, STR("fact"), tag, e->subject2);
        put(t, row, KEY_TEXT, subject_name(s->j, e->subject, s->a));
    } else if (e->kind == EVENT_CARRY && subject->kind == SUBJECT_CARRIER &&
               e->subject2 != SUBJECT_NONE && s->j->subjects[e->subject2].kind == SUBJECT_BANK) {
        row = start(s, t, STR("fact"), carrier_tag(s, subject->cls), e->subject);
        put(t, row, KEY_TEXT, subject_name(s->j, e->subject2, s->a));
    } else {
        return;
    }
    put_entry(s, t, row, e->entry);
    put_place(s, t, row, s->j->sources[e->source], e->span.off);
    put(t, row, KEY_STATE, STR("ok"));
}

/* Those of the log itself, in the order of the file. */
static void written_rows(Sheet *s, Table *t) {
    uint32_t e = 0;
    for (uint32_t i = 0; i <= s->j->reading_count; i++) {
        for (; e < s->j->event_count && s->j->events[e].before <= i; e++) {
            const Event *event = &s->j->events[e];
            if (!event->source && entry_counts(s->s, event->entry)) event_row(s, t, event);
        }
        if (i == s->j->reading_count) break;
        const Reading *r = &s->j->readings[i];
        if (!r->source && sheet_counts(s, r)) reading_row(s, t, r);
    }
}

/* ---- computed values
 * ------------------------------------------------------------------------------- */

static Str computed_state(uint8_t st) {
    if (st & V_NOMINAL) return STR("nominal");
    if (st & V_CARRIED) return STR("carried");
    if (st & V_EXTENDED) return STR("extended");
    return st & V_PARTIAL ? STR("partial") : STR("ok");
}

static void computed_row(Sheet *s, Table *t, TagId tag, uint32_t i) {
    const Col *c = eval_tag(s->e, tag);
    SubjectId id = s->j->classes[s->v->tags[tag].of].ids[i];
    uint8_t st = c->st[i];
    uint32_t row = start(s, t, STR("computed"), tag, id);
    Shown how = say_unit(s->j, tag, s->how->system);
    put(t, row, KEY_VALUE, sheet_number(s, tag, id, c->v[i], false));
    put(t, row, KEY_UNIT, str_from(how.unit->name));
    put(t, row, KEY_STATE, computed_state(st));
    if (st & V_NOMINAL) put(t, row, KEY_NOMINAL, STR("true"));
    if (st & (V_CARRIED | V_EXTENDED)) put(t, row, KEY_CARRIED, STR("true"));
    uint32_t there, all;
    if (!(st & V_PARTIAL) || !sheet_members(s, tag, i, &there, &all)) return;
    put(t, row, KEY_N, arena_printf(s->a, "%u", there));
    put(t, row, KEY_OF, arena_printf(s->a, "%u", all));
}

static void missing_row(Sheet *s, Table *t, TagId tag, uint32_t i) {
    const Col *c = eval_tag(s->e, tag);
    uint32_t row = start(s, t, STR("missing"), tag, s->j->classes[s->v->tags[tag].of].ids[i]);
    if (c->st[i] & V_SUSPECT)
        put(t, row, KEY_STATE, STR("suspect"));
    else if (c->from[i] < s->v->tag_count)
        put(t, row, KEY_BECAUSE, s->v->tags[c->from[i]].name);
}

typedef struct Touch {
    const Job *j;
    bool read;
} Touch;

static void touch(void *ctx, TagId tag) {
    Touch *t = ctx;
    if (t->j->chain->row[tag] != CHAIN_NO_ROW) t->read = true;
}

/* Missing values are told of tags whose formula has at least one input that the log reads. */
static bool is_touched(const Sheet *s, const Tag *tag) {
    Touch t = {s->j, false};
    formula_inputs(tag->is, touch, &t);
    return t.read;
}

static void computed_rows(Sheet *s, Table *t) {
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        const Tag *k = &s->v->tags[tag];
        if (!k->is || k->has_curve || k->kind != TAG_NUMBER) continue;
        const Col *c = eval_tag(s->e, (TagId)tag);
        bool touched = is_touched(s, k);
        for (uint32_t i = 0; i < c->n; i++) {
            if (!(c->st[i] & (V_MISSING | V_READ)) || (c->st[i] & V_NOMINAL))
                computed_row(s, t, (TagId)tag, i);
            else if ((c->st[i] & V_MISSING) && touched)
                missing_row(s, t, (TagId)tag, i);
        }
    }
}

/* ---- limits
 * ---------------------------------------------------------------------------------------- */

static Str verdict_name(const Verdict *v) {
    if (v->kind == VERDICT_BROKEN) return v->accepted ? STR("accepted") : STR("broken");
    return v->kind == VERDICT_UNJUDGED ? STR("unjudged") : STR("holds");
}

static void limit_row(Sheet *s, Table *t, const Verdict *v) {
    const Force *f = v->force;
    uint32_t row = start(s, t, STR("limit"), f->tag, v->subject);
    put(t, row, KEY_BY, f->by);
    put(t, row, KEY_VERDICT, verdict_name(v));
    put(t, row, KEY_TEXT, say_range(s->a, f));
    if (f->shop)
        put_place(s, t, row, f->shop->where, f->shop->span.off);
    else
        put_place(s, t, row, f->owner->sources[f->event->source], f->event->span.off);
    if (v->kind == VERDICT_UNJUDGED) {
        if (v->missing != TAG_NONE) put(t, row, KEY_BECAUSE, s->v->tags[v->missing].name);
        return;
    }
    Shown how = say_unit(s->j, f->tag, s->how->system);
    put(t, row, KEY_UNIT, str_from(how.unit->name));
    if (v->kind == VERDICT_BROKEN)
        how.places = places_to_tell(how.unit, v->value, v->bound, how.places);
    put(t, row, KEY_VALUE, say_number(s->a, how, v->value, false));
    put(t, row, KEY_MARGIN, say_difference(s->a, how, v->margin, false));
    put(t, row, KEY_STATE,
        v->kind == VERDICT_NOMINAL  ? STR("nominal")
        : v->kind == VERDICT_SO_FAR ? STR("partial")
                                    : STR("ok"));
}

Table *sheet_rows(Sheet *s) {
    Table *t = table_new(s->a);
    for (int i = 0; i < KEYS; i++)
        table_column(t, columns[i]);
    written_rows(s, t);
    computed_rows(s, t);
    for (uint32_t i = 0; i < s->verdicts.count; i++)
        limit_row(s, t, &s->verdicts.items[i]);
    return t;
}
