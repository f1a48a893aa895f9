#include "stats/regress.h"

#include <math.h>

#include "stats/dist.h"

static long double exact_mean(const double *x, size_t n) {
    long double sum = 0, off = 0;
    for (size_t i = 0; i < n; i++)
        sum += x[i];
    long double mean = sum / n;
    for (size_t i = 0; i < n; i++)
        off += x[i] - mean;
    return mean + off / n;
}

static void x_range(const double *x, size_t n, double *least, double *greatest) {
    *least = *greatest = x[0];
    for (size_t i = 1; i < n; i++) {
        if (x[i] < *least) *least = x[i];
        if (x[i] > *greatest) *greatest = x[i];
    }
}

StatsStatus line_fit(const double *x, const double *y, size_t n, LineFit *out) {
    if (n < 2) return STATS_TOO_FEW;
    if (!all_finite(x, n) || !all_finite(y, n)) return STATS_NOT_FINITE;
    LineFit f = {.n = n};
    x_range(x, n, &f.x_least, &f.x_greatest);
    if (f.x_least == f.x_greatest) return STATS_NO_SPREAD;
    long double xm = exact_mean(x, n), ym = exact_mean(y, n), sxx = 0, sxy = 0, syy = 0, sse = 0;
    for (size_t i = 0; i < n; i++) {
        long double dx = x[i] - xm, dy = y[i] - ym;
        sxx += dx * dx;
        sxy += dx * dy;
        syy += dy * dy;
    }
    long double slope = sxy / sxx;
    for (size_t i = 0; i < n; i++) {
        long double e = (y[i] - ym) - slope * (x[i] - xm);
        sse += e * e;
    }
    f.slope = (double)slope;
    f.intercept = (double)(ym - slope * xm);
    /* two points lie on their line: what is left is rounding */
    f.sse = n == 2 ? 0 : (double)sse;
    f.r2 = syy > 0 ? (double)(1 - sse / syy) : NAN;
    f.x_mean = (double)xm;
    f.y_mean = (double)ym;
    f.sxx = (double)sxx;
    *out = f;
    return STATS_OK;
}

Spread line_spread(const LineFit *f) {
    if (f->n <= 2) return (Spread){0};
    double df = (double)f->n - 2;
    return (Spread){.sd = sqrt(f->sse / df), .df = df};
}

double line_at(const LineFit *f, double x) {
    return f->y_mean + f->slope * (x - f->x_mean);
}

double line_slope_sd(const LineFit *f, Spread s) {
    return s.sd / sqrt(f->sxx);
}

/* Variance of the line at x, in units of the scatter's. */
static double leverage(const LineFit *f, double x) {
    double dx = x - f->x_mean;
    return 1 / (double)f->n + dx * dx / f->sxx;
}

static StatsStatus around(double middle, double sd, double df, double level, Interval *out) {
    if (!(df > 0)) return STATS_NO_INTERVAL;
    double half = student_two_sided(level, df) * sd;
    *out = (Interval){middle - half, middle + half};
    return STATS_OK;
}

StatsStatus line_slope_interval(const LineFit *f, Spread s, double level, Interval *out) {
    return around(f->slope, line_slope_sd(f, s), s.df, level, out);
}

double line_slope_p(const LineFit *f, Spread s) {
    if (!(s.df > 0)) return NAN;
    if (f->slope == 0) return 1;
    return 2 * student_tail(fabs(f->slope) / line_slope_sd(f, s), s.df);
}

StatsStatus line_farthest(const LineFit *f, const double *x, const double *y, double floor,
                          OffLine *out) {
    if (f->n < 4) return STATS_TOO_FEW;
    double df = (double)f->n - 3;
    OffLine far = {.p = 1};
    for (size_t i = 0; i < f->n; i++) {
        double free_part = 1 - leverage(f, x[i]);
        /* a point that alone decides the line cannot be judged by the others */
        if (free_part < 1e-9) continue;
        double e = y[i] - line_at(f, x[i]);
        double rest = fmax(f->sse - e * e / free_part, 0);
        double sd = fmax(sqrt(rest / df), floor);
        double t = e == 0 ? 0 : fabs(e) / (sd * sqrt(free_part));
        if (t > far.t) far = (OffLine){.index = i, .t = t, .p = 1};
    }
    if (far.t > 0) far.p = fmin(1, 2 * (double)f->n * student_tail(far.t, df));
    *out = far;
    return STATS_OK;
}

/*
 * With u = x - x0 the set is {u: (d - slope u)^2 <= height_half^2 + (slope_half u)^2}, that is
 * a u^2 - 2 b u + c <= 0. With a > 0 (slope different from 0) it lies between two roots; with
 * a <= 0 outside of them, or it is everything.
 */
Reach reach_of(double x0, double d, double slope, double slope_half, double height_half) {
    double a = slope * slope - slope_half * slope_half, b = slope * d;
    double c = d * d - height_half * height_half, inside = b * b - a * c;
    Reach r = {.kind = REACH_ANYWHERE, .low = -INFINITY, .high = INFINITY};
    r.x = slope != 0 ? x0 + d / slope : copysign(INFINITY, d);
    if (a > 0) {
        double root = sqrt(fmax(inside, 0));
        r.kind = REACH_BETWEEN;
        r.low = x0 + (b - root) / a;
        r.high = x0 + (b + root) / a;
    } else if (c > 0 && inside > 0) {
        /* the gap between the roots holds x0; c / (b -+ root) is the root on the side the line
         * heads for, without a difference of near numbers and without dividing by a */
        bool ahead = b >= 0;
        double end = c / (b + copysign(sqrt(inside), ahead ? 1 : -1));
        r.kind = ahead ? REACH_NOT_BEFORE : REACH_NOT_AFTER;
        if (ahead)
            r.low = x0 + end;
        else
            r.high = x0 + end;
    }
    return r;
}

StatsStatus line_reach(const LineFit *f, Spread s, double level, double limit, Reach *out) {
    if (!(s.df > 0)) return STATS_NO_INTERVAL;
    double half = student_two_sided(level, s.df) * s.sd;
    *out = reach_of(f->x_mean, limit - f->y_mean, f->slope, half / sqrt(f->sxx),
                    half / sqrt((double)f->n));
    return STATS_OK;
}
