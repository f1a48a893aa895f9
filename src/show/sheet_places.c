/*
 * The values, class of place by class of place, as a builder lays the engine out: a row a place,
 * with what sits there, and a table for each group of the vocabulary. What is the same at every
 * place is said once above its table. Items that sit nowhere have tables of their own.
 */
#include "base/utf8.h"
#include "show/sheet_parts.h"

enum { ROWS_SAME = 3 }; /* so many alike are said once */

/* What the tables of one class have in common. */
typedef struct Layout {
    Sheet *s;
    ClassId cls;
    const uint32_t *rows; /* positions in the class, in the order they are shown */
    uint32_t count;
    ClassId item;  /* of a table of items: the class itself; else CLASS_NONE */
    SubjectId set; /* whose items these are, where there are several sets; else SUBJECT_NONE */
} Layout;

typedef struct Content { /* one column of it */
    TagId tag;           /* of a placement: its tag */
    Value *cells;
    const Unit *unit; /* what the heading over them says; NULL over words */
} Content;

/* ---- rows --------------------------------------------------------------------------------------
 */

static int letter_rank(const Class *k, char letter) {
    for (int i = 0; k->letters[i]; i++) {
        if (k->letters[i] == letter) return i;
    }
    return 0;
}

/* I1 E1 I2 E2 ...: as one walks along the engine. What stands on a head comes behind. */
static bool comes_before(const Sheet *s, const Class *k, SubjectId a, SubjectId b) {
    const Subject *x = &s->j->subjects[a], *y = &s->j->subjects[b];
    if (x->kind != y->kind) return x->kind < y->kind;
    if (x->up != y->up && (x->kind == SUBJECT_CARRIED || x->kind == SUBJECT_ITEM))
        return x->up < y->up;
    if (x->number != y->number) return x->number < y->number;
    int first = letter_rank(k, x->letter), second = letter_rank(k, y->letter);
    return first != second ? first < second : x->suffix < y->suffix;
}

static void sort_rows(const Sheet *s, ClassId cls, uint32_t *rows, uint32_t n) {
    const Class *k = &s->v->classes[cls];
    const SubjectId *ids = s->j->classes[cls].ids;
    for (uint32_t i = 1; i < n; i++) {
        uint32_t row = rows[i], at = i;
        for (; at > 0 && comes_before(s, k, ids[row], ids[rows[at - 1]]); at--)
            rows[at] = rows[at - 1];
        rows[at] = row;
    }
}

static bool sits_at_row(const Sheet *s, SubjectId item) {
    SubjectId place = s->s->sits_at ? s->s->sits_at[item] : SUBJECT_NONE;
    bool many = false;
    return place != SUBJECT_NONE && s->j->subjects[place].kind == SUBJECT_PLACE &&
           state_item_at(s->s, s->j->subjects[item].cls, place, &many) == item;
}

/* A head's place that has come to sit at a cylinder is shown there; an item at its place. */
static bool has_row(const Sheet *s, SubjectId id) {
    const Subject *subject = &s->j->subjects[id];
    if (subject->kind == SUBJECT_CARRIED)
        return !s->s->carried || s->s->carried[id] == SUBJECT_NONE;
    if (subject->kind == SUBJECT_ITEM) return !sits_at_row(s, id);
    return true;
}

static Layout lay_rows(Sheet *s, ClassId cls) {
    const SubjectList *list = &s->j->classes[cls];
    uint32_t *rows = arena_array(s->a, list->count + 1, sizeof *rows), n = 0;
    for (uint32_t i = 0; i < list->count; i++) {
        if (has_row(s, list->ids[i])) rows[n++] = i;
    }
    sort_rows(s, cls, rows, n);
    bool item = s->v->classes[cls].kind == CLASS_ITEM;
    return (Layout){s, cls, rows, n, item ? cls : CLASS_NONE, SUBJECT_NONE};
}

static SubjectId set_of(const Layout *l, uint32_t row) {
    return sheet_set(l->s, l->s->j->classes[l->cls].ids[l->rows[row]]);
}

/* Cuts the rows of the next set off the front of `rest`: the rows of a set stand together. Items of
 * several sets share little, and what those of one set share is said once. */
static Layout next_set(Layout *rest) {
    Layout l = *rest;
    uint32_t n = 1;
    while (n < rest->count && set_of(rest, n) == set_of(rest, 0))
        n++;
    l.set = n < rest->count || rest->set != SUBJECT_NONE ? set_of(rest, 0) : SUBJECT_NONE;
    l.count = n;
    rest->set = l.set;
    rest->rows += n;
    rest->count -= n;
    return l;
}

/* ---- columns
 * ------------------------------------------------------------------------------------- */

static bool blank_cell(Str text) {
    return !text.n || str_eq(text, STR("-"));
}

static bool any_said(const Value *cells, uint32_t n) {
    for (uint32_t i = 0; i < n; i++) {
        if (!blank_cell(cells[i].text)) return true;
    }
    return false;
}

static bool all_same(const Value *cells, uint32_t n) {
    if (n < ROWS_SAME) return false;
    for (uint32_t i = 1; i < n; i++) {
        if (!str_eq(cells[i].text, cells[0].text) || cells[i].unit != cells[0].unit) return false;
    }
    return true;
}

/* Whether tags of this class belong into the layout's tables, on the place or on what sits there.
 */
static bool shows_class(const Layout *l, ClassId of) {
    if (of == l->cls) return true;
    const Class *k = &l->s->v->classes[of];
    return k->kind == CLASS_ITEM && k->up == l->cls && l->item == CLASS_NONE;
}

static Value value_cell(Sheet *s, TagId tag, uint32_t i) {
    Value value = sheet_value(s, tag, i);
    value.ref = sheet_ref(s, tag, i, NO_READING);
    return value;
}

static Value *tag_cells(const Layout *l, TagId tag) {
    Sheet *s = l->s;
    const Tag *t = &s->v->tags[tag];
    Value *cells = arena_array(s->a, l->count, sizeof *cells);
    for (uint32_t i = 0; i < l->count; i++) {
        uint32_t at = eval_related(s->e, l->cls, t->of, l->rows[i]);
        if (at == UINT32_MAX)
            cells[i] = (Value){.text = STR("-"), .tone = TONE_DIM};
        else
            cells[i] = value_cell(s, tag, at);
    }
    return cells;
}

static Value *placement_cells(const Layout *l, ClassId item, uint8_t slot) {
    Sheet *s = l->s;
    Value *cells = arena_array(s->a, l->count, sizeof *cells);
    for (uint32_t i = 0; i < l->count && s->s->here; i++) {
        SubjectId place = s->j->classes[l->cls].ids[l->rows[i]];
        size_t at = (size_t)place * HERE_MOST + s->j->slot_base[item] + slot;
        SubjectId here = s->s->here[at];
        if (here != SUBJECT_NONE && s->j->subjects[here].number)
            cells[i].text = subject_name(s->j, here, s->a);
    }
    return cells;
}

static bool column_for(const Sheet *s, const Tag *t) {
    return !sheet_skips(s, t) && !t->has_curve;
}

static const Unit *unit_over(const Layout *l, TagId tag, const Value *cells) {
    if (l->s->v->tags[tag].kind != TAG_NUMBER) return NULL;
    return sheet_unit(l->s, tag, cells, l->count);
}

/* The columns of one group that have anything to say, in the order of the vocabulary. */
static uint32_t gather(const Layout *l, uint16_t group, Content *out) {
    const Vocab *v = l->s->v;
    bool placed[CLASS_MOST] = {0};
    uint32_t n = 0;
    for (uint32_t tag = 0; tag < v->tag_count; tag++) {
        const Tag *t = &v->tags[tag];
        if (l->s->groups.of[tag] != group || !shows_class(l, t->of) || !column_for(l->s, t))
            continue;
        const Class *k = &v->classes[t->of];
        if (t->of != l->cls && !placed[t->of]) {
            placed[t->of] = true;
            for (uint8_t slot = 0; slot < k->slot_count; slot++) {
                Value *cells = placement_cells(l, t->of, slot);
                if (any_said(cells, l->count))
                    out[n++] = (Content){k->placement[slot], cells, NULL};
            }
        }
        Value *cells = tag_cells(l, (TagId)tag);
        if (any_said(cells, l->count))
            out[n++] = (Content){(TagId)tag, cells, unit_over(l, (TagId)tag, cells)};
    }
    return n;
}

/* ---- writing
 * -------------------------------------------------------------------------------------- */

static Str row_name(const Layout *l, uint32_t row) {
    Sheet *s = l->s;
    return subject_name(s->j, s->j->classes[l->cls].ids[l->rows[row]], s->a);
}

/* A name and a value a row. */
static Table *pairs(Sheet *s) {
    Table *t = table_new(s->a);
    table_column(t, (TableColumn){.label = true});
    table_column(t, (TableColumn){0});
    return t;
}

static void put_pair(Sheet *s, Table *t, const Content *content) {
    uint32_t row = table_row(t);
    table_put(t, row, 0, s->v->tags[content->tag].name, TONE_PLAIN);
    table_put_cell(t, row, 1, sheet_under(s, &content->cells[0], NULL));
}

static void write_same(const Layout *l, const Content *contents, uint32_t n) {
    Table *t = pairs(l->s);
    for (uint32_t i = 0; i < n; i++) {
        if (all_same(contents[i].cells, l->count)) put_pair(l->s, t, &contents[i]);
    }
    if (t->row_count) l->s->paper->facts(l->s, arena_printf(l->s->a, "all %u:", l->count), t);
}

/* Whether an item of the layout sits somewhere all the same: two at one place have no row there. */
static bool any_seated(const Layout *l) {
    for (uint32_t i = 0; i < l->count && l->s->s->sits_at; i++) {
        if (l->s->s->sits_at[l->s->j->classes[l->cls].ids[l->rows[i]]] != SUBJECT_NONE) return true;
    }
    return false;
}

static Str fate_of(const Layout *l, uint32_t row) {
    Sheet *s = l->s;
    SubjectId id = s->j->classes[l->cls].ids[l->rows[row]];
    if (s->s->scrapped && s->s->scrapped[id])
        return arena_printf(s->a, "scrapped: %.*s", STR_ARG(s->s->scrapped[id]->text));
    SubjectId place = s->s->sits_at ? s->s->sits_at[id] : SUBJECT_NONE;
    if (place == SUBJECT_NONE) return STR("spare");
    return arena_printf(s->a, "at %.*s", STR_ARG(subject_name(s->j, place, s->a)));
}

static bool says_something(const Layout *l, const Content *contents, uint32_t n, uint32_t i) {
    for (uint32_t c = 0; c < n; c++) {
        if (!all_same(contents[c].cells, l->count) && !blank_cell(contents[c].cells[i].text))
            return true;
    }
    return false;
}

static void write_row(const Layout *l, Table *t, const Content *contents, uint32_t n, uint32_t i) {
    uint32_t row = table_row(t), at = 0;
    table_put(t, row, at++, row_name(l, i), TONE_PLAIN);
    if (l->item != CLASS_NONE) table_put(t, row, at++, fate_of(l, i), TONE_PLAIN);
    for (uint32_t c = 0; c < n; c++) {
        if (all_same(contents[c].cells, l->count)) continue;
        Cell cell = sheet_under(l->s, &contents[c].cells[i], contents[c].unit);
        if (!cell.text.n) cell.text = STR("-");
        table_put_cell(t, row, at++, cell);
    }
}

static void write_table(const Layout *l, const Content *contents, uint32_t n) {
    Sheet *s = l->s;
    Table *t = table_new(s->a);
    table_column(t, (TableColumn){.heading = s->v->classes[l->cls].name, .label = true});
    if (l->item != CLASS_NONE) table_column(t, (TableColumn){.label = true});
    for (uint32_t i = 0; i < n; i++) {
        const Tag *tag = &s->v->tags[contents[i].tag];
        if (all_same(contents[i].cells, l->count)) continue;
        const Unit *unit = contents[i].unit;
        Align align = tag->kind == TAG_NUMBER ? ALIGN_POINT : ALIGN_LEFT;
        table_column(t, (TableColumn){.heading = tag->name,
                                      .unit = str_from(unit ? unit->name : ""),
                                      .align = align,
                                      .says = tag->says});
    }
    uint32_t labels = l->item != CLASS_NONE ? 2 : 1;
    if (t->column_count == labels) return;
    for (uint32_t i = 0; i < l->count; i++) {
        if (labels == 2 || says_something(l, contents, n, i)) write_row(l, t, contents, n, i);
    }
    s->paper->table(s, t, 2);
}

/* One subject alone: a line a value. */
static void write_list(const Layout *l, const Content *contents, uint32_t n) {
    Sheet *s = l->s;
    Table *t = pairs(s);
    for (uint32_t i = 0; i < n; i++) {
        if (!blank_cell(contents[i].cells[0].text)) put_pair(s, t, &contents[i]);
    }
    s->paper->table(s, t, 2);
}

static Str capital(Sheet *s, Str text) {
    Str copy = arena_printf(s->a, "%.*s", STR_ARG(text));
    if (copy.n && copy.p[0] >= 'a' && copy.p[0] <= 'z')
        copy = arena_printf(s->a, "%c%.*s", copy.p[0] - 32, STR_ARG(str_skip(copy, 1)));
    return copy;
}

static Str set_name(const Layout *l) {
    return l->set == SUBJECT_NONE ? str_none : subject_name(l->s->j, l->set, l->s->a);
}

static void write_group(const Layout *l, Str group, const Content *contents, uint32_t n) {
    Sheet *s = l->s;
    const Class *k = &s->v->classes[l->cls];
    Str title;
    if (l->cls == CLASS_ENGINE)
        title = capital(s, group);
    else if (l->item != CLASS_NONE)
        title = arena_printf(s->a, "%.*s%s%.*s %s: %.*s", STR_ARG(capital(s, k->plural)),
                             l->set == SUBJECT_NONE ? "" : " ", STR_ARG(set_name(l)),
                             any_seated(l) ? "one by one" : "fitted nowhere", STR_ARG(group));
    else if (l->count == 1)
        title = arena_printf(s->a, "%.*s %.*s: %.*s", STR_ARG(capital(s, k->name)),
                             STR_ARG(row_name(l, 0)), STR_ARG(group));
    else
        title = arena_printf(s->a, "%.*s: %.*s", STR_ARG(capital(s, k->plural)), STR_ARG(group));
    sheet_section(s, title);
    if (l->count == 1 && l->item == CLASS_NONE) {
        write_list(l, contents, n);
        return;
    }
    write_same(l, contents, n);
    write_table(l, contents, n);
}

/* About how wide the columns of a group come out. */
static size_t width_of(const Layout *l, const Content *contents, uint32_t n) {
    enum { GAP = 2 };
    size_t wide = 0;
    for (uint32_t c = 0; c < n; c++) {
        if (all_same(contents[c].cells, l->count)) continue;
        size_t most = 0;
        for (uint32_t i = 0; i < l->count; i++) {
            size_t w = utf8_width(sheet_under(l->s, &contents[c].cells[i], contents[c].unit).text);
            if (w > most) most = w;
        }
        for (Str rest = l->s->v->tags[contents[c].tag].name, word; (word = str_word(&rest)).n;)
            if (word.n > most) most = word.n;
        wide += most + GAP;
    }
    return wide;
}

/* Small groups stand in one table where the paper wants that, in their order. */
static void write_groups(const Layout *l) {
    const Vocab *v = l->s->v;
    size_t room = l->cls == CLASS_ENGINE || l->count == 1 ? 0 : l->s->paper->joined, wide = 0;
    Content *contents =
        arena_array(l->s->a, (size_t)v->tag_count + CLASS_MOST * SLOT_MOST, sizeof *contents);
    Content *next =
        arena_array(l->s->a, (size_t)v->tag_count + CLASS_MOST * SLOT_MOST, sizeof *next);
    Str title = {0};
    uint32_t n = 0;
    for (uint16_t i = 0; i < l->s->groups.count; i++) {
        uint32_t more = gather(l, i, next);
        if (!more) continue;
        Str group = l->s->groups.names[i];
        size_t w = width_of(l, next, more);
        if (n && wide + w > room) {
            write_group(l, title, contents, n);
            n = 0;
        }
        title = n ? arena_printf(l->s->a, "%.*s, %.*s", STR_ARG(title), STR_ARG(group)) : group;
        wide = n ? wide + w : w;
        memcpy(contents + n, next, more * sizeof *next);
        n += more;
    }
    if (n) write_group(l, title, contents, n);
}

static void write_class(Sheet *s, ClassId cls) {
    Layout all = lay_rows(s, cls);
    while (all.count) {
        Layout l = all;
        if (all.item != CLASS_NONE)
            l = next_set(&all);
        else
            all.count = 0;
        write_groups(&l);
    }
}

void sheet_lists(Sheet *s) {
    write_class(s, CLASS_ENGINE);
}

void sheet_places(Sheet *s) {
    static const ClassKind order[] = {CLASS_CARRIER, CLASS_BANK, CLASS_PLACE, CLASS_SET,
                                      CLASS_ITEM};
    for (size_t i = 0; i < sizeof order / sizeof order[0]; i++) {
        for (uint8_t c = 0; c < s->v->class_count; c++) {
            if (c != CLASS_ENGINE && s->v->classes[c].kind == order[i]) write_class(s, c);
        }
    }
}
