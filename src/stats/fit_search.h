/* The state of one search, between the files that make it up; nobody else includes this. */
#ifndef THOU_STATS_FIT_SEARCH_H
#define THOU_STATS_FIT_SEARCH_H

#include "stats/fit_inner.h"
#include "stats/fit_master.h"

#define SCALE 60          /* holds halves, thirds, quarters, fifths exactly */
#define NO_TOLL INT64_MAX /* the stack is not allowed at the place */

typedef struct Kept {
    int64_t cost; /* scaled */
    uint32_t candidate;
    uint16_t stack;
} Kept;

typedef struct Prices {
    int64_t of[MASTER_ROWS];
} Prices;

typedef struct Search {
    const FitTable *table;
    const FitPass *pass;
    size_t places, items, stacks;
    size_t limited; /* thicknesses whose stock can run out */
    size_t thickness[FIT_THICKNESSES];
    size_t rows; /* prices: of the limited, then of the sum of squares where it is held */
    int64_t stock[MASTER_ROWS];
    uint8_t (*use)[FIT_THICKNESSES]; /* [stack][limited] */
    uint32_t *first;                 /* [pairs + 1] into kept */
    Kept *kept;
    size_t kept_count, kept_room;
    uint8_t *present;      /* [place][stack] some item has it there */
    uint8_t *allowed;      /* [place][stack] present, and within this part */
    uint8_t *low, *high;   /* [place][limited] bounds of this part */
    uint8_t *least, *most; /* [place][limited] use of the stacks allowed */
    int64_t *toll;         /* [stack] of one place, during an evaluation */
    int64_t *matrix;       /* [pairs] */
    uint32_t *chosen;      /* [pairs] into kept */
    AssignWork assign;
    int64_t sum; /* of the last evaluation, with tolls */
    int64_t used[MASTER_ROWS];
    int64_t toll_most, square_toll_most;
    int64_t target; /* choices up to this cost are still wanted */
    uint32_t *pick; /* [places] into kept: the choice in hand */
    Master master;
    uint16_t *met_item; /* the same, the items */
    uint16_t *met;      /* [MASTER_COLUMNS][place] the stacks of the choices in it */
    size_t depth;
    bool done, out_of_work;
    size_t *work;
    FitSolution *solution;
    bool found;
} Search;

typedef struct Split {
    size_t place, limited;
    uint8_t at; /* one part: at most at - 1, the other: at least at */
    bool up;    /* the second part is looked at first */
    bool any;
} Split;

static inline uint32_t chosen_at(const Search *s, size_t place) {
    return s->chosen[place * s->items + (size_t)s->assign.item_of[place]];
}

/* Of a candidate where the sum of squares is held; else 0. */
static inline int64_t square_of(const Search *s, const Kept *k) {
    if (!s->pass->squares_held) return 0;
    int64_t d = s->table->deviation[k->candidate];
    return d * d;
}

/* With the squares before all else, held or not. */
static inline int64_t full_cost(const Search *s, const Kept *k) {
    return k->cost + SCALE * s->pass->square * square_of(s, k);
}

static inline int64_t cost_with_tolls(const Search *s, const Kept *k, const Prices *prices) {
    int64_t cost = k->cost + prices->of[s->limited] * square_of(s, k);
    for (size_t t = 0; t < s->limited; t++)
        cost += prices->of[t] * s->use[k->stack][t];
    return cost;
}

/* fit_kept.c: the candidates worth keeping, and the room the search needs. */
void search_init(Search *s, Arena *a, const size_t *stock);
void search_strike(Search *s, const Prices *prices, int64_t bound);

/* fit_repair.c: makes s->pick keep the stock by changing stacks only. False: it can't. */
bool search_repair(Search *s);

/* fit_search.c: keeps the choice in hand, which keeps the stock, if it is wanted. */
void search_record(Search *s);

/* fit_mix.c: mixes the choices met that the linear programme gives weight. */
void search_mix(Search *s, const Prices *prices);

/* fit_split.c */
Split search_split(const Search *s, const Prices *prices);

#endif
