/*
 * Tables as text. Headings fold onto several lines where the column's values are narrower; numbers
 * stand with their points under each other; what is too wide is cut into groups of columns.
 */
#include "base/utf8.h"
#include "show/table.h"

enum { GAP = 2 };

/* Columns up to the decimal point of a number (or to its end); a text counts whole. */
static size_t before_point(Str s) {
    for (size_t i = 0; i < s.n; i++) {
        bool number = is_digit(s.p[i]) || s.p[i] == '+' || (s.p[i] == '-' && i == 0);
        if (!number) return utf8_width((Str){s.p, i});
    }
    return s.n;
}

/* The next line of a heading that folds at `most` columns; a longer word stays whole. */
static Str heading_line(Str *rest, size_t most) {
    Str all = *rest, word = str_word(rest);
    size_t end = (size_t)(word.p + word.n - all.p);
    for (;;) {
        Str ahead = *rest;
        word = str_word(&ahead);
        if (!word.n) break;
        size_t to = (size_t)(word.p + word.n - all.p);
        if (utf8_width(str_trim((Str){all.p, to})) > most) break;
        end = to;
        *rest = ahead;
    }
    return str_trim((Str){all.p, end});
}

static size_t heading_lines(Str heading, size_t most) {
    size_t lines = 0;
    while (str_trim(heading).n) {
        heading_line(&heading, most);
        lines++;
    }
    return lines;
}

static size_t longest_word(Str s) {
    size_t longest = 0;
    for (Str word; (word = str_word(&s)).n;) {
        size_t wide = utf8_width(word);
        if (wide > longest) longest = wide;
    }
    return longest;
}

/* Narrow enough that the heading takes no more than three lines, where its words allow it. */
static size_t heading_width(const TableColumn *c, size_t values) {
    size_t width = longest_word(c->heading);
    if (utf8_width(c->unit) > width) width = utf8_width(c->unit);
    if (values > width) width = values;
    while (heading_lines(c->heading, width) > 3)
        width++;
    return width;
}

TableWidth table_measure(const Table *t, uint32_t column) {
    TableWidth w = {0};
    for (uint32_t row = 0; row < t->row_count; row++) {
        Str text = t->cells[(size_t)row * t->column_count + column].text;
        if (!text.n) continue;
        w.used = true;
        size_t wide = utf8_width(text), before = before_point(text);
        if (wide > w.all) w.all = wide;
        if (before > w.before) w.before = before;
        if (wide - before > w.after) w.after = wide - before;
    }
    const TableColumn *c = &t->columns[column];
    if (c->align == ALIGN_POINT && w.before + w.after > w.all) w.all = w.before + w.after;
    w.all = heading_width(c, w.all);
    return w;
}

/* A group of columns that is written together. */
typedef struct Group {
    const Table *t;
    const TableWidth *widths;
    uint32_t labels, from, to; /* columns [0, labels) and [from, to) */
    TextStyle style;
} Group;

static bool in_group(const Group *g, uint32_t column) {
    return (column < g->labels || (column >= g->from && column < g->to)) && g->widths[column].used;
}

static void pad_to(Buf *out, size_t *column, size_t to) {
    if (to > *column) buf_fill(out, ' ', to - *column);
    *column = to;
}

static size_t left_pad(const TableColumn *c, const TableWidth *w, Str text, bool heading) {
    size_t wide = utf8_width(text);
    if (c->align == ALIGN_LEFT || wide >= w->all) return 0;
    if (c->align == ALIGN_RIGHT || heading) return w->all - wide;
    size_t numbers = w->before + w->after, before = before_point(text);
    size_t pad = (w->all > numbers ? w->all - numbers : 0) + w->before - before;
    return pad + wide > w->all ? w->all - wide : pad;
}

/* One line of texts; pad only up to the last, so that no line ends in blanks. */
static void add_line(Buf *out, const Group *g, const Cell *cells, bool heading) {
    size_t column = 0, at = (size_t)g->style.indent;
    for (uint32_t i = 0; i < g->t->column_count; i++) {
        if (!in_group(g, i)) continue;
        Cell cell = cells[i];
        if (cell.text.n) {
            pad_to(out, &column,
                   at + left_pad(&g->t->columns[i], &g->widths[i], cell.text, heading));
            tone_text(out, cell.text, heading ? TONE_HEAD : cell.tone, g->style.colour);
            column += utf8_width(cell.text);
        }
        at += g->widths[i].all + GAP;
    }
    buf_putc(out, '\n');
}

/* A row; a text that is wider than its column folds within it. */
static void add_row(Buf *out, const Group *g, const Cell *cells) {
    uint32_t n = g->t->column_count;
    Cell *line = arena_array(g->t->arena, n, sizeof *line);
    Str *rest = arena_array(g->t->arena, n, sizeof *rest);
    bool more = true;
    for (uint32_t i = 0; i < n; i++)
        rest[i] = cells[i].text;
    while (more) {
        more = false;
        for (uint32_t i = 0; i < n; i++) {
            line[i] = (Cell){.text = rest[i], .tone = cells[i].tone};
            rest[i] = (Str){0};
            if (!in_group(g, i) || utf8_width(line[i].text) <= g->widths[i].all) continue;
            Str left = line[i].text;
            line[i].text = heading_line(&left, g->widths[i].all);
            rest[i] = str_trim(left);
            more = more || rest[i].n;
        }
        add_line(out, g, line, false);
    }
}

static void add_heading(Buf *out, const Group *g) {
    const Table *t = g->t;
    Cell *line = arena_array(t->arena, t->column_count, sizeof *line);
    Str *rest = arena_array(t->arena, t->column_count, sizeof *rest);
    size_t most = 0;
    bool units = false;
    for (uint32_t i = 0; i < t->column_count; i++) {
        if (!in_group(g, i)) continue;
        size_t lines = heading_lines(t->columns[i].heading, g->widths[i].all);
        if (lines > most) most = lines;
        units = units || t->columns[i].unit.n;
        rest[i] = t->columns[i].heading;
    }
    for (size_t left = most; left > 0; left--) {
        for (uint32_t i = 0; i < t->column_count; i++) {
            line[i] = (Cell){0};
            if (in_group(g, i) && heading_lines(rest[i], g->widths[i].all) >= left)
                line[i].text = heading_line(&rest[i], g->widths[i].all);
        }
        add_line(out, g, line, true);
    }
    if (!units) return;
    for (uint32_t i = 0; i < t->column_count; i++)
        line[i] = (Cell){.text = t->columns[i].unit};
    add_line(out, g, line, true);
}

static void add_group(Buf *out, const Group *g) {
    add_heading(out, g);
    for (uint32_t row = 0; row < g->t->row_count; row++)
        add_row(out, g, &g->t->cells[(size_t)row * g->t->column_count]);
}

uint32_t table_labels(const Table *t) {
    uint32_t n = 0;
    while (n < t->column_count && t->columns[n].label)
        n++;
    return n;
}

uint32_t table_group(const Table *t, const TableWidth *widths, uint32_t from, size_t labels,
                     size_t gap, size_t most) {
    size_t wide = labels;
    uint32_t to = from;
    for (; to < t->column_count; to++) {
        size_t more = widths[to].used ? widths[to].all + gap : 0;
        if (wide + more > most && wide > labels) break;
        wide += more;
    }
    return to;
}

/* How narrow a column may be made: its words stay whole. */
static size_t least_width(const Table *t, uint32_t column) {
    size_t least = longest_word(t->columns[column].heading);
    if (utf8_width(t->columns[column].unit) > least) least = utf8_width(t->columns[column].unit);
    for (uint32_t row = 0; row < t->row_count; row++) {
        size_t wide = longest_word(t->cells[(size_t)row * t->column_count + column].text);
        if (wide > least) least = wide;
    }
    return least;
}

/* Takes up to `excess` from a column; returns what is left of it. */
static size_t narrow(const Table *t, TableWidth *w, uint32_t column, size_t excess) {
    size_t least = least_width(t, column);
    if (!w->used || w->all <= least) return excess;
    size_t take = w->all - least < excess ? w->all - least : excess;
    w->all -= take;
    return excess - take;
}

/* Where not even one column fits beside the labels, first these are narrowed, then the columns. */
static size_t fit_columns(const Table *t, TableWidth *widths, uint32_t count, size_t labels,
                          size_t width) {
    size_t need = 0;
    for (uint32_t i = count; i < t->column_count; i++) {
        size_t least = widths[i].used ? least_width(t, i) : 0;
        if (least > need) need = least;
    }
    size_t excess = labels + need > width ? labels + need - width : 0, left = excess;
    for (uint32_t i = count; i-- > 0 && left;)
        left = narrow(t, &widths[i], i, left);
    labels -= excess - left;
    for (uint32_t i = count; i < t->column_count; i++) {
        if (labels + widths[i].all > width)
            narrow(t, &widths[i], i, labels + widths[i].all - width);
    }
    return labels;
}

void table_text(Buf *out, const Table *t, TextStyle style) {
    TableWidth *widths = arena_array(t->arena, t->column_count, sizeof *widths);
    Group g = {.t = t, .widths = widths, .labels = table_labels(t), .style = style};
    size_t labels = (size_t)style.indent;
    for (uint32_t i = 0; i < t->column_count; i++) {
        widths[i] = table_measure(t, i);
        if (i < g.labels && widths[i].used) labels += widths[i].all + GAP;
    }
    if (style.width > 0) labels = fit_columns(t, widths, g.labels, labels, (size_t)style.width);
    size_t most = style.width > 0 ? (size_t)style.width + GAP : SIZE_MAX;
    for (g.from = g.labels;; g.from = g.to) {
        g.to = table_group(t, widths, g.from, labels, GAP, most);
        if (g.from > g.labels) buf_putc(out, '\n');
        add_group(out, &g);
        if (g.to >= t->column_count) return;
    }
}
