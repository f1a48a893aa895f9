/*
 * Grids: a head with a quantity a column (bind_head.c), then a row a place. A corner cell `@ lift
 * in` turns it: rows are the points of curves, columns say quantity and subject.
 */
#include "compute/bind.h"

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
