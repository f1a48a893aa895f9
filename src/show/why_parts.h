/* What the why_*.c files share. Nobody else includes this. */
#ifndef THOU_SHOW_WHY_PARTS_H
#define THOU_SHOW_WHY_PARTS_H

#include "compute/say.h"
#include "show/why.h"

enum { WHY_DEPTH_MOST = 30, WHY_STEP = 2 };

typedef struct Told { /* already worked out further up */
    TagId tag;
    uint32_t i;
} Told;

typedef struct Why {
    Buf *out;
    Eval *e;
    const Job *j;
    const State *s;
    const Vocab *v;
    Arena *a; /* its own */
    System system;
    int width;
    int depth;
    int most;   /* tags further down are not worked out */
    bool brief; /* of an aggregate only the members, not their working */
    TagId tag;  /* whose formula is being shown */
    Told *told;
    uint32_t told_count, told_room;
} Why;

/* A line at the present depth, folded. */
void why_line(Why *w, const char *format, ...) __attribute__((format(printf, 2, 3)));
Str why_value(Why *w, TagId tag, double si); /* in the tag's unit */
Str why_source(Why *w, Span span);           /* of the formula being shown */
/* A reading with its unit, what it is in the tag's unit when that differs, and where it stands. */
Str why_reading(Why *w, const Job *j, const Reading *r);
Str why_marks(uint8_t st); /* ", nominal", ", carried on" ..., or empty */
SubjectId why_subject(const Why *w, ClassId cls, uint32_t i);
Str why_force(Why *w, const Force *f); /* where it stands */
const CardUse *why_card(const Why *w, TagId tag, SubjectId id, uint32_t reading, double value);

void why_tag(Why *w, TagId tag, uint32_t i);            /* why.c: the tree of one value */
void why_formula(Why *w, const Formula *f, uint32_t i); /* why_formula.c: inputs of a formula */
void why_curve(Why *w, const Formula *f, uint32_t i);   /* why_curve.c: F_AT, F_WHERE, F_SLOPE */
void why_points(Why *w, TagId tag, uint32_t i);         /* why_curve.c: a curve itself */

#endif
