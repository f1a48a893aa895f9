/*
 * The sheet as one HTML page. It is put down by the same parts as on a terminal, on another paper;
 * the plan, the charts and the log's notes are its own. Everything from the log goes through
 * buf_html. No script, no address: it reads from a mail's attachment.
 */
#include "base/utf8.h"
#include "show/sheet_parts.h"
#include "vocab/texts.h"

/* Characters of 8 point that fit across a printed A4 page, half of it, a quarter of it. */
enum { PAGE_CHARACTERS = 142, HALF_CHARACTERS = 64, SLIM_CHARACTERS = 29, SLIM_ROWS = 20 };

typedef enum Width { WIDTH_SLIM, WIDTH_HALF, WIDTH_FULL } Width; /* of a section */
/* Sections that stand side by side with their like: of names and values alone, and small tables. */
typedef enum Beside { BESIDE_NONE, BESIDE_FACTS, BESIDE_TABLES } Beside;

struct Page {
    bool in_section, in_list, in_figures;
    Str title;   /* of the section, its tables' caption */
    Buf section; /* what stands in it, until it is known how wide that is */
    Buf *body;
    Width width;
    Beside kind;    /* of the section */
    uint32_t lines; /* about how many it takes */
    Beside beside;  /* what the columns hold */
    Columns columns;
    Buf slim; /* a small table that waits for another to stand beside it */
    uint32_t slim_lines;
};

static void close_list(Sheet *s) {
    if (s->page->in_list) buf_puts(s->out, "</ul>\n");
    s->page->in_list = false;
}

static void needs(Page *p, Width width) {
    if (width > p->width) p->width = width;
}

static void add_slim(Page *p) {
    if (p->slim.n) columns_add(&p->columns, buf_str(&p->slim), p->slim_lines);
    p->columns.html.failed = p->columns.html.failed || p->slim.failed;
    buf_clear(&p->slim);
    p->slim_lines = 0;
}

static void write_columns(Page *p) {
    add_slim(p);
    if (p->beside == BESIDE_FACTS) columns_write(p->body, &p->columns, "facts", 4);
    if (p->beside == BESIDE_TABLES) columns_write(p->body, &p->columns, "pack", 2);
    p->beside = BESIDE_NONE;
}

/* Two slim ones share their lines: the first waits for the second. */
static void add_to_columns(Page *p, Str html) {
    if (p->kind != p->beside || p->columns.count + 2 > COLUMNS_SECTIONS) write_columns(p);
    p->beside = p->kind;
    if (p->kind == BESIDE_FACTS || p->width != WIDTH_SLIM) {
        columns_add(&p->columns, html, p->lines);
        return;
    }
    bool pair = p->slim.n > 0;
    buf_add(&p->slim, html);
    if (p->lines > p->slim_lines) p->slim_lines = p->lines;
    if (pair) add_slim(p);
}

static void close_section(Sheet *s) {
    static const char *const classes[] = {
        [WIDTH_SLIM] = "slim", [WIDTH_HALF] = "half", [WIDTH_FULL] = "full"};
    Page *p = s->page;
    close_list(s);
    if (!p->in_section) return;
    if (p->in_figures) buf_puts(s->out, "</div>\n");
    p->in_figures = false;
    Buf whole = {0};
    buf_printf(&whole, "<section class=\"%s\">\n<h2>",
               p->kind == BESIDE_FACTS ? "list" : classes[p->width]);
    buf_html(&whole, p->title);
    buf_puts(&whole, "</h2>\n");
    buf_add(&whole, buf_str(&p->section));
    buf_puts(&whole, "</section>\n");
    bool alone = p->kind == BESIDE_NONE || p->width == WIDTH_FULL;
    /* small tables gather behind the wide ones, so that they fill their columns */
    if (alone && p->beside != p->kind) write_columns(p);
    if (alone)
        buf_add(p->body, buf_str(&whole));
    else
        add_to_columns(p, buf_str(&whole));
    p->body->failed = p->body->failed || p->section.failed || whole.failed;
    buf_release(&whole);
    p->in_section = false;
    s->out = p->body;
}

static void page_section(Sheet *s, Str title) {
    close_section(s);
    s->page->in_section = true;
    s->page->kind = BESIDE_FACTS;
    s->page->width = WIDTH_SLIM;
    s->page->lines = 2; /* its heading */
    s->page->title = title;
    s->out = &s->page->section;
    buf_clear(s->out);
}

void page_figure(Sheet *s) {
    if (!s->page->in_figures) {
        page_section(s, STR("Plan and charts"));
        buf_puts(s->out, "<div class=\"figures\">\n");
    }
    s->page->in_figures = true;
    s->page->kind = BESIDE_NONE;
    needs(s->page, WIDTH_FULL);
}

static const char *state_class(const char *state) {
    static const char *const classes[][2] = {
        {"broken", "bad"}, {"accepted", "accepted"}, {"not judged", "doubt"}, {"so far", "doubt"}};
    for (size_t i = 0; state && i < sizeof classes / sizeof *classes; i++) {
        if (strcmp(classes[i][0], state) == 0) return classes[i][1];
    }
    return "good";
}

static void page_line(Sheet *s, const SheetLine *line) {
    if (!s->page->in_list) buf_puts(s->out, "<ul>\n");
    s->page->in_list = true;
    s->page->kind = BESIDE_NONE;
    needs(s->page, WIDTH_FULL);
    buf_puts(s->out, line->indent > 2 ? "<li class=\"sub\">" : "<li>");
    if (line->state)
        buf_printf(s->out, "<b class=\"state %s\">%s</b> ", state_class(line->state), line->state);
    if (line->lead.n) {
        buf_printf(s->out, "<b class=\"%s\">", line->tone == TONE_BAD ? "bad" : "accepted");
        buf_html(s->out, line->lead);
        buf_puts(s->out, "</b> ");
    }
    buf_html(s->out, line->text);
    buf_puts(s->out, "</li>\n");
}

static bool has_headings(const Table *t) {
    for (uint32_t i = 0; i < t->column_count; i++) {
        if (t->columns[i].heading.n) return true;
    }
    return false;
}

/* Names and values: two columns without headings. A number keeps its unit on its line: there the
 * name folds. */
static void write_pairs(Sheet *s, const Table *t) {
    enum { SHORT_VALUE = 16 };
    s->page->lines += t->row_count;
    buf_puts(s->out, "<dl>\n");
    for (uint32_t row = 0; row < t->row_count; row++) {
        const Cell *cells = &t->cells[(size_t)row * t->column_count];
        buf_puts(s->out, "<div><dt>");
        buf_html(s->out, cells[0].text);
        bool whole = utf8_width(cells[1].text) <= SHORT_VALUE;
        buf_puts(s->out, whole ? "</dt><dd class=\"whole\">" : "</dt><dd>");
        page_cell(s, s->out, &cells[1]);
        buf_puts(s->out, "</dd></div>\n");
    }
    buf_puts(s->out, "</dl>\n");
}

static void page_table(Sheet *s, const Table *t, int indent) {
    (void)indent;
    close_list(s);
    if (!t->row_count) return;
    if (!has_headings(t)) {
        write_pairs(s, t);
        return;
    }
    enum { HEAD_LINES = 3 };
    if (s->page->kind == BESIDE_FACTS) s->page->kind = BESIDE_TABLES;
    s->page->lines += t->row_count + HEAD_LINES;
    size_t wide = 0;
    for (uint32_t i = 0; i < t->column_count; i++)
        wide += table_measure(t, i).all + 2;
    needs(s->page, wide > HALF_CHARACTERS                               ? WIDTH_FULL
                   : wide > SLIM_CHARACTERS || t->row_count > SLIM_ROWS ? WIDTH_HALF
                                                                        : WIDTH_SLIM);
    TableHtml how = {
        .caption = s->page->title, .width = PAGE_CHARACTERS, .cell = page_cell, .ctx = s};
    table_html(s->out, t, &how);
}

static void page_facts(Sheet *s, Str lead, const Table *t) {
    close_list(s);
    buf_puts(s->out, "<div class=\"same\"><p>");
    buf_html(s->out, lead);
    buf_puts(s->out, "</p>\n");
    write_pairs(s, t);
    buf_puts(s->out, "</div>\n");
}

static const Paper page_paper = {page_section, page_line, page_table, page_facts,
                                 HALF_CHARACTERS - 8 /* for the name of the place */};

/* ---- the page as a whole ----------------------------------------------------------------------
 */

static Str fact(const Sheet *s, Role role) {
    return state_words(s->s, s->v->roles[role], SUBJECT_ENGINE);
}

/* A text between quotes in a style sheet: everything but letters and digits as its code. */
static void add_css_string(Buf *out, Str text) {
    buf_putc(out, '"');
    for (size_t i = 0; i < text.n; i++) {
        uint8_t c = (uint8_t)text.p[i];
        if (is_alpha(text.p[i]) || is_digit(text.p[i]) || c >= 0x80)
            buf_putc(out, text.p[i]);
        else
            buf_printf(out, "\\%x ", c);
    }
    buf_putc(out, '"');
}

static void write_start(const Sheet *s, Buf *out) {
    Str title = fact(s, ROLE_TITLE);
    buf_puts(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                  "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n"
                  "<meta name=\"generator\" content=\"thou sheet\">\n"
                  "<meta name=\"color-scheme\" content=\"light dark\">\n<title>");
    buf_html(out, s->j->name);
    if (title.n) buf_puts(out, ": ");
    buf_html(out, title);
    buf_puts(out, ", build sheet</title>\n<style>\n");
    buf_add(out, (Str){(const char *)text_page_css, text_page_css_size});
    buf_puts(out, "@page{@bottom-left{content:\"job \"");
    add_css_string(out, s->j->name);
    buf_puts(out, "}}\n</style>\n</head>\n<body>\n");
}

static void write_header(const Sheet *s, Buf *out, Str facts) {
    Str title = fact(s, ROLE_TITLE);
    buf_puts(out, "<header>\n<p class=\"kind\">Build sheet ");
    buf_html(out, s->j->name);
    buf_puts(out, s->how->for_owner ? ", for the owner</p>\n<h1>" : "</p>\n<h1>");
    buf_html(out, title.n ? title : s->j->name);
    buf_puts(out, "</h1>\n");
    buf_add(out, facts);
    buf_puts(out, "</header>\n");
}

/* How many verdicts say what: the first thing a reader wants to know. */
static void write_standing(const Sheet *s, Buf *out) {
    static const struct {
        const char *class, *words;
    } kinds[] = {
        {"bad", "broken"},        {"accepted", "broken but accepted"}, {"doubt", "not judged"},
        {"doubt", "hold so far"}, {"doubt", "hold by the card only"},  {"good", "hold"}};
    uint32_t count[sizeof kinds / sizeof *kinds] = {0};
    for (uint32_t i = 0; i < s->verdicts.count; i++) {
        const Verdict *v = &s->verdicts.items[i];
        switch (v->kind) {
        case VERDICT_BROKEN: count[v->accepted ? 1 : 0]++; break;
        case VERDICT_UNJUDGED: count[2]++; break;
        case VERDICT_SO_FAR: count[3]++; break;
        case VERDICT_NOMINAL: count[4]++; break;
        case VERDICT_HOLDS: count[5]++; break;
        }
    }
    if (!s->verdicts.count) return;
    buf_puts(out, "<p class=\"standing\">Limits, place by place:");
    const char *before = " ";
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        if (!count[i]) continue;
        buf_printf(out, "%s<b class=\"state %s\">%u %s</b>", before, kinds[i].class, count[i],
                   kinds[i].words);
        before = " ";
    }
    buf_puts(out, "</p>\n");
}

static void write_legend(Sheet *s, Buf *out) {
    buf_puts(out, "<p class=\"legend\"><span>Touch a number to see how it came about.</span>");
    Str legend = sheet_legend(s);
    if (legend.n) {
        buf_puts(out, " Marks: ");
        buf_html(out, legend);
        buf_putc(out, '.');
    }
    buf_puts(out, "</p>\n");
}

static void write_body(Sheet *s) {
    sheet_limits(s);
    close_section(s);
    sheet_plan(s);
    sheet_charts(s);
    sheet_lists(s);
    sheet_places(s);
    sheet_curves(s);
    sheet_missing(s);
    sheet_doubts(s);
    sheet_notes(s);
    close_section(s);
    write_columns(s->page);
    if (!s->how->for_owner) sheet_log(s);
    sheet_cautions(s);
    close_section(s);
}

void sheet_page(Buf *out, Eval *e, const SheetOptions *how) {
    Page page = {0};
    Buf head = {0}, body = {0};
    Sheet s = sheet_start(&head, &page_paper, e, how);
    s.page = &page;
    page.body = &body;
    sheet_head(&s);
    s.out = &body;
    write_body(&s); /* first, since it knows which marks are used */
    write_start(&s, out);
    write_header(&s, out, buf_str(&head));
    buf_puts(out, "<main>\n");
    write_standing(&s, out);
    write_legend(&s, out);
    buf_add(out, buf_str(&body));
    buf_puts(out, "</main>\n</body>\n</html>\n");
    out->failed = out->failed || head.failed || body.failed;
    buf_release(&head);
    buf_release(&body);
    buf_release(&page.section);
    buf_release(&page.columns.html);
    buf_release(&page.slim);
    arena_free(s.a);
}
