/* Between the files of the selective fit; nobody else includes this. */
#ifndef THOU_STATS_FIT_INNER_H
#define THOU_STATS_FIT_INNER_H

#include "stats/assign.h"
#include "stats/fit_select.h"

/* All candidates: a stack under an item at a place, limits kept. Those of a pair (place * items +
 * item) lie together, from first[pair] up to first[pair + 1], in stack order. */
typedef struct FitTable {
    size_t places, items;
    const FitStacks *stacks;
    uint32_t *first;
    uint16_t *stack;
    int32_t *deviation, *margin; /* steps; fine steps, rounded */
    uint8_t *let_stand, let_stand_most;
    uint8_t *stays; /* [pairs] the item sits there already */
    double margin_step;
} FitTable;

/* Which candidates may be chosen (`blocked` may have only the limits in `dropped`). */
void fit_table_fill(FitTable *t, Arena *a, const FitProblem *p, uint64_t dropped);
int32_t fit_round_margin(double margin, double step);
/* False with a message when the problem is larger than the documented limits. */
bool fit_problem_check(const FitProblem *p, Err *err);

/* One question to the search: of the candidates within the bounds, the choice of least cost. */
typedef struct FitPass {
    int32_t deviation_most, margin_least;
    int64_t square, let_stand, adjuster, move; /* weights of the cost; all 0: any choice will do */
    /* The sum of squares is no part of the cost but may not be above squares_most; `square` is then
     * more than all else can come to. */
    bool squares_held;
    int64_t squares_most;
    int64_t cost_most; /* only choices up to this cost are wanted */
    int64_t enough;    /* one of this cost is as good as the best */
} FitPass;

typedef struct FitSolution {
    bool any;
    int64_t cost;
    int *item;           /* [places] */
    uint32_t *candidate; /* [places] index into the table */
} FitSolution;

typedef enum FitVerdict {
    FIT_FOUND,       /* *solution is the best, or enough */
    FIT_NOT_THERE,   /* proved: none within cost_most */
    FIT_OUT_OF_WORK, /* *solution is what was found, if any */
} FitVerdict;

void fit_solution_init(FitSolution *s, Arena *a, size_t places);
/* `work` goes down as it is spent. *solution is overwritten only by a choice that the pass
 * accepts; its memory is the caller's. `scratch` is emptied first: many searches in a row share
 * its memory. */
FitVerdict fit_search(const FitTable *t, const size_t *stock, const FitPass *pass, Arena *scratch,
                      size_t *work, FitSolution *solution);
/* The cost of a candidate of a pair under the weights of a pass. */
int64_t fit_cost(const FitTable *t, const FitPass *pass, size_t pair, uint32_t candidate);
static inline bool fit_within(const FitTable *t, const FitPass *pass, uint32_t candidate) {
    int32_t d = t->deviation[candidate];
    return (d < 0 ? -d : d) <= pass->deviation_most && t->margin[candidate] >= pass->margin_least;
}

#endif
