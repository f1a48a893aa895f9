#include "stats/kendall.h"

#include <math.h>

#include "stats/dist.h"

/* What the ties of one side take away. */
typedef struct Ties {
    double pairs;   /* sum of t (t - 1) / 2 */
    double v;       /* sum of t (t - 1) (2 t + 5) */
    double triples; /* sum of t (t - 1) (t - 2) */
    size_t groups;
    size_t group[KENDALL_EXACT_BELOW]; /* sizes of the ties, kept for small n only */
} Ties;

/* A value is counted where it stands first, with all that are like it. */
static Ties count_ties(const double *x, size_t n) {
    Ties ties = {0};
    for (size_t i = 0; i < n; i++) {
        size_t t = 0;
        bool first = true;
        for (size_t j = 0; j < n && first; j++) {
            if (x[j] != x[i]) continue;
            if (j < i)
                first = false;
            else
                t++;
        }
        if (!first || t < 2) continue;
        double d = (double)t;
        ties.pairs += d * (d - 1) / 2;
        ties.v += d * (d - 1) * (2 * d + 5);
        ties.triples += d * (d - 1) * (d - 2);
        if (n < KENDALL_EXACT_BELOW) ties.group[ties.groups] = t;
        ties.groups++;
    }
    return ties;
}

static double s_variance(double n, const Ties *a, const Ties *b) {
    double pairs2 = n * (n - 1);
    double v = (pairs2 * (2 * n + 5) - a->v - b->v) / 18;
    if (n > 2) v += a->triples * b->triples / (9 * pairs2 * (n - 2));
    return v + 4 * a->pairs * b->pairs / (2 * pairs2);
}

double kendall_variance(const double *x, const double *y, size_t n) {
    Ties tx = count_ties(x, n), ty = count_ties(y, n);
    return s_variance((double)n, &tx, &ty);
}

/* Multiplies by 1 + q + ... + q^(m-1), in place. */
static void times_run(double *c, size_t room, size_t m) {
    for (size_t i = room; i-- > 0;) {
        double sum = 0;
        for (size_t j = 0; j < m && j <= i; j++)
            sum += c[i - j];
        c[i] = sum;
    }
}

static void divide_run(double *c, size_t room, size_t m) {
    for (size_t i = 0; i < room; i++)
        for (size_t j = 1; j < m && j <= i; j++)
            c[i] -= c[i - j];
}

/* Orders of n values by their number of falling pairs: the coefficients of the product of
 * 1 + q + ... + q^(m-1) for m to n, with those of every tie divided out (whole numbers below 10!,
 * exact in doubles); then as chances. */
static void count_orders(size_t n, const Ties *ties, double c[KENDALL_COUNTS]) {
    memset(c, 0, KENDALL_COUNTS * sizeof *c);
    c[0] = 1;
    for (size_t m = 2; m <= n; m++)
        times_run(c, KENDALL_COUNTS, m);
    for (size_t g = 0; g < ties->groups; g++)
        for (size_t m = 2; m <= ties->group[g]; m++)
            divide_run(c, KENDALL_COUNTS, m);
    double all = 0;
    for (size_t i = 0; i < KENDALL_COUNTS; i++)
        all += c[i];
    for (size_t i = 0; i < KENDALL_COUNTS; i++)
        c[i] /= all;
}

static double counts_tail(const double c[KENDALL_COUNTS], size_t pairs, long s) {
    double sum = 0;
    for (size_t falling = 0; falling <= pairs && falling < KENDALL_COUNTS; falling++)
        if ((long)pairs - 2 * (long)falling >= s) sum += c[falling];
    return sum;
}

StatsStatus kendall_null(const double *x, size_t n, KendallNull *out) {
    if (n < 2) return STATS_TOO_FEW;
    Ties ties = count_ties(x, n);
    KendallNull k = {.n = n, .pairs = n * (n - 1) / 2 - (size_t)ties.pairs};
    if (k.pairs == 0) return STATS_NO_SPREAD;
    k.exact = n < KENDALL_EXACT_BELOW;
    if (k.exact) count_orders(n, &ties, k.count);
    *out = k;
    return STATS_OK;
}

double kendall_null_tail(const KendallNull *k, long s) {
    return counts_tail(k->count, k->pairs, s);
}

static long count_pairs(const double *x, const double *y, size_t n) {
    long s = 0;
    for (size_t i = 0; i < n; i++)
        for (size_t j = i + 1; j < n; j++) {
            int dx = (x[j] > x[i]) - (x[j] < x[i]), dy = (y[j] > y[i]) - (y[j] < y[i]);
            s += dx * dy;
        }
    return s;
}

static double exact_p(size_t n, const Ties *ties, long s) {
    double c[KENDALL_COUNTS];
    count_orders(n, ties, c);
    size_t pairs = n * (n - 1) / 2 - (size_t)ties->pairs;
    return s == 0 ? 1 : fmin(1, 2 * counts_tail(c, pairs, labs(s)));
}

StatsStatus kendall_test(const double *x, const double *y, size_t n, Kendall *out) {
    if (n < 3) return STATS_TOO_FEW;
    if (!all_finite(x, n) || !all_finite(y, n)) return STATS_NOT_FINITE;
    Ties tx = count_ties(x, n), ty = count_ties(y, n);
    double pairs = (double)n * (double)(n - 1) / 2;
    if (tx.pairs == pairs) return STATS_NO_SPREAD;
    Kendall k = {.n = n, .s = count_pairs(x, y, n)};
    k.tau_a = (double)k.s / pairs;
    double untied = (pairs - tx.pairs) * (pairs - ty.pairs);
    k.tau_b = untied > 0 ? (double)k.s / sqrt(untied) : 0;
    k.variance = s_variance((double)n, &tx, &ty);
    if (k.s != 0) k.z = ((double)k.s - copysign(1, (double)k.s)) / sqrt(k.variance);
    k.exact = n < KENDALL_EXACT_BELOW && (tx.pairs == 0 || ty.pairs == 0);
    if (k.exact)
        k.p = exact_p(n, tx.pairs > 0 ? &tx : &ty, k.s);
    else
        k.p = k.s == 0 ? 1 : 2 * normal_tail(fabs(k.z));
    *out = k;
    return STATS_OK;
}
