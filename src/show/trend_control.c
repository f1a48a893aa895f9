/* A quantity of the shop over time, with limits from its own neighbours: is it still as it was? */
#include "show/trend_parts.h"

#include <math.h>

enum { BAR = 31 };

/* ---- the points --------------------------------------------------------------------------------
 */

static int by_day(const void *a, const void *b) {
    const ControlPoint *x = a, *y = b;
    if (x->day != y->day) return x->day < y->day ? -1 : 1;
    return str_cmp(x->job, y->job);
}

/* Readings of one day and log become their mean. */
static uint32_t merge_days(ControlPoint *p, uint32_t n) {
    uint32_t kept = 0;
    for (uint32_t i = 0; i < n; i++) {
        ControlPoint *last = kept ? &p[kept - 1] : NULL;
        if (last && last->day == p[i].day && str_eq(last->job, p[i].job)) {
            last->y += (p[i].y - last->y) / ++last->of;
            continue;
        }
        p[kept++] = p[i];
    }
    return kept;
}

void control_report(const SeriesList *list, const TrendHow *how, Arena *a, ControlReport *r) {
    *r = (ControlReport){.how = how, .tag = &how->v->tags[how->ask.tag], .arena = a};
    uint32_t total = 0;
    for (uint32_t i = 0; i < list->count; i++)
        total += list->items[i].count;
    r->y = list->count ? list->items[0].shown : (Shown){r->tag->unit, r->tag->places};
    if (how->system) {
        const Unit *u = unit_in(r->y.unit, how->system);
        if (u != r->y.unit) r->y.places += r->y.unit->places_shift;
        r->y.unit = u;
    }
    if (r->y.places < 0) r->y.places = 0;
    r->slack = unit_diff_from_si(r->y.unit, equal_within(r->tag));
    r->points = arena_array(a, total + 1, sizeof *r->points);
    for (uint32_t i = 0; i < list->count; i++) {
        const Series *s = &list->items[i];
        for (uint32_t k = 0; k < s->count; k++)
            r->points[r->count++] = (ControlPoint){.day = s->points[k].day,
                                                   .y = unit_from_si(r->y.unit, s->points[k].y),
                                                   .job = s->points[k].job,
                                                   .engine = s->engine,
                                                   .of = 1};
    }
    qsort(r->points, r->count, sizeof *r->points, by_day);
    r->count = merge_days(r->points, r->count);
    double *x = arena_array(a, r->count + 1, sizeof *x);
    unsigned char *signals = arena_array(a, r->count + 1, 1);
    for (uint32_t i = 0; i < r->count; i++)
        x[i] = r->points[i].y;
    r->status = control_individuals(x, r->count, &r->limits);
    if (r->status != STATS_OK) return;
    r->signals = (uint32_t)control_signals(&r->limits.value, r->slack, x, r->count, signals);
    for (uint32_t i = 0; i < r->count; i++)
        r->points[i].signals = signals[i];
}

/* ---- as text -----------------------------------------------------------------------------------
 */

static Str fixed(Arena *a, double v, int places) {
    Buf b = {0};
    buf_fixed(&b, v, places);
    Str text = arena_str(a, buf_str(&b));
    buf_release(&b);
    return text;
}

/* "  |     o  |   |": limits and centre as bars, the point where it lies. */
static Str bar(const ControlReport *r, double y, double low, double high) {
    char text[BAR + 1];
    const ControlLimits *l = &r->limits.value;
    memset(text, ' ', BAR);
    text[BAR] = 0;
    const double marks[] = {l->low, l->centre, l->high, y};
    for (int i = 0; i < 4; i++) {
        bool flat = high - low < r->slack;
        int at = flat ? BAR / 2 : (int)((marks[i] - low) / (high - low) * (BAR - 1) + .5);
        if (at >= 0 && at < BAR) text[at] = i < 3 ? '|' : 'o';
    }
    int end = BAR;
    while (end > 0 && text[end - 1] == ' ')
        end--;
    return arena_str(r->arena, (Str){text, (size_t)end});
}

static Str signal_words(const ControlPoint *p) {
    if (p->signals & SIGNAL_OUTSIDE) return STR("outside");
    if (p->signals & SIGNAL_RUN) return STR("run");
    return (Str){0};
}

static void points_text(Buf *out, const ControlReport *r) {
    double low = r->limits.value.low, high = r->limits.value.high;
    Table *t = table_new(r->arena);
    table_column(t, (TableColumn){.key = "day", .heading = STR("day"), .label = true});
    table_column(t, (TableColumn){.key = "job", .heading = STR("job")});
    table_column(t, (TableColumn){.key = "value", .heading = STR("value"), .align = ALIGN_POINT});
    table_column(t, (TableColumn){.key = "chart", .heading = STR("chart")});
    table_column(t, (TableColumn){.key = "signal", .heading = STR("")});
    for (uint32_t i = 0; i < r->count; i++) {
        low = fmin(low, r->points[i].y);
        high = fmax(high, r->points[i].y);
    }
    for (uint32_t i = 0; i < r->count; i++) {
        const ControlPoint *p = &r->points[i];
        uint32_t at = table_row(t);
        table_put(t, at, 0, trend_date(r->arena, p->day), TONE_PLAIN);
        table_put(t, at, 1, p->job, TONE_PLAIN);
        table_put(t, at, 2, fixed(r->arena, p->y, r->y.places + (p->of > 1)), TONE_PLAIN);
        table_put(t, at, 3, bar(r, p->y, low, high), TONE_PLAIN);
        table_put(t, at, 4, signal_words(p), TONE_BAD);
    }
    table_text(out, t, (TextStyle){r->how->width, r->how->colour, 2});
}

void control_text(Buf *out, const ControlReport *r) {
    Arena *a = r->arena;
    Str title =
        arena_printf(a, "%.*s in %s, in the order of days", STR_ARG(r->tag->name), r->y.unit->name);
    tone_text(out, title, TONE_HEAD, r->how->colour);
    buf_putc(out, '\n');
    if (r->status != STATS_OK) {
        fold_text(out,
                  arena_printf(a, "%u reading%s: a chart needs two at the least.", r->count,
                               r->count == 1 ? "" : "s"),
                  r->how->width, 0);
        return;
    }
    const ControlLimits *l = &r->limits.value;
    int places = r->y.places + 1;
    fold_text(out,
              arena_printf(a,
                           "%u values. Centre %.*s, limits %.*s .. %.*s: three standard deviations "
                           "of %.*s, from the ranges of neighbours.",
                           r->count, STR_ARG(fixed(a, l->centre, places)),
                           STR_ARG(fixed(a, l->low, places)), STR_ARG(fixed(a, l->high, places)),
                           STR_ARG(fixed(a, r->limits.sd, places + 1))),
              r->how->width, 0);
    buf_putc(out, '\n');
    points_text(out, r);
    buf_putc(out, '\n');
    if (!r->signals) {
        fold_text(out,
                  STR("In control: none outside the limits, no eight in a row on one side of the "
                      "centre."),
                  r->how->width, 0);
        return;
    }
    fold_text(
        out,
        arena_printf(a,
                     "Not in control: %u of %u points say so (outside: beyond a limit; run: the "
                     "eighth or more in a row on one side of the centre). Look again at "
                     "what was measured then.",
                     r->signals, r->count),
        r->how->width, 0);
}

/* ---- as rows -----------------------------------------------------------------------------------
 */

static Table *control_table(const ControlReport *r) {
    Table *t = table_new(r->arena);
    const TableColumn columns[] = {{.key = "kind"},
                                   {.key = "day"},
                                   {.key = "job"},
                                   {.key = "tag"},
                                   {.key = "value", .json = JSON_NUMBER},
                                   {.key = "unit"},
                                   {.key = "of", .json = JSON_NUMBER},
                                   {.key = "signal"},
                                   {.key = "n", .json = JSON_NUMBER},
                                   {.key = "centre", .json = JSON_NUMBER},
                                   {.key = "low", .json = JSON_NUMBER},
                                   {.key = "high", .json = JSON_NUMBER},
                                   {.key = "sd", .json = JSON_NUMBER}};
    for (size_t i = 0; i < sizeof columns / sizeof *columns; i++)
        table_column(t, columns[i]);
    for (uint32_t i = 0; i < r->count; i++) {
        const ControlPoint *p = &r->points[i];
        const char *signal = p->signals & SIGNAL_OUTSIDE ? "outside"
                             : p->signals & SIGNAL_RUN   ? "run"
                                                         : "";
        uint32_t at = table_row(t);
        const Str cells[] = {STR("point"),
                             trend_date(r->arena, p->day),
                             p->job,
                             r->tag->name,
                             fixed(r->arena, p->y, r->y.places + (p->of > 1)),
                             str_from(r->y.unit->name),
                             arena_printf(r->arena, "%u", p->of),
                             str_from(signal)};
        for (uint32_t k = 0; k < sizeof cells / sizeof *cells; k++)
            table_put(t, at, k, cells[k], TONE_PLAIN);
    }
    if (r->status != STATS_OK) return t;
    uint32_t at = table_row(t);
    int places = r->y.places + 3;
    table_put(t, at, 0, STR("control"), TONE_PLAIN);
    table_put(t, at, 3, r->tag->name, TONE_PLAIN);
    table_put(t, at, 5, str_from(r->y.unit->name), TONE_PLAIN);
    table_put(t, at, 8, arena_printf(r->arena, "%u", r->count), TONE_PLAIN);
    table_put(t, at, 9, fixed(r->arena, r->limits.value.centre, places), TONE_PLAIN);
    table_put(t, at, 10, fixed(r->arena, r->limits.value.low, places), TONE_PLAIN);
    table_put(t, at, 11, fixed(r->arena, r->limits.value.high, places), TONE_PLAIN);
    table_put(t, at, 12, fixed(r->arena, r->limits.sd, places + 1), TONE_PLAIN);
    return t;
}

void control_json(Buf *out, const ControlReport *r) {
    table_json(out, control_table(r));
}

void control_csv(Buf *out, const ControlReport *r) {
    table_csv(out, control_table(r));
}
