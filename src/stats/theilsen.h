/*
 * Theil-Sen: the median of the slopes of all pairs of points, which one bad reading in four cannot
 * upset, with its interval from the distribution of Kendall's S. Every slope is formed: O(n^2) time
 * and scratch, so n is bounded by THEIL_SEN_MOST.
 *
 * The interval below 10 readings is exact: between two of the ordered slopes, at the narrowest
 * level that is not less than the one asked, which `level_held` tells (five readings: 98.3 % for
 * 95). Four readings reach 91.7 % at best and three 66.7 %: no interval at 95 %, and has_interval
 * says so. From 10 on, ranks (N -+ z sqrt(var S)) / 2 among the N slopes, straight between
 * neighbours.
 */
#ifndef THOU_STATS_THEILSEN_H
#define THOU_STATS_THEILSEN_H

#include "stats/stats.h"

enum { THEIL_SEN_MOST = 3000 }; /* 36 MB of scratch */

typedef struct TheilSen {
    size_t n;
    size_t pairs; /* at different x */
    double slope;
    double intercept; /* median of y less slope times median of x */
    bool has_interval;
    Interval interval;
    double level_held;
} TheilSen;

/* Doubles that theil_sen needs of scratch for n points. */
size_t theil_sen_scratch(size_t n);
/* n from 2 to THEIL_SEN_MOST, at two or more different x. */
StatsStatus theil_sen(const double *x, const double *y, size_t n, double level, double *scratch,
                      TheilSen *out);

#endif
