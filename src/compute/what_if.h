/*
 * What would be: a job with one more entry at its end, in which things are put elsewhere and an
 * adjuster is set. The values are worked out by the same code as those of the log itself, so that
 * what is foretold is what check will compute once the entry is written.
 *
 * The job itself is not touched. Everything is in the arena given; job and state must outlive it.
 */
#ifndef THOU_COMPUTE_WHAT_IF_H
#define THOU_COMPUTE_WHAT_IF_H

#include "compute/verdict.h"

typedef struct WhatIf {
    Job job;     /* with the entry, and a reading of the adjuster for each subject it is set on */
    State state; /* at its end */
    Eval *base;  /* NULL, or an evaluation whose columns serve where nothing moves */
    const bool *moves;   /* per tag: what is chosen can change its value; NULL: any may */
    const bool *adjusts; /* per tag: the adjuster can; set with `moves`, and within them */
    Eval *again;         /* what_if.c's own, with a base: one evaluation for all choices */
    const Col **shared;
    uint32_t first; /* the first of those readings, in the order of the subjects */
    uint32_t entry;
} WhatIf;

/* `on`: the subjects the adjuster is set on; none with adjust TAG_NONE. */
WhatIf *what_if_new(const State *s, TagId adjust, const SubjectId *on, uint32_t count, Arena *a);
void what_if_set(WhatIf *w, uint32_t on, double si);
/* Puts an item (SUBJECT_NONE: nothing) at a place; `slot` is counted over all classes of items.
 * What sat there, and where the item sat, are empty afterwards. */
void what_if_seat(WhatIf *w, SubjectId place, uint8_t slot, SubjectId item);
/* Only these limits are judged, and all aims and acceptances stay; `limits` may be empty. */
void what_if_limits(WhatIf *w, const Force *limits, uint32_t count, Arena *a);
/* The values as they would be now. Good until the next call or change of `w`; in the arena given.
 */
Eval *what_if_eval(WhatIf *w, Arena *a);
/* The same where nothing but the adjuster was set since the last call, and the arena was not reset:
 * what hangs on the items alone is kept. Needs a base. */
Eval *what_if_adjusted(WhatIf *w, Arena *a);

#endif
