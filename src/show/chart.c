#include "show/chart.h"

#include "base/date.h"
#include "base/utf8.h"
#include <math.h>
#include <stdlib.h>

enum {
    WIDTH = 340, /* as long as names are short */
    HEIGHT = 194,
    LEFT = 48,
    PLOT = 224,
    NAME_GAP = 11,   /* between the plot and a name at the end of a line */
    TOP = 42,        /* for the name of the axis and that of a limit at the very top */
    AXIS_NAMED = 18, /* as far down as that name reaches */
    BOTTOM = 40,
    TICKS_Y = 5,
    TICKS_X = 4,
    NAME_APART = 16, /* between two names, so that both can be read */
    NAMED_MOST = 64,
    LABELS_MOST = 32,
    BAND_LEAST = 32, /* a limit on readings at one condition can still be seen */
    STYLES = 6,
};

/* Of a letter, in the larger type of a printed page. */
static const double letter_width = 8.6, letter_height = 12;

typedef struct Box {
    double x0, y0, x1, y1;
} Box;

typedef struct Axes {
    Buf *out;
    const Chart *c;
    double x0, x1, y0, y1;   /* what is shown */
    Box labels[LABELS_MOST]; /* of limits and aims, as far as they stand */
    uint32_t label_count;
} Axes;

static const char *const dashes[STYLES] = {"none", "7 3", "2 3", "9 3 2 3", "12 4", "4 2"};

/* ---- where things are -------------------------------------------------------------------------
 */

static double across(const Axes *a, double x) {
    return LEFT + (x - a->x0) / (a->x1 - a->x0) * PLOT;
}

static double down(const Axes *a, double y) {
    return HEIGHT - BOTTOM - (y - a->y0) / (a->y1 - a->y0) * (HEIGHT - TOP - BOTTOM);
}

static double width_of(Str text) {
    return (double)utf8_width(text) * letter_width;
}

static void take(double v, double *low, double *high) {
    if (!isfinite(v)) return;
    if (v < *low) *low = v;
    if (v > *high) *high = v;
}

/* A little air at both ends; something to show even when all is one value. */
static void widen(double *low, double *high, double part) {
    double span = *high - *low, size = fmax(fabs(*low), fabs(*high));
    if (span <= 1e-9 * size) span = size * .1; /* equal values may differ in the last bit */
    if (span <= 0) span = 1;
    *low -= span * part;
    *high += span * part;
}

static bool measure(Axes *a) {
    a->x0 = a->y0 = INFINITY;
    a->x1 = a->y1 = -INFINITY;
    for (uint32_t i = 0; i < a->c->line_count; i++) {
        const ChartLine *l = &a->c->lines[i];
        for (uint32_t k = 0; k < l->count; k++) {
            take(l->points[k].x, &a->x0, &a->x1);
            take(l->points[k].y, &a->y0, &a->y1);
        }
    }
    if (!(a->x0 <= a->x1) || !(a->y0 <= a->y1)) return false;
    for (uint32_t i = 0; i < a->c->band_count; i++) {
        const ChartBand *b = &a->c->bands[i];
        take(b->low, &a->y0, &a->y1);
        take(b->high, &a->y0, &a->y1);
        take(b->x0, &a->x0, &a->x1);
        take(b->x1, &a->x0, &a->x1);
    }
    widen(&a->x0, &a->x1, .04);
    widen(&a->y0, &a->y1, .07);
    return true;
}

ChartTicks chart_ticks(double low, double high, int most) {
    double rough = (high - low) / most, power = pow(10, floor(log10(rough)));
    static const double rounds[] = {1, 2, 5, 10};
    size_t i = 0;
    while (i < 3 && rounds[i] * power < rough * (1 - 1e-9))
        i++;
    double step = rounds[i] * power, first = ceil(low / step - 1e-9) * step;
    double digits = -floor(log10(step) + 1e-9);
    return (ChartTicks){.first = first,
                        .step = step,
                        .count = (int)floor((high - first) / step + 1e-9) + 1,
                        .places = digits > 0 ? (int)digits : 0};
}

/* ---- pieces -----------------------------------------------------------------------------------
 */

static void number(Buf *out, const char *name, double v) {
    buf_printf(out, " %s=\"", name);
    buf_fixed(out, v, 1);
    buf_putc(out, '"');
}

static void segment(Buf *out, const char *class, double x0, double y0, double x1, double y1) {
    buf_printf(out, "<line class=\"%s\" stroke=\"black\"", class);
    number(out, "x1", x0);
    number(out, "y1", y0);
    number(out, "x2", x1);
    number(out, "y2", y1);
    buf_puts(out, "/>");
}

static void words(Buf *out, const char *anchor, double x, double y, Str text) {
    buf_printf(out, "<text text-anchor=\"%s\"", anchor);
    number(out, "x", x);
    number(out, "y", y);
    buf_putc(out, '>');
    buf_html(out, text);
    buf_puts(out, "</text>");
}

/* Six that differ in shape, and the last three also in being hollow. */
static void marker(Buf *out, double x, double y, uint32_t style) {
    static const char *const shapes[STYLES] = {
        "m-3.2 0a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0 -6.4 0z",
        "m-3 -3h6v6h-6z",
        "m0 -3.8l3.6 6.4h-7.2z",
        "m0 -4l4 4l-4 4l-4 -4z",
        "m-3.2 0a3.2 3.2 0 1 0 6.4 0a3.2 3.2 0 1 0 -6.4 0z",
        "m-3 -3h6v6h-6z",
    };
    buf_printf(out, "<path class=\"%s\" d=\"M", style < 4 ? "dot" : "dot hollow");
    buf_fixed(out, x, 1);
    buf_putc(out, ' ');
    buf_fixed(out, y, 1);
    buf_printf(out, "%s\"/>", shapes[style]);
}

/* ---- axes -------------------------------------------------------------------------------------
 */

static void tick_x(const Axes *a, double x, Str text) {
    double at = across(a, x);
    segment(a->out, "grid", at, TOP, at, HEIGHT - BOTTOM);
    words(a->out, "middle", at, HEIGHT - BOTTOM + 15, text);
}

static void number_text(Buf *b, double v, int places) {
    buf_clear(b);
    buf_fixed(b, v, places);
}

static void ticks_y(const Axes *a) {
    ChartTicks ticks = chart_ticks(a->y0, a->y1, TICKS_Y);
    Buf text = {0};
    for (int i = 0; i < ticks.count; i++) {
        double y = ticks.first + i * ticks.step;
        number_text(&text, y, ticks.places);
        segment(a->out, "grid", LEFT, down(a, y), LEFT + PLOT, down(a, y));
        words(a->out, "end", LEFT - 6, down(a, y) + 4, buf_str(&text));
    }
    buf_release(&text);
}

static void ticks_number(const Axes *a) {
    ChartTicks ticks = chart_ticks(a->x0, a->x1, TICKS_X);
    Buf text = {0};
    for (int i = 0; i < ticks.count; i++) {
        double x = ticks.first + i * ticks.step;
        number_text(&text, x, ticks.places);
        tick_x(a, x, buf_str(&text));
    }
    buf_release(&text);
}

/* The first of every so many months; days within a short span. */
static void ticks_date(const Axes *a) {
    static const int months[] = {1, 2, 3, 6, 12, 24, 60, 120};
    double span = (a->x1 - a->x0) / 30.44;
    size_t k = 0;
    while (k < 7 && span / months[k] > TICKS_X)
        k++;
    char day[DATE_TEXT];
    if (span < 2) {
        int32_t step = (int32_t)ceil((a->x1 - a->x0) / 4);
        for (int32_t x = (int32_t)ceil(a->x0); x <= a->x1; x += step)
            tick_x(a, x, str_from(date_text((Date){x, -1}, day)));
        return;
    }
    date_text((Date){(int32_t)a->x0, -1}, day);
    int year = 0, month = 0;
    for (int i = 0; i < 4; i++)
        year = year * 10 + (day[i] - '0');
    for (;; month += months[k]) {
        char first[32];
        Date date;
        size_t len;
        (void)snprintf(first, sizeof first, "%04d-%02d-01", year + month / 12, month % 12 + 1);
        if (date_read(str_from(first), &date, &len) != DATE_OK || date.day > a->x1) return;
        if (date.day >= a->x0) tick_x(a, date.day, (Str){first, 7});
    }
}

static void draw_axes(const Axes *a) {
    ticks_y(a);
    if (a->c->x_days)
        ticks_date(a);
    else
        ticks_number(a);
    segment(a->out, "axis", LEFT, HEIGHT - BOTTOM, LEFT + PLOT, HEIGHT - BOTTOM);
    segment(a->out, "axis", LEFT, TOP, LEFT, HEIGHT - BOTTOM);
    words(a->out, "start", 4, AXIS_NAMED - 2, a->c->y_name);
    words(a->out, "end", LEFT + PLOT, HEIGHT - 8, a->c->x_name);
    buf_putc(a->out, '\n');
}

/* ---- limits and aims --------------------------------------------------------------------------
 */

/* A bar at the end of what is allowed, with short strokes on the side that is not. */
static void draw_end(const Axes *a, double from, double to, double y, int outside) {
    double at = down(a, y);
    segment(a->out, "limit", from, at, to, at);
    for (double x = from; outside && x <= to + .1; x += 6)
        segment(a->out, "limit", x, at, x + 3, at + 5 * outside);
}

static bool meet(Box a, Box b) {
    return a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1;
}

/* How bad it is to write there: on a dot or another label it can't be read. */
static double harm(const Axes *a, Box at) {
    enum { COVERED = 1000, DOT = 5 };
    double sum = fmax(0, at.x1 - (LEFT + PLOT)) + fmax(0, LEFT - at.x0);
    if (at.y0 < AXIS_NAMED || at.y1 > HEIGHT - BOTTOM) sum += COVERED;
    for (uint32_t i = 0; i < a->label_count; i++)
        sum += meet(a->labels[i], at) ? COVERED : 0;
    for (uint32_t i = 0; i < a->c->line_count; i++) {
        const ChartLine *l = &a->c->lines[i];
        for (uint32_t k = 0; k < l->count; k++) {
            double x = across(a, l->points[k].x), y = down(a, l->points[k].y);
            sum += meet(at, (Box){x - DOT, y - DOT, x + DOT, y + DOT}) ? COVERED : 0;
        }
    }
    return sum;
}

/* Beside the line at `y` from `from` to `to`, above it or below, at its one end or the other: where
 * it does least harm, and of equals the nearest. Above it, `clear` is taken by strokes. */
static void label_line(Axes *a, Str name, double from, double to, double y, double clear) {
    enum { ROWS = 3 };
    double wide = width_of(name), least = INFINITY;
    Box best = {0};
    bool at_end = false;
    for (int i = 0; i < 4 * ROWS; i++) {
        int row = i / 4, end = i & 1, under = i >> 1 & 1;
        double base = under ? y + letter_height + row * NAME_APART : y - clear - row * NAME_APART;
        double x = end ? to - wide : from;
        Box box = {x, base - letter_height + 2, x + wide, base + 2};
        double bad = harm(a, box) + i;
        if (bad >= least) continue;
        least = bad;
        best = box;
        at_end = end;
    }
    words(a->out, at_end ? "end" : "start", at_end ? best.x1 : best.x0, best.y1 - 2, name);
    if (a->label_count < LABELS_MOST) a->labels[a->label_count++] = best;
}

static void draw_band(Axes *a, const ChartBand *b) {
    bool aim = b->low == b->high;
    double top = isfinite(b->high) ? b->high : b->low;
    if (!isfinite(top)) return;
    double from = across(a, b->x0), to = across(a, b->x1);
    if (to - from < BAND_LEAST) {
        double middle =
            fmax(fmin((from + to) / 2, LEFT + PLOT - BAND_LEAST / 2.0), LEFT + BAND_LEAST / 2.0);
        from = middle - BAND_LEAST / 2.0;
        to = middle + BAND_LEAST / 2.0;
    }
    if (aim) {
        buf_puts(a->out, "<g stroke-dasharray=\"5 3\">");
        draw_end(a, from, to, b->low, 0);
        buf_puts(a->out, "</g>");
    } else {
        if (isfinite(b->high)) draw_end(a, from, to, b->high, -1);
        if (isfinite(b->low)) draw_end(a, from, to, b->low, 1);
    }
    label_line(a, b->name, from, to, down(a, top), !aim && isfinite(b->high) ? 9 : 4);
    buf_putc(a->out, '\n');
}

/* ---- lines ------------------------------------------------------------------------------------
 */

static void draw_line(const Axes *a, const ChartLine *l, uint32_t style) {
    if (l->count > 1 && !l->only_points) {
        buf_printf(a->out,
                   "<polyline class=\"%s\" fill=\"none\" stroke=\"black\" "
                   "stroke-dasharray=\"%s\" points=\"",
                   l->name.n ? "curve" : "curve thin", l->name.n ? dashes[style] : "none");
        for (uint32_t i = 0; i < l->count; i++) {
            if (i) buf_putc(a->out, ' ');
            buf_fixed(a->out, across(a, l->points[i].x), 1);
            buf_putc(a->out, ',');
            buf_fixed(a->out, down(a, l->points[i].y), 1);
        }
        buf_puts(a->out, "\"/>");
    }
    for (uint32_t i = 0; i < l->count && (l->name.n || l->only_points || l->count == 1); i++)
        marker(a->out, across(a, l->points[i].x), down(a, l->points[i].y), style);
    buf_putc(a->out, '\n');
}

typedef struct NameAt {
    double y;
    uint32_t line;
} NameAt;

static int by_height(const void *a, const void *b) {
    double x = ((const NameAt *)a)->y, y = ((const NameAt *)b)->y;
    return (x > y) - (x < y);
}

/* The only line of a chart that says what it is at its axis. */
static bool said_by_axis(const Chart *c, const ChartLine *l) {
    return c->line_count == 1 && str_starts(c->y_name, l->name);
}

static bool is_named(const Chart *c, const ChartLine *l) {
    return l->name.n && l->count && !said_by_axis(c, l);
}

/* Beside the ends of the lines, moved apart where two ends are close. */
static void draw_names(const Axes *a) {
    NameAt names[NAMED_MOST] = {0};
    uint32_t n = 0;
    for (uint32_t i = 0; i < a->c->line_count && n < NAMED_MOST; i++) {
        const ChartLine *l = &a->c->lines[i];
        if (is_named(a->c, l)) names[n++] = (NameAt){down(a, l->points[l->count - 1].y), i};
    }
    qsort(names, n, sizeof *names, by_height);
    for (uint32_t i = 1; i < n; i++) {
        if (names[i].y < names[i - 1].y + NAME_APART) names[i].y = names[i - 1].y + NAME_APART;
    }
    double over = n ? names[n - 1].y - (HEIGHT - BOTTOM) : 0;
    for (uint32_t i = n; over > 0 && i-- > 0;) { /* back up from the bottom */
        double most = HEIGHT - BOTTOM - (double)(n - 1 - i) * NAME_APART;
        if (names[i].y > most) names[i].y = most;
    }
    for (uint32_t i = 0; i < n; i++) {
        const ChartLine *l = &a->c->lines[names[i].line];
        double x = across(a, l->points[l->count - 1].x);
        double y = down(a, l->points[l->count - 1].y), end = LEFT + PLOT + NAME_GAP - 3;
        if (fabs(y - names[i].y) > 2 || x < end - 14)
            segment(a->out, "lead", x + 5, y, end, names[i].y);
        words(a->out, "start", end + 3, names[i].y + 4, l->name);
    }
}

/* As wide as the longest name at the end of a line needs it: one that is cut is another's as well.
 */
static double width_for_names(const Chart *c) {
    double wide = WIDTH;
    for (uint32_t i = 0; i < c->line_count; i++) {
        const ChartLine *l = &c->lines[i];
        if (is_named(c, l)) wide = fmax(wide, LEFT + PLOT + NAME_GAP + width_of(l->name));
    }
    return ceil(wide);
}

void chart_svg(Buf *out, const Chart *c) {
    Axes a = {.out = out, .c = c};
    if (!measure(&a)) return;
    buf_printf(out, "<svg class=\"chart\" viewBox=\"0 0 %.0f %d\" role=\"img\" aria-label=\"",
               width_for_names(c), HEIGHT);
    buf_html(out, c->title);
    buf_puts(out, "\">\n");
    draw_axes(&a);
    for (uint32_t i = 0; i < c->band_count; i++)
        draw_band(&a, &c->bands[i]);
    uint32_t style = 0;
    for (uint32_t i = 0; i < c->line_count; i++)
        draw_line(&a, &c->lines[i],
                  c->lines[i].name.n && !c->lines[i].only_points ? style++ % STYLES : 0);
    draw_names(&a);
    buf_puts(out, "</svg>\n");
}
