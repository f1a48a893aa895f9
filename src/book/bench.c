/* The cells of a sitting, and the entry they make. */
#include "book/bench.h"

#include "base/fatal.h"
#include "base/number.h"
#include "base/utf8.h"

enum { VALUE_MOST = 80 };

/* ---- cells ----------------------------------------------------------------------------------- */

static void add_cells(Bench *b, uint32_t grid, uint32_t *room) {
    const PlanGrid *g = &b->plan->grids[grid];
    for (uint32_t r = 0; r < g->row_count && !g->lacks_set; r++) {
        for (uint32_t c = 0; c < g->column_count; c++) {
            const PlanColumn *col = &g->columns[c];
            uint32_t at = r * g->column_count + c;
            bool nowhere = b->plan->job->vocab->tags[col->tag].has_curve && !col->at_text.n;
            if (!g->wanted[at] || nowhere) continue;
            arena_grow(b->arena, b->cells, b->count, *room);
            b->cells[b->count++] = (BenchCell){.grid = grid,
                                               .row = r,
                                               .column = c,
                                               .key = plan_key(b->plan, g, r, c, b->arena),
                                               .lacking = g->lacks[at]};
        }
    }
}

static BenchCell *cell_of(Bench *b, Str key) {
    for (uint32_t i = 0; i < b->count; i++) {
        if (str_eq(b->cells[i].key, key)) return &b->cells[i];
    }
    return NULL;
}

void bench_line(Bench *b, Str line) {
    for (uint32_t i = 0; i < b->line_count; i++) {
        if (str_eq(b->lines[i], line)) return;
    }
    arena_grow(b->arena, b->lines, b->line_count, b->line_room);
    b->lines[b->line_count++] = arena_str(b->arena, line);
}

/* A kept line for no cell of this plan goes to the log as it is. */
static void take_kept(Bench *b, Str line) {
    static const char skip[] = "; skip ";
    if (str_starts(line, STR("; skip "))) {
        BenchCell *skipped = cell_of(b, str_skip(line, sizeof skip - 1));
        if (skipped) skipped->skipped = true;
        return;
    }
    size_t at = str_find(line, STR(" = "), 0);
    BenchCell *cell = at == SIZE_MAX ? NULL : cell_of(b, (Str){line.p, at});
    if (cell && !bench_put(b, cell, str_skip(line, at + 3))) return;
    bench_line(b, line);
    b->strays++;
}

void bench_init(Bench *b, const Plan *plan, const Kept *kept, const char *side, Arena *a) {
    *b = (Bench){.arena = a,
                 .plan = plan,
                 .side = side,
                 .heading = kept->heading,
                 .fd = kept->fd,
                 .stamp = kept->stamp,
                 .size = kept->size};
    uint32_t room = 0;
    for (uint32_t i = 0; i < plan->count; i++)
        add_cells(b, i, &room);
    for (uint32_t i = 0; i < kept->fact_count; i++)
        bench_line(b, kept->facts[i]);
    for (uint32_t i = 0; i < kept->count; i++)
        take_kept(b, kept->lines[i]);
}

bool bench_answered(BenchCell *cell, const Plan *plan, bool **lacks) {
    uint32_t columns = plan->grids[cell->grid].column_count;
    bool was = cell->lacking;
    cell->lacking = lacks[cell->grid][cell->row * columns + cell->column];
    return was && !cell->lacking;
}

uint32_t bench_given(const Bench *b) {
    uint32_t n = 0;
    for (uint32_t i = 0; i < b->count; i++)
        n += b->cells[i].value.n != 0;
    return n;
}

/* ---- what is typed --------------------------------------------------------------------------- */

static size_t remark_at(Str typed) {
    for (size_t i = 1; i < typed.n; i++) {
        if (typed.p[i] == ';' && is_blank(typed.p[i - 1])) return i;
    }
    return SIZE_MAX;
}

static bool all_digits(Str s) {
    for (size_t i = 0; i < s.n; i++) {
        if (!is_digit(s.p[i])) return false;
    }
    return s.n > 0;
}

const char *bench_put(Bench *b, BenchCell *cell, Str typed) {
    const PlanColumn *col = &b->plan->grids[cell->grid].columns[cell->column];
    bool placement = b->plan->job->vocab->tags[col->tag].kind == TAG_PLACEMENT;
    size_t semicolon = remark_at(typed);
    Str remark = semicolon == SIZE_MAX ? str_none : str_trim(str_skip(typed, semicolon + 1));
    Str value = str_trim(semicolon == SIZE_MAX ? typed : (Str){typed.p, semicolon});
    if (!value.n) return "there is no value in it";
    if (typed.n > VALUE_MOST) return "it is too long for a value";
    if (str_find_char(typed, '|', 0) != SIZE_MAX) return "a bar parts the cells of a grid";
    if (utf8_bad(typed) != SIZE_MAX) return "it is not plain text";
    for (size_t i = 0; i < typed.n; i++) {
        if ((unsigned char)typed.p[i] < ' ' && typed.p[i] != '\t') return "it is not plain text";
    }
    bool bare = placement && all_digits(value); /* 7 for #7: fewer keys to find with gloves on */
    cell->value = arena_printf(b->arena, "%s%.*s", bare ? "#" : "", STR_ARG(value));
    cell->remark = arena_str(b->arena, remark);
    cell->skipped = false;
    return NULL;
}

/* ---- the entry ------------------------------------------------------------------------------- */

typedef struct Layout { /* one grid of the plan, with what was given for it */
    Bench *b;
    const PlanGrid *g;
    BenchCell **at; /* [row * columns + column]; NULL: not asked for */
    size_t *widths; /* 0: the column has no value */
    size_t label;
} Layout;

static BenchCell *given_at(const Layout *l, uint32_t row, uint32_t column) {
    BenchCell *cell = l->at[row * l->g->column_count + column];
    return cell && cell->value.n ? cell : NULL;
}

static void lay_out_grid(Layout *l, uint32_t grid, Arena *a) {
    uint32_t columns = l->g->column_count;
    l->at = arena_array(a, (size_t)l->g->row_count * columns + 1, sizeof(BenchCell *));
    l->widths = arena_array(a, columns + 1, sizeof *l->widths);
    for (uint32_t i = 0; i < l->b->count; i++) {
        BenchCell *cell = &l->b->cells[i];
        if (cell->grid != grid || !cell->value.n) continue;
        l->at[cell->row * columns + cell->column] = cell;
        size_t head = utf8_width(l->g->columns[cell->column].head), wide = utf8_width(cell->value);
        size_t *width = &l->widths[cell->column];
        if (head > *width) *width = head;
        if (wide > *width) *width = wide;
        size_t label = utf8_width(l->g->labels[cell->row]);
        if (label > l->label) l->label = label;
    }
}

static void padded(Buf *out, Str text, size_t width) {
    size_t wide = utf8_width(text);
    buf_add(out, text);
    buf_fill(out, ' ', width > wide ? width - wide : 0);
}

static uint32_t last_column(const Layout *l) {
    uint32_t last = 0;
    for (uint32_t c = 0; c < l->g->column_count; c++) {
        if (l->widths[c]) last = c;
    }
    return last;
}

static bool row_given(const Layout *l, uint32_t row) {
    for (uint32_t c = 0; c < l->g->column_count; c++) {
        if (given_at(l, row, c)) return true;
    }
    return false;
}

/* A cell nobody filled stays empty; the last one is a dash, for a row may not end in a bar. */
static void write_row(Buf *out, const Layout *l, uint32_t row) {
    uint32_t last = last_column(l);
    bool remarked = false;
    padded(out, l->g->labels[row], l->label);
    for (uint32_t c = 0; c <= last; c++) {
        if (!l->widths[c]) continue;
        BenchCell *cell = given_at(l, row, c);
        buf_puts(out, " | ");
        if (cell) cell->span = (Span){(uint32_t)out->n, (uint32_t)cell->value.n};
        Str text = cell ? cell->value : c == last ? STR("-") : (Str){0};
        padded(out, text, c == last ? 0 : l->widths[c]);
    }
    for (uint32_t c = 0; c <= last; c++) {
        BenchCell *cell = l->widths[c] ? given_at(l, row, c) : NULL;
        if (!cell || !cell->remark.n) continue;
        buf_printf(out, "%s%.*s", remarked ? ", " : "   ; ", STR_ARG(cell->remark));
        remarked = true;
    }
    buf_putc(out, '\n');
}

static void write_grid(Buf *out, Layout *l, Str rows) {
    size_t label = utf8_width(rows);
    if (label > l->label) l->label = label;
    buf_putc(out, '\n');
    padded(out, rows, l->label);
    uint32_t last = last_column(l);
    for (uint32_t c = 0; c <= last; c++) {
        if (!l->widths[c]) continue;
        buf_puts(out, " | ");
        padded(out, l->g->columns[c].head, c == last ? 0 : l->widths[c]);
    }
    buf_putc(out, '\n');
    for (uint32_t r = 0; r < l->g->row_count; r++) {
        if (row_given(l, r)) write_row(out, l, r);
    }
}

/* A number alone gets the unit it was asked in, so that the line can be read on its own. */
static void write_lines(Buf *out, Layout *l) {
    for (uint32_t r = 0; r < l->g->row_count; r++) {
        for (uint32_t c = 0; c < l->g->column_count; c++) {
            BenchCell *cell = given_at(l, r, c);
            if (!cell) continue;
            buf_printf(out, "%.*s = ", STR_ARG(cell->key));
            cell->span = (Span){(uint32_t)out->n, (uint32_t)cell->value.n};
            buf_add(out, cell->value);
            Number n;
            const Unit *unit = l->g->columns[c].unit;
            bool alone = number_read(cell->value, &n) == NUMBER_OK && n.len == cell->value.n;
            if (unit && unit->name[0] && alone) buf_printf(out, " %s", unit->name);
            if (cell->remark.n) buf_printf(out, "   ; %.*s", STR_ARG(cell->remark));
            buf_putc(out, '\n');
        }
    }
}

/* A text from which something is left out must not reach a log. */
static Str taken(Buf *b, Arena *a) {
    if (b->failed) fatal("out of memory");
    Str text = arena_str(a, buf_str(b));
    buf_release(b);
    return text;
}

Str bench_entry(Bench *b, Arena *a) {
    Buf out = {0};
    buf_printf(&out, "%.*s\n", STR_ARG(b->heading));
    for (uint32_t i = 0; i < b->count; i++)
        b->cells[i].span = (Span){0};
    for (uint32_t i = 0; i < b->line_count; i++)
        buf_printf(&out, "%.*s\n", STR_ARG(b->lines[i]));
    for (int grids = 0; grids < 2; grids++) { /* lines stand above the grids */
        for (uint32_t i = 0; i < b->plan->count; i++) {
            Layout l = {.b = b, .g = &b->plan->grids[i]};
            if (l.g->as_lines == (grids == 1)) continue;
            lay_out_grid(&l, i, a);
            bool any = false;
            for (uint32_t r = 0; r < l.g->row_count; r++)
                any |= row_given(&l, r);
            if (any && l.g->as_lines) write_lines(&out, &l);
            if (any && !l.g->as_lines)
                write_grid(&out, &l, b->plan->job->vocab->classes[l.g->rows].name);
        }
    }
    return taken(&out, a);
}

/* ---- behind the log ------------------------------------------------------------------------- */

static bool has_crlf(Str log) {
    size_t at = str_find_char(log, '\n', 0);
    return at != SIZE_MAX && at > 0 && log.p[at - 1] == '\r';
}

Str bench_ends_as(Str log, Str entry, Arena *a) {
    Buf b = {0};
    if (!has_crlf(log)) return entry;
    for (size_t i = 0; i < entry.n; i++) {
        if (entry.p[i] == '\n') buf_putc(&b, '\r');
        buf_putc(&b, entry.p[i]);
    }
    return taken(&b, a);
}

Str bench_joined(Str log, Str entry, Arena *a, uint32_t *at) {
    const char *end = has_crlf(log) ? "\r\n" : "\n";
    Buf b = {0};
    buf_add(&b, log);
    if (log.n && log.p[log.n - 1] != '\n') buf_puts(&b, end);
    buf_puts(&b, end);
    buf_add(&b, entry);
    Str text = taken(&b, a);
    *at = (uint32_t)(text.n - entry.n);
    return text;
}
