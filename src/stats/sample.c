#include "stats/sample.h"

#include <math.h>

#include "stats/dist.h"

Spread spread_pool(Spread a, Spread b) {
    if (!(a.df > 0)) return b;
    if (!(b.df > 0)) return a;
    if (isinf(a.df)) return a;
    if (isinf(b.df)) return b;
    double df = a.df + b.df;
    return (Spread){.sd = sqrt((a.df * a.sd * a.sd + b.df * b.sd * b.sd) / df), .df = df};
}

bool all_finite(const double *x, size_t n) {
    for (size_t i = 0; i < n; i++)
        if (!isfinite(x[i])) return false;
    return true;
}

StatsStatus sample_describe(const double *x, size_t n, Sample *out) {
    if (n == 0) return STATS_TOO_FEW;
    if (!all_finite(x, n)) return STATS_NOT_FINITE;
    Sample s = {.n = n, .least = x[0], .greatest = x[0]};
    long double sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += x[i];
        if (x[i] < s.least) s.least = x[i];
        if (x[i] > s.greatest) s.greatest = x[i];
    }
    long double mean = sum / n, off = 0, squares = 0;
    for (size_t i = 0; i < n; i++) {
        long double d = x[i] - mean;
        off += d;
        squares += d * d;
    }
    s.mean = (double)(mean + off / n);
    if (n > 1) s.sd = (double)sqrtl((squares - off * off / n) / (n - 1));
    *out = s;
    return STATS_OK;
}

StatsStatus sample_mean_interval(const Sample *s, double level, Interval *out) {
    if (s->n < 2) return STATS_TOO_FEW;
    double n = (double)s->n, half = student_two_sided(level, n - 1) * s->sd / sqrt(n);
    *out = (Interval){s->mean - half, s->mean + half};
    return STATS_OK;
}
