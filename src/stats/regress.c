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

double line_intercept_sd(const LineFit *f, Spread s) {
    return s.sd * sqrt(leverage(f, 0));
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

StatsStatus line_mean_interval(const LineFit *f, Spread s, double level, double x, Interval *out) {
    return around(line_at(f, x), s.sd * sqrt(leverage(f, x)), s.df, level, out);
}

StatsStatus line_new_interval(const LineFit *f, Spread s, double level, double x, Interval *out) {
    return around(line_at(f, x), s.sd * sqrt(1 + leverage(f, x)), s.df, level, out);
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

/* y on 1, u and q(u) = u^2 - qu u - qq, orthogonal over the points; u is x centred and scaled. */
typedef struct Basis {
    long double centre, scale, qu, qq;
    long double s11, s22; /* sums of u^2 and q^2 */
} Basis;

static bool make_basis(const double *x, size_t n, Basis *b) {
    double least, greatest;
    x_range(x, n, &least, &greatest);
    if (least == greatest) return false;
    *b = (Basis){.centre = exact_mean(x, n), .scale = ((long double)greatest - least) / 2};
    long double s3 = 0;
    for (size_t i = 0; i < n; i++) {
        long double u = (x[i] - b->centre) / b->scale;
        b->s11 += u * u;
        s3 += u * u * u;
    }
    b->qq = b->s11 / n;
    b->qu = s3 / b->s11;
    for (size_t i = 0; i < n; i++) {
        long double u = (x[i] - b->centre) / b->scale, q = u * u - b->qu * u - b->qq;
        b->s22 += q * q;
    }
    /* two different x only: q vanishes at both */
    return b->s22 > 1e-24L * (long double)n;
}

/* From a + c1 u + c2 q to powers of x. */
static void to_powers(const Basis *b, long double a, long double c1, long double c2,
                      double out[3]) {
    long double k = 1 / b->scale, m = b->centre, p1 = c1 - c2 * b->qu, p0 = a - c2 * b->qq;
    out[2] = (double)(c2 * k * k);
    out[1] = (double)(p1 * k - 2 * c2 * k * k * m);
    out[0] = (double)(p0 - p1 * k * m + c2 * k * k * m * m);
}

/* The coefficients of the orthogonal fit are uncorrelated: variances add by their shares. */
static void power_sds(const Basis *b, size_t n, double sd, double out[3]) {
    double of_1[3], of_u[3], of_q[3];
    to_powers(b, 1, 0, 0, of_1);
    to_powers(b, 0, 1, 0, of_u);
    to_powers(b, 0, 0, 1, of_q);
    for (int i = 0; i < 3; i++) {
        double v = of_1[i] * of_1[i] / (double)n + of_u[i] * of_u[i] / (double)b->s11 +
                   of_q[i] * of_q[i] / (double)b->s22;
        out[i] = sd * sqrt(v);
    }
}

StatsStatus quad_fit(const double *x, const double *y, size_t n, QuadFit *out) {
    if (n < 4) return STATS_TOO_FEW;
    if (!all_finite(x, n) || !all_finite(y, n)) return STATS_NOT_FINITE;
    Basis b;
    if (!make_basis(x, n, &b)) return STATS_NO_SPREAD;
    long double ym = exact_mean(y, n), c1 = 0, c2 = 0, sse = 0, syy = 0;
    for (size_t i = 0; i < n; i++) {
        long double u = (x[i] - b.centre) / b.scale, q = u * u - b.qu * u - b.qq;
        c1 += (y[i] - ym) * u / b.s11;
        c2 += (y[i] - ym) * q / b.s22;
    }
    for (size_t i = 0; i < n; i++) {
        long double u = (x[i] - b.centre) / b.scale, q = u * u - b.qu * u - b.qq;
        long double dy = y[i] - ym, e = dy - c1 * u - c2 * q;
        sse += e * e;
        syy += dy * dy;
    }
    QuadFit f = {.n = n, .sd = (double)sqrtl(sse / (n - 3))};
    f.r2 = syy > 0 ? (double)(1 - sse / syy) : NAN;
    to_powers(&b, ym, c1, c2, f.b);
    power_sds(&b, n, f.sd, f.b_sd);
    *out = f;
    return STATS_OK;
}
