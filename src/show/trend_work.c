/* The arithmetic of a report of trends: from series to fits, verdicts, groups. */
#include "show/trend.h"

#include "stats/dist.h"
#include "stats/robust.h"
#include "stats/sample.h"
#include <math.h>

enum { REPEATS_LEAST = 3 }; /* degrees of freedom from which the shop's own repeats count alone */

/* ---- units -------------------------------------------------------------------------------------
 */

static double to_y(const TrendReport *r, double si) {
    return unit_from_si(r->y.unit, si);
}

static double diff_to_y(const TrendReport *r, double si) {
    return unit_diff_from_si(r->y.unit, si);
}

static void settle_units(TrendReport *r, const SeriesList *list) {
    const TrendHow *how = r->how;
    r->y = list->count ? list->items[0].shown : (Shown){r->tag->unit, r->tag->places};
    if (how->system) {
        const Unit *u = unit_in(r->y.unit, how->system);
        if (u != r->y.unit) r->y.places += r->y.unit->places_shift;
        r->y.unit = u;
    }
    if (r->y.places < 0) r->y.places = 0;
    r->slack = diff_to_y(r, equal_within(r->tag));
    r->x_unit = r->over ? (r->over->unit->name[0] ? r->over->unit->name : r->over->name.p) : "days";
}

/* A rate is told for so much that its digits can be read: ten hours, a thousand miles, a year. */
static void settle_per(TrendReport *r) {
    double most = 0;
    if (!r->over) {
        r->per = 365.25;
        r->per_text = STR("year");
        return;
    }
    for (uint32_t i = 0; i < r->count; i++) {
        for (uint32_t k = 0; k < r->rows[i].n; k++)
            most = fmax(most, r->rows[i].x[k]);
    }
    r->per = 10;
    while (most >= 200 * r->per)
        r->per *= 10;
    Str unit = r->over->unit->name[0] ? str_from(r->over->unit->name) : r->over->name;
    r->per_text = arena_printf(r->arena, "%.0f %.*s", r->per, STR_ARG(unit));
}

/* ---- what the instrument repeats to ------------------------------------------------------------
 */

/* Repeats within one entry, pooled over the book; too few of them say less than the vocabulary,
 * whose "repeats within" is the difference that two readings exceed one time in twenty (ISO
 * 5725-1: 2.8 sd). What is worked out from readings of others repeats to what nobody measured. */
static void settle_instrument(TrendReport *r, const SeriesList *list) {
    static const double two_readings = 2.8;
    bool book = r->how->book && series_is_read(r->tag);
    const Repeats *repeats = book ? r->how->book : &list->repeats;
    Spread own = repeats_spread(repeats);
    if (own.df >= REPEATS_LEAST && own.sd > 0) {
        r->instrument = (Spread){diff_to_y(r, own.sd), own.df};
        r->repeats = repeats->things;
    } else if (r->tag->repeatability > 0) {
        r->instrument = (Spread){diff_to_y(r, r->tag->repeatability) / two_readings, INFINITY};
    }
}

/* ---- one series --------------------------------------------------------------------------------
 */

static double x_of(const TrendReport *r, const Series *s, const SeriesPoint *p) {
    if (!r->over) return p->day - s->points[0].day;
    return isnan(p->run) ? NAN : unit_from_si(r->over->unit, p->run);
}

static double resolution_of(const TrendReport *r, const Series *s) {
    double step = 0;
    for (uint32_t i = 0; i < s->count; i++)
        step = fmax(step, s->points[i].step);
    return diff_to_y(r, step);
}

static void take_points(TrendReport *r, TrendRow *row) {
    const Series *s = row->s;
    row->x = arena_array(r->arena, s->count + 1, sizeof *row->x);
    row->y = arena_array(r->arena, s->count + 1, sizeof *row->y);
    for (uint32_t i = 0; i < s->count; i++) {
        double x = x_of(r, s, &s->points[i]);
        if (x > r->how->until) continue;
        if (isnan(x)) {
            row->no_run++;
            continue;
        }
        row->last_si = s->points[i].y;
        row->x[row->n] = x;
        row->y[row->n++] = to_y(r, row->last_si);
    }
    r->no_run += row->no_run;
    if (!row->n) return;
    row->first = row->y[0];
    row->last = row->y[row->n - 1];
    row->change = row->last - row->first;
    bool percent = row->first != 0 && r->tag->dim != DIM_NUMBER; /* no percent of percent */
    row->percent = percent ? 100 * row->change / fabs(row->first) : NAN;
}

/* Of a line for a whole set no more than the rates are needed. */
static bool rate_will_do(const TrendReport *r) {
    return r->brief && !r->how->rows_wanted;
}

static void fit(TrendReport *r, TrendRow *row) {
    double few[64];
    size_t room = trend_scratch(row->n);
    TrendAsk ask = {.x = row->x,
                    .y = row->y,
                    .n = row->n,
                    .method = r->how->method,
                    .instrument = r->instrument,
                    .resolution = resolution_of(r, row->s),
                    .level = r->how->level,
                    .rate_only = rate_will_do(r),
                    .scratch = room <= 64 ? few : arena_array(r->arena, room, sizeof(double))};
    row->status = row->n ? trend_fit(&ask, &row->fit) : STATS_TOO_FEW;
}

/* Two readings of one thing differ by more one time in twenty: Student's t takes the place of 1.96
 * where repeats are few (ISO 5725-6). */
static double between_two(const TrendReport *r) {
    return student_two_sided(.95, r->instrument.df) * sqrt(2) * r->instrument.sd;
}

static bool past_limit(const TrendRow *row) {
    for (uint32_t i = 0; i < row->left_count; i++) {
        if (row->left[i].past) return true;
    }
    return false;
}

static void judge(TrendReport *r, TrendRow *row) {
    VerdictFacts f = {.n = row->n};
    if (row->status == STATS_OK) f = verdict_facts(&row->fit, resolution_of(r, row->s));
    f.ends = row->change;
    f.two_readings = spread_known(r->instrument) ? between_two(r) : 0;
    f.past_limit = past_limit(row);
    row->judged = verdict_of(&f);
}

static TrendLeft left_to(const TrendReport *r, const TrendRow *row, const SeriesLimit *limit) {
    TrendLeft left = {.limit = limit};
    left.past = range_margin(r->tag, &limit->range, row->last_si, &left.nearest) < 0;
    left.unknown = !left.past && row->s->ends_unknown;
    if (left.past || left.unknown || row->status != STATS_OK || row->fit.rate == 0) return left;
    double bound = row->fit.rate < 0 ? limit->range.low : limit->range.high;
    if (!isfinite(bound)) return left;
    bound = to_y(r, bound);
    left.heading = true;
    double now = row->x[row->n - 1];
    Reach reach;
    if (trend_reach(&row->fit, bound, &reach) == STATS_OK) {
        left.has_interval = true;
        left.value = fmax(0, reach.x - now);
        bool ahead = reach.kind == REACH_BETWEEN || reach.kind == REACH_NOT_BEFORE;
        left.low = ahead ? fmax(0, reach.low - now) : 0;
        left.high = ahead ? fmax(0, reach.high - now) : INFINITY;
        return left;
    }
    left.value = fmax(0, (bound - row->fit.intercept) / row->fit.rate - now);
    return left;
}

static void reach_limits(TrendReport *r, TrendRow *row) {
    if (!row->s->limit_count || !row->n) return;
    row->left = arena_array(r->arena, row->s->limit_count, sizeof *row->left);
    for (uint32_t i = 0; i < row->s->limit_count; i++) {
        TrendLeft left = left_to(r, row, &row->s->limits[i]);
        row->left[row->left_count++] = left;
        if (left.past)
            row->last_places =
                places_to_tell(r->y.unit, row->last_si, left.nearest, row->last_places);
    }
}

/* The same loss at every condition, or one that grows with the distance from where the first curve
 * comes to 0. */
static void kind_of_change(TrendReport *r, TrendRow *row) {
    const SeriesCurve *was = row->s->first, *now = row->s->last;
    double distance[SERIES_CONDITIONS], change[SERIES_CONDITIONS];
    size_t n = 0;
    if (!was || !now || !spread_known(r->instrument)) return;
    uint32_t end = was->count - 1;
    double slope = (was->value[end] - was->value[0]) / (was->at[end] - was->at[0]);
    if (slope == 0) return;
    double zero = was->at[0] - was->value[0] / slope;
    for (uint32_t i = 0; i < was->count; i++) {
        for (uint32_t k = 0; k < now->count; k++) {
            if (!same_condition(was->at[i], now->at[k])) continue;
            distance[n] = fabs(zero - was->at[i]);
            change[n++] = diff_to_y(r, now->value[k] - was->value[i]);
        }
    }
    Spread of_change = {r->instrument.sd * sqrt(2), r->instrument.df};
    row->has_kind =
        n >= 2 && change_kind(distance, change, n, of_change, .05, &row->kind) == STATS_OK;
}

static void work_row(TrendReport *r, TrendRow *row) {
    fit(r, row);
    if (rate_will_do(r)) return;
    reach_limits(r, row);
    judge(r, row);
    kind_of_change(r, row);
}

/* ---- groups ------------------------------------------------------------------------------------
 */

static bool has_rate(const TrendRow *row) {
    return row->status == STATS_OK;
}

/* Whose rate the others of the group contradict. */
static void find_odd(TrendReport *r, TrendGroup *g) {
    double rate[OUTLIER_MOST], floor[OUTLIER_MOST];
    uint32_t row_of[OUTLIER_MOST], n = 0;
    for (uint32_t i = 0; i < g->count && n < OUTLIER_MOST; i++) {
        const TrendRow *row = &g->rows[i];
        if (!has_rate(row)) continue;
        row_of[n] = i;
        floor[n] = spread_known(r->instrument) ? line_slope_sd(&row->fit.fit, r->instrument) : 0;
        rate[n++] = row->fit.rate;
    }
    if (n < OUTLIER_LEAST) return;
    sort_values(floor, n);
    OutlierRule rule = {.floor = median_sorted(floor, n), .chance = .01};
    Outliers odd;
    if (outliers_in_set(&rule, rate, n, &odd) != STATS_OK) return;
    for (size_t i = 0; i < odd.count; i++)
        g->rows[row_of[odd.index[i]]].odd = true;
    g->odd = (uint32_t)odd.count;
}

static void pool_group(TrendReport *r, TrendGroup *g) {
    UnitSeries *units = arena_array(r->arena, g->count + 1, sizeof *units);
    UnitSlope *each = arena_array(r->arena, g->count + 1, sizeof *each);
    double percent = 0;
    uint32_t n = 0;
    for (uint32_t i = 0; i < g->count; i++) {
        const TrendRow *row = &g->rows[i];
        if (!has_rate(row)) continue;
        g->with_rate++;
        units[n++] = (UnitSeries){row->x, row->y, row->n};
        percent += row->percent;
    }
    g->percent = n ? percent / n : NAN;
    g->has_mean = pooled_slope(units, n, r->instrument, r->how->level, each, &g->pool) == STATS_OK;
}

static bool same_group(const TrendHow *how, const Series *a, const Series *b) {
    if (how->ask.group_by != TAG_NONE) return str_ieq(a->group, b->group);
    return str_eq(a->engine, b->engine) && str_eq(a->group, b->group);
}

static int by_words(const void *a, const void *b) {
    const Series *x = ((const TrendRow *)a)->s, *y = ((const TrendRow *)b)->s;
    int c = str_cmp(x->group, y->group);
    if (c) return c;
    return x < y ? -1 : x > y; /* one array: as they stood */
}

static int by_place(const void *a, const void *b) {
    const Series *x = ((const TrendRow *)a)->s, *y = ((const TrendRow *)b)->s;
    int c = str_cmp(x->engine, y->engine);
    if (!c) c = str_cmp(x->place, y->place);
    if (c) return c;
    return x < y ? -1 : x > y;
}

enum { GROUPS_WITH_ROWS = 6 }; /* more are told by a line each */

static bool is_brief(const SeriesList *list, const TrendHow *how) {
    if (how->ask.part.n || how->ask.group_by != TAG_NONE) return true;
    uint32_t groups = list->count > 0;
    for (uint32_t i = 1; i < list->count && groups <= GROUPS_WITH_ROWS; i++)
        groups += !same_group(how, &list->items[i - 1], &list->items[i]);
    return groups > GROUPS_WITH_ROWS;
}

static void make_groups(TrendReport *r) {
    if (r->how->ask.group_by != TAG_NONE)
        qsort(r->rows, r->count, sizeof *r->rows, by_words);
    else if (r->how->ask.by_place)
        qsort(r->rows, r->count, sizeof *r->rows, by_place);
    uint32_t room = 0;
    for (uint32_t i = 0, to; i < r->count; i = to) {
        for (to = i + 1; to < r->count && same_group(r->how, r->rows[i].s, r->rows[to].s);)
            to++;
        arena_grow(r->arena, r->groups, r->group_count, room);
        TrendGroup *g = &r->groups[r->group_count++];
        const Series *s = r->rows[i].s;
        *g = (TrendGroup){.name = s->group, .rows = &r->rows[i], .count = to - i};
        if (r->how->ask.group_by == TAG_NONE) g->engine = s->engine;
        pool_group(r, g);
        find_odd(r, g);
    }
}

/* ---- over all groups ---------------------------------------------------------------------------
 */

static void find_unusual(TrendReport *r, const double *mean, const uint32_t *of, uint32_t n) {
    TrendAll *all = &r->all;
    if (n <= OUTLIER_MOST) {
        OutlierRule rule = {.chance = .01};
        Outliers odd;
        if (outliers_in_set(&rule, mean, n, &odd) != STATS_OK) return;
        for (size_t i = 0; i < odd.count; i++)
            r->groups[of[odd.index[i]]].unusual = true;
        all->unusual = (uint32_t)odd.count;
        all->unusual_by = "each judged by the others alone (Student's t, 1 in 100)";
        return;
    }
    double *sorted = arena_array(r->arena, n, sizeof *sorted);
    memcpy(sorted, mean, n * sizeof *sorted);
    sort_values(sorted, n);
    Interval fence = tukey_fences(sorted, n, 3);
    for (uint32_t i = 0; i < n; i++) {
        bool out = mean[i] < fence.low || mean[i] > fence.high;
        r->groups[of[i]].unusual = out;
        all->unusual += out;
    }
    all->unusual_by = "beyond Tukey's outer fences, three times the middle half's width";
}

/* Every group counts once, however many series it has: that keeps engines apart. */
static void pool_all(TrendReport *r) {
    double *mean = arena_array(r->arena, r->group_count + 1, sizeof *mean);
    uint32_t *of = arena_array(r->arena, r->group_count + 1, sizeof *of);
    uint32_t n = 0;
    for (uint32_t i = 0; i < r->group_count; i++) {
        const TrendGroup *g = &r->groups[i];
        if (!g->has_mean) continue;
        of[n] = i;
        mean[n++] = g->pool.mean;
    }
    TrendAll *all = &r->all;
    Sample s;
    all->groups = n;
    if (n < 2 || sample_describe(mean, n, &s) != STATS_OK) return;
    all->has_mean = sample_mean_interval(&s, r->how->level, &all->mean_interval) == STATS_OK;
    all->mean = s.mean;
    all->sd = s.sd;
    double half = (all->mean_interval.high - all->mean_interval.low) / 2;
    double next = half * sqrt(n + 1); /* a new one: sd sqrt(1 + 1 / n) for sd / sqrt(n) */
    all->has_next = all->has_mean && n >= 3;
    all->next = (Interval){s.mean - next, s.mean + next};
    if (n >= OUTLIER_LEAST) find_unusual(r, mean, of, n);
}

/* ---- the report --------------------------------------------------------------------------------
 */

static bool two_places(const Series *s) {
    for (uint32_t i = 0, first = UINT32_MAX; i < s->count; i++) {
        if (isnan(s->points[i].run)) continue;
        if (first == UINT32_MAX)
            first = i;
        else if (s->points[i].run != s->points[first].run)
            return true;
    }
    return false;
}

static bool two_days(const Series *s) {
    return s->count && s->points[s->count - 1].day != s->points[0].day;
}

/* Days, when not one series has two readings a known run apart and days would serve. */
static bool must_use_days(const SeriesList *list, const TrendHow *how) {
    bool days = false;
    if (how->over_days || how->ask.over == TAG_NONE) return true;
    if (how->over_asked) return false;
    for (uint32_t i = 0; i < list->count; i++) {
        if (two_places(&list->items[i])) return false;
        days |= two_days(&list->items[i]);
    }
    return days;
}

void trend_report(const SeriesList *list, const TrendHow *how, Arena *a, TrendReport *r) {
    bool days = must_use_days(list, how);
    *r = (TrendReport){.how = how, .tag = &how->v->tags[how->ask.tag], .arena = a};
    r->fell_back = days && !how->over_days && how->ask.over != TAG_NONE;
    if (!days) r->over = &how->v->tags[how->ask.over];
    settle_units(r, list);
    r->brief = is_brief(list, how);
    settle_instrument(r, list);
    r->rows = arena_array(a, list->count + 1, sizeof *r->rows);
    for (uint32_t i = 0; i < list->count; i++) {
        r->rows[i] = (TrendRow){
            .s = &list->items[i], .first = NAN, .last = NAN, .change = NAN, .percent = NAN};
        r->rows[i].last_places = r->y.places;
        r->rows[i].is_item = how->v->classes[r->tag->of].kind == CLASS_ITEM;
        take_points(r, &r->rows[i]);
        work_row(r, &r->rows[i]);
    }
    r->count = list->count;
    settle_per(r);
    make_groups(r);
    pool_all(r);
}
