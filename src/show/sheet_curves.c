/* Curves (a value over a condition) and readings at several spots of one place, as small tables. */
#include "show/sheet_parts.h"

#include <math.h>

enum { ACROSS = 8 }; /* subjects that stand side by side; more stand below each other */

typedef struct Sampled { /* what was read on one subject */
    uint32_t i;          /* its position in the class */
    Curve curve;
} Sampled;

typedef struct Curves {
    Sheet *s;
    TagId tag;
    Sampled *sampled;
    uint32_t count;
    Str set;            /* whose items these are, where there are several sets; else empty */
    const Reading **at; /* one reading of each condition, by rising condition */
    uint32_t at_count, at_room;
} Curves;

static void note_condition(Curves *c, const Reading *r) {
    arena_grow(c->s->a, c->at, c->at_count, c->at_room);
    c->at[c->at_count++] = r;
}

static int by_condition(const void *pa, const void *pb) {
    const Reading *a = *(const Reading *const *)pa, *b = *(const Reading *const *)pb;
    if (a->at != b->at) return a->at < b->at ? -1 : 1;
    return a < b ? -1 : a > b; /* of one condition the first that was written counts */
}

static void sort_conditions(Curves *c) {
    uint32_t kept = 0;
    if (c->at_count) qsort(c->at, c->at_count, sizeof(const Reading *), by_condition);
    for (uint32_t i = 0; i < c->at_count; i++) {
        if (!kept || !same_condition(c->at[kept - 1]->at, c->at[i]->at)) c->at[kept++] = c->at[i];
    }
    c->at_count = kept;
}

/* A curve that is an older one moved to a single new point: that point is what was read. */
static bool only_point(const Curve *c, uint32_t reading) {
    return !(c->st & V_EXTENDED) || c->point == reading;
}

/* Those of the items of one set, or of all subjects that are of none. */
static Curves gather_curves(Sheet *s, TagId tag, SubjectId set) {
    const SubjectList *list = &s->j->classes[s->v->tags[tag].of];
    Curves c = {.s = s, .tag = tag, .sampled = arena_array(s->a, list->count + 1, sizeof(Sampled))};
    for (uint32_t i = 0; i < list->count; i++) {
        if (sheet_set(s, list->ids[i]) != set) continue;
        const Curve *curve = eval_curve(s->e, tag, i, F_TAG);
        if (curve->job != s->j || (curve->st & V_NOMINAL)) continue;
        if (curve->st & V_EXTENDED) note_condition(&c, &s->j->readings[curve->point]);
        for (uint32_t p = 0; p < curve->count && !(curve->st & V_EXTENDED); p++)
            note_condition(&c, &s->j->readings[curve->points[p].reading]);
        if (curve->count) c.sampled[c.count++] = (Sampled){i, *curve};
    }
    sort_conditions(&c);
    return c;
}

static Value point_value(const Curves *c, const Sampled *of, const Reading *at) {
    Sheet *s = c->s;
    uint32_t reading = NO_READING;
    if (of->curve.st & V_EXTENDED) reading = of->curve.point;
    const Point *p = curve_point(&of->curve, at->at);
    if (reading == NO_READING && p) reading = p->reading;
    if (reading == NO_READING || !only_point(&of->curve, reading)) return (Value){.text = STR("-")};
    const Reading *r = &s->j->readings[reading];
    if (!same_condition(r->at, at->at)) return (Value){.text = STR("-")};
    Value value = sheet_reading(s, s->j, r);
    value.text = sheet_mark(s, value.text, of->curve.st & V_EXTENDED);
    value.ref = sheet_ref(s, c->tag, of->i, reading);
    return value;
}

/* "@ 1.720 in", never broken over two lines; on a page, where tables stand beside each other, only
 * before the unit. */
static Str condition_heading(const Curves *c, const Reading *r) {
    Str text = say_condition(c->s->a, c->s->j, r, c->s->how->system);
    Str number = str_word(&text);
    return arena_printf(c->s->a, "@\xC2\xA0%.*s%s%.*s", STR_ARG(number),
                        c->s->page ? " " : "\xC2\xA0", STR_ARG(str_trim(text)));
}

static Str subject_of(const Curves *c, uint32_t n) {
    Sheet *s = c->s;
    ClassId of = s->v->tags[c->tag].of;
    if (of == CLASS_ENGINE) return s->v->tags[c->tag].name;
    return subject_name(s->j, s->j->classes[of].ids[c->sampled[n].i], s->a);
}

/* All conditions in one unit: it stands in the heading; else with each. */
static const Unit *condition_unit(const Curves *c) {
    for (uint32_t i = 1; i < c->at_count; i++) {
        if (c->at[i]->at_unit != c->at[0]->at_unit) return NULL;
    }
    const Unit *unit = c->at[0]->at_unit;
    return c->s->how->system == SYSTEM_NONE ? unit : unit_in(unit, c->s->how->system);
}

static Str condition_label(const Curves *c, uint32_t row, bool with_unit) {
    Str text = say_condition(c->s->a, c->s->j, c->at[row], c->s->how->system);
    return with_unit ? text : str_word(&text);
}

/* What stands in a table, column behind column, and the unit over each. */
typedef struct Body {
    Value *values;
    const Unit **units;
    uint32_t rows, columns;
} Body;

static Body body_new(Sheet *s, uint32_t rows, uint32_t columns) {
    return (Body){arena_array(s->a, (size_t)rows * columns + 1, sizeof(Value)),
                  arena_array(s->a, (size_t)columns + 1, sizeof(Unit *)), rows, columns};
}

/* The heading of the next column, all of whose values are there. */
static void body_column(Sheet *s, Body *b, Table *t, TagId tag, Str heading) {
    uint32_t column = t->column_count - 1; /* one is the label's */
    const Unit *unit = sheet_unit(s, tag, b->values + (size_t)column * b->rows, b->rows);
    b->units[column] = unit;
    table_column(
        t, (TableColumn){.heading = heading, .unit = str_from(unit->name), .align = ALIGN_POINT});
}

static void body_row(Sheet *s, const Body *b, Table *t, Str label) {
    uint32_t row = table_row(t);
    table_put(t, row, 0, label, TONE_PLAIN);
    for (uint32_t i = 0; i < b->columns; i++)
        table_put_cell(t, row, i + 1,
                       sheet_under(s, &b->values[(size_t)i * b->rows + row], b->units[i]));
}

/* A row a condition and a column a subject, or the other way about when there are many subjects. */
static void write_curves(const Curves *c) {
    Sheet *s = c->s;
    const Tag *tag = &s->v->tags[c->tag];
    bool across = c->count <= ACROSS && c->at_count > 3;
    uint32_t rows = across ? c->at_count : c->count, columns = across ? c->count : c->at_count;
    Table *t = table_new(s->a);
    Str corner = across ? tag->over_name : s->v->classes[tag->of].name;
    TableColumn label = {.heading = corner, .label = true};
    const Unit *of = across ? condition_unit(c) : NULL;
    if (across) {
        label.unit = str_from(of ? of->name : "");
        label.align = ALIGN_POINT;
    }
    table_column(t, label);
    Body body = body_new(s, rows, columns);
    for (uint32_t i = 0; i < columns; i++) {
        for (uint32_t row = 0; row < rows; row++)
            body.values[(size_t)i * rows + row] = across
                                                      ? point_value(c, &c->sampled[i], c->at[row])
                                                      : point_value(c, &c->sampled[row], c->at[i]);
        body_column(s, &body, t, c->tag,
                    across ? subject_of(c, i) : condition_heading(c, c->at[i]));
    }
    for (uint32_t row = 0; row < rows; row++)
        body_row(s, &body, t, across ? condition_label(c, row, !of) : subject_of(c, row));
    sheet_section(s, arena_printf(s->a, "%.*s over %.*s%s%.*s", STR_ARG(tag->name),
                                  STR_ARG(tag->over_name), c->set.n ? ", " : "", STR_ARG(c->set)));
    s->paper->table(s, t, 2);
}

/* A table a set, since the springs of another are read at other heights. */
static void write_sets(Sheet *s, TagId tag) {
    const SubjectList *list = &s->j->classes[s->v->tags[tag].of];
    Curves *all = arena_array(s->a, list->count + 1, sizeof *all);
    uint32_t n = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        SubjectId set = sheet_set(s, list->ids[i]);
        bool begun = false;
        for (uint32_t k = 0; k < i && !begun; k++)
            begun = sheet_set(s, list->ids[k]) == set;
        if (begun) continue;
        all[n] = gather_curves(s, tag, set);
        if (set != SUBJECT_NONE) all[n].set = subject_name(s->j, set, s->a);
        if (all[n].count && all[n].at_count) n++;
    }
    if (n == 1) all[0].set = (Str){0};
    for (uint32_t i = 0; i < n; i++)
        write_curves(&all[i]);
}

/* ---- spots -------------------------------------------------------------------------------------
 */

static Value spot_value(Sheet *s, TagId tag, SubjectId id, uint8_t spot) {
    uint32_t i = state_reading(s->s, tag, id, UINT32_MAX);
    uint32_t entry = i == NO_READING ? 0 : reading_entry(s->j, &s->j->readings[i]);
    for (; i != NO_READING; i = chain_prev(s->j, i)) {
        const Reading *r = &s->j->readings[i];
        if (reading_entry(s->j, r) != entry) break;
        if (!(r->flags & READ_SPOT) || r->at != spot || !sheet_counts(s, r)) continue;
        if (r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) continue;
        Value value = sheet_reading(s, s->j, r);
        if (r->flags & READ_SUSPECT) value.text = sheet_mark(s, value.text, V_SUSPECT);
        value.ref = sheet_ref(s, tag, s->s->index[id], i);
        return value;
    }
    return (Value){.text = STR("-")};
}

/* The subjects whose last reading says spots. */
static uint32_t spotted(const Sheet *s, TagId tag, SubjectId *out) {
    const SubjectList *list = &s->j->classes[s->v->tags[tag].of];
    uint32_t n = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        uint32_t own = state_reading(s->s, tag, list->ids[i], UINT32_MAX);
        if (own != NO_READING && (s->j->readings[own].flags & READ_SPOT)) out[n++] = list->ids[i];
    }
    return n;
}

static void write_spots(Sheet *s, TagId tag) {
    const Tag *t = &s->v->tags[tag];
    SubjectId *ids = arena_array(s->a, (size_t)s->j->classes[t->of].count + 1, sizeof *ids);
    uint32_t n = spotted(s, tag, ids);
    if (!n) return;
    Table *table = table_new(s->a);
    table_column(table, (TableColumn){.heading = s->v->classes[t->of].name, .label = true});
    Body body = body_new(s, n, t->spot_count);
    for (uint8_t spot = 0; spot < t->spot_count; spot++) {
        for (uint32_t row = 0; row < n; row++)
            body.values[(size_t)spot * n + row] = spot_value(s, tag, ids[row], spot);
        body_column(s, &body, table, tag, t->spots[spot]);
    }
    for (uint32_t row = 0; row < n; row++)
        body_row(s, &body, table, subject_name(s->j, ids[row], s->a));
    sheet_section(s, arena_printf(s->a, "%.*s by spot", STR_ARG(t->name)));
    s->paper->table(s, table, 2);
}

void sheet_curves(Sheet *s) {
    for (uint32_t tag = 0; tag < s->v->tag_count; tag++) {
        const Tag *t = &s->v->tags[tag];
        if (s->j->chain->row[tag] == CHAIN_NO_ROW) continue;
        if (t->spot_count) write_spots(s, (TagId)tag);
        if (t->has_curve) write_sets(s, (TagId)tag);
    }
}
