#include "log/row.h"

enum {
    LABEL_DIGITS = 3, /* four may be a year, and the line a date */
    ITEM_DIGITS = 7,
};

static const char *skip_blanks(const char *p, const char *end) {
    while (p < end && is_blank(*p))
        p++;
    return p;
}

/* Behind the run of digits at p; NULL when there is none, or one of more than `most`. */
static const char *take_whole(const char *p, const char *end, int most, uint32_t *value) {
    const char *q = p;
    uint32_t v = 0;
    for (; q < end && is_digit(*q) && q - p <= most; q++)
        v = v * 10 + (uint32_t)(*q - '0');
    *value = v;
    return q > p && q - p <= most ? q : NULL;
}

/* Behind the label that p begins with; NULL when it is no plain one. */
static const char *take_label(const char *p, const char *end, GridRow *row) {
    bool marked = p < end && (*p == '#' || is_alpha(*p));
    row->mark = marked ? *p : 0;
    return take_whole(p + marked, end, LABEL_DIGITS, &row->number);
}

static const char *take_value(const char *p, const char *end, GridCell *cell) {
    cell->plain = *p != '#';
    cell->item = 0;
    const char *q = cell->plain ? number_plain(p, end, &cell->number)
                                : take_whole(p + 1, end, ITEM_DIGITS, &cell->item);
    cell->text = (Str){p, q ? (size_t)(q - p) : 0};
    return q;
}

/* As next_cell, where a few spaces, a bar and one space stand there; NULL of anything else. */
static const char *near_cell(const char *p) {
    const uint64_t bar_and_space = '|' | (uint64_t)' ' << 8;
    const uint64_t text = word_at(p), others = text ^ WORD_OF(' ');
    const unsigned at = others ? word_first(others) : 0;
    if (!at || (text >> at & 0xFFFF) != bar_and_space) return NULL;
    const char *q = p + at / 8 + 2;
    return is_blank(*q) ? NULL : q;
}

/* From the end of a cell to the text of the next: blanks, a bar, blanks. NULL when anything else
 * stands there. */
static const char *next_cell(const char *p, const char *end) {
    const char *near = end - p > WORD_BYTES ? near_cell(p) : NULL;
    if (near) return near;
    const char *bar = skip_blanks(p, end);
    if (bar == p || bar == end || *bar != '|') return NULL;
    const char *q = skip_blanks(bar + 1, end);
    return q > bar + 1 && q < end ? q : NULL;
}

/* Where the line ends that has nothing more in it; NULL when there is something. */
static const char *line_end(const char *p, const char *end) {
    p = skip_blanks(p, end);
    if (p < end && *p == '\r') p++;
    return p == end || *p == '\n' ? p : NULL;
}

/* ---- rows of the same shape ------------------------------------------------------------------ */

/* The shape's word at p, but for its digits: 0 when it is the same. */
static uint64_t word_apart(const RowShape *shape, uint32_t word, const char *p) {
    const uint64_t text = word_at(p), digits = shape->digits[word];
    uint64_t over_nine = ((text & digits) + WORD_OF(0x10 - 10)) & WORD_OF(0x10);
    return ((text & ~digits) ^ shape->others[word]) | over_nine;
}

/* Whether the row whose first value p begins with has the shape. */
static bool has_shape(const RowShape *shape, const char *p, const char *end) {
    if (!shape->bytes || end - p < (ptrdiff_t)shape->bytes + WORD_BYTES) return false;
    const uint32_t last = shape->words - 1;
    uint64_t apart = word_apart(shape, last, p + shape->bytes - WORD_BYTES);
    for (uint32_t i = 0; i < last; i++, p += WORD_BYTES)
        apart |= word_apart(shape, i, p);
    return !apart;
}

/* Its values, from where those of the row above were. */
static void take_alike(GridRow *row, const char *p) {
    for (uint32_t i = 1; i < row->count; i++) {
        GridCell *cell = &row->cells[i];
        const CellShape *shape = &row->shape.cells[i - 1];
        cell->text.p = p + shape->from;
        uint64_t digits = word_at(cell->text.p) ^ WORD_OF('0');
        digits = (digits & shape->whole) | (digits >> 8 & ~shape->whole);
        uint64_t value = word_number(digits << shape->shift);
        if (cell->plain)
            cell->number.value = (double)(int64_t)value / shape->divisor;
        else
            cell->item = (uint32_t)value;
    }
}

/* Bytes of digits before the mark, and whether there is one. */
static CellShape cell_shape(const GridCell *cell, const char *first) {
    const Str text = cell->text;
    const unsigned places = cell->plain ? cell->number.places : 0;
    size_t before = cell->plain ? text.n - places - 1 : 0;
    bool mark = text.p[before] == (cell->plain ? '.' : '#');
    if (!mark) before = text.n;
    return (CellShape){.whole = before < WORD_BYTES ? ((uint64_t)1 << 8 * before) - 1 : UINT64_MAX,
                       .divisor = number_divisor(places),
                       .from = (uint8_t)(text.p - first),
                       .shift = (uint8_t)(8 * (WORD_BYTES - text.n + mark))};
}

/* Keeps the shape of a plain row that ends with a line feed, when it is not too long or short. */
static void keep_shape(GridRow *row, const char *feed) {
    const char *first = row->cells[1].text.p;
    const size_t bytes = (size_t)(feed - first) + 1;
    RowShape *shape = &row->shape;
    if (bytes < WORD_BYTES || bytes > SHAPE_WORDS * WORD_BYTES) return;
    for (uint32_t i = 1; i < row->count; i++) {
        if (row->cells[i].text.n > WORD_BYTES) return;
        shape->cells[i - 1] = cell_shape(&row->cells[i], first);
    }
    shape->words = 0;
    for (size_t at = 0; at < bytes; at += WORD_BYTES) {
        const uint64_t text = word_at(first + (at + WORD_BYTES < bytes ? at : bytes - WORD_BYTES));
        const uint64_t digits = word_digits(text);
        shape->digits[shape->words] = digits;
        shape->others[shape->words++] = text & ~digits;
    }
    shape->bytes = (uint32_t)bytes;
}

void row_start(GridRow *row) {
    row->shape.bytes = 0;
}

/* The values of a row of no known shape, and where its line ends. */
static const char *take_values(const char *p, const char *end, GridRow *row) {
    row->count = 1;
    row->shape.bytes = 0;
    const char *q = NULL;
    for (; p; p = next_cell(q, end)) {
        if (row->count == CELLS_MOST) return NULL;
        q = take_value(p, end, &row->cells[row->count++]);
        if (!q) return NULL;
    }
    const char *feed = line_end(q, end);
    if (feed && feed < end) keep_shape(row, feed);
    return feed;
}

const char *row_plain(const char *p, const char *end, GridRow *row) {
    const char *q = take_label(p, end, row);
    const char *first = q ? next_cell(q, end) : NULL;
    if (!first) return NULL;
    row->cells[0] = (GridCell){.text = {p, (size_t)(q - p)}};
    row->alike = has_shape(&row->shape, first, end);
    if (!row->alike) return take_values(first, end, row);
    take_alike(row, first);
    return first + row->shape.bytes - 1;
}

/* ---- any row --------------------------------------------------------------------------------- */

/* The bar behind the cell that begins at p, with a blank or an end on either side; `end` without.
 */
static const char *bar_behind(const char *p, const char *end) {
    for (const char *q = p; (q = memchr(q, '|', (size_t)(end - q))); q++) {
        if ((q == p || is_blank(q[-1])) && (q + 1 == end || is_blank(q[1]))) return q;
    }
    return end;
}

void row_part(Str body, GridRow *row) {
    const char *p = body.p, *end = p + body.n;
    row->count = row->number = 0;
    row_start(row);
    if (p < end && *p == '|') p++; /* the outer bar in front */
    while (p < end) {
        const char *q = bar_behind(p, end);
        if (row->count < CELLS_MOST) row->cells[row->count] = (GridCell){.text = str_between(p, q)};
        row->count++;
        if (q >= end || skip_blanks(q + 1, end) == end) break; /* the outer bar behind */
        p = q + 1;
    }
}
