/*
 * Whether changes seen at two or more points along x are one and the same change everywhere (a
 * spring that has taken a set loses equally at every height), or grow in proportion to the distance
 * from a point where nothing can change (a fallen rate: nothing at the free height, most at the
 * lowest), told apart within what the instrument can see, or not told.
 */
#ifndef THOU_STATS_CHANGEKIND_H
#define THOU_STATS_CHANGEKIND_H

#include "stats/stats.h"

typedef enum ChangeKind {
    CHANGE_NONE,        /* no change that the instrument can see */
    CHANGE_LEVEL,       /* the same everywhere; in proportion is contradicted */
    CHANGE_SLOPE,       /* in proportion; the same everywhere is contradicted */
    CHANGE_BOTH,        /* neither alone explains it */
    CHANGE_CANNOT_TELL, /* a change, but either would explain it */
} ChangeKind;

typedef struct Change {
    ChangeKind kind;
    double level;                    /* mean change */
    double slope;                    /* change for one unit of distance, through 0 at distance 0 */
    double p_none, p_level, p_slope; /* chance of the readings under each explanation */
} Change;

/*
 * change[i] at distance[i] from the point where a change of slope shows nothing (deflection from
 * the free height), at n of 2 or more different distances. `spread` is that of one change, so
 * sqrt(2) of one reading's. An explanation is contradicted below `chance` (0.05, say).
 */
StatsStatus change_kind(const double *distance, const double *change, size_t n, Spread spread,
                        double chance, Change *out);

#endif
