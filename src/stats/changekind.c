#include "stats/changekind.h"

#include <math.h>

#include "stats/dist.h"
#include "stats/regress.h"

/* Chance of squares as large as these under the spread. */
static double chance_of(double squares, double df, Spread s) {
    return f_tail(squares / df / (s.sd * s.sd), df, s.df);
}

static StatsStatus start(const double *x, const double *change, size_t n, Spread s, LineFit *line,
                         Change *out) {
    StatsStatus status = line_fit(x, change, n, line);
    if (status != STATS_OK) return status;
    if (!spread_known(s)) return STATS_NO_INTERVAL;
    double about_0 = 0, about_mean = 0;
    for (size_t i = 0; i < n; i++) {
        double d = change[i] - line->y_mean;
        about_0 += change[i] * change[i];
        about_mean += d * d;
    }
    *out = (Change){.kind = CHANGE_NONE, .level = line->y_mean, .slope = line->slope};
    out->p_none = chance_of(about_0, (double)n, s);
    out->p_level = chance_of(about_mean, (double)n - 1, s);
    out->p_slope = NAN;
    return STATS_OK;
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
    Change c;
    StatsStatus status = start(distance, change, n, spread, &line, &c);
    if (status != STATS_OK) return status;
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

StatsStatus change_kind_no_origin(const double *x, const double *change, size_t n, Spread spread,
                                  double chance, Change *out) {
    LineFit line;
    Change c;
    StatsStatus status = start(x, change, n, spread, &line, &c);
    if (status != STATS_OK) return status;
    Interval slope;
    status = line_slope_interval(&line, spread, 1 - chance, &slope);
    if (status != STATS_OK) return status;
    double steepest = fmax(fabs(slope.low), fabs(slope.high));
    double altered = steepest * (line.x_greatest - line.x_least);
    if (c.p_none >= chance)
        c.kind = CHANGE_NONE;
    else if (c.p_level < chance)
        c.kind = CHANGE_SLOPE;
    else if (altered < fabs(c.level) / 2)
        c.kind = CHANGE_LEVEL;
    else
        c.kind = CHANGE_CANNOT_TELL;
    *out = c;
    return STATS_OK;
}
