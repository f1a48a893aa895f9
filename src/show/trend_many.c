/* Many sets at once: a line each, and what all of them come to. */
#include "show/trend_parts.h"

#include <math.h>

void trend_groups_text(Buf *out, const TrendReport *r) {
    Arena *a = r->arena;
    Table *t = table_new(a);
    bool words = r->how->ask.group_by != TAG_NONE, same = trend_one_condition(r);
    Str heading = words ? r->how->v->tags[r->how->ask.group_by].name : STR("engine");
    Str level = arena_printf(a, "%.0f %%", 100 * r->how->level);
    uint32_t name = trend_column(t, "engine", heading, STR(""), ALIGN_LEFT),
             set = trend_column(t, "group", STR("set"), STR(""), ALIGN_LEFT),
             at_col = trend_column(t, "at", STR("at"), STR(""), ALIGN_LEFT),
             n = trend_column(t, "series", STR("series"), STR(""), ALIGN_RIGHT),
             percent = trend_column(t, "percent", STR("mean %"), STR(""), ALIGN_POINT),
             rate = trend_column(t, "rate", arena_printf(a, "per %.*s", STR_ARG(r->per_text)),
                                 STR(""), ALIGN_POINT),
             ends = trend_column(t, "interval", level, STR(""), ALIGN_RIGHT),
             spread = trend_column(t, "between", STR("spread"), STR(""), ALIGN_POINT),
             odd = trend_column(t, "odd", STR("odd"), STR(""), ALIGN_LEFT);
    for (uint32_t i = 0; i < r->group_count; i++) {
        const TrendGroup *g = &r->groups[i];
        uint32_t at = table_row(t);
        table_put(t, at, name, words ? (g->name.n ? g->name : STR("-")) : g->engine,
                  g->unusual ? TONE_BAD : TONE_PLAIN);
        if (!words) table_put(t, at, set, g->name, TONE_PLAIN);
        if (!same) table_put(t, at, at_col, trend_group_at(g), TONE_PLAIN);
        table_put(t, at, n, arena_printf(a, "%u", g->count), TONE_PLAIN);
        if (!isnan(g->percent))
            table_put(t, at, percent, arena_printf(a, "%.1f", g->percent), TONE_PLAIN);
        if (g->has_mean) {
            table_put(t, at, rate, trend_rate(r, g->pool.mean, r->per), TONE_PLAIN);
            table_put(t, at, ends, trend_interval(r, g->pool.mean_interval, r->per), TONE_PLAIN);
            table_put(t, at, spread, trend_rate(r, g->pool.between_sd, r->per), TONE_PLAIN);
        }
        Str odd_names = trend_names(r, g, trend_is_odd, NULL);
        if (g->unusual)
            odd_names =
                arena_printf(a, "unusual%s%.*s", odd_names.n ? "; " : "", STR_ARG(odd_names));
        table_put(t, at, odd, odd_names, TONE_DOUBT);
    }
    table_text(out, t, (TextStyle){r->how->width, r->how->colour, 2});
}

void trend_all_text(Buf *out, const TrendReport *r) {
    const TrendAll *all = &r->all;
    if (!all->has_mean || r->group_count < 2) return;
    buf_putc(out, '\n');
    fold_text(out,
              arena_printf(r->arena,
                           "All %u with a rate, each counted once: %.*s per %.*s (%.0f %%: %.*s); "
                           "spread between them %.*s.",
                           all->groups, STR_ARG(trend_rate(r, all->mean, r->per)),
                           STR_ARG(r->per_text), 100 * r->how->level,
                           STR_ARG(trend_interval(r, all->mean_interval, r->per)),
                           STR_ARG(trend_rate(r, all->sd, r->per))),
              r->how->width, 2);
    if (all->has_next)
        fold_text(out,
                  arena_printf(r->arena, "The next one to come may be expected at %.*s.",
                               STR_ARG(trend_interval(r, all->next, r->per))),
                  r->how->width, 2);
    if (all->unusual_by)
        fold_text(out, arena_printf(r->arena, "Unusual: %u, %s.", all->unusual, all->unusual_by),
                  r->how->width, 2);
}
