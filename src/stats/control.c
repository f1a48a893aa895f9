#include "stats/control.h"

#include <math.h>

#include "stats/sample.h"

/* d2 and d3 of the range of n normal values, n from 2; tests/r/reference.R integrates them. */
static const struct {
    double d2, d3;
} ranges[] = {
    {1.1283791671, 0.852502466429},  {1.69256875064, 0.888368004049},
    {2.05875074601, 0.879808202832}, {2.3259289473, 0.864081941115},
    {2.53441272126, 0.848039686151}, {2.70435675118, 0.833205335674},
    {2.84720061182, 0.819831489856}, {2.97002632368, 0.80783427464},
    {3.07750546037, 0.797050673653},
};

StatsStatus range_factors(size_t n, RangeFactors *out) {
    if (n < CONTROL_GROUP_LEAST) return STATS_TOO_FEW;
    if (n > CONTROL_GROUP_MOST) return STATS_TOO_MANY;
    RangeFactors f = {.d2 = ranges[n - 2].d2, .d3 = ranges[n - 2].d3};
    f.a2 = 3 / (f.d2 * sqrt((double)n));
    f.lower = fmax(0, 1 - 3 * f.d3 / f.d2);
    f.upper = 1 + 3 * f.d3 / f.d2;
    *out = f;
    return STATS_OK;
}

StatsStatus control_individuals(const double *x, size_t n, ControlD2 d2, Individuals *out) {
    if (n < 2) return STATS_TOO_FEW;
    Sample s;
    RangeFactors f;
    StatsStatus status = sample_describe(x, n, &s);
    if (status == STATS_OK) status = range_factors(2, &f);
    if (status != STATS_OK) return status;
    double moved = 0;
    for (size_t i = 1; i < n; i++)
        moved += fabs(x[i] - x[i - 1]);
    double mean_range = moved / (double)(n - 1);
    double sd = mean_range / (d2 == D2_AS_PRINTED ? 1.128 : f.d2);
    *out = (Individuals){
        .value = {s.mean, s.mean - 3 * sd, s.mean + 3 * sd},
        .moving_range = {mean_range, f.lower * mean_range, f.upper * mean_range},
        .sd = sd,
    };
    return STATS_OK;
}

StatsStatus control_mean_range(const double *x, size_t groups, size_t size, double *mean_of,
                               double *range_of, MeanRange *out) {
    if (groups < 2) return STATS_TOO_FEW;
    RangeFactors f;
    StatsStatus status = range_factors(size, &f);
    if (status != STATS_OK) return status;
    double mean = 0, range = 0;
    for (size_t i = 0; i < groups; i++) {
        Sample s;
        status = sample_describe(x + i * size, size, &s);
        if (status != STATS_OK) return status;
        mean += s.mean / (double)groups;
        range += (s.greatest - s.least) / (double)groups;
        if (mean_of) mean_of[i] = s.mean;
        if (range_of) range_of[i] = s.greatest - s.least;
    }
    *out = (MeanRange){
        .mean = {mean, mean - f.a2 * range, mean + f.a2 * range},
        .range = {range, f.lower * range, f.upper * range},
        .sd = range / f.d2,
    };
    return STATS_OK;
}

size_t control_signals(const ControlLimits *limits, double slack, const double *x, size_t n,
                       unsigned char *signals) {
    size_t marked = 0, run = 0;
    int side = 0;
    for (size_t i = 0; i < n; i++) {
        double off = x[i] - limits->centre;
        int now = (off > slack) - (off < -slack);
        run = now == 0 ? 0 : now == side ? run + 1 : 1;
        side = now;
        signals[i] = 0;
        if (x[i] < limits->low - slack || x[i] > limits->high + slack) signals[i] |= SIGNAL_OUTSIDE;
        if (run >= CONTROL_RUN) signals[i] |= SIGNAL_RUN;
        marked += signals[i] != 0;
    }
    return marked;
}
