/*
 * The linear programme over the choices met so far, few enough rows to be solved in no time: a
 * weighted mean of choices that keeps the stock, at least cost. Its dual values are the next prices
 * to try; its weights say at which places the use is undecided. It only guides: floating point is
 * good enough here, and no proof rests on it.
 */
#ifndef THOU_STATS_FIT_MASTER_H
#define THOU_STATS_FIT_MASTER_H

#include "stats/fit_select.h"

#define MASTER_ROWS (FIT_THICKNESSES + 1) /* thicknesses, and the sum of squares */
#define MASTER_COLUMNS 96 /* choices held at once; the oldest out of use gives way */

typedef struct Master {
    size_t limited;            /* rows, beside the one that the weights sum to 1 */
    double stock[MASTER_ROWS]; /* right sides */
    double penalty;            /* cost of a piece beyond the stock */
    size_t count;
    double cost[MASTER_COLUMNS];
    double used[MASTER_COLUMNS][MASTER_ROWS];
    size_t basis[MASTER_ROWS + 1]; /* row -> column; see fit_master.c for the numbering */
    double inverse[MASTER_ROWS + 1][MASTER_ROWS + 1];
    double weight[MASTER_COLUMNS]; /* after master_solve */
    double price[MASTER_ROWS];
    double value; /* least cost of a mean: no bound by prices can be above it */
} Master;

/* Forgets all choices. */
void master_clear(Master *m, size_t limited, const int64_t *stock, double penalty);
/* Adds a choice; returns its index, that of the choice it took the room of if there is none. */
size_t master_add(Master *m, double cost, const int64_t *used);
void master_solve(Master *m); /* at least one choice was added */

#endif
