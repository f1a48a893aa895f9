/*
 * What an instrument repeats to: things that were read again at once, each about its own mean. Sums
 * only, so that those of many logs can be added up without their readings.
 */
#ifndef THOU_STATS_REPEATS_H
#define THOU_STATS_REPEATS_H

#include "stats/stats.h"
#include <stdint.h>

typedef struct Repeats {
    double squares;    /* of the readings about the mean of their thing, summed */
    uint64_t things;   /* that were read more than once */
    uint64_t readings; /* of them */
} Repeats;

typedef struct Thing { /* the readings of one, as they come; {0} to begin with */
    long double mean, squares;
    uint64_t readings;
} Thing;

void thing_add(Thing *t, double value);
/* A thing that was read once says nothing and adds nothing. */
void repeats_add(Repeats *r, const Thing *t);
void repeats_join(Repeats *to, const Repeats *from);
/* sqrt(squares / degrees of freedom), one lost for each mean; {0} when nothing was repeated. */
Spread repeats_spread(const Repeats *r);

#endif
