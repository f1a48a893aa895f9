/*
 * Grids: a head with a quantity a column, then a row a place. A corner cell `@ lift in` turns it:
 * rows are the points of curves, columns say quantity and subject.
 */
#include "compute/bind.h"

#include <math.h>

static bool starts_value(Str cell) {
    char c = cell.n ? cell.p[0] : 0;
    return is_digit(c) || c == '.' || c == '#' ||
           ((c == '-' || c == '+') && (cell.n == 1 || !is_alpha(cell.p[1])));
}

/* A head's first cell names no place, and none of its cells starts like a value. */
static bool is_head(const Binder *b, const GridRow *row) {
    for (uint32_t i = 0; i < row->count && i < CELLS_MOST; i++) {
        if (starts_value(row->cells[i].text)) return false;
    }
    Str first = row->cells[0].text;
    return (first.n && first.p[0] == '@') || !looks_like_subject(b, first);
}

/* ---- the head -------------------------------------------------------------------------------- */

static bool head_fault(Binder *b, Str cell, const char *text) {
    fault(b, GRID_HEAD, cell, "the column `%.*s` cannot be read: %s; its values are not read",
          STR_ARG(cell), text);
    return false;
}

/* The last words of a head's cell may be a unit: `bind height in`, `spring load lbf`. */
static Str cut_unit(Str *rest, Dim dim, const Unit **unit) {
    for (unsigned words = 2; words >= 1; words--) {
        size_t at = rest->n;
        unsigned found = 0;
        while (at > 0 && found < words) {
            while (at > 0 && is_blank(rest->p[at - 1]))
                at--;
            while (at > 0 && !is_blank(rest->p[at - 1]))
                at--;
            found++;
        }
        if (found < words) continue;
        Str text = str_trim(str_skip(*rest, at));
        const Unit *u = text.n ? unit_find(text, dim) : NULL;
        if (!u) continue;
        *unit = u;
        *rest = str_trim((Str){rest->p, at});
        return text;
    }
    return (Str){0};
}

static bool head_condition(Binder *b, const Tag *tag, Str *rest, Column *col) {
    size_t at = str_find_char(*rest, '@', 0);
    if (at == SIZE_MAX) return true;
    if (!tag->has_curve) {
        fault(b, CONDITION_UNWANTED, *rest, "`%.*s` is one value, not a curve: leave the @ out",
              STR_ARG(tag->name));
        return false;
    }
    Str text = str_trim(str_skip(*rest, at + 1));
    if (!read_quantity(b, text, tag->over->dim, default_condition_unit(b, tag), &col->as.at,
                       &col->as.at_unit))
        return false;
    Number n;
    number_read(text, &n);
    col->as.at_off = span_of(b, text).off;
    col->as.at_len = n.len;
    *rest = str_trim((Str){rest->p, at});
    return true;
}

/* `@ lift in` over a column of spring loads, which run over height: both are lengths. */
static bool other_curve(const Binder *b, const Tag *tag) {
    Str said = b->grid->corner_name;
    if (!said.n || str_ieq(said, tag->over_name)) return false;
    for (TagId id = 0; id < b->v->tag_count; id++) {
        const Tag *other = &b->v->tags[id];
        if (other->has_curve && str_ieq(said, other->over_name)) return true;
    }
    return false;
}

/* Under a corner each column is the curve of one subject, over what the corner says. */
static bool corner_subject(Binder *b, const Tag *tag, Str cell, Str rest, Column *col) {
    if (col->as.at_unit)
        return head_fault(b, cell, "the condition stands in the first column, and again here");
    if (other_curve(b, tag))
        return head_fault(b, cell, "its curve runs over something else than the corner says");
    if (!read_subjects(b, tag->of, rest, &col->subjects)) return false;
    return col->subjects.count == 1 ||
           head_fault(b, cell, "a column is for one place, and this names several");
}

static bool head_number(Binder *b, const Tag *tag, Str cell, Str rest, Column *col) {
    if (!head_condition(b, tag, &rest, col)) return false;
    Str unit = rest.n ? cut_unit(&rest, tag->dim, &col->as.unit) : (Str){0};
    if (unit.n && col->as.unit->dim != tag->dim) {
        read_unit(b, unit, tag->dim, "the column", tag->name); /* says what is wrong */
        return false;
    }
    col->as.flags = READ_UNIT_WRITTEN;
    if (!unit.n) col->as.unit = default_unit(b, col->as.tag, &col->as.flags);
    for (uint8_t i = 0; i < tag->spot_count && rest.n; i++) {
        if (!str_ieq(rest, tag->spots[i])) continue;
        col->as.flags |= READ_SPOT;
        col->as.at = i;
        rest.n = 0;
    }
    if (b->grid->corner) {
        if (!tag->has_curve)
            return head_fault(b, cell, "rows are the points of curves here, and this is no curve");
        if (tag->over->dim != b->grid->corner_unit->dim)
            return head_fault(b, cell, "its curve runs over something else than the corner says");
        return corner_subject(b, tag, cell, rest, col);
    }
    if (rest.n)
        return head_fault(b, rest, "this is neither a unit of it, nor a condition, nor a spot");
    if (tag->has_curve && isnan(col->as.at))
        return head_fault(b, cell, "a point of a curve needs its condition, as `@ 1.720 in`");
    return true;
}

/* Whether rows of class `rows` can have a column of what is measured on `of`: the same, what sits
 * there, or where it sits. Row 3 of a grid of cylinders must not become main 3. */
static bool column_fits(const Vocab *v, ClassId rows, ClassId of) {
    const Class *r = &v->classes[rows], *o = &v->classes[of];
    ClassId row_place = r->kind == CLASS_ITEM ? r->up : rows;
    ClassId place = o->kind == CLASS_ITEM ? o->up : of;
    return row_place == place;
}

static bool read_column(Binder *b, Str cell, Column *col) {
    Str rest;
    *col = (Column){.item = CLASS_NONE,
                    .as = {.value = NAN,
                           .at = NAN,
                           .tag = match_name(b, cell, &rest),
                           .entry = b->entry, /* a grid ends with its entry */
                           .source = b->source_index}};
    if (col->as.tag == TAG_NONE) {
        if (!cell.n) {
            fault(b, GRID_HEAD, b->line.body, "a column of this head has no name");
            return false;
        }
        Str hint = vocab_near(b->v, cell, b->job->arena);
        fault(b, UNKNOWN_TAG, cell,
              "the column `%.*s` is no name the vocabulary has%.*s; its values are not read",
              STR_ARG(cell), STR_ARG(hint));
        return false;
    }
    const Tag *tag = &b->v->tags[col->as.tag];
    bool placed = tag->kind == TAG_PLACEMENT;
    col->of = tag->of;
    col->numbers = tag->kind == TAG_NUMBER && !b->grid->corner;
    if (!b->grid->corner && !placed && !column_fits(b->v, b->grid->rows, tag->of))
        return head_fault(b, cell, "it is not measured on what the rows are");
    switch (tag->kind) {
    case TAG_NUMBER: return head_number(b, tag, cell, rest, col);
    case TAG_PLACEMENT: col->item = item_class_of(b, col->as.tag, &col->slot); break;
    case TAG_WORDS:
    case TAG_CHOICE: break;
    default: return head_fault(b, cell, "write such a fact on a line of its own");
    }
    return rest.n == 0 || head_fault(b, rest, "there is something left behind the name");
}

/* The head's first cell: what the rows are. */
static bool read_rows(Binder *b, Str cell) {
    b->grid->rows = vocab_class(b->v, cell);
    if (b->grid->rows != CLASS_NONE) return true;
    fault(b, GRID_HEAD, cell.n ? cell : b->line.body,
          "a grid's head begins with what its rows are, as valve, spring or cylinder; its rows are "
          "not read");
    return false;
}

static bool read_corner(Binder *b, Str cell) {
    b->grid->corner = false;
    if (!cell.n || cell.p[0] != '@') return read_rows(b, cell);
    Str rest = str_trim(str_skip(cell, 1));
    const Unit *u = NULL;
    cut_unit(&rest, DIM_NUMBER, &u);
    b->grid->corner = true;
    b->grid->corner_unit = u;
    b->grid->corner_name = rest;
    bool number = false; /* `@ 1.720 in` is a condition, and no name */
    for (size_t i = 0; i < rest.n; i++)
        number |= is_digit(rest.p[i]);
    if (u && !number) return true;
    fault(b, GRID_HEAD, cell,
          "write the corner as `@ lift in`: what the rows run over, and its unit; the rows are not "
          "read");
    return false;
}

static void next_grid(Binder *b) {
    Grid *g = &b->grids[b->grid_next++ % GRIDS_KEPT];
    *g = (Grid){.on = true, .about = CLASS_NONE, .columns = g->columns, .room = g->room};
    b->grid = g;
}

/* A head that was read without a fault need not be read again where it means the same. Under a
 * corner it may name subjects, which are to be found or made anew. */
static void keep_head(Binder *b, uint32_t cells) {
    Grid *g = b->grid;
    bool usable = !g->broken && !g->corner && g->count + 1 == cells;
    for (uint32_t i = 0; i < g->count; i++)
        usable &= g->columns[i].usable;
    if (!usable) return;
    g->head = b->line.body;
    g->off = span_of(b, g->head).off;
    g->units = b->units;
    g->named = b->named;
}

/* Whether the line is a head that was kept; then it is that of the grid at hand. */
static bool take_kept_head(Binder *b) {
    const Str head = b->line.body;
    Grid *g = b->grids;
    while (g < b->grids + GRIDS_KEPT &&
           !(str_eq(g->head, head) && g->units == b->units && g->named == b->named))
        g++;
    if (g == b->grids + GRIDS_KEPT || b->line.struck) return false;
    const uint32_t off = span_of(b, head).off;
    for (uint32_t i = 0; i < g->count; i++) {
        Reading *as = &g->columns[i].as;
        as->entry = b->entry;
        as->source = b->source_index;
        if (as->at_unit) as->at_off += off - g->off;
    }
    g->off = off;
    g->on = true;
    b->grid = g;
    return true;
}

/* What a column's cells are about; CLASS_NONE when that is not a row's own subject, or when they
 * are words. */
static ClassId column_about(const Vocab *v, const Column *col) {
    if (col->item != CLASS_NONE) return v->classes[col->item].up;
    return col->numbers ? col->of : CLASS_NONE;
}

/* What the columns of a head without a fault have in common. */
static void note_columns(Binder *b) {
    Grid *g = b->grid;
    for (g->places = 0; g->places < g->count; g->places++) {
        if (g->columns[g->places].item != CLASS_NONE) break;
    }
    for (uint32_t i = 0; i < g->count && !g->corner; i++) {
        const Column *col = &g->columns[i];
        ClassId about = col->usable ? column_about(b->v, col) : CLASS_NONE;
        g->about = i && about != g->about ? CLASS_NONE : about;
        if (g->about == CLASS_NONE) return;
    }
}

static void read_head(Binder *b, const GridRow *row) {
    next_grid(b);
    Grid *g = b->grid;
    if (b->line.struck) {
        fault(b, GRID_HEAD, b->line.whole,
              "x strikes a row, and this is a head: put x before each row that is wrong; none is "
              "read here");
        g->broken = true;
        return;
    }
    g->broken = !read_corner(b, row->cells[0].text);
    for (uint32_t i = 1; !g->broken && i < row->count; i++) {
        Str cell = row->cells[i].text;
        if (g->count == GRID_COLUMNS) {
            fault(b, TOO_MANY, cell, "a grid has at most %d columns: split it", GRID_COLUMNS);
            g->broken = true;
            return;
        }
        arena_grow(b->job->arena, g->columns, g->count, g->room);
        Column *col = &g->columns[g->count++];
        col->usable = read_column(b, cell, col);
        col->numbers &= col->usable;
    }
    note_columns(b);
    keep_head(b, row->count);
}

/* ---- rows
 * -------------------------------------------------------------------------------------------------
 */

typedef struct Labelled { /* what the row at hand is about */
    Str label;
    char mark;       /* of a plain label */
    uint32_t number; /* of a plain label; else 0 */
    ClassId cls[4];  /* what the label meant for the last few classes asked */
    SubjectId id[4];
    unsigned known;
    double at; /* of a corner grid */
    Str at_text;
} Labelled;

/* The one that the label means, made when it may be; SUBJECT_NONE after a finding. */
static SubjectId label_subject(Binder *b, ClassId cls, Str label) {
    if (!read_subjects(b, cls, label, &b->list)) return SUBJECT_NONE;
    if (b->list.count == 1) return b->list.ids[0];
    fault(b, SUBJECT_NEEDED, label, "a row is for one place, and `%.*s` means %u", STR_ARG(label),
          b->list.count);
    return SUBJECT_NONE;
}

static SubjectId find_row_subject(Binder *b, Labelled *row, ClassId cls) {
    SubjectId id = row->number ? known_numbered(b, cls, row->mark, row->number)
                               : known_subject(b, cls, row->label);
    if (id == SUBJECT_NONE) id = label_subject(b, cls, row->label);
    unsigned at = row->known < 4 ? row->known++ : 3;
    row->cls[at] = cls;
    row->id[at] = id;
    return id;
}

/* The row's subject for a column's class; SUBJECT_NONE after a finding, said once a class. */
static inline SubjectId row_subject(Binder *b, Labelled *row, ClassId cls) {
    for (unsigned i = 0; i < row->known; i++) {
        if (row->cls[i] == cls) return row->id[i];
    }
    return find_row_subject(b, row, cls);
}

static Reading *last_reading(const Binder *b) {
    return &b->job->readings[b->job->reading_count - 1];
}

static bool struck_cell(Str *cell) {
    if (cell->n < 2 || cell->p[cell->n - 1] != 'x' || !is_blank(cell->p[cell->n - 2])) return false;
    *cell = str_trim((Str){cell->p, cell->n - 1});
    return true;
}

/* A number alone in its column, as nearly every cell is. */
static inline void fill_reading(const Binder *b, Reading *r, const Column *col, SubjectId id,
                                Str text, const Number *n) {
    *r = col->as;
    r->subject = id;
    r->value = unit_to_si(col->as.unit, n->value);
    r->off = (uint32_t)(text.p - b->source->text.p);
    r->len = n->len;
    r->places = n->places;
}

static void lone_number(Binder *b, const Column *col, SubjectId id, Str text, const Number *n) {
    Reading *r = next_reading(b);
    fill_reading(b, r, col, id, text, n);
    if (n->fraction) r->flags |= READ_FRACTION;
    if (b->line.struck) r->flags |= READ_STRUCK;
}

/* Doubted, struck or with a unit of its own; false when there is no reading. */
static bool other_cell(Binder *b, const Column *col, SubjectId id, Str cell) {
    const Tag *tag = &b->v->tags[col->as.tag];
    if (!read_values(b, tag, col->as.tag, cell, &b->values)) return false;
    if (b->values.count != 1 || b->values.each) {
        fault(b, WRONG_COUNT, cell, "a cell holds one value (a mixed fraction is written 1-1/2)");
        return false;
    }
    Value v = b->values.items[0];
    if (v.missing) return false;
    if (v.has_at) {
        fault(b, CONDITION_UNWANTED, cell, "the condition stands in the grid's head");
        return false;
    }
    if (!(v.unit_flags & READ_UNIT_WRITTEN)) {
        v.unit = col->as.unit;
        v.unit_flags = col->as.flags & (uint16_t)~READ_SPOT;
    }
    put_value(b, col->as.tag, id, &v);
    Reading *r = last_reading(b);
    r->at = col->as.at;
    r->at_unit = col->as.at_unit;
    r->at_off = col->as.at_off;
    r->at_len = col->as.at_len;
    r->flags |= col->as.flags & READ_SPOT;
    return true;
}

static void number_cell(Binder *b, const Labelled *row, const Column *col, SubjectId id,
                        const GridCell *cell) {
    Number n = cell->number;
    if (cell->plain || (number_read(cell->text, &n) == NUMBER_OK && n.len == cell->text.n))
        lone_number(b, col, id, cell->text, &n);
    else if (!other_cell(b, col, id, cell->text))
        return;
    if (!b->grid->corner) return;
    Reading *r = last_reading(b);
    r->at = row->at;
    r->at_unit = b->grid->corner_unit;
    r->at_off = span_of(b, row->at_text).off;
    r->at_len = (uint32_t)row->at_text.n;
}

static void words_cell(Binder *b, const Column *col, SubjectId id, Str cell) {
    bool struck = struck_cell(&cell);
    const Tag *tag = &b->v->tags[col->as.tag];
    if (tag->kind == TAG_CHOICE) {
        for (uint8_t i = 0; i < tag->choice_count; i++) {
            if (!str_ieq(tag->choices[i].name, cell)) continue;
            Reading *r = put_words(b, col->as.tag, id, cell);
            r->value = tag->choices[i].number;
            if (struck) r->flags |= READ_STRUCK;
            return;
        }
        fault(b, NOT_A_CHOICE, cell, "`%.*s` is none of the choices for `%.*s`", STR_ARG(cell),
              STR_ARG(tag->name));
        return;
    }
    Reading *r = put_words(b, col->as.tag, id, cell);
    if (struck) r->flags |= READ_STRUCK;
}

static void place_cell(Binder *b, const Column *col, SubjectId place, uint32_t number, Str text) {
    SubjectId item = known_numbered(b, col->item, '#', number);
    if (item != SUBJECT_NONE)
        sit_down(b, col->item, col->slot, place, item, text);
    else
        place_item(b, col->item, col->slot, place, text);
}

static void placement_cell(Binder *b, Labelled *row, const Column *col, const GridCell *cell) {
    Str text = cell->text;
    if (!cell->item && struck_cell(&text)) return;
    SubjectId place = row_subject(b, row, b->v->classes[col->item].up);
    if (place != SUBJECT_NONE) place_cell(b, col, place, cell->item, text);
}

/* Not measured: an empty cell, or a dash. */
static bool says_nothing(Str cell) {
    return cell.n == 0 || (cell.n == 1 && cell.p[0] == '-');
}

static void bind_cell(Binder *b, Labelled *row, const Column *col, const GridCell *cell) {
    bool nothing = says_nothing(cell->text);
    if (!col->usable || col->item != CLASS_NONE || (nothing && b->grid->corner)) return;
    if (b->grid->corner) {
        if (col->subjects.count == 1) number_cell(b, row, col, col->subjects.ids[0], cell);
        return;
    }
    SubjectId id = row_subject(b, row, col->of);
    if (id == SUBJECT_NONE) return;
    if (nothing)
        put_dash(b, col->as.tag, id, cell->text);
    else if (col->numbers)
        number_cell(b, row, col, id, cell);
    else
        words_cell(b, col, id, cell->text);
}

static bool corner_point(Binder *b, Labelled *row) {
    if (!b->grid->corner) return true;
    Number n;
    NumberFault bad = number_read(row->label, &n);
    if (bad != NUMBER_OK || n.len != row->label.n)
        return number_fault(b, row->label, &n, bad == NUMBER_OK ? NUMBER_NONE : bad);
    row->at = unit_to_si(b->grid->corner_unit, n.value);
    row->at_text = row->label;
    return true;
}

static void read_row(Binder *b, const GridRow *read) {
    const Grid *g = b->grid;
    Labelled row = {.label = read->cells[0].text, .mark = read->mark, .number = read->number};
    const GridCell *cells = read->cells + 1;
    uint32_t count = read->count - 1;
    if (count != g->count) {
        fault(b, GRID_CELLS, b->line.body,
              "this row has %u %s behind its first cell, and the head has %u; write - for one that "
              "is missing",
              count, count == 1 ? "cell" : "cells", g->count);
        return;
    }
    if (!row.label.n) {
        fault(b, UNKNOWN_SUBJECT, b->line.body,
              "the first cell of a row says the place, and it is empty");
        return;
    }
    if (!corner_point(b, &row)) return;
    const Column *columns = g->columns;
    for (uint32_t i = g->places; i < count; i++) { /* first: other cells may be about it */
        const Column *col = &columns[i];
        if (col->item != CLASS_NONE && col->usable && !says_nothing(cells[i].text))
            placement_cell(b, &row, col, &cells[i]);
    }
    for (uint32_t i = 0; i < count; i++)
        bind_cell(b, &row, &columns[i], &cells[i]);
}

/* Whether every cell is a number or an item, as its column wants, and all are about one subject. */
static bool fits_grid(const GridRow *row, const Grid *g) {
    if (!g->on || g->broken || g->about == CLASS_NONE || row->count != g->count + 1) return false;
    for (uint32_t i = 0; i < g->count; i++) {
        if (row->cells[i + 1].plain != g->columns[i].numbers) return false;
    }
    return true;
}

/* As read_row, and short for what nearly every row is: a plain one that fits its grid. */
static void read_plain_row(Binder *b, const GridRow *row) {
    const Grid *g = b->grid;
    SubjectId id = known_numbered(b, g->about, row->mark, row->number);
    if (id == SUBJECT_NONE) id = label_subject(b, g->about, row->cells[0].text);
    if (id == SUBJECT_NONE) return;
    const Column *columns = g->columns;
    const GridCell *cells = row->cells + 1;
    const uint32_t count = g->count;
    for (uint32_t i = g->places; i < count; i++) {
        if (!columns[i].numbers) place_cell(b, &columns[i], id, cells[i].item, cells[i].text);
    }
    Reading *r = room_for_readings(b, count);
    for (uint32_t i = 0; i < count; i++) {
        if (columns[i].numbers)
            fill_reading(b, r++, &columns[i], id, cells[i].text, &cells[i].number);
    }
    b->job->reading_count = (uint32_t)(r - b->job->readings);
}

static void bind_row(Binder *b, const GridRow *row) {
    if (!b->grid->on) {
        fault(b, GRID_HEAD, b->line.body,
              "this row has no head: write one above it, as `valve | installed height | shim`, or "
              "put > before it if it is a note");
        return;
    }
    if (!b->grid->broken) read_row(b, row);
}

/* A plain row, which is neither a head nor a rule, and those right below it. */
static void bind_plain_rows(Binder *b) {
    const GridRow *row = &b->lines.row;
    bool fits = false;
    do {
        fits = (fits && row->alike) || fits_grid(row, b->grid);
        if (fits)
            read_plain_row(b, row);
        else
            bind_row(b, row);
    } while (line_next_row(&b->lines, &b->line));
}

void bind_grid(Binder *b) {
    if (b->lines.row_parted) {
        bind_plain_rows(b);
        return;
    }
    if (take_kept_head(b) || line_ruled(b->line.body)) return;
    const GridRow *row = line_row(&b->lines, &b->line);
    if (!row->count) return; /* an outer bar, and no cell */
    if (is_head(b, row))
        read_head(b, row);
    else
        bind_row(b, row);
}
