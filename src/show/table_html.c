/* Tables as HTML. Columns line up on the decimal point by padding counted in digits, so that no
 * script and no fixed font is needed; what is too wide is cut into groups, as in text. */
#include "show/table.h"

#include "base/utf8.h"

enum { GAP = 2, PAD_MOST = 9, SHORT = 12 /* rows that never go over a page */, NARROW = 80 };

/* A group of columns that is written as one table. */
typedef struct Group {
    const Table *t;
    const TableWidth *widths;
    const TableHtml *how;
    uint32_t labels, from, to; /* columns [0, labels) and [from, to) */
} Group;

static bool in_group(const Group *g, uint32_t column) {
    return (column < g->labels || (column >= g->from && column < g->to)) && g->widths[column].used;
}

static bool any_heading(const Table *t) {
    for (uint32_t i = 0; i < t->column_count; i++) {
        if (t->columns[i].heading.n) return true;
    }
    return false;
}

static void add_heading(Buf *out, const TableColumn *c) {
    buf_puts(out, c->heading.n ? "<th scope=\"col\"" : "<td");
    if (c->align != ALIGN_LEFT) buf_puts(out, " class=\"n\"");
    buf_putc(out, '>');
    buf_html(out, c->heading);
    if (c->unit.n) {
        buf_puts(out, "<span>");
        buf_html(out, c->unit);
        buf_puts(out, "</span>");
    }
    buf_puts(out, c->heading.n ? "</th>" : "</td>");
}

static void add_head(Buf *out, const Group *g) {
    buf_puts(out, "<thead><tr>");
    for (uint32_t i = 0; i < g->t->column_count; i++) {
        if (in_group(g, i)) add_heading(out, &g->t->columns[i]);
    }
    buf_puts(out, "</tr></thead>\n");
}

/* Digits that the longest value of the column has behind its point, and this one has not. */
static int padding(const Group *g, uint32_t column, Str text) {
    if (g->t->columns[column].align != ALIGN_POINT) return 0;
    size_t wide = utf8_width(text), before = 0;
    while (before < text.n && (is_digit(text.p[before]) || text.p[before] == '+' ||
                               (text.p[before] == '-' && before == 0)))
        before++;
    size_t after = wide > before ? wide - before : 0, most = g->widths[column].after;
    size_t pad = most > after ? most - after : 0;
    return pad > PAD_MOST ? PAD_MOST : (int)pad;
}

static void add_cell(Buf *out, const Group *g, uint32_t column, const Cell *cell) {
    static const char *const tones[] = {
        [TONE_PLAIN] = "",    [TONE_BAD] = "bad", [TONE_DOUBT] = "doubt",
        [TONE_GOOD] = "good", [TONE_DIM] = "dim", [TONE_HEAD] = "head",
    };
    bool label = column < g->labels && column == 0;
    int pad = padding(g, column, cell->text);
    bool number = g->t->columns[column].align != ALIGN_LEFT;
    buf_puts(out, label ? "<th scope=\"row\"" : "<td");
    if (number || pad || tones[cell->tone][0]) {
        buf_puts(out, " class=\"");
        const char *before = "";
        if (number) buf_puts(out, "n"), before = " ";
        if (pad) buf_printf(out, "%sp%d", before, pad), before = " ";
        if (tones[cell->tone][0]) buf_printf(out, "%s%s", before, tones[cell->tone]);
        buf_putc(out, '"');
    }
    buf_putc(out, '>');
    if (g->how->cell)
        g->how->cell(g->how->ctx, out, cell);
    else
        buf_html(out, cell->text);
    buf_puts(out, label ? "</th>" : "</td>");
}

/* Below the table, since a heading may hold nothing that opens. */
static void add_meanings(Buf *out, const Table *t, const TableWidth *widths) {
    bool any = false;
    for (uint32_t i = 0; i < t->column_count; i++) {
        const TableColumn *c = &t->columns[i];
        if (!c->says.n || !widths[i].used) continue;
        if (!any)
            buf_puts(out,
                     "<details class=\"means\"><summary>What the columns mean</summary><dl>\n");
        any = true;
        buf_puts(out, "<div><dt>");
        buf_html(out, c->heading);
        buf_puts(out, "</dt><dd>");
        buf_html(out, c->says);
        buf_puts(out, "</dd></div>\n");
    }
    if (any) buf_puts(out, "</dl></details>\n");
}

static void add_group(Buf *out, const Group *g) {
    const Table *t = g->t;
    bool goes_on = g->from > g->labels;
    size_t wide = 0;
    for (uint32_t i = 0; i < t->column_count; i++)
        wide += in_group(g, i) ? g->widths[i].all + GAP : 0;
    bool is_long = t->row_count > SHORT;
    /* a very long one prints in two columns where it is narrow */
    buf_printf(out, "<div class=\"wide%s%s\"><table>\n", is_long ? " long" : "",
               t->row_count > 2 * SHORT && wide <= NARROW ? " narrow" : "");
    if (g->how->caption.n) {
        buf_puts(out, "<caption>");
        buf_html(out, g->how->caption);
        buf_puts(out, goes_on ? ", continued</caption>\n" : "</caption>\n");
    }
    if (any_heading(t)) add_head(out, g);
    buf_puts(out, "<tbody>\n");
    for (uint32_t row = 0; row < t->row_count; row++) {
        buf_puts(out, "<tr>");
        for (uint32_t i = 0; i < t->column_count; i++) {
            if (in_group(g, i)) add_cell(out, g, i, &t->cells[(size_t)row * t->column_count + i]);
        }
        buf_puts(out, "</tr>\n");
    }
    buf_puts(out, "</tbody></table></div>\n");
}

static uint32_t groups(const Table *t, const TableWidth *widths, uint32_t first, size_t labels,
                       size_t most) {
    uint32_t n = 1, at = first;
    while ((at = table_group(t, widths, at, labels, GAP, most)) < t->column_count)
        n++;
    return n;
}

/* The least width that needs no more groups than `most` does: they come out about as wide as each
 * other. */
static size_t even(const Table *t, const TableWidth *widths, uint32_t first, size_t labels,
                   size_t most) {
    uint32_t n = groups(t, widths, first, labels, most);
    if (n == 1) return most;
    while (most > labels + 1 && groups(t, widths, first, labels, most - 1) == n)
        most--;
    return most;
}

void table_html(Buf *out, const Table *t, const TableHtml *how) {
    TableWidth *widths = arena_array(t->arena, t->column_count, sizeof *widths);
    Group g = {.t = t, .widths = widths, .how = how, .labels = table_labels(t)};
    size_t labels = 0, most = how->width ? how->width + GAP : SIZE_MAX;
    for (uint32_t i = 0; i < t->column_count; i++) {
        widths[i] = table_measure(t, i);
        if (i < g.labels && widths[i].used) labels += widths[i].all + GAP;
    }
    most = even(t, widths, g.labels, labels, most);
    for (g.from = g.labels;; g.from = g.to) {
        g.to = table_group(t, widths, g.from, labels, GAP, most);
        add_group(out, &g);
        if (g.to >= t->column_count) break;
    }
    add_meanings(out, t, widths);
}
