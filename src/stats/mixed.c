#include "stats/mixed.h"

#include <math.h>

#include "stats/dist.h"

/* The pooled slope and what surrounds it, for one trial value of the between-unit variance. */
typedef struct Weighted {
    double sum_w, mean, sum_w2, sum_w_sq, sum_w2_sq;
} Weighted;

static Weighted weigh(const UnitSlope *each, size_t count, double between) {
    Weighted s = {0};
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        if (each[i].status != STATS_OK) continue;
        double w = 1 / (each[i].variance + between);
        s.sum_w += w;
        s.sum_w2 += w * w;
        sum += w * each[i].fit.slope;
    }
    s.mean = sum / s.sum_w;
    for (size_t i = 0; i < count; i++) {
        if (each[i].status != STATS_OK) continue;
        double w = 1 / (each[i].variance + between), d = each[i].fit.slope - s.mean;
        s.sum_w_sq += w * d * d;
        s.sum_w2_sq += w * w * d * d;
    }
    return s;
}

/* Derivative of the restricted likelihood by the between-unit variance, up to a factor 2. */
static double reml_score(const UnitSlope *each, size_t count, double between) {
    Weighted s = weigh(each, count, between);
    return s.sum_w2_sq - s.sum_w + s.sum_w2 / s.sum_w;
}

/* Where the score falls through 0, or 0 when it is negative from the start. */
static double between_variance(const UnitSlope *each, size_t count) {
    if (reml_score(each, count, 0) <= 0) return 0;
    double low = 0, high = 0;
    for (size_t i = 0; i < count; i++)
        if (each[i].status == STATS_OK && each[i].variance > high) high = each[i].variance;
    while (reml_score(each, count, high) > 0 && isfinite(high))
        high *= 2;
    for (int i = 0; i < 200 && high - low > 1e-14 * high; i++) {
        double middle = low + (high - low) / 2;
        if (reml_score(each, count, middle) > 0)
            low = middle;
        else
            high = middle;
    }
    return low + (high - low) / 2;
}

static Spread fit_units(const UnitSeries *units, size_t count, UnitSlope *each, PooledSlope *p) {
    double sse = 0, df = 0;
    for (size_t i = 0; i < count; i++) {
        each[i] = (UnitSlope){0};
        each[i].status = line_fit(units[i].x, units[i].y, units[i].n, &each[i].fit);
        if (each[i].status != STATS_OK) {
            p->left_out++;
            continue;
        }
        p->units++;
        sse += each[i].fit.sse;
        df += (double)units[i].n - 2;
    }
    return df > 0 ? (Spread){.sd = sqrt(sse / df), .df = df} : (Spread){0};
}

StatsStatus pooled_slope(const UnitSeries *units, size_t count, Spread instrument, double level,
                         UnitSlope *each, PooledSlope *out) {
    PooledSlope p = {0};
    p.within = spread_pool(fit_units(units, count, each, &p), instrument);
    if (p.units < 2) return STATS_TOO_FEW;
    if (!(p.within.df > 0)) return STATS_NO_INTERVAL;
    if (p.within.sd == 0) return STATS_NO_SPREAD;
    for (size_t i = 0; i < count; i++)
        if (each[i].status == STATS_OK)
            each[i].variance = p.within.sd * p.within.sd / each[i].fit.sxx;
    double between = between_variance(each, count), df = (double)p.units - 1;
    Weighted s = weigh(each, count, between);
    p.mean = s.mean;
    p.between_sd = sqrt(between);
    p.mean_sd = sqrt(s.sum_w_sq / (df * s.sum_w));
    double half = student_two_sided(level, df) * p.mean_sd;
    p.mean_interval = (Interval){p.mean - half, p.mean + half};
    if (p.units >= 3) {
        half = student_two_sided(level, df - 1) * sqrt(between + p.mean_sd * p.mean_sd);
        p.has_prediction = true;
        p.prediction = (Interval){p.mean - half, p.mean + half};
    }
    *out = p;
    return STATS_OK;
}
