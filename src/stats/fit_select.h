/*
 * Selective fit: which item goes to which place, with which stack of adjusters, so that every
 * limit holds and the aim is met. Knows places, items and adjusters only; what they are, and all
 * figures, come from the caller.
 *
 * Objective, in this order, each settled before the next is looked at:
 *   1. every limit holds at every place;
 *   2. the smallest largest |deviation|, then the smallest sum of squared deviations
 *      (left out without an aim);
 *   3. the fewest limits broken that are let stand;
 *   4. the largest worst margin over all places;
 *   5. the fewest adjusters in total;
 *   6. the fewest items moved from where they are;
 *   7. the first choice by place and item order. Where stock binds this last rule is followed only
 *      as far as the search order goes: the same input always gives the same choice, and the
 *      figures of 1 to 6 do not depend on the order of the input.
 * FIT_OPTIMAL is said only of a proved optimum of 1 to 6.
 *
 * Other aims through the same engine:
 * - Parts restricted to some places, parts held: `possible = false`, `held`.
 * - A least and greatest stack, or other stacks by place: `possible = false` for the others.
 * - Groups by total weight (one part of each kind to a group, totals as equal as can be): places
 *   are the parts of one kind, items those of the other, deviation = 2 x (total - aim) in steps of
 *   the scale. The spread of the totals (largest less smallest) for a choice is the largest
 *   |deviation| at the aim halfway between its extremes, so the least spread is the least worst
 *   deviation over all aims at whole and half steps between the smallest and the largest total.
 *   The caller solves once for each aim.
 *
 * All outputs are set only on success, in the caller's arena.
 */
#ifndef THOU_STATS_FIT_SELECT_H
#define THOU_STATS_FIT_SELECT_H

#include "base/arena.h"
#include "base/err.h"
#include <stdint.h>

#define FIT_THICKNESSES 8             /* most kinds of adjuster */
#define FIT_STACK_MOST 4              /* most adjusters in a stack */
#define FIT_LIMITS 64                 /* most limits told apart */
#define FIT_MANY SIZE_MAX             /* stock without end */
#define FIT_DEVIATION_MOST 2000000    /* steps; a larger deviation counts as this much */
#define FIT_MARGIN_MOST 1000000000    /* fine steps; a larger margin counts as this much */
#define FIT_WORK ((size_t)1000000000) /* ten to twenty seconds; see FitProblem.work */

/* Every stack of at most so many adjusters: fewest adjusters first, then by thickness. Stack 0 is
 * none at all. */
typedef struct FitStacks {
    size_t thicknesses, count;
    uint8_t (*of)[FIT_THICKNESSES]; /* [stack][thickness]: how many */
    uint8_t *pieces;                /* [stack]: how many in all */
} FitStacks;

void fit_stacks(FitStacks *stacks, Arena *a, size_t thicknesses, size_t most);

/* What an item at a place over a stack comes to. */
typedef struct FitFigures {
    bool possible;     /* false: no choice at all, whatever limit is dropped */
    uint64_t blocked;  /* bit l: limit l does not hold; 0: all hold */
    int32_t deviation; /* whole steps from the aim, signed */
    uint8_t let_stand; /* how many limits are broken that may be */
    double margin;     /* the worst margin here; any unit, INFINITY: no limit; never NAN */
} FitFigures;

typedef void FitEvaluate(void *context, size_t place, size_t item, size_t stack, FitFigures *out);
/* By how much the limit is missed there, in the limit's own unit, > 0. Asked only where the limit
 * was among those blocked. */
typedef double FitAmount(void *context, size_t place, size_t item, size_t stack, size_t limit);

typedef struct FitProblem {
    size_t places, items;
    const FitStacks *stacks;
    const size_t *stock;   /* [thicknesses], FIT_MANY: no end; NULL: no end of any */
    const int *now;        /* [items]: the place an item sits at, -1: nowhere; NULL: all nowhere */
    const int *held;       /* [places]: the item that stays there, -1: open; NULL: all open */
    bool has_aim;          /* false: deviations are not looked at */
    double margin_step;    /* margins are compared after rounding to this; > 0 */
    size_t limits;         /* how many limits `blocked` tells apart */
    FitEvaluate *evaluate; /* called once for each place, item and stack */
    FitAmount *amount;     /* NULL: no amounts known */
    void *context;
    size_t work; /* pairs and candidates weighed before the search gives up; 0: FIT_WORK */
} FitProblem;

typedef enum FitStatus {
    FIT_OPTIMAL,    /* proved */
    FIT_NONE,       /* proved: nothing fits */
    FIT_NOT_PROVED, /* all limits hold, but the work ran out before the optimum was proved */
    FIT_GAVE_UP,    /* the work ran out before anything was found */
} FitStatus;

typedef enum FitStage {
    FIT_LIMITS_HOLD,
    FIT_WORST_DEVIATION,
    FIT_SQUARES,
    FIT_FEWEST_BROKEN,
    FIT_WORST_MARGIN,
    FIT_ADJUSTERS_MOVES,
    FIT_DONE,
} FitStage;

typedef struct FitChoice {
    size_t item, stack;
    int32_t deviation;
    double margin; /* as rounded; INFINITY: no limit */
} FitChoice;

typedef struct FitResult {
    FitStatus status;
    FitStage reached;  /* the first stage that is not proved; FIT_DONE: all are */
    FitChoice *choice; /* [places]; NULL unless something was found */
    int32_t worst_deviation;
    int64_t sum_squares;
    size_t let_stand;
    double worst_margin;
    size_t adjusters;
    size_t moved; /* items that sat somewhere and do not stay there */
    size_t work;  /* spent, in the unit of FitProblem.work */
} FitResult;

/* False (ERR_LIMIT) only when a documented limit is passed. */
bool fit_select(const FitProblem *problem, Arena *a, FitResult *out, Err *err)
    __attribute__((warn_unused_result));

typedef struct FitBlock {
    size_t served;     /* places that could be served if this limit alone were dropped */
    bool enough;       /* that would be all of them */
    bool amount_known; /* ... and the caller gave amounts */
    double amount;     /* the least by which it has to give way for that, in its own unit */
} FitBlock;

/* Why nothing fits. Counts are exact if `proved`; else at least so many can be served. */
typedef struct FitWhy {
    size_t served;      /* the most places served with all limits and the stock as they are */
    size_t items_short; /* places - items, if there are fewer items than places */
    FitBlock *limit;    /* [limits] */
    FitBlock *stock;    /* [thicknesses]: the same with no end of this thickness; amount: the
                           least number of further pieces */
    FitBlock all_stock; /* with no end of any thickness */
    int *item_of;       /* [places]: a choice that serves the most; -1: not served */
    bool proved;
} FitWhy;

bool fit_why(const FitProblem *problem, Arena *a, FitWhy *out, Err *err)
    __attribute__((warn_unused_result));

#endif
