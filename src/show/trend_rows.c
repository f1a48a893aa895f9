/* Trends for other programs: a line a series, a group, the whole; the same as CSV. */
#include "show/trend_parts.h"

#include <inttypes.h>
#include <math.h>

const char *trend_kind_word(ChangeKind kind) {
    switch (kind) {
    case CHANGE_LEVEL: return "shift";
    case CHANGE_SLOPE: return "tilt";
    case CHANGE_BOTH: return "both";
    case CHANGE_CANNOT_TELL: return "untold";
    case CHANGE_NONE: return "none";
    }
    return "";
}

/* ---- JSON, built key by key --------------------------------------------------------------------
 */

static void key(Buf *b, const char *name) {
    if (b->n && b->p[b->n - 1] != '{' && b->p[b->n - 1] != '[') buf_putc(b, ',');
    buf_printf(b, "\"%s\":", name);
}

static void put_text(Buf *b, const char *name, Str text) {
    if (!text.n) return;
    key(b, name);
    buf_json(b, text);
}

/* JSON has no infinity: what may never come is absent. */
static void put_double(Buf *b, const char *name, double v) {
    if (!isfinite(v)) return;
    key(b, name);
    if (v == rint(v) && fabs(v) < 1e15)
        buf_fixed(b, v, 0); /* 50, where the shortest of the same double is 5e+01 */
    else
        buf_double(b, v);
}

static void put_fixed(Buf *b, const char *name, double v, int places) {
    if (!isfinite(v)) return;
    key(b, name);
    buf_fixed(b, v, places);
}

static void put_count(Buf *b, const char *name, uint32_t n) {
    key(b, name);
    buf_printf(b, "%u", n);
}

static void put_some(Buf *b, const char *name, uint32_t n) {
    if (n) put_count(b, name, n);
}

static Str over_name(const TrendReport *r) {
    return r->over ? r->over->name : STR("days");
}

static void at_json(Buf *b, const Series *s) {
    if (!s->at_text.n) return;
    Str rest = s->at_text, value = str_word(&rest), unit = str_trim(rest);
    key(b, "at");
    buf_puts(b, "{\"value\":");
    if (!json_number(b, value)) buf_json(b, value);
    put_text(b, "unit", unit);
    buf_putc(b, '}');
}

static void left_json(Buf *b, const TrendReport *r, const TrendRow *row) {
    if (!row->left_count) return;
    int places = r->over ? r->over->places + 1 : 0;
    key(b, "left");
    buf_putc(b, '[');
    for (uint32_t i = 0; i < row->left_count; i++) {
        const TrendLeft *l = &row->left[i];
        if (i) buf_putc(b, ',');
        buf_putc(b, '{');
        put_text(b, "by", l->limit->by);
        put_text(b, "limit", l->limit->text);
        key(b, "past");
        buf_puts(b, l->past ? "true" : "false");
        if (l->unknown) buf_puts(b, ",\"unknown\":true");
        if (l->heading) put_fixed(b, "value", l->value, places);
        if (l->has_interval) {
            put_fixed(b, "low", l->low, places);
            put_fixed(b, "high", l->high, places);
        }
        buf_putc(b, '}');
    }
    buf_putc(b, ']');
}

static void left_out_json(Buf *b, const TrendRow *row) {
    const LeftOut *l = &row->s->left_out;
    if (!(l->suspect + l->struck + l->replaced + l->beyond + l->nominal + l->unknown + row->no_run))
        return;
    key(b, "left_out");
    buf_putc(b, '{');
    put_some(b, "suspect", l->suspect);
    put_some(b, "struck", l->struck);
    put_some(b, "replaced", l->replaced);
    put_some(b, "beyond", l->beyond);
    put_some(b, "nominal", l->nominal);
    put_some(b, "unknown", l->unknown);
    put_some(b, "no_run", row->no_run);
    buf_putc(b, '}');
}

static void points_json(Buf *b, const TrendReport *r, const TrendRow *row) {
    uint32_t at = 0;
    key(b, "points");
    buf_putc(b, '[');
    for (uint32_t i = 0; i < row->s->count && at < row->n; i++) {
        const SeriesPoint *p = &row->s->points[i];
        if (r->over && isnan(p->run)) continue;
        if (at) buf_putc(b, ',');
        buf_putc(b, '{');
        put_text(b, "job", p->job);
        put_text(b, "day", trend_date(r->arena, p->day));
        put_double(b, "x", row->x[at]);
        int places = r->y.places + (p->step == 0 ? 2 : 0);
        if (at + 1 == row->n && row->last_places > places) places = row->last_places;
        put_fixed(b, "value", row->y[at++], places);
        buf_putc(b, '}');
    }
    buf_putc(b, ']');
}

static void fit_json(Buf *b, const TrendReport *r, const TrendRow *row) {
    if (row->status != STATS_OK) return;
    put_text(b, "method", str_from(trend_method_text(row->fit.method)));
    put_text(b, "method_because", str_from(trend_reason_text(row->fit.reason)));
    put_double(b, "rate", row->fit.rate);
    if (row->fit.has_interval) {
        put_double(b, "rate_low", row->fit.rate_interval.low);
        put_double(b, "rate_high", row->fit.rate_interval.high);
    }
    put_double(b, "intercept", row->fit.intercept);
    put_text(b, "scatter", str_from(trend_scatter_text(row->fit.scatter)));
    (void)r;
}

static void series_json(Buf *b, const TrendReport *r, const TrendRow *row) {
    const Series *s = row->s;
    Buf o = {0};
    buf_puts(&o, "{\"kind\":\"series\"");
    put_text(&o, "engine", s->engine);
    put_text(&o, "part", s->part);
    put_text(&o, "group", s->group);
    if (row->is_item)
        put_text(&o, "item", s->subject);
    else
        put_text(&o, "item", s->item);
    put_text(&o, "subject", row->is_item && s->place.n ? s->place : s->subject);
    put_text(&o, "began", s->began);
    put_text(&o, "tag", r->tag->name);
    put_text(&o, "unit", str_from(r->y.unit->name));
    at_json(&o, s);
    put_text(&o, "over", over_name(r));
    if (r->over) put_text(&o, "over_unit", str_from(r->over->unit->name));
    put_count(&o, "n", row->n);
    put_fixed(&o, "first", row->first, r->y.places);
    put_fixed(&o, "last", row->last, row->last_places);
    if (row->n > 1) {
        put_fixed(&o, "change", row->change, r->y.places);
        put_fixed(&o, "percent", row->percent, 2);
    }
    fit_json(&o, r, row);
    left_json(&o, r, row);
    put_text(&o, "verdict", str_from(verdict_text(row->judged.verdict)));
    put_text(&o, "because", str_from(verdict_reason_text(row->judged.reason)));
    if (row->has_kind) put_text(&o, "change_kind", str_from(trend_kind_word(row->kind.kind)));
    if (row->odd) buf_puts(&o, ",\"odd\":true");
    left_out_json(&o, row);
    points_json(&o, r, row);
    buf_puts(&o, "}\n");
    buf_add(b, buf_str(&o));
    buf_release(&o);
}

static void group_json(Buf *b, const TrendReport *r, const TrendGroup *g) {
    Buf o = {0};
    buf_puts(&o, "{\"kind\":\"group\"");
    put_text(&o, "engine", g->engine);
    put_text(&o, "group", g->name);
    put_text(&o, "tag", r->tag->name);
    put_text(&o, "unit", str_from(r->y.unit->name));
    put_text(&o, "over", over_name(r));
    put_count(&o, "series", g->count);
    put_fixed(&o, "percent", g->percent, 2);
    if (g->has_mean) {
        put_double(&o, "rate", g->pool.mean);
        put_double(&o, "rate_low", g->pool.mean_interval.low);
        put_double(&o, "rate_high", g->pool.mean_interval.high);
        put_double(&o, "spread", g->pool.between_sd);
    }
    put_count(&o, "odd", g->odd);
    if (g->unusual) buf_puts(&o, ",\"unusual\":true");
    buf_puts(&o, "}\n");
    buf_add(b, buf_str(&o));
    buf_release(&o);
}

static void all_json(Buf *b, const TrendReport *r) {
    const TrendAll *all = &r->all;
    Buf o = {0};
    buf_puts(&o, "{\"kind\":\"all\"");
    put_text(&o, "tag", r->tag->name);
    put_text(&o, "unit", str_from(r->y.unit->name));
    put_text(&o, "over", over_name(r));
    put_count(&o, "groups", all->groups);
    if (all->has_mean) {
        put_double(&o, "rate", all->mean);
        put_double(&o, "rate_low", all->mean_interval.low);
        put_double(&o, "rate_high", all->mean_interval.high);
        put_double(&o, "spread", all->sd);
    }
    if (all->has_next) {
        put_double(&o, "next_low", all->next.low);
        put_double(&o, "next_high", all->next.high);
    }
    put_count(&o, "unusual", all->unusual);
    if (spread_known(r->instrument)) put_double(&o, "repeatability", r->instrument.sd);
    key(&o, "repeats");
    buf_printf(&o, "%" PRIu64, r->repeats);
    put_text(&o, "repeats_in", r->how->book ? STR("book") : STR("logs"));
    buf_puts(&o, "}\n");
    buf_add(b, buf_str(&o));
    buf_release(&o);
}

void trend_json(Buf *out, const TrendReport *r) {
    for (uint32_t i = 0; i < r->count; i++)
        series_json(out, r, &r->rows[i]);
    for (uint32_t i = 0; i < r->group_count; i++)
        group_json(out, r, &r->groups[i]);
    if (r->group_count > 1) all_json(out, r);
}

/* ---- CSV: a line a reading ---------------------------------------------------------------------
 */

static Str number(const TrendReport *r, double v) {
    if (!isfinite(v)) return (Str){0};
    Buf b = {0};
    buf_double(&b, v);
    Str text = arena_str(r->arena, buf_str(&b));
    buf_release(&b);
    return text;
}

void trend_csv(Buf *out, const TrendReport *r) {
    static const char *const keys[] = {
        "engine",   "part",      "group",     "item",    "subject", "tag",        "unit",   "at",
        "over",     "n",         "first",     "last",    "change",  "percent",    "method", "rate",
        "rate_low", "rate_high", "intercept", "verdict", "odd",     "change_kind"};
    enum { KEYS = sizeof keys / sizeof *keys };
    Table *t = table_new(r->arena);
    for (int i = 0; i < KEYS; i++)
        table_column(t, (TableColumn){.key = keys[i]});
    for (uint32_t i = 0; i < r->count; i++) {
        const TrendRow *row = &r->rows[i];
        const Series *s = row->s;
        bool fit = row->status == STATS_OK, ends = fit && row->fit.has_interval;
        uint32_t at = table_row(t);
        const Str cells[KEYS] = {s->engine,
                                 s->part,
                                 s->group,
                                 row->is_item ? s->subject : s->item,
                                 row->is_item && s->place.n ? s->place : s->subject,
                                 r->tag->name,
                                 str_from(r->y.unit->name),
                                 s->at_text,
                                 over_name(r),
                                 arena_printf(r->arena, "%u", row->n),
                                 row->n ? trend_value(r, row->first) : (Str){0},
                                 row->n ? trend_last(r, row) : (Str){0},
                                 row->n > 1 ? trend_value(r, row->change) : (Str){0},
                                 row->n > 1 ? number(r, row->percent) : (Str){0},
                                 fit ? str_from(trend_method_text(row->fit.method)) : (Str){0},
                                 fit ? number(r, row->fit.rate) : (Str){0},
                                 ends ? number(r, row->fit.rate_interval.low) : (Str){0},
                                 ends ? number(r, row->fit.rate_interval.high) : (Str){0},
                                 fit ? number(r, row->fit.intercept) : (Str){0},
                                 str_from(verdict_text(row->judged.verdict)),
                                 row->odd ? STR("odd") : (Str){0},
                                 row->has_kind ? str_from(trend_kind_word(row->kind.kind))
                                               : (Str){0}};
        for (uint32_t k = 0; k < KEYS; k++)
            table_put(t, at, k, cells[k], TONE_PLAIN);
    }
    table_csv(out, t);
}
