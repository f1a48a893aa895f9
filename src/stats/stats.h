/*
 * Shapes that all of src/stats shares. Everything here is arithmetic on arrays the caller owns: no
 * files, no text from users, no units. A function that cannot answer returns a status other than
 * STATS_OK and leaves its output alone; a non-answer is a result to be shown, not an error.
 */
#ifndef THOU_STATS_STATS_H
#define THOU_STATS_STATS_H

#include <stdbool.h>
#include <stddef.h>

typedef enum StatsStatus {
    STATS_OK = 0,
    STATS_TOO_FEW,     /* fewer values than the method needs */
    STATS_TOO_MANY,    /* more than the stated bound of the method */
    STATS_NO_SPREAD,   /* all x the same (no slope), or no scatter where one is needed */
    STATS_NOT_FINITE,  /* a NaN or an infinity was handed in */
    STATS_NO_INTERVAL, /* an estimate exists, but no interval at the level asked */
} StatsStatus;

typedef struct Interval {
    double low, high; /* either may be infinite */
} Interval;

/* A standard deviation and what it rests on. df INFINITY: taken as known. sd 0 with df 0: unknown.
 */
typedef struct Spread {
    double sd, df;
} Spread;

static inline bool spread_known(Spread s) {
    return s.df > 0 && s.sd > 0;
}

/* Both spreads measure the same scatter: weighted by what each rests on. */
Spread spread_pool(Spread a, Spread b);

bool all_finite(const double *x, size_t n);

#endif
