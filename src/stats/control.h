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

typedef struct ControlLimits {
    double centre, low, high;
} ControlLimits;

typedef struct Individuals {
    ControlLimits value;
    double sd; /* from the mean distance of neighbours */
} Individuals;

/* Values in order of time, n of 2 or more. */
StatsStatus control_individuals(const double *x, size_t n, Individuals *out);

enum { CONTROL_RUN = 8 }; /* so many on one side of the centre */
enum { SIGNAL_OUTSIDE = 1, SIGNAL_RUN = 2 };

/* For each point the rules it breaks, as bits in signals[n]. A run marks its eighth point and all
 * that follow on that side; a point on the centre ends a run. What is no further from a limit or
 * the centre than `slack` is on it: equal readings may differ in the last bit, and limits from
 * them have no width. How many points are marked. */
size_t control_signals(const ControlLimits *limits, double slack, const double *x, size_t n,
                       unsigned char *signals);

#endif
