/*
 * Control charts for a quantity of the shop over time: is the tester, the chamber work, still as it
 * was? Limits are three standard deviations from the centre, the standard deviation estimated from
 * ranges of neighbouring values, so that a drift does not widen its own limits.
 *
 * Two rules, by their usual names: a point outside the limits, and a run of eight points on one
 * side of the centre.
 */
#ifndef THOU_STATS_CONTROL_H
#define THOU_STATS_CONTROL_H

#include "stats/stats.h"

enum {
    CONTROL_GROUP_LEAST = 2,
    CONTROL_GROUP_MOST = 10, /* above it a standard deviation chart is used instead of ranges */
    CONTROL_RUN = 8,
};

/* Range of n normal values, in units of their standard deviation: mean d2 and standard deviation
 * d3, and the factors of a mean and range chart made from them. */
typedef struct RangeFactors {
    double d2, d3;
    double a2;           /* mean chart: centre -+ a2 mean range */
    double lower, upper; /* range chart: times the mean range (D3, D4) */
} RangeFactors;

/* n from 2 to 10. */
StatsStatus range_factors(size_t n, RangeFactors *out);

typedef enum ControlD2 {
    D2_EXACT,      /* 2 / sqrt(pi) */
    D2_AS_PRINTED, /* 1.128, to agree with charts drawn by hand from printed tables */
} ControlD2;

typedef struct ControlLimits {
    double centre, low, high;
} ControlLimits;

typedef struct Individuals {
    ControlLimits value;
    ControlLimits moving_range; /* for the ranges of neighbours; low is 0 */
    double sd;                  /* mean moving range / d2 */
} Individuals;

/* Values in order of time, n of 2 or more. */
StatsStatus control_individuals(const double *x, size_t n, ControlD2 d2, Individuals *out);

typedef struct MeanRange {
    ControlLimits mean, range;
    double sd;
} MeanRange;

/* Limits from `groups` groups of `size` values each, one after another in x. The mean and range of
 * every group go into mean_of and range_of (each `groups` long) when these are not NULL. */
StatsStatus control_mean_range(const double *x, size_t groups, size_t size, double *mean_of,
                               double *range_of, MeanRange *out);

enum { SIGNAL_OUTSIDE = 1, SIGNAL_RUN = 2 };

/* For each point the rules it breaks, as bits in signals[n]. A run marks its eighth point and all
 * that follow on that side; a point on the centre ends a run. What is no further from a limit or
 * the centre than `slack` is on it: equal readings may differ in the last bit, and limits from
 * them have no width. How many points are marked. */
size_t control_signals(const ControlLimits *limits, double slack, const double *x, size_t n,
                       unsigned char *signals);

#endif
