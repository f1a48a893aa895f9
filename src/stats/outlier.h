/*
 * Values that the rest of their set contradicts.
 *
 * The rule for sets (a valve train's springs, the chambers of a head). Values are ordered by their
 * distance from the median of the set. For k from the most that may be bad down to 1 the k
 * farthest are set aside, and each of them is judged by the others alone, as a new value from
 * where they come from:
 *
 *     t = |value - mean of the others| / (scale sqrt(1 + 1 / (n - k)))
 *
 * with scale the others' standard deviation or the floor (what the instrument repeats to),
 * whichever is more. They are named when for every one of them the chance of such a t (Student,
 * n - k - 1 degrees of freedom, two sides, any of n - k + 1 values, any k) is below `chance`. A
 * value is never judged by a mean or a spread it has had a hand in, so a wild one does not cast
 * doubt on its neighbours. With one value in doubt this is Grubbs' test, written the other way
 * round; that several can be set aside keeps two bad ones from hiding each other.
 *
 * Chance of a set of good, normal values having any of them named: `chance`, or less (measured by
 * the tests; with the floor in force, or several in doubt, it is less). Four values say little:
 * at a chance of 1 in 100 the odd one must be 32 spreads of the other three away.
 */
#ifndef THOU_STATS_OUTLIER_H
#define THOU_STATS_OUTLIER_H

#include "stats/stats.h"

enum {
    OUTLIER_LEAST = 3,   /* values in a set: fewer contradict nobody */
    OUTLIER_MOST = 200,  /* values in a set */
    OUTLIERS_NAMED = 10, /* at most; and at most one in six, one below twelve values */
};

typedef struct OutlierRule {
    double floor;  /* standard deviation that the instrument repeats to; 0 when not known */
    double chance; /* of naming any value of a good set, such as 0.01 */
} OutlierRule;

typedef struct Outliers {
    size_t count;
    size_t index[OUTLIERS_NAMED]; /* farthest first */
    double centre;                /* mean of the values not named */
    double scale;                 /* and what they were judged by */
} Outliers;

/* STATS_TOO_FEW and STATS_TOO_MANY outside 3 to 200 values. Finding none is STATS_OK, count 0. */
StatsStatus outliers_in_set(const OutlierRule *rule, const double *x, size_t n, Outliers *out);
/* How many values of a set of n may be named. */
size_t outliers_allowed(size_t n);

#endif
