/*
 * Least squares: a straight line, to the digits NIST's certified sets ask of double precision. Sums
 * are taken about the means in extended precision, residuals from the fit itself.
 *
 * Intervals take the scatter about the line as a Spread: the line's own (line_spread), the
 * instrument's from repeats, or both pooled. With the instrument's scatter three points, or two,
 * are usable; with their own, three points have one degree of freedom and say little.
 */
#ifndef THOU_STATS_REGRESS_H
#define THOU_STATS_REGRESS_H

#include "stats/stats.h"

typedef struct LineFit {
    size_t n;
    double slope, intercept;
    double sse; /* sum of the squared residuals */
    double r2;  /* NaN when all y are the same */
    double x_mean, y_mean, sxx;
    double x_least, x_greatest;
} LineFit;

/* n of 2 or more, at two or more different x. */
StatsStatus line_fit(const double *x, const double *y, size_t n, LineFit *out);

Spread line_spread(const LineFit *f); /* residual sd with n - 2; unknown for two points */
double line_at(const LineFit *f, double x);
double line_slope_sd(const LineFit *f, Spread s);
/* STATS_NO_INTERVAL when the spread is unknown. */
StatsStatus line_slope_interval(const LineFit *f, Spread s, double level, Interval *out);
/* Chance of a slope at least this far from 0, were there none; NaN when the spread is unknown. */
double line_slope_p(const LineFit *f, Spread s);

/*
 * The point that, in the light of the others alone, lies farthest off their line: the size of its
 * deleted residual in Student's t with n - 3 degrees of freedom, and the chance of one as large
 * among n good ones (Bonferroni). `floor` is the least scatter to judge by (0 when none is
 * known). n of 4 or more.
 */
typedef struct OffLine {
    size_t index;
    double t, p;
} OffLine;

StatsStatus line_farthest(const LineFit *f, const double *x, const double *y, double floor,
                          OffLine *out);

/*
 * Where a line reaches a limit: the x at which the limit lies within the line's confidence band
 * (Fieller's theorem). When the slope is not different from 0 that is no interval but everything
 * outside a gap about the mean of x: the limit ahead is not before `low` and may never come, and
 * the line may as well go the other way. `kind` says which; NOT_BEFORE and NOT_AFTER tell the
 * side of the gap that the line as fitted heads for.
 */
typedef enum ReachKind {
    REACH_BETWEEN,    /* the slope is not 0: between low and high */
    REACH_NOT_BEFORE, /* ahead: not before low, perhaps never (high is infinite) */
    REACH_NOT_AFTER,  /* back in time: not after high, perhaps never (low is infinite) */
    REACH_ANYWHERE,   /* nothing can be said: low and high are infinite */
} ReachKind;

typedef struct Reach {
    ReachKind kind;
    double x; /* where the fitted line reaches it; infinite when its slope is exactly 0 */
    double low, high;
} Reach;

/* For any line through (x0, limit - d) whose slope and whose height at x0 are uncertain by these
 * halves, independently of each other. */
Reach reach_of(double x0, double d, double slope, double slope_half, double height_half);

/* STATS_NO_INTERVAL when the spread is unknown. */
StatsStatus line_reach(const LineFit *f, Spread s, double level, double limit, Reach *out);

#endif
