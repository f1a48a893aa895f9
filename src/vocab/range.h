/*
 * Values and ranges as vocabularies, part cards and job logs write them:
 * `at least V`, `at most V`, `V .. V`, `V +/- V`. V is a number and, where no default serves, a
 * unit; a unit behind the last number is also that of the first.
 */
#ifndef THOU_VOCAB_RANGE_H
#define THOU_VOCAB_RANGE_H

#include "vocab/vocab.h"

typedef struct RangeFault {
    Str at;   /* the part that is wrong: a slice of the text given */
    Str text; /* what, and what to do; in the arena given */
} RangeFault;

/* `want`: the dimension it must have; `unit`: what counts when none is written (NULL: one must be,
 * except for a plain number). The range is in SI, both ends belong to it. False: *fault is set. */
bool range_parse(Str text, Dim want, const Unit *unit, Arena *a, Range *out, RangeFault *fault);
/* One value to SI. `difference`: it is a distance on the scale (matters for degC and degF). */
bool range_value(Str text, Dim want, const Unit *unit, bool difference, Arena *a, double *si,
                 RangeFault *fault);

#endif
