/*
 * Sections of a page that do not need its whole width, gathered while they follow each other and
 * put into columns. The columns are divided here and not by the browser: browsers that print do not
 * fill the columns of a block evenly when it goes over a page.
 */
#include "show/sheet_parts.h"

void columns_add(Columns *c, Str html, uint32_t lines) {
    if (c->count == COLUMNS_SECTIONS) return; /* the caller writes before it is full */
    c->end[c->count] = c->html.n + html.n;
    c->lines[c->count++] = lines;
    buf_add(&c->html, html);
}

/* How many columns it takes when none has more than `most` lines; where each begins. */
static uint32_t divide(const Columns *c, uint32_t most, uint32_t *begins, uint32_t room) {
    uint32_t n = 0, lines = 0;
    for (uint32_t i = 0; i < c->count; i++) {
        if (n == 0 || lines + c->lines[i] > most) {
            if (n < room) begins[n] = i;
            n++;
            lines = 0;
        }
        lines += c->lines[i];
    }
    return n;
}

/* In their order, the longest column as short as can be. */
static uint32_t shortest(const Columns *c, uint32_t *begins, uint32_t room) {
    uint32_t most = 1, n;
    for (uint32_t i = 0; i < c->count; i++) {
        if (c->lines[i] > most) most = c->lines[i];
    }
    while ((n = divide(c, most, begins, room)) > room)
        most++;
    return n;
}

void columns_write(Buf *out, Columns *c, const char *class, uint32_t columns) {
    uint32_t begins[COLUMNS_MOST];
    if (!c->count) return;
    uint32_t n = shortest(c, begins, columns < COLUMNS_MOST ? columns : COLUMNS_MOST);
    buf_printf(out, "<div class=\"%s\">\n", class);
    for (uint32_t k = 0; k < n; k++) {
        uint32_t last = k + 1 < n ? begins[k + 1] : c->count;
        size_t from = begins[k] ? c->end[begins[k] - 1] : 0;
        buf_puts(out, "<div class=\"column\">\n");
        buf_add(out, (Str){buf_str(&c->html).p + from, c->end[last - 1] - from});
        buf_puts(out, "</div>\n");
    }
    buf_puts(out, "</div>\n");
    out->failed = out->failed || c->html.failed;
    buf_clear(&c->html);
    c->count = 0;
}
