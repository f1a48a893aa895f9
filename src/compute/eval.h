/*
 * Values: a whole column (one tag on every subject of its class) at a time, each worked out once a
 * state. Resolving is format/format.md, "What a name means": the subject's own reading, its
 * formula, what sits there, its place and upwards, the set, the part card. `thou why` walks the
 * same columns, so that what it shows is what was computed.
 */
#ifndef THOU_COMPUTE_EVAL_H
#define THOU_COMPUTE_EVAL_H

#include "compute/state.h"
#include "vocab/formula.h"

enum { /* what is known of a value */
       V_MISSING = 1 << 0,
       V_SUSPECT = 1 << 1,  /* missing, because the last reading is doubted */
       V_NOMINAL = 1 << 2,  /* from a part card, or from something that is */
       V_PARTIAL = 1 << 3,  /* an aggregate of some of its members, or from one */
       V_CARRIED = 1 << 4,  /* a reading was set aside since; the formula carries it on */
       V_EXTENDED = 1 << 5, /* a curve beyond its ends, or with the slope of the one before */
       V_READ = 1 << 6,     /* a reading itself, not worked out */
       V_ABOVE = 1 << 7,    /* said for something above: the bank, the engine, the set */
       /* what a value hands on to whatever is computed from it */
       V_DOUBTS = V_NOMINAL | V_PARTIAL | V_CARRIED | V_EXTENDED,
};

typedef struct Col {
    uint32_t n; /* subjects of the class, in the order of job->classes */
    double *v;  /* SI; undefined where missing */
    uint8_t *st;
    uint32_t *from; /* V_READ: index of the reading (in the card's job when nominal);
                       missing: the tag that is not there; else 0 */
    uint8_t any;    /* what is known of one position or another: their st together */
    bool absent;    /* nothing is said of the tag: all are missing, with the same to blame */
} Col;

typedef struct Eval Eval;

/* Which tags can have a value, as it was found for the log before: those of a shop read much the
 * same. It belongs to one thread, and is zeroed when it is new. */
enum { TAGS_SEEN = 1024, GROUNDS_MOST = 256 };
typedef struct Grounds { /* what it follows from: see eval_possible.c */
    uint32_t count;
    uint32_t what[GROUNDS_MOST];
} Grounds;
typedef struct PossibleSeen {
    const Vocab *by;
    Grounds grounds;
    uint8_t possible[TAGS_SEEN];
    TagId blame[TAGS_SEEN];
} PossibleSeen;

Eval *eval_new(const State *s, Arena *a);
/* The same for one log after another; `seen` must outlive it. */
Eval *eval_new_after(const State *s, Arena *a, PossibleSeen *seen);
const Job *eval_job(const Eval *e);
const State *eval_state(const Eval *e);
/* Never NULL. Of a curve: every subject is missing; read it with eval_curve. */
const Col *eval_tag(Eval *e, TagId tag);
/* The tag's formula alone, whatever was read: for stated against computed. NULL without a formula.
 */
const Col *eval_computed(Eval *e, TagId tag);
/* A part of a formula on every subject of its context. */
const Col *eval_node(Eval *e, const Formula *f);
/* Position of the subject that a name of class `to` means, seen from position i of class `from`;
 * UINT32_MAX. */
uint32_t eval_related(Eval *e, ClassId from, ClassId to, uint32_t i);
/* The aim for a tag at a subject (NAN without), and whose it is. */
double eval_aim(const Eval *e, TagId tag, SubjectId id, const Force **whose);

typedef struct Point {
    double at, value; /* SI */
    uint32_t reading;
} Point;

typedef struct Curve {
    const Job *job; /* whose readings the points are: the job or a card */
    Point *points;  /* by rising condition */
    uint32_t count;
    uint8_t st;     /* V_MISSING and why, V_NOMINAL, V_EXTENDED: shifted to a single new point */
    double shift;   /* added to every value of an older curve for a single new point */
    uint32_t point; /* V_EXTENDED: the reading of that point */
    uint32_t entry; /* newest entry it is from */
} Curve;

/* The curve in force for position i of the tag's class. which: F_TAG, F_FIRST or F_PREVIOUS. */
const Curve *eval_curve(Eval *e, TagId tag, uint32_t i, FormulaKind which);
/* The same as of one reading of it: with the points of that reading's entry and, for its shape, of
 * earlier ones. *i moves on to the reading before that entry, or NO_READING. */
Curve curve_as_of(const Job *j, uint32_t *i, Arena *a);
/* Its value at a condition, or the condition at a value; adds to *st. */
double curve_at(const Curve *c, double at, double reach, uint8_t *st);
double curve_where(const Curve *c, double value, double reach, uint8_t *st);
double curve_slope(const Curve *c, uint8_t *st);

/* The last point a curve has at just this condition, or NULL. */
const Point *curve_point(const Curve *c, double at);

/* While a log is still being read: an engine-level value from what stands so far; NAN when missing.
 */
double engine_value_so_far(Job *j, TagId tag);

#endif
