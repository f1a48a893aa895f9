/* One sample of numbers: mean and standard deviation, to the digits NIST's univariate sets ask. */
#ifndef THOU_STATS_SAMPLE_H
#define THOU_STATS_SAMPLE_H

#include "stats/stats.h"

typedef struct Sample {
    size_t n;
    double mean;
    double sd; /* n - 1 in the divisor; 0 when n is 1 */
    double least, greatest;
} Sample;

/* n of 1 or more. The sum of squares is taken about the mean in a second pass, with the first
 * pass's rounding error taken out, in extended precision. */
StatsStatus sample_describe(const double *x, size_t n, Sample *out);
/* Confidence interval of the mean (Student), n of 2 or more. */
StatsStatus sample_mean_interval(const Sample *s, double level, Interval *out);

#endif
