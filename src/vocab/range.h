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
/* The unit that shows a range as it was written: that behind its last number, else `fallback`. */
const Unit *range_unit(Str text, Dim dim, const Unit *fallback);
/* What is odd about a range, or an aim, with an end that is not 0 and where no plausible value of
 * the tag lies; empty when nothing is. */
Str range_doubt(const Tag *tag, const Range *range, const Unit *unit, Arena *a);

#endif
