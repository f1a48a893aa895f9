/*
 * A grid's head: what its rows are, and a quantity a column. Read once, with all that a column
 * gives to its readings, and kept for where the same text stands again.
 */
#include "compute/bind.h"

#include <math.h>

static bool starts_value(Str cell) {
    char c = cell.n ? cell.p[0] : 0;
    return is_digit(c) || c == '.' || c == '#' ||
           ((c == '-' || c == '+') && (cell.n == 1 || !is_alpha(cell.p[1])));
}

/* A head's first cell names no place, and none of its cells starts like a value. */
bool is_head(const Binder *b, const GridRow *row) {
    for (uint32_t i = 0; i < row->count && i < CELLS_MOST; i++) {
        if (starts_value(row->cells[i].text)) return false;
    }
    Str first = row->cells[0].text;
    return (first.n && first.p[0] == '@') || !looks_like_subject(b, first);
}

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

bool take_kept_head(Binder *b) {
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

void read_head(Binder *b, const GridRow *row) {
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
