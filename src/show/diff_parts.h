/* What the diff*.c files share. Nobody else includes this. */
#ifndef THOU_SHOW_DIFF_PARTS_H
#define THOU_SHOW_DIFF_PARTS_H

#include "compute/say.h"
#include "show/diff.h"
#include "show/table.h"

typedef struct Diff {
    Buf *out;
    const Compare *c;
    Eval *e[2];
    const Job *j[2];
    const Vocab *v;
    Arena *a; /* its own */
    const DiffOptions *how;
} Diff;

/* diff_value.c: the texts of a row. */
const Unit *diff_unit(const Diff *d, const CompareRow *r); /* of both values; NULL for words */
Str diff_side(const Diff *d, const CompareRow *r, int side);
Str diff_difference(const Diff *d, const CompareRow *r); /* "+0.006"; empty without */
Str diff_percent(const Diff *d, const CompareRow *r);    /* "+0.3"; empty without */
Str diff_condition(const Diff *d, const CompareRow *r);  /* "1.720 in", a spot; empty without */
Str diff_subject(const Diff *d, const CompareRow *r, int side);
Str diff_place(const Diff *d, const CompareRow *r, int side); /* of an item; empty */
/* Whether an item sits elsewhere in B. */
bool diff_moved(const Diff *d, const CompareRow *r);
/* Who stands on which side: "S31#7", "S31#7 E4 -> I1", "I3: S31#5 / S44#2". */
Str diff_who(const Diff *d, const CompareRow *r);
/* Whether it is a reading, or a computed value that is asked for. */
bool diff_wanted(const Diff *d, const CompareRow *r);
/* Whether the row is among those that are listed. */
bool diff_listed(const Diff *d, const CompareRow *r);

Table *diff_rows(const Diff *d); /* diff_rows.c */

#endif
