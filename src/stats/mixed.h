/*
 * Several units measured over time (the springs of one make in many engines), kept apart.
 *
 * Every unit has a line of its own. Their scatter is pooled over the units (they are read on the
 * same instrument), which gives each slope its variance from where its readings lie. The slopes are
 * then one sample with a spread of their own: mean slope and between-unit variance by restricted
 * maximum likelihood, the mean's interval by Hartung and Knapp (Student, units - 1 degrees of
 * freedom), and the interval for the slope of a unit not seen yet from both variances (Student,
 * units - 2). With equally spread readings that is the random-slope model's answer exactly.
 */
#ifndef THOU_STATS_MIXED_H
#define THOU_STATS_MIXED_H

#include "stats/regress.h"

typedef struct UnitSeries {
    const double *x, *y;
    size_t n;
} UnitSeries;

typedef struct UnitSlope {
    StatsStatus status; /* why a unit has no slope; such units are left out */
    LineFit fit;        /* when STATS_OK */
    double variance;    /* of the slope, from the pooled scatter */
} UnitSlope;

typedef struct PooledSlope {
    size_t units; /* with a slope */
    size_t left_out;
    Spread within; /* scatter of readings about their unit's line */
    double mean;   /* slope of the mean unit */
    double mean_sd;
    double between_sd; /* of the true slopes between units; 0 when none shows */
    Interval mean_interval;
    bool has_prediction; /* three units or more */
    Interval prediction; /* for the slope of a new unit */
} PooledSlope;

/* `instrument` is pooled into the scatter when known. `each` holds `count` entries and is always
 * filled. STATS_TOO_FEW below two units with a slope; STATS_NO_INTERVAL when there is no scatter to
 * judge by (two readings a unit and no instrument). */
StatsStatus pooled_slope(const UnitSeries *units, size_t count, Spread instrument, double level,
                         UnitSlope *each, PooledSlope *out);

#endif
