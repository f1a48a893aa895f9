#include "show/paper.h"

#include "base/utf8.h"
#include "show/table.h"

enum { BOX_MOST = 18, BOX_LEAST = 9, ITEM_SPARES = 2, HEADER_LINES = 3 };

typedef struct Paper {
    Buf *out;
    const Plan *plan;
    Arena *a;
    Str title;
    uint32_t page, pages; /* pages 0: being counted */
    uint32_t line;        /* of the page, that is to be written next; 0: none was begun */
} Paper;

typedef struct Boxes { /* one grid on the paper */
    const PlanGrid *g;
    Str *heads; /* of the columns; the last are the remarks when there is room */
    uint32_t count;
    size_t label, width;
    uint32_t head_lines;
} Boxes;

/* ---- pages ----------------------------------------------------------------------------------- */

static void put_line(Paper *p, Str text) {
    while (text.n && text.p[text.n - 1] == ' ')
        text.n--;
    buf_add(p->out, text);
    buf_putc(p->out, '\n');
    p->line++;
}

static void begin_page(Paper *p) {
    if (p->page++) buf_putc(p->out, '\f');
    p->line = 0;
    Str number = arena_printf(p->a, "page %u of %u", p->page, p->pages);
    Str title = utf8_clip(p->title, PAPER_COLUMNS - number.n - 2);
    Buf b = {0};
    buf_add(&b, title);
    buf_fill(&b, ' ', PAPER_COLUMNS - utf8_width(title) - number.n);
    buf_add(&b, number);
    put_line(p, buf_str(&b));
    buf_release(&b);
    put_line(p, (Str){0});
    put_line(p,
             STR("Date ________________  By ________________  With ____________________________"));
}

static void need(Paper *p, uint32_t lines) {
    if (!p->page || p->line + lines > PAPER_LINES) begin_page(p);
}

static void put_folded(Paper *p, Str text) {
    Buf b = {0};
    fold_text(&b, text, PAPER_COLUMNS, 0);
    Str rest = buf_str(&b);
    while (rest.n) {
        size_t end = str_find_char(rest, '\n', 0);
        put_line(p, (Str){rest.p, end});
        rest = str_skip(rest, end + 1);
    }
    buf_release(&b);
}

static uint32_t folded_lines(Str text) {
    Buf b = {0};
    uint32_t n = 0;
    fold_text(&b, text, PAPER_COLUMNS, 0);
    for (size_t i = 0; i < b.n; i++)
        n += b.p[i] == '\n';
    buf_release(&b);
    return n;
}

/* ---- boxes ----------------------------------------------------------------------------------- */

/* Takes the words that fit into a box off the front; a longer word is cut off where the box ends.
 */
static Str head_line(Str *rest, size_t width) {
    Str line = {0};
    while (rest->n) {
        Str left = *rest;
        Str word = str_word(&left);
        if (!word.n) break;
        if (!line.n) line.p = word.p;
        size_t n = (size_t)(word.p + word.n - line.p);
        if (utf8_width((Str){line.p, n}) > width && line.n) break;
        line.n = n;
        *rest = left;
    }
    return utf8_clip(line, width);
}

static uint32_t head_height(const Boxes *b) {
    uint32_t most = 1;
    for (uint32_t i = 0; i < b->count; i++) {
        Str rest = b->heads[i];
        uint32_t n = 0;
        while (rest.n && head_line(&rest, b->width - 2).n)
            n++;
        if (n > most) most = n;
    }
    return most;
}

/* A curve whose condition is not known leaves room to write it. */
static Str head_of(const Paper *p, const PlanColumn *c) {
    const Tag *tag = &p->plan->job->vocab->tags[c->tag];
    if (!tag->has_curve || c->at_text.n) return c->head;
    return arena_printf(p->a, "%.*s @ _____ %s", STR_ARG(c->head), tag->over->name);
}

static Boxes boxes_of(const Paper *p, const PlanGrid *g) {
    Boxes b = {.g = g, .count = g->column_count};
    b.label = utf8_width(p->plan->job->vocab->classes[g->rows].name);
    for (uint32_t i = 0; i < g->row_count; i++) {
        size_t wide = utf8_width(g->labels[i]);
        if (wide > b.label) b.label = wide;
    }
    b.label += 1;
    b.heads = arena_array(p->a, b.count + 2, sizeof *b.heads);
    for (uint32_t i = 0; i < b.count; i++)
        b.heads[i] = head_of(p, &g->columns[i]);
    b.width = (PAPER_COLUMNS - b.label) / (b.count ? b.count : 1);
    if (b.width > BOX_MOST) b.width = BOX_MOST;
    if (b.width < BOX_LEAST) b.width = BOX_LEAST;
    b.head_lines = head_height(&b);
    return b;
}

/* What is left of the line behind the boxes is for remarks. */
static size_t remark_width(const Boxes *b) {
    size_t used = b->label + b->count * b->width + 1;
    return used + BOX_LEAST < PAPER_COLUMNS ? PAPER_COLUMNS - used : 0;
}

static void put_rule(Paper *p, const Boxes *b, uint32_t from, uint32_t to) {
    Buf line = {0};
    buf_fill(&line, '-', b->label);
    for (uint32_t i = from; i < to; i++) {
        buf_putc(&line, '+');
        buf_fill(&line, '-', b->width - 1);
    }
    buf_putc(&line, '+');
    if (to == b->count && from == 0) buf_fill(&line, '-', remark_width(b));
    put_line(p, buf_str(&line));
    buf_release(&line);
}

static void put_cells(Paper *p, const Boxes *b, Str label, Str *texts, uint32_t from, uint32_t to) {
    Buf line = {0};
    buf_add(&line, label);
    buf_fill(&line, ' ', b->label > utf8_width(label) ? b->label - utf8_width(label) : 0);
    for (uint32_t i = from; i < to; i++) {
        Str text = texts ? head_line(&texts[i], b->width - 2) : (Str){0};
        buf_puts(&line, "| ");
        buf_add(&line, text);
        buf_fill(&line, ' ', b->width - 2 - utf8_width(text));
    }
    buf_putc(&line, '|');
    if (texts && label.n && to == b->count && from == 0 && remark_width(b) > 8)
        buf_puts(&line, " remarks");
    put_line(p, buf_str(&line));
    buf_release(&line);
}

static void put_head(Paper *p, const Boxes *b, uint32_t from, uint32_t to) {
    Str *rest = arena_array(p->a, b->count + 1, sizeof *rest);
    memcpy(rest, b->heads, b->count * sizeof *rest);
    put_rule(p, b, from, to);
    for (uint32_t i = 0; i < b->head_lines; i++) {
        Str name = i == 0 ? p->plan->job->vocab->classes[b->g->rows].name : (Str){0};
        put_cells(p, b, name, rest, from, to);
    }
    put_rule(p, b, from, to);
}

static void put_title(Paper *p, const PlanGrid *g, bool again) {
    put_line(p, (Str){0});
    put_line(p, again ? arena_printf(p->a, "%.*s, continued", STR_ARG(g->title)) : g->title);
    if (!again && g->form && g->form->says.n) put_folded(p, g->form->says);
    if (!again && g->lacks_set) put_line(p, STR("Set ________________"));
}

static uint32_t title_lines(const PlanGrid *g) {
    uint32_t n = 2 + g->lacks_set;
    return n + (g->form && g->form->says.n ? folded_lines(g->form->says) : 0);
}

/* A row is two lines high, so that a hand can write in it. A grid that fits on one page stands on
 * one.
 */
static void put_rows(Paper *p, const Boxes *b, uint32_t from, uint32_t to) {
    const PlanGrid *g = b->g;
    bool items = p->plan->job->vocab->classes[g->rows].kind == CLASS_ITEM;
    uint32_t rows = g->row_count + (items ? ITEM_SPARES : 0), head = b->head_lines + 2;
    uint32_t whole = title_lines(g) + head + 2 * rows;
    need(p, whole <= PAPER_LINES - HEADER_LINES ? whole : title_lines(g) + head + 2 * 4);
    put_title(p, g, from > 0);
    put_head(p, b, from, to);
    for (uint32_t r = 0; r < rows; r++) {
        if (p->line + 2 > PAPER_LINES) {
            begin_page(p);
            put_title(p, g, true);
            put_head(p, b, from, to);
        }
        put_cells(p, b, r < g->row_count ? g->labels[r] : STR("#"), NULL, from, to);
        put_rule(p, b, from, to);
    }
}

static void put_grid(Paper *p, const PlanGrid *g) {
    if (!g->row_count || !g->column_count) return;
    Boxes b = boxes_of(p, g);
    uint32_t fit = (uint32_t)((PAPER_COLUMNS - b.label - 1) / b.width);
    for (uint32_t from = 0; from < b.count; from += fit)
        put_rows(p, &b, from, from + fit < b.count ? from + fit : b.count);
}

/* ---- cautions -------------------------------------------------------------------------------- */

static bool measures(const Plan *plan, const Caution *c) {
    for (uint32_t i = 0; i < plan->count; i++) {
        for (uint32_t k = 0; k < plan->grids[i].column_count && plan->grids[i].row_count; k++) {
            for (uint8_t t = 0; t < c->tag_count; t++)
                if (c->tags[t] == plan->grids[i].columns[k].tag) return true;
        }
    }
    return false;
}

static void put_cautions(Paper *p) {
    const Vocab *v = p->plan->job->vocab;
    bool first = true;
    for (uint16_t i = 0; i < v->caution_count; i++) {
        const Caution *c = &v->cautions[i];
        if (!measures(p->plan, c)) continue;
        Str text = arena_printf(p->a, "%.*s: %.*s", STR_ARG(c->name), STR_ARG(c->says));
        need(p, folded_lines(text) + (first ? 2 : 0));
        if (first) {
            put_line(p, (Str){0});
            put_line(p, STR("Cautions"));
        }
        first = false;
        put_folded(p, text);
    }
}

/* ---- all of it ------------------------------------------------------------------------------- */

static uint32_t put_pages(Buf *out, const Plan *plan, Str title, uint32_t pages) {
    Paper p = {.out = out, .plan = plan, .a = arena_new(), .title = title, .pages = pages};
    for (uint32_t i = 0; i < plan->count; i++)
        put_grid(&p, &plan->grids[i]);
    if (!p.page) begin_page(&p);
    put_cautions(&p);
    arena_free(p.a);
    return p.page;
}

void paper_text(Buf *out, const Plan *plan, Str title) {
    Buf counted = {0};
    uint32_t pages = put_pages(&counted, plan, title, 0);
    buf_release(&counted);
    put_pages(out, plan, title, pages);
}
