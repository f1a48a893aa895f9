/* What the fit_*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_FIT_PARTS_H
#define THOU_COMPUTE_FIT_PARTS_H

#include "compute/eval_parts.h"
#include "compute/fit.h"
#include "compute/what_if.h"

/* ---- fit_moves.c: what the choice can change */

typedef struct Moves {
    const State *s;
    const Fit *fit;
    Arena *arena;
    bool *moves; /* per tag: its value may change with the choice */
    bool *wide;  /* per tag: at one place it depends on what is chosen at others */
    uint8_t *known;
} Moves;

void moves_find(Moves *m, const State *s, const Fit *fit, Arena *a);
/* The tags whose value the adjuster alone may change, by tag. */
const bool *moves_of_adjuster(const State *s, const Fit *fit, Arena *a);
bool class_local(const Vocab *v, const Fit *fit, ClassId c);

/* ---- the work of one fit */

typedef struct Combination {               /* an item at a place over a stack */
    uint64_t blocked, let_stand, unjudged; /* let_stand: broken, and accepted */
    double margin;                         /* the worst part; INFINITY */
    double aimed;                          /* the aim's value; NAN: missing */
    int32_t steps;
    bool nominal, evaluated;
} Combination;

typedef struct FitWork {
    const State *s;
    const Job *j;
    const Vocab *v;
    const Fit *fit;
    const FitAsk *ask;
    Arena *arena;   /* the answer's */
    Arena *scratch; /* reset between evaluations */
    FitAnswer *out;
    Moves moves;
    WhatIf *what_if;
    uint8_t slot;          /* over all classes */
    uint32_t *place_index; /* per subject: its place's number + 1; 0 */
    uint32_t *on_first;    /* per place: its first reading of the adjuster; places + 1 */
    SubjectId *on;
    uint32_t on_count;
    int *now;      /* per candidate */
    int *held;     /* per place: candidate */
    uint8_t *open; /* [place * candidates + candidate]: it may sit there */
    Str *shut;     /* per candidate: why it may sit nowhere else; empty */
    size_t stock[FIT_THICKNESSES];
    double *thick;    /* per stack */
    size_t *twin;     /* per stack: the first one as thick, itself if there is none before it */
    Combination *all; /* [place][candidate][stack] */
    double *miss;     /* [...][limit]: made when asked for */
    uint32_t columns; /* candidates, or places where nothing is chosen */
    uint64_t judged;  /* bits of limits */
    Force *forces;    /* those of out->limit, as the what-if judges them */
    uint32_t local;   /* so many of them are judged place by place */
    FitProblem problem;
    int64_t middle; /* of `evens`: half steps over `lowest` */
    double lowest;
    TagId *blame_place, *blame_item;
    TagId blame_aim;
    bool aim_set;        /* there is an aim, though its tag may have no value */
    bool *place_nominal; /* every choice there rests on a card */
} FitWork;

/* fit_gather.c */
bool gather(FitWork *w);
/* fit_try.c */
typedef struct Round { /* what sits at each place in one evaluation */
    SubjectId *item;
    uint32_t *column; /* UINT32_MAX: nothing */
    double *adjust;
    size_t stack;
} Round;

Round round_new(FitWork *w);
void seat_round(FitWork *w, Round *r, uint32_t shift, double adjust);
/* The same items over other adjusters. */
void adjust_round(FitWork *w, Round *r, double adjust);
uint32_t round_turns(const FitWork *w); /* so many shifts bring every item to every place */
void gather_limits(FitWork *w);
void try_all(FitWork *w);
void try_misses(FitWork *w);
/* By how much a limit is missed; after try_misses. */
double miss_of(const FitWork *w, size_t place, size_t item, size_t stack, size_t limit);
/* What there is at each place with one choice made everywhere. */
void side_read(FitWork *w, Eval *e, FitSide *out);
void side_new(FitWork *w, FitSide *out);
void seat_all(FitWork *w, const SubjectId *item, const double *adjust);
static inline Combination *combination(const FitWork *w, size_t place, size_t item, size_t stack) {
    return &w->all[(place * w->columns + item) * w->out->stacks.count + stack];
}
/* The place a subject is or lies on, things where that state has them; UINT32_MAX. */
uint32_t place_of(const FitWork *w, const State *s, SubjectId id);
/* fit_solve.c */
bool solve(FitWork *w, Err *err);
bool usable(const FitWork *w, size_t place, size_t item, size_t stack);
/* fit_reason.c */
void find_reasons(FitWork *w);
void find_lacks(FitWork *w);
/* fit_near.c */
void find_near(FitWork *w);
/* fit_unsure.c */
void find_unsure(FitWork *w);

#endif
