/* Centre, spread and quantiles that one wild reading cannot move. */
#ifndef THOU_STATS_ROBUST_H
#define THOU_STATS_ROBUST_H

#include "stats/stats.h"

void sort_values(double *x, size_t n);                /* ascending, in place; no NaN */
double median_sorted(const double *sorted, size_t n); /* n of 1 or more */
/* p from 0 to 1; straight between the order statistics at 1 + p (n - 1) (R's type 7). */
double quantile_sorted(const double *sorted, size_t n, double p);
/* The order statistic at a fractional rank from 1 to n, straight between its neighbours. */
double rank_sorted(const double *sorted, size_t n, double rank);

/* The same from values in any order, which it rearranges: O(n) on the average. No NaN. */
double rank_select(double *x, size_t n, double rank);

/* Tukey's fences: the quartiles and k times their distance beyond (k usually 1.5, far out 3). */
Interval tukey_fences(const double *sorted, size_t n, double k);

#endif
