/*
 * `NAME lost to WORK` in a formula: the last good reading of NAME before the last WORK, less the
 * first good one after it. A difference is easily made of two readings that have more between them
 * than the work, so it is known only when all of this holds:
 *
 * - both readings and the work stand in this log, not in one that it continues (so that a book has
 *   each piece of work once), the first reading in an entry with a day;
 * - WORK is told once between them, on the thing or on what it is on, and is not doubted;
 * - no reading of NAME stands in the work's own entry above the work, where nobody can tell whether
 *   it was before or after;
 * - nothing that NAME's `changed by` or `set aside by` names is told between them, of any place:
 * work on a neighbour seldom stops there;
 * - what the engine gathers (hours, miles, passes) is the same at both.
 */
#ifndef THOU_COMPUTE_LOST_H
#define THOU_COMPUTE_LOST_H

#include "compute/eval.h"

typedef enum LostWhy {
    LOST_KNOWN,
    LOST_NO_WORK,
    LOST_DOUBTED, /* the work is */
    LOST_NO_BEFORE,
    LOST_NO_AFTER,
    LOST_OTHER_LOG,
    LOST_SAME_ENTRY, /* other: the reading that stands above the work in its entry */
    LOST_TWICE,      /* other: the WORK that also stands between */
    LOST_CHANGED,    /* other: what else changes it */
    LOST_RAN,        /* other: what the engine had gathered after, or before when nothing after */
} LostWhy;

typedef struct Lost {
    LostWhy why;
    double value;                        /* SI */
    uint32_t work, before, after, other; /* readings; NO_READING */
} Lost;

/* For position i of the context of an F_LOST. */
Lost eval_lost(Eval *e, const Formula *f, uint32_t i);
/* Of a reading that is not the difference's: "none after the work" and so on; a literal. */
const char *lost_text(LostWhy why);

#endif
