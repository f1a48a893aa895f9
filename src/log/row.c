#include "log/row.h"

enum { LABEL_DIGITS = 3 }; /* four may be a year, and the line a date */

static const char *skip_digits(const char *p, const char *end) {
    while (p < end && is_digit(*p))
        p++;
    return p;
}

static const char *skip_blanks(const char *p, const char *end) {
    while (p < end && is_blank(*p))
        p++;
    return p;
}

/* Where the label that p begins with ends; NULL when it is no plain one. */
static const char *label_end(const char *p, const char *end) {
    const char *digits = p < end && (*p == '#' || is_alpha(*p)) ? p + 1 : p;
    const char *q = skip_digits(digits, end);
    return q > digits && q - digits <= LABEL_DIGITS ? q : NULL;
}

static const char *item_end(const char *p, const char *end) {
    const char *q = skip_digits(p + 1, end);
    return q > p + 1 ? q : NULL;
}

static const char *value_end(const char *p, const char *end, GridCell *cell) {
    cell->plain = *p != '#';
    const char *q = cell->plain ? number_plain(p, end, &cell->number) : item_end(p, end);
    cell->text = (Str){p, q ? (size_t)(q - p) : 0};
    return q;
}

/* From the end of a cell to the text of the next: blanks, a bar, blanks. NULL when anything else
 * stands there. */
static const char *next_cell(const char *p, const char *end) {
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

const char *row_plain(const char *p, const char *end, GridRow *row) {
    const char *q = label_end(p, end);
    if (!q) return NULL;
    row->cells[0] = (GridCell){.text = {p, (size_t)(q - p)}};
    row->count = 1;
    for (const char *cell; (cell = next_cell(q, end));) {
        if (row->count == CELLS_MOST) return NULL;
        q = value_end(cell, end, &row->cells[row->count++]);
        if (!q) return NULL;
    }
    return row->count > 1 ? line_end(q, end) : NULL;
}

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
    row->count = 0;
    if (p < end && *p == '|') p++; /* the outer bar in front */
    while (p < end) {
        const char *q = bar_behind(p, end);
        if (row->count < CELLS_MOST) row->cells[row->count] = (GridCell){.text = str_between(p, q)};
        row->count++;
        if (q >= end || skip_blanks(q + 1, end) == end) break; /* the outer bar behind */
        p = q + 1;
    }
}
