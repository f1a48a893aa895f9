#include "stats/changekind.h"

#include <math.h>

#include "stats/dist.h"
#include "stats/regress.h"

/* Chance of squares as large as these under the spread. */
static double chance_of(double squares, double df, Spread s) {
    return f_tail(squares / df / (s.sd * s.sd), df, s.df);
}

static void alike(const double *change, size_t n, double mean, Spread s, Change *c) {
    double about_0 = 0, about_mean = 0;
    for (size_t i = 0; i < n; i++) {
        double d = change[i] - mean;
        about_0 += change[i] * change[i];
        about_mean += d * d;
    }
    c->level = mean;
    c->p_none = chance_of(about_0, (double)n, s);
    c->p_level = chance_of(about_mean, (double)n - 1, s);
}

static void in_proportion(const double *distance, const double *change, size_t n, Spread s,
                          Change *c) {
    double xx = 0, xy = 0, squares = 0;
    for (size_t i = 0; i < n; i++) {
        xx += distance[i] * distance[i];
        xy += distance[i] * change[i];
    }
    c->slope = xy / xx;
    for (size_t i = 0; i < n; i++) {
        double e = change[i] - c->slope * distance[i];
        squares += e * e;
    }
    c->p_slope = chance_of(squares, (double)n - 1, s);
}

StatsStatus change_kind(const double *distance, const double *change, size_t n, Spread spread,
                        double chance, Change *out) {
    LineFit line;
    Change c = {0};
    StatsStatus status = line_fit(distance, change, n, &line);
    if (status != STATS_OK) return status;
    if (!spread_known(spread)) return STATS_NO_INTERVAL;
    alike(change, n, line.y_mean, spread, &c);
    in_proportion(distance, change, n, spread, &c);
    bool level = c.p_level >= chance, slope = c.p_slope >= chance;
    if (c.p_none >= chance)
        c.kind = CHANGE_NONE;
    else if (level && slope)
        c.kind = CHANGE_CANNOT_TELL;
    else if (level)
        c.kind = CHANGE_LEVEL;
    else
        c.kind = slope ? CHANGE_SLOPE : CHANGE_BOTH;
    *out = c;
    return STATS_OK;
}
