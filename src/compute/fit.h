/*
 * Selective fit on a job: which item goes to which place, with which stack of adjusters, by a
 * declaration of the vocabulary. Every figure is what the log would give with the lines of the
 * answer at its end (compute/what_if.h); what is best is stats/fit_select.h's.
 *
 * Everything is in the arena given; values are SI.
 */
#ifndef THOU_COMPUTE_FIT_H
#define THOU_COMPUTE_FIT_H

#include "compute/verdict.h"
#include "stats/fit_select.h"

enum { FIT_COMBINATIONS = 8000000 }; /* of place, item and stack, at most: memory */

typedef struct FitAsk {
    const Fit *fit;
    SubjectList only; /* these places alone, the others stay as they are; empty: all */
    SubjectList held; /* places whose item stays */
    SubjectList sets; /* items of these sets alone; empty: of those that sit there, else of all */
    uint8_t slot;     /* of the item's class */
    bool whether;     /* only whether some choice holds: no aims, no uncertainties, no reasons */
    size_t work;      /* FitProblem.work */
} FitAsk;

typedef struct FitSize { /* a size of adjuster */
    double si;
    size_t pieces; /* in the drawer and free under the places; FIT_MANY */
} FitSize;

typedef struct FitLimit {
    const Force *force;
    bool whole;    /* it speaks of all places together: judged when all is chosen */
    bool judged;   /* some choice had a value to judge; the others are left out */
    TagId missing; /* what was not there */
} FitLimit;

typedef struct FitMargin { /* how one limit stands at one place */
    bool there;            /* the limit applies and has a value */
    bool broken;
    double value, bound, margin; /* bound: the nearer one */
    double part;                 /* of half the window, or of the bound: see fit_part */
    double unsure;               /* uncertainty of the value, at 95 percent; 0 when not known */
} FitMargin;

typedef struct FitFigure { /* one column of the table at one place */
    double value;
    uint8_t st;
    TagId missing;
    double unsure;
} FitFigure;

typedef struct FitSide { /* before or after: by place, then column or limit */
    SubjectId *item;
    double *adjust; /* NAN: not known */
    FitFigure *figure;
    FitMargin *margin;
    FitFigure *aimed; /* the aim's tag */
    int32_t *steps;   /* deviation; 0 without an aim */
    bool *has_steps;  /* the value and its aim are there */
} FitSide;

typedef struct FitLeft {
    SubjectId item;
    Str why;
} FitLeft;

typedef enum FitTrouble { /* why there is nothing to solve */
                          FIT_FINE,
                          FIT_NO_PLACES,
                          FIT_NO_ITEMS,
                          FIT_NO_STOCK,     /* neither item nor size to choose */
                          FIT_STOCK_UNREAD, /* a line that says what there is has a fault */
                          FIT_HELD,         /* nothing sits at a held place */
                          FIT_MANY_SIT,     /* several items sit at one place: say which slot */
                          FIT_TOO_MANY,     /* limits or sizes beyond what can be told apart */
                          FIT_NO_MEASURE,   /* neither a limit nor an aim to choose by */
                          FIT_UNKNOWN, /* what it should be chosen by cannot be computed anywhere:
                                          `missing` */
} FitTrouble;

typedef struct FitAnswer {
    const FitAsk *ask;
    const Job *job;
    FitTrouble trouble;
    SubjectId at;        /* FIT_HELD, FIT_MANY_SIT: where */
    TagId missing;       /* FIT_UNKNOWN */
    uint8_t line_source; /* FIT_STOCK_UNREAD: that line */
    uint32_t line_off;
    SubjectId *place;
    uint32_t places;
    SubjectId *candidate;
    uint32_t candidates;
    FitSize size[FIT_THICKNESSES];
    uint32_t sizes;
    bool usual_sizes; /* no stock was stated: the vocabulary's sizes, without end */
    FitStacks stacks;
    FitLimit *limit;
    uint32_t limits;
    bool has_aim;
    double step;       /* SI */
    double centre;     /* of `evens`: the middle of the values */
    bool nominal;      /* some figures rest on a card */
    bool whole_broken; /* the choice breaks a limit on all places together */
    bool others_stay;  /* other slots are filled: what sits there was not chosen */
    FitResult result;
    FitSide before, after; /* after: item NULL when nothing was found */
    size_t *stack;         /* by place: of the choice */
    FitWhy why;            /* when nothing fits */
    TagId *lacks;          /* by place: what is missing whatever is chosen; TAG_NONE */
    struct FitNear *near;  /* by place: see below; NULL when something was found */
    FitLeft *left;
    uint32_t left_count;
} FitAnswer;

typedef struct FitNear { /* at a place that is not served: what would serve it */
    bool there;          /* a stack of this thickness with this item would */
    double adjust;
    SubjectId item;
} FitNear;

bool fit_job(const State *s, const FitAsk *ask, Arena *a, FitAnswer *out, Err *err)
    __attribute__((warn_unused_result));
/* The part of half the window, or of the bound, that a margin is. */
double fit_part(const Tag *tag, const Range *range, double margin);
/* The first fit that the log has places and items for, or NULL. */
const Fit *fit_default(const State *s);
enum { FIT_HINTS = 64 };  /* fits of a vocabulary, at most */
typedef struct FitHints { /* zeroed by its owner; one a state */
    uint8_t of[FIT_HINTS];
} FitHints;
/* Of a broken limit on a tag: whether the same parts placed otherwise would keep every limit of
 * their fit. Empty when no fit places what the tag hangs on, or it is not known. */
Str fit_hint(const State *s, TagId tag, FitHints *known, Arena *a);

#endif
