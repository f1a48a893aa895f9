/*
 * Assignment of items to places: every place gets one item, no item serves two places.
 *
 * Shapes: a matrix has one row a place and one column an item, row after row
 * (`m[place * items + item]`). `item_of` has `places` elements, filled by the caller's array;
 * it and the totals are set only on success. There may be more items than places; with fewer
 * there is no complete assignment, and the answer is false. Everything is decided in whole
 * numbers: the same input gives the same answer on every machine.
 *
 * Among equal optima the first one is returned: the smallest item index at place 0, then at
 * place 1, and so on.
 */
#ifndef THOU_STATS_ASSIGN_H
#define THOU_STATS_ASSIGN_H

#include "base/arena.h"
#include <stdbool.h>
#include <stdint.h>

#define ASSIGN_FORBIDDEN INT64_MAX /* a pair that cannot be */

/* The largest size of a cost, so that no sum of prices overflows; beyond it is a contradiction in
 * the caller and aborts. */
static inline int64_t assign_cost_most(size_t places) {
    return (INT64_C(1) << 60) / (int64_t)(places + 1);
}

/* The assignment of smallest sum. False when there is no complete one. */
bool assign_sum(size_t places, size_t items, const int64_t *cost, int *item_of, int64_t *total);

/* The assignment whose largest cost is smallest. False when there is no complete one. */
bool assign_bottleneck(size_t places, size_t items, const int64_t *cost, int *item_of,
                       int64_t *largest);

/* Turns a complete matching over `ok` into the first one. An item with `must` set is in use before
 * and stays in use; `must` may be NULL. */
void assign_first(size_t places, size_t items, const uint8_t *ok, const uint8_t *must,
                  int *item_of);

/*
 * The same minimum sum for many matrices of one shape, one after the other: memory is kept, and
 * any optimum will do. The prices prove it: price(place) + price(item) <= cost for every pair,
 * equal for the chosen ones; an item's price is never above 0, and is 0 if it is left over.
 */
typedef struct AssignWork {
    size_t places, items;
    int64_t *place_price, *item_price;
    int *item_of, *place_of; /* the answer; -1 in place_of: left over */
    int64_t *distance;
    int *from, *open, *closed, *tree;
} AssignWork;

void assign_work_init(AssignWork *w, Arena *a, size_t places, size_t items);
bool assign_least(AssignWork *w, const int64_t *cost, int64_t *total);

#endif
