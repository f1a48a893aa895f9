/* Trends as text: a table a set, what is left to each limit, what the set and the part come to. */
#include "show/trend_parts.h"

#include <inttypes.h>
#include <math.h>

static Str fixed(const TrendReport *r, double y, int places) {
    Buf b = {0};
    buf_fixed(&b, y, places);
    Str text = arena_str(r->arena, buf_str(&b));
    buf_release(&b);
    return text;
}

Str trend_value(const TrendReport *r, double y) {
    return fixed(r, y, r->y.places);
}

Str trend_last(const TrendReport *r, const TrendRow *row) {
    return fixed(r, row->last, row->last_places);
}

/* As many places as show three figures of it, and not fewer than the quantity has. */
Str trend_rate(const TrendReport *r, double rate, double by) {
    if (isinf(rate)) return rate < 0 ? STR("-inf") : STR("inf");
    double size = fabs(rate * by);
    int places = r->y.places + 1;
    while (places < 6 && size > 0 && size * pow(10, places) < 10)
        places++;
    return fixed(r, rate * by, places);
}

Str trend_run(const TrendReport *r, double x) {
    if (isinf(x)) return STR("never");
    return fixed(r, x, r->over ? r->over->places : 0);
}

Str trend_date(Arena *a, int32_t day) {
    char text[DATE_TEXT];
    return arena_printf(a, "%s", date_text((Date){day, -1}, text));
}

Str trend_name(const TrendReport *r, const TrendRow *row) {
    const Series *s = row->s;
    if (s->began.n && str_eq(s->place, (Str){0}))
        return arena_printf(r->arena, "%.*s'", STR_ARG(s->subject));
    return s->subject;
}

Str trend_kind(const TrendReport *r, const TrendRow *row) {
    if (!row->has_kind) return (Str){0};
    switch (row->kind.kind) {
    case CHANGE_LEVEL: return r->tag->shift_means;
    case CHANGE_SLOPE: return r->tag->tilt_means;
    case CHANGE_BOTH:
        return arena_printf(r->arena, "both: %.*s; and %.*s", STR_ARG(r->tag->shift_means),
                            STR_ARG(r->tag->tilt_means));
    case CHANGE_NONE:
    case CHANGE_CANNOT_TELL: break;
    }
    return (Str){0};
}

/* ---- the head ----------------------------------------------------------------------------------
 */

static const Series *first_with_points(const TrendReport *r) {
    for (uint32_t i = 0; i < r->count; i++) {
        if (r->rows[i].s->count) return r->rows[i].s;
    }
    return NULL;
}

/* Sets that were read at heights of their own are told with them. */
bool trend_one_condition(const TrendReport *r) {
    const Series *first = first_with_points(r);
    for (uint32_t i = 0; i < r->count; i++) {
        const Series *s = r->rows[i].s;
        if (s->count && !same_condition(s->at, first->at)) return false;
    }
    return true;
}

Str trend_group_at(const TrendGroup *g) {
    for (uint32_t i = 0; i < g->count; i++) {
        if (g->rows[i].s->at_text.n) return g->rows[i].s->at_text;
    }
    return (Str){0};
}

static void head(Buf *out, const TrendReport *r) {
    Buf b = {0};
    const Series *s = first_with_points(r);
    buf_printf(&b, "%.*s", STR_ARG(r->tag->name));
    if (s && s->at_text.n && trend_one_condition(r))
        buf_printf(&b, " at %.*s", STR_ARG(s->at_text));
    else if (s && s->at_text.n)
        buf_printf(&b, ", each at its own %.*s", STR_ARG(r->tag->over_name));
    if (r->y.unit->name[0]) buf_printf(&b, ", %s", r->y.unit->name);
    if (r->over)
        buf_printf(&b, ", over %.*s", STR_ARG(r->over->name));
    else
        buf_puts(&b, ", over days");
    tone_text(out, buf_str(&b), TONE_HEAD, r->how->colour);
    buf_putc(out, '\n');
    buf_release(&b);
    if (isfinite(r->how->until))
        fold_text(out,
                  arena_printf(r->arena, "Only readings up to %.*s %s.",
                               STR_ARG(trend_run(r, r->how->until)), r->x_unit),
                  r->how->width, 0);
    if (r->fell_back)
        fold_text(out,
                  arena_printf(r->arena,
                               "No %.*s are written down that would tell these "
                               "readings apart: over days instead.",
                               STR_ARG(r->how->v->tags[r->how->ask.over].name)),
                  r->how->width, 0);
}

/* ---- a table of series -------------------------------------------------------------------------
 */

uint32_t trend_column(Table *t, const char *key, Str heading, Str unit, Align align) {
    return table_column(t, (TableColumn){.key = key,
                                         .heading = heading,
                                         .unit = unit,
                                         .align = align,
                                         .label = t->column_count < 1});
}

Str trend_interval(const TrendReport *r, Interval i, double by) {
    return arena_printf(r->arena, "%.*s .. %.*s", STR_ARG(trend_rate(r, i.low, by)),
                        STR_ARG(trend_rate(r, i.high, by)));
}

static Tone tone_of(TrendVerdict v) {
    return v == VERDICT_GONE ? TONE_BAD : v == VERDICT_DRIFTING ? TONE_DOUBT : TONE_PLAIN;
}

/* Student's intervals lie evenly about the rate, those of ranks do not. */
static Str either_way(const TrendReport *r, const TrendRow *row) {
    Interval i = row->fit.rate_interval;
    if (row->fit.method == TREND_THEIL_SEN) return trend_interval(r, i, r->per);
    return arena_printf(r->arena, "± %.*s", STR_ARG(trend_rate(r, (i.high - i.low) / 2, r->per)));
}

static void rows_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    Arena *a = r->arena;
    Table *t = table_new(a);
    Str level = arena_printf(a, "%.0f %%", 100 * r->how->level);
    uint32_t name = trend_column(t, "subject", STR(""), STR(""), ALIGN_LEFT),
             place = trend_column(t, "place", STR("at"), STR(""), ALIGN_LEFT),
             n = trend_column(t, "n", STR("n"), STR(""), ALIGN_RIGHT),
             first = trend_column(t, "first", STR("first"), STR(""), ALIGN_POINT),
             last = trend_column(t, "last", STR("last"), STR(""), ALIGN_POINT),
             change = trend_column(t, "change", STR("change"), STR(""), ALIGN_POINT),
             percent = trend_column(t, "percent", STR("%"), STR(""), ALIGN_POINT),
             rate = trend_column(t, "rate", arena_printf(a, "per %.*s", STR_ARG(r->per_text)),
                                 STR(""), ALIGN_POINT),
             ends = trend_column(t, "interval", level, STR(""), ALIGN_LEFT),
             verdict = trend_column(t, "verdict", STR("verdict"), STR(""), ALIGN_LEFT);

    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        uint32_t at = table_row(t);
        table_put(t, at, name, trend_name(r, row), row->odd ? TONE_BAD : TONE_PLAIN);
        table_put(t, at, place, row->s->place.n ? row->s->place : row->s->item, TONE_PLAIN);
        table_put(t, at, n, arena_printf(a, "%u", row->n), TONE_PLAIN);
        Tone tone = tone_of(row->judged.verdict);
        if (row->n) {
            table_put(t, at, first, trend_value(r, row->first), TONE_PLAIN);
            table_put(t, at, last, trend_last(r, row), TONE_PLAIN);
        }
        if (row->n > 1) {
            table_put(t, at, change, trend_value(r, row->change), TONE_PLAIN);
            if (!isnan(row->percent))
                table_put(t, at, percent, arena_printf(a, "%.1f", row->percent), TONE_PLAIN);
        }
        if (row->status == STATS_OK) {
            table_put(t, at, rate, trend_rate(r, row->fit.rate, r->per), TONE_PLAIN);
            if (row->fit.has_interval) table_put(t, at, ends, either_way(r, row), TONE_PLAIN);
        }
        table_put(t, at, verdict, str_from(verdict_text(row->judged.verdict)), tone);
    }
    table_text(out, t, (TextStyle){r->how->width, r->how->colour, 2});
}

/* ---- what is left ------------------------------------------------------------------------------
 */

static Str left_words(const TrendReport *r, const TrendLeft *left) {
    if (left->past) return STR("past it");
    if (left->unknown) return STR("not known");
    Str value = trend_run(r, left->value);
    if (!left->has_interval) return arena_printf(r->arena, "%.*s", STR_ARG(value));

    return arena_printf(r->arena, "%.*s (%.*s .. %.*s)", STR_ARG(value),
                        STR_ARG(trend_run(r, left->low)), STR_ARG(trend_run(r, left->high)));
}

static void left_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    Arena *a = r->arena;
    Table *t = table_new(a);
    uint32_t name = trend_column(t, "subject", STR(""), STR(""), ALIGN_LEFT),
             limit = trend_column(t, "limit", STR("limit"), STR(""), ALIGN_LEFT),
             left = trend_column(t, "left", arena_printf(a, "%s left", r->x_unit), STR(""),
                                 ALIGN_LEFT);
    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        for (uint32_t k = 0; k < row->left_count; k++) {
            const TrendLeft *l = &row->left[k];
            if (!l->past && !l->unknown && !l->heading) continue;
            uint32_t at = table_row(t);
            table_put(t, at, name, trend_name(r, row), TONE_PLAIN);
            table_put(
                t, at, limit,
                arena_printf(a, "%.*s by %.*s", STR_ARG(l->limit->text), STR_ARG(l->limit->by)),
                TONE_PLAIN);
            table_put(t, at, left, left_words(r, l), l->past ? TONE_BAD : TONE_PLAIN);
        }
    }
    if (!t->row_count) return;
    buf_putc(out, '\n');
    table_text(out, t, (TextStyle){r->how->width, r->how->colour, 2});
}

/* ---- what a set comes to -----------------------------------------------------------------------
 */

static void say(Buf *out, const TrendReport *r, Str text) {
    buf_puts(out, "  ");
    fold_text(out, text, r->how->width - 2, 4);
}

/* Names of the rows that a test picks, with where they sit; empty when there are none. */
Str trend_names(const TrendReport *r, const TrendGroup *g, TrendTest *test, const void *what) {
    Buf b = {0};
    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        if (!test(row, what)) continue;
        Str name = trend_name(r, row);
        buf_printf(&b, "%s%.*s", b.n ? ", " : "", STR_ARG(name));
        if (row->s->place.n) buf_printf(&b, " (%.*s)", STR_ARG(row->s->place));
    }
    Str text = arena_str(r->arena, buf_str(&b));
    buf_release(&b);
    return text;
}

bool trend_is_odd(const TrendRow *row, const void *what) {
    (void)what;
    return row->odd;
}

static bool is_kind(const TrendRow *row, const void *what) {
    return row->has_kind && row->kind.kind == *(const ChangeKind *)what;
}

static bool by_its_ends(const TrendRow *row, const void *what) {
    (void)what;
    return row->judged.reason == BECAUSE_CHANGE_SEEN;
}

static bool is_robust(const TrendRow *row, const void *what) {
    (void)what;
    return row->status == STATS_OK && row->fit.method == TREND_THEIL_SEN;
}

static void kinds_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    static const ChangeKind kinds[] = {CHANGE_LEVEL, CHANGE_SLOPE, CHANGE_BOTH, CHANGE_CANNOT_TELL};
    for (size_t i = 0; i < sizeof kinds / sizeof *kinds; i++) {
        Str names = trend_names(r, g, is_kind, &kinds[i]);
        if (!names.n) continue;
        TrendRow like = {.has_kind = true, .kind = {.kind = kinds[i]}};
        Str words = kinds[i] == CHANGE_CANNOT_TELL ? STR("either change would explain it")
                                                   : trend_kind(r, &like);
        if (!words.n) continue;
        const char *what = kinds[i] == CHANGE_LEVEL   ? "Changed alike at every "
                           : kinds[i] == CHANGE_SLOPE ? "Changed in proportion over the "
                           : kinds[i] == CHANGE_BOTH  ? "Changed both ways over the "
                                                      : "Not told apart over the ";
        say(out, r,
            arena_printf(r->arena, "%s%.*s (%.*s): %.*s.", what, STR_ARG(r->tag->over_name),
                         STR_ARG(words), STR_ARG(names)));
    }
}

static void mean_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    if (!g->has_mean) return;
    Str mean = trend_rate(r, g->pool.mean, r->per);
    say(out, r,
        arena_printf(r->arena,
                     "Mean of %u: %.*s per %.*s (%.0f %%: %.*s); spread between them %.*s.",
                     (unsigned)g->pool.units, STR_ARG(mean), STR_ARG(r->per_text),
                     100 * r->how->level, STR_ARG(trend_interval(r, g->pool.mean_interval, r->per)),
                     STR_ARG(trend_rate(r, g->pool.between_sd, r->per))));
}

static void left_out_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    LeftOut sum = {0};
    uint32_t no_run = 0;
    for (uint32_t i = 0; i < g->count; i++) {
        const LeftOut *l = &g->rows[i].s->left_out;
        sum.suspect += l->suspect;
        sum.struck += l->struck;
        sum.replaced += l->replaced;
        sum.beyond += l->beyond;
        sum.nominal += l->nominal;
        sum.unknown += l->unknown;
        no_run += g->rows[i].no_run;
    }
    const struct {
        uint32_t count;
        const char *what;
    } parts[] = {{sum.suspect, "suspect"},
                 {sum.struck, "struck"},
                 {sum.replaced, "replaced by a correction"},
                 {sum.beyond, "where no curve reaches the condition"},
                 {sum.nominal, "from a part card, not measured"},
                 {sum.unknown, "not known for all of the time it was fitted"},
                 {no_run, "whose run is not known"}};
    Buf b = {0};
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        if (parts[i].count)
            buf_printf(&b, "%s%u %s", b.n ? ", " : "Left out: ", parts[i].count, parts[i].what);
    }
    if (b.n) {
        buf_putc(&b, '.');
        say(out, r, arena_str(r->arena, buf_str(&b)));
    }
    buf_release(&b);
}

static bool began_so(const TrendRow *row, const void *what) {
    return str_eq(row->s->began, *(const Str *)what);
}

static void began_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    for (uint32_t i = 0; i < g->count; i++) {
        const Str *began = &g->rows[i].s->began;
        bool said = !began->n;
        for (uint32_t k = 0; k < i && !said; k++)
            said = str_eq(g->rows[k].s->began, *began);
        if (said) continue;
        say(out, r,
            arena_printf(r->arena, "A new series, %.*s: %.*s.", STR_ARG(*began),
                         STR_ARG(trend_names(r, g, began_so, began))));
    }
}

static void summary_text(Buf *out, const TrendReport *r, const TrendGroup *g) {
    mean_text(out, r, g);
    Str odd = trend_names(r, g, trend_is_odd, NULL);
    if (odd.n)
        say(out, r,
            arena_printf(r->arena, "Odd one%s out, judged by the others: %.*s.",
                         g->odd == 1 ? "" : "s", STR_ARG(odd)));
    Str ends = trend_names(r, g, by_its_ends, NULL);
    if (ends.n)
        say(out, r,
            arena_printf(r->arena,
                         "Drifting by first and last, further apart than readings repeat to; how "
                         "fast is not sure yet: %.*s.",
                         STR_ARG(ends)));
    kinds_text(out, r, g);
    began_text(out, r, g);
    Str robust = trend_names(r, g, is_robust, NULL);
    if (robust.n && r->how->method == TREND_BY_DATA)
        say(out, r,
            arena_printf(r->arena,
                         "By Theil-Sen, since one reading lies far off the line "
                         "of the others: %.*s.",
                         STR_ARG(robust)));
    left_out_text(out, r, g);
}

/* ---- what it rests on --------------------------------------------------------------------------
 */

static void foot(Buf *out, const TrendReport *r) {
    Buf b = {0};
    if (spread_known(r->instrument)) {
        Str sd = trend_rate(r, r->instrument.sd, 1);
        buf_printf(&b, "One reading repeats to %.*s %s (standard deviation), ", STR_ARG(sd),
                   r->y.unit->name);
        const char *where = r->how->book ? "in the whole book" : "in the logs read";
        if (r->repeats)
            buf_printf(&b, "from %" PRIu64 " repeated readings %s.", r->repeats, where);
        else
            buf_printf(&b, "as the vocabulary states it; repeats %s are too few.", where);
    } else {
        buf_puts(&b,
                 "What one reading repeats to is not known: intervals rest on the readings' own "
                 "scatter.");
    }
    buf_putc(out, '\n');
    fold_text(out, arena_str(r->arena, buf_str(&b)), r->how->width, 0);
    buf_release(&b);
    if (r->how->method == TREND_BY_DATA) return;
    fold_text(out,
              arena_printf(r->arena, "Rates by %s, as asked.", trend_method_text(r->how->method)),
              r->how->width, 0);
}

static void group_head(Buf *out, const TrendReport *r, const TrendGroup *g) {
    Str engine = g->engine, name = g->name;
    Str text = engine.n && name.n
                   ? arena_printf(r->arena, "%.*s, %.*s", STR_ARG(engine), STR_ARG(name))
               : engine.n ? engine
                          : name;
    if (!trend_one_condition(r) && trend_group_at(g).n)
        text = arena_printf(r->arena, "%.*s at %.*s", STR_ARG(text), STR_ARG(trend_group_at(g)));
    buf_putc(out, '\n');
    tone_text(out, text.n ? text : STR("without"), TONE_HEAD, r->how->colour);
    buf_putc(out, '\n');
}

void trend_text(Buf *out, const TrendReport *r) {
    head(out, r);
    bool few = !r->brief;
    for (uint32_t i = 0; few && i < r->group_count; i++) {
        const TrendGroup *g = &r->groups[i];
        group_head(out, r, g);
        rows_text(out, r, g);
        trend_plots(out, r, g);
        left_text(out, r, g);
        buf_putc(out, '\n');
        summary_text(out, r, g);
    }
    if (!few) {
        buf_putc(out, '\n');
        trend_groups_text(out, r);
    }
    trend_all_text(out, r);
    foot(out, r);
}
