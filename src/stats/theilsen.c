#include "stats/theilsen.h"

#include <math.h>

#include "stats/dist.h"
#include "stats/kendall.h"
#include "stats/robust.h"

size_t theil_sen_scratch(size_t n) {
    return n < 2 ? 1 : n * (n - 1) / 2 + n;
}

static size_t pair_slopes(const double *x, const double *y, size_t n, double *slopes) {
    size_t count = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++)
            if (x[i] != x[j]) slopes[count++] = (y[j] - y[i]) / (x[j] - x[i]);
    return count;
}

/* S at a slope between the j-th and the next of the N ordered slopes is N - 2 j. Slopes are kept
 * whose |S| is below the least critical value that is not passed too often. */
static void exact_interval(const KendallNull *k, const double *sorted, double level,
                           TheilSen *out) {
    long pairs = (long)k->pairs, critical = pairs;
    double tail = kendall_null_tail(k, critical);
    if (2 * tail > 1 - level + 1e-12) return;
    while (critical > 2 && 2 * kendall_null_tail(k, critical - 2) <= 1 - level + 1e-12)
        critical -= 2;
    size_t rank = (size_t)(pairs - critical) / 2 + 1;
    out->has_interval = true;
    out->interval = (Interval){sorted[rank - 1], sorted[k->pairs - rank]};
    out->level_held = 1 - 2 * kendall_null_tail(k, critical);
}

static void normal_interval(double variance, double *slopes, double level, TheilSen *out) {
    double pairs = (double)out->pairs, c = normal_quantile((1 + level) / 2) * sqrt(variance);
    double low = (pairs - c) / 2, high = (pairs + c) / 2 + 1;
    if (low < 1 || high > pairs) return;
    out->has_interval = true;
    out->interval.low = rank_select(slopes, out->pairs, low);
    out->interval.high = rank_select(slopes, out->pairs, high);
    out->level_held = level;
}

static double median_of(const double *x, size_t n, double *scratch) {
    memcpy(scratch, x, n * sizeof *x);
    sort_values(scratch, n);
    return median_sorted(scratch, n);
}

StatsStatus theil_sen(const double *x, const double *y, size_t n, double level, double *scratch,
                      TheilSen *out) {
    if (n < 2) return STATS_TOO_FEW;
    if (n > THEIL_SEN_MOST) return STATS_TOO_MANY;
    if (!all_finite(x, n) || !all_finite(y, n)) return STATS_NOT_FINITE;
    KendallNull null;
    StatsStatus status = kendall_null(x, n, &null);
    if (status != STATS_OK) return status;
    TheilSen t = {.n = n, .pairs = pair_slopes(x, y, n, scratch)};
    t.slope = rank_select(scratch, t.pairs, ((double)t.pairs + 1) / 2);
    if (null.exact) {
        sort_values(scratch, t.pairs);
        exact_interval(&null, scratch, level, &t);
    } else {
        normal_interval(kendall_variance(x, y, n), scratch, level, &t);
    }
    double *tail = scratch + t.pairs;
    t.intercept = median_of(y, n, tail) - t.slope * median_of(x, n, tail);
    *out = t;
    return STATS_OK;
}
