/* What the compare*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_COMPARE_PARTS_H
#define THOU_COMPUTE_COMPARE_PARTS_H

#include "compute/compare.h"

typedef struct Comparing {
    Eval *e[2];
    const Job *j[2];
    const Vocab *v;
    Arena *a;
    bool one_log; /* two versions or states of it */
    const Str *names[2];
    SubjectId *match; /* per subject of B: the one of A, or SUBJECT_NONE */
    bool *by_place;   /* per subject of B: matched by its place alone */
    bool *taken;      /* per subject of A */
    Compare out;
} Comparing;

typedef struct Pair {
    ClassId cls;
    SubjectId id[2];
    bool by_place;
} Pair;

CompareRow *compare_row(Comparing *c, CompareKind kind, TagId tag, const Pair *p);
/* Fills in how the row's sides compare; its values are set. */
void compare_judge(const Comparing *c, CompareRow *r);
/* compare_curve.c: a row for every condition that was read in one of them. */
void compare_curves(Comparing *c, TagId tag, const Pair *p);

#endif
