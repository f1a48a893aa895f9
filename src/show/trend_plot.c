/* A small plot of each series, in characters, beside its first and its last value. */
#include "show/trend_parts.h"

#include "base/utf8.h"
#include "show/table.h"
#include <math.h>

enum { PLOT_MOST = 40, PLOT_LEAST = 8, PLOT_LEVELS = 8 };

typedef struct Frame {
    double x0, x1, y0, y1;
} Frame;

static Frame frame_of(const TrendGroup *g) {
    Frame f = {INFINITY, -INFINITY, INFINITY, -INFINITY};
    for (uint32_t i = 0; i < g->count; i++) {
        for (uint32_t k = 0; k < g->rows[i].n; k++) {
            f.x0 = fmin(f.x0, g->rows[i].x[k]);
            f.x1 = fmax(f.x1, g->rows[i].x[k]);
            f.y0 = fmin(f.y0, g->rows[i].y[k]);
            f.y1 = fmax(f.y1, g->rows[i].y[k]);
        }
    }
    return f;
}

/* As wide as the screen leaves it beside the names. */
static int plot_width(const TrendReport *r, const TrendGroup *g) {
    enum { INDENT = 2, GAP = 2 };
    size_t name = 0;
    for (uint32_t i = 0; i < g->count; i++) {
        size_t wide = utf8_width(g->rows[i].s->subject);
        if (g->rows[i].n > 1 && wide > name) name = wide;
    }
    if (r->how->width <= 0) return PLOT_MOST;
    int room = r->how->width - INDENT - GAP - (int)name;
    return room < PLOT_LEAST ? PLOT_LEAST : room > PLOT_MOST ? PLOT_MOST : room;
}

static Str plot(const TrendReport *r, const TrendRow *row, Frame f, int width) {
    static const char *const level[PLOT_LEVELS] = {"▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"};
    const char *at[PLOT_MOST] = {0};
    for (uint32_t k = 0; k < row->n; k++) {
        int x = f.x1 > f.x0 ? (int)((row->x[k] - f.x0) / (f.x1 - f.x0) * (width - 1) + .5) : 0;
        bool flat = f.y1 - f.y0 < r->slack;
        int y = flat ? 3 : (int)((row->y[k] - f.y0) / (f.y1 - f.y0) * (PLOT_LEVELS - 1) + .5);
        at[x] = level[y];
    }
    Buf b = {0};
    int last = width - 1;
    while (last > 0 && !at[last])
        last--;
    for (int i = 0; i <= last; i++)
        buf_puts(&b, at[i] ? at[i] : "·");
    Str text = arena_str(r->arena, buf_str(&b));
    buf_release(&b);
    return text;
}

/* Each series on the scale of its set: what stands still and what falls is seen at once. */
void trend_plots(Buf *out, const TrendReport *r, const TrendGroup *g) {
    Table *t = table_new(r->arena);
    Frame f = frame_of(g);
    if (!(f.x1 > f.x0)) return;
    int width = plot_width(r, g);
    uint32_t name = trend_column(t, "subject", STR(""), STR(""), ALIGN_LEFT),
             from = trend_column(t, "from", STR(""), STR(""), ALIGN_POINT),
             small =
                 trend_column(t, "plot",
                              arena_printf(r->arena, "%.*s .. %.*s %s", STR_ARG(trend_run(r, f.x0)),
                                           STR_ARG(trend_run(r, f.x1)), r->x_unit),
                              STR(""), ALIGN_LEFT),
             to = trend_column(t, "to", STR(""), STR(""), ALIGN_POINT);
    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        if (row->n < 2) continue;
        uint32_t at = table_row(t);
        table_put(t, at, name, row->s->subject, TONE_PLAIN);
        table_put(t, at, from, trend_value(r, row->first), TONE_PLAIN);
        table_put(t, at, small, plot(r, row, f, width), TONE_PLAIN);
        table_put(t, at, to, trend_last(r, row), TONE_PLAIN);
    }
    if (!t->row_count) return;
    buf_putc(out, '\n');
    table_text(out, t, (TextStyle){r->how->width, r->how->colour, 2});
}
