/*
 * Mann-Kendall: whether y goes up or down with x, by counting pairs. With fewer than 10 readings
 * and ties on one side at most the distribution of S is exact (counted, not approximated); else the
 * normal approximation with continuity correction and the variance corrected for ties.
 */
#ifndef THOU_STATS_KENDALL_H
#define THOU_STATS_KENDALL_H

#include "stats/stats.h"

enum {
    KENDALL_EXACT_BELOW = 10,                                            /* readings */
    KENDALL_COUNTS = KENDALL_EXACT_BELOW * (KENDALL_EXACT_BELOW - 1) / 2 /* room for its pairs */
};

typedef struct Kendall {
    size_t n;
    long s;       /* pairs that rise minus pairs that fall */
    double tau_a; /* s over all pairs */
    double tau_b; /* s over the pairs not tied, by the geometric mean of both sides */
    double variance;
    double z; /* with continuity correction; 0 when s is 0 */
    double p; /* two-sided */
    bool exact;
} Kendall;

/* n of 3 or more; x need not be in order. O(n^2), without scratch. */
StatsStatus kendall_test(const double *x, const double *y, size_t n, Kendall *out);

/* Variance of S without a trend, corrected for the ties of both sides. */
double kendall_variance(const double *x, const double *y, size_t n);

/* For the interval of Theil and Sen: how S scatters when y has no trend and no ties, x may. */
typedef struct KendallNull {
    size_t n, pairs; /* pairs at different x */
    bool exact;
    double count[KENDALL_COUNTS]; /* chance of a given number of falling pairs, when exact */
} KendallNull;

StatsStatus kendall_null(const double *x, size_t n, KendallNull *out);
/* Chance of S at or above s, when exact. */
double kendall_null_tail(const KendallNull *k, long s);

#endif
