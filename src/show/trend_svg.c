/*
 * The chart on paper: black on white, so that any printer and any copy of it will do. Lines are
 * told apart by dashes and marks and are named at their right end; limits are long dashes with
 * their author. A chart a group, below each other, each with its own scale.
 */
#include "show/trend_parts.h"

#include <math.h>

enum {
    WIDTH = 720, /* of the page; a chart's height follows from how many names must fit */
    LEFT = 70,
    RIGHT = 150,
    TOP = 40,
    BOTTOM = 46,
    LEAST_HEIGHT = 300,
    NAME_STEP = 13,
    DASHES = 6,
    MARKS = 4,
};

typedef struct Axis {
    double from, to, step;
    int places;
} Axis;

typedef struct Chart {
    Buf *out;
    const TrendReport *r;
    Axis x, y;
    double top, height; /* of the plot area, in page units */
} Chart;

/* ---- axes --------------------------------------------------------------------------------------
 */

/* Steps of 1, 2 or 5, so that there are about `want` of them. Equal values of two units may differ
 * in the last bit: that is no span. */
static Axis axis_of(double low, double high, int want) {
    if (high - low <= 1e-9 * fmax(fabs(low), fabs(high))) {
        double pad = low != 0 ? fabs(low) * .05 : 1;
        low -= pad;
        high += pad;
    }
    double raw = (high - low) / want, size = pow(10, floor(log10(raw)));
    double step = raw <= size       ? size
                  : raw <= 2 * size ? 2 * size
                  : raw <= 5 * size ? 5 * size
                                    : 10 * size;
    Axis a = {floor(low / step) * step, ceil(high / step) * step, step, 0};
    while (a.places < 6 && fabs(step * pow(10, a.places) - round(step * pow(10, a.places))) > 1e-6)
        a.places++;
    return a;
}

static int steps_of(const Axis *a) {
    return (int)round((a->to - a->from) / a->step);
}

static double px(const Chart *c, double x) {
    return LEFT + (x - c->x.from) / (c->x.to - c->x.from) * (WIDTH - LEFT - RIGHT);
}

static double py(const Chart *c, double y) {
    return c->top + c->height - (y - c->y.from) / (c->y.to - c->y.from) * c->height;
}

static void line(Buf *b, double x0, double y0, double x1, double y1, const char *style) {
    buf_puts(b, "<line x1=\"");
    buf_fixed(b, x0, 1);
    buf_puts(b, "\" y1=\"");
    buf_fixed(b, y0, 1);
    buf_puts(b, "\" x2=\"");
    buf_fixed(b, x1, 1);
    buf_puts(b, "\" y2=\"");
    buf_fixed(b, y1, 1);
    buf_printf(b, "\" %s/>\n", style);
}

static void text(Buf *b, double x, double y, const char *style, Str words) {
    buf_puts(b, "<text x=\"");
    buf_fixed(b, x, 1);
    buf_puts(b, "\" y=\"");
    buf_fixed(b, y, 1);
    buf_printf(b, "\" %s>", style);
    buf_html(b, words);
    buf_puts(b, "</text>\n");
}

static Str number_text(Arena *a, double v, int places) {
    Buf b = {0};
    buf_fixed(&b, v, places);
    Str out = arena_str(a, buf_str(&b));
    buf_release(&b);
    return out;
}

static void draw_axes(const Chart *c, Str x_title, Str y_title) {
    Buf *b = c->out;
    double bottom = c->top + c->height, right = WIDTH - RIGHT;
    for (int i = 0; i <= steps_of(&c->y); i++) {
        double v = c->y.from + i * c->y.step;
        line(b, LEFT, py(c, v), right, py(c, v), "class=\"grid\"");
        text(b, LEFT - 6, py(c, v) + 4, "text-anchor=\"end\"",
             number_text(c->r->arena, v, c->y.places));
    }
    for (int i = 0; i <= steps_of(&c->x); i++) {
        double v = c->x.from + i * c->x.step;
        line(b, px(c, v), bottom, px(c, v), bottom + 5, "class=\"axis\"");
        text(b, px(c, v), bottom + 18, "text-anchor=\"middle\"",
             number_text(c->r->arena, v, c->x.places));
    }
    line(b, LEFT, c->top, LEFT, bottom, "class=\"axis\"");
    line(b, LEFT, bottom, right, bottom, "class=\"axis\"");
    text(b, (LEFT + right) / 2, bottom + 36, "text-anchor=\"middle\"", x_title);
    buf_puts(b, "<text transform=\"translate(16 ");
    buf_fixed(b, c->top + c->height / 2, 1);
    buf_puts(b, ") rotate(-90)\" text-anchor=\"middle\">");
    buf_html(b, y_title);
    buf_puts(b, "</text>\n");
}

/* ---- lines -------------------------------------------------------------------------------------
 */

static void draw_mark(const Chart *c, double x, double y, uint32_t shape) {
    Buf *b = c->out;
    buf_puts(b, "<path class=\"mark\" d=\"M");
    buf_fixed(b, px(c, x), 1);
    buf_putc(b, ' ');
    buf_fixed(b, py(c, y), 1);
    static const char *const shapes[MARKS] = {"m-3 -3h6v6h-6z", "m0 -4l4 7h-8z",
                                              "m0 -4l4 4l-4 4l-4 -4z",
                                              "m-3 0a3 3 0 1 0 6 0a3 3 0 1 0 -6 0z"};
    buf_printf(b, "%s\"/>\n", shapes[shape % MARKS]);
}

static void draw_row(const Chart *c, const TrendRow *row, uint32_t i) {
    static const char *const dash[DASHES] = {"", "6 3", "2 2", "8 3 2 3", "12 4", "1 4"};
    Buf *b = c->out;
    buf_printf(b, "<polyline class=\"%s\" stroke-dasharray=\"%s\" points=\"",
               row->odd ? "odd" : "run", dash[i % DASHES]);
    for (uint32_t k = 0; k < row->n; k++) {
        buf_fixed(b, px(c, row->x[k]), 1);
        buf_putc(b, ',');
        buf_fixed(b, py(c, row->y[k]), 1);
        buf_putc(b, ' ');
    }
    buf_puts(b, "\"/>\n");
    for (uint32_t k = 0; k < row->n; k++)
        draw_mark(c, row->x[k], row->y[k], i);
}

typedef struct Label {
    double y, from_x, from_y;
    Str words;
} Label;

static int lower(const void *a, const void *b) {
    double x = ((const Label *)a)->y, y = ((const Label *)b)->y;
    return x < y ? -1 : x > y;
}

/* Names that would lie on each other move apart, with a thin line to their curve's end. */
static void draw_labels(const Chart *c, Label *labels, uint32_t n) {
    qsort(labels, n, sizeof *labels, lower);
    double bottom = c->top + c->height;
    for (uint32_t i = 1; i < n; i++)
        labels[i].y = fmax(labels[i].y, labels[i - 1].y + NAME_STEP);
    if (n && labels[n - 1].y > bottom) labels[n - 1].y = bottom;
    for (uint32_t i = n; i-- > 1;)
        labels[i - 1].y = fmin(labels[i - 1].y, labels[i].y - NAME_STEP);
    double at = WIDTH - RIGHT + 14;
    for (uint32_t i = 0; i < n; i++) {
        line(c->out, labels[i].from_x + 5, labels[i].from_y, at - 2, labels[i].y, "class=\"lead\"");
        text(c->out, at, labels[i].y + 4, "class=\"name\"", labels[i].words);
    }
}

static Str label_words(const TrendReport *r, const TrendRow *row) {
    const Series *s = row->s;
    Str place = s->place.n ? s->place : s->item;
    return place.n ? arena_printf(r->arena, "%.*s %.*s", STR_ARG(s->subject), STR_ARG(place))
                   : s->subject;
}

/* ---- limits ------------------------------------------------------------------------------------
 */

static void draw_bound(const Chart *c, double y, Str words) {
    if (y < c->y.from || y > c->y.to) return;
    line(c->out, LEFT, py(c, y), WIDTH - RIGHT, py(c, y), "class=\"limit\"");
    text(c->out, LEFT + 6, py(c, y) - 4, "class=\"name\"", words);
}

static bool said_before(const TrendGroup *g, uint32_t row, const SeriesLimit *l) {
    for (uint32_t i = 0; i < row; i++) {
        const Series *s = g->rows[i].s;
        for (uint32_t k = 0; k < s->limit_count; k++) {
            const SeriesLimit *o = &s->limits[k];
            if (str_ieq(o->by, l->by) && o->range.low == l->range.low &&
                o->range.high == l->range.high)
                return true;
        }
    }
    return false;
}

static void draw_limits(const Chart *c, const TrendGroup *g) {
    for (uint32_t i = 0; i < g->count; i++) {
        const Series *s = g->rows[i].s;
        for (uint32_t k = 0; k < s->limit_count; k++) {
            const SeriesLimit *l = &s->limits[k];
            if (said_before(g, i, l)) continue;
            Str words = arena_printf(c->r->arena, "%.*s by %.*s", STR_ARG(l->text), STR_ARG(l->by));
            if (isfinite(l->range.low))
                draw_bound(c, unit_from_si(c->r->y.unit, l->range.low), words);
            if (isfinite(l->range.high))
                draw_bound(c, unit_from_si(c->r->y.unit, l->range.high), words);
        }
    }
}

/* Limits that are near the readings belong on the chart; a far one would flatten them. */
static void widen_for_limits(const Chart *c, const TrendGroup *g, double *low, double *high) {
    double reach = fmax(*high - *low, 1e-12) * .6;
    for (uint32_t i = 0; i < g->count; i++) {
        const Series *s = g->rows[i].s;
        for (uint32_t k = 0; k < s->limit_count; k++) {
            const double bounds[] = {s->limits[k].range.low, s->limits[k].range.high};
            for (int e = 0; e < 2; e++) {
                double v = isfinite(bounds[e]) ? unit_from_si(c->r->y.unit, bounds[e]) : NAN;
                if (v >= *low - reach && v < *low) *low = v;
                if (v <= *high + reach && v > *high) *high = v;
            }
        }
    }
}

/* ---- a chart -----------------------------------------------------------------------------------
 */

static Str chart_title(const TrendReport *r, const TrendGroup *g) {
    Str at = {0};
    for (uint32_t i = 0; i < g->count && !at.n; i++)
        at = g->rows[i].s->at_text;
    Str who = g->engine.n && g->name.n
                  ? arena_printf(r->arena, "%.*s, %.*s", STR_ARG(g->engine), STR_ARG(g->name))
              : g->engine.n ? g->engine
                            : g->name;
    return arena_printf(r->arena, "%.*s%s%.*s: %.*s", STR_ARG(r->tag->name), at.n ? " at " : "",
                        STR_ARG(at), STR_ARG(who));
}

static double chart_height(const TrendGroup *g) {
    double need = (double)g->count * NAME_STEP;
    return need > LEAST_HEIGHT ? need : LEAST_HEIGHT;
}

static bool extent(const TrendGroup *g, double *x0, double *x1, double *y0, double *y1) {
    *x0 = *y0 = INFINITY;
    *x1 = *y1 = -INFINITY;
    for (uint32_t i = 0; i < g->count; i++) {
        for (uint32_t k = 0; k < g->rows[i].n; k++) {
            *x0 = fmin(*x0, g->rows[i].x[k]);
            *x1 = fmax(*x1, g->rows[i].x[k]);
            *y0 = fmin(*y0, g->rows[i].y[k]);
            *y1 = fmax(*y1, g->rows[i].y[k]);
        }
    }
    return isfinite(*x0);
}

static double draw_group(Buf *out, const TrendReport *r, const TrendGroup *g, double top) {
    Chart c = {.out = out, .r = r, .top = top + TOP, .height = chart_height(g)};
    double x0, x1, y0, y1;
    if (!extent(g, &x0, &x1, &y0, &y1)) return top;
    widen_for_limits(&c, g, &y0, &y1);
    c.x = axis_of(fmin(x0, 0), x1, 8);
    c.y = axis_of(y0, y1, 6);
    text(out, LEFT, c.top - 16, "class=\"title\"", chart_title(r, g));
    Str unit = str_from(r->y.unit->name);
    draw_axes(&c,
              arena_printf(r->arena, "%.*s%s%s%s", STR_ARG(r->over ? r->over->name : STR("days")),
                           r->over && r->over->unit->name[0] ? " (" : "",
                           r->over ? r->over->unit->name : "",
                           r->over && r->over->unit->name[0] ? ")" : ""),
              arena_printf(r->arena, "%.*s%s%.*s%s", STR_ARG(r->tag->name), unit.n ? " (" : "",
                           STR_ARG(unit), unit.n ? ")" : ""));
    draw_limits(&c, g);
    Label *labels = arena_array(r->arena, g->count + 1, sizeof *labels);
    uint32_t n = 0;
    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        if (!row->n) continue;
        draw_row(&c, row, i);
        double x = px(&c, row->x[row->n - 1]), y = py(&c, row->last);
        labels[n++] = (Label){y, x, y, label_words(r, row)};
    }
    draw_labels(&c, labels, n);
    return c.top + c.height + BOTTOM;
}

/* ---- the page ----------------------------------------------------------------------------------
 */

static void page(Buf *out, double height, Str title, Str body) {
    buf_printf(out,
               "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" width=\"%d\" "
               "height=\"%.0f\" viewBox=\"0 0 %d %.0f\">\n<title>",
               WIDTH, height, WIDTH, height);
    buf_html(out, title);
    buf_printf(out,
               "</title>\n<style>\n"
               "text{font:11px sans-serif;fill:#000}.title{font:bold 14px sans-serif}\n"
               ".name{font-size:10px}.axis{stroke:#000}.grid{stroke:#ccc;stroke-width:.5}\n"
               ".run{fill:none;stroke:#000;stroke-width:1}.odd{fill:none;stroke:#000;"
               "stroke-width:2.5}\n.mark{fill:#fff;stroke:#000}.lead{stroke:#000;stroke-width:.4}\n"
               ".limit{stroke:#000;stroke-width:1.5;stroke-dasharray:14 6}\n"
               "</style>\n<rect width=\"%d\" height=\"%.0f\" fill=\"#fff\"/>\n",
               WIDTH, height);
    buf_add(out, body);
    buf_puts(out, "</svg>\n");
}

/* What is said to those who can't see it: the title of the one chart, or of what there are many. */
static Str page_title(const TrendReport *r, uint32_t charts) {
    if (r->group_count == 1) return chart_title(r, r->groups);
    return arena_printf(r->arena, "%.*s over %.*s: %u charts", STR_ARG(r->tag->name),
                        STR_ARG(r->over ? r->over->name : STR("days")), charts);
}

void trend_svg(Buf *out, const TrendReport *r) {
    Buf body = {0};
    double top = 0;
    uint32_t charts = 0;
    for (uint32_t i = 0; i < r->group_count; i++) {
        double end = draw_group(&body, r, &r->groups[i], top);
        charts += end > top;
        top = end;
    }
    page(out, top + 10, page_title(r, charts), buf_str(&body));
    buf_release(&body);
}

/* ---- the control chart -------------------------------------------------------------------------
 */

static void control_line(const Chart *c, double y, const char *what) {
    line(c->out, LEFT, py(c, y), WIDTH - RIGHT, py(c, y), "class=\"limit\"");
    Str words = arena_printf(c->r->arena, "%s %.*s", what,
                             STR_ARG(number_text(c->r->arena, y, c->y.places + 1)));
    text(c->out, WIDTH - RIGHT + 6, py(c, y) + 4, "class=\"name\"", words);
}

void control_svg(Buf *out, const ControlReport *r) {
    TrendReport as = {.arena = r->arena, .tag = r->tag, .y = r->y, .how = r->how};
    Buf body = {0};
    Chart c = {.out = &body, .r = &as, .top = TOP, .height = LEAST_HEIGHT};
    const ControlLimits *l = &r->limits.value;
    double low = l->low, high = l->high;
    for (uint32_t i = 0; i < r->count; i++) {
        low = fmin(low, r->points[i].y);
        high = fmax(high, r->points[i].y);
    }
    c.x = axis_of(0, r->count ? r->count : 1, 8);
    c.y = axis_of(low, high, 6);
    Str title = arena_printf(r->arena, "%.*s, in the order of days", STR_ARG(r->tag->name));
    text(&body, LEFT, TOP - 16, "class=\"title\"", title);
    draw_axes(&c, STR("number"),
              arena_printf(r->arena, "%.*s (%s)", STR_ARG(r->tag->name), r->y.unit->name));
    if (r->status == STATS_OK) {
        control_line(&c, l->low, "low");
        control_line(&c, l->centre, "centre");
        control_line(&c, l->high, "high");
    }
    buf_puts(&body, "<polyline class=\"run\" points=\"");
    for (uint32_t i = 0; i < r->count; i++) {
        buf_fixed(&body, px(&c, i + 1), 1);
        buf_putc(&body, ',');
        buf_fixed(&body, py(&c, r->points[i].y), 1);
        buf_putc(&body, ' ');
    }
    buf_puts(&body, "\"/>\n");
    for (uint32_t i = 0; i < r->count; i++) {
        const ControlPoint *p = &r->points[i];
        draw_mark(&c, i + 1, p->y, p->signals ? 1 : 3);
        if (p->signals & SIGNAL_OUTSIDE)
            text(&body, px(&c, i + 1) + 5, py(&c, p->y) + 14, "class=\"name\"",
                 arena_printf(r->arena, "%.*s", STR_ARG(trend_date(r->arena, p->day))));
    }
    page(out, c.top + c.height + BOTTOM + 10, title, buf_str(&body));
    buf_release(&body);
}
