/*
 * One text read, computed, judged and checked in one go: for whoever shows what a value that has
 * just been typed does to the job.
 */
#ifndef THOU_COMPUTE_LOOK_OVER_H
#define THOU_COMPUTE_LOOK_OVER_H

#include "compute/verdict.h"

typedef struct Look {
    Source source;
    Job *job;
    Eval *eval;
    Verdicts verdicts;
    Findings findings; /* of the reading and of the checks; sorted */
} Look;

/* Everything is in `a`; path, text, vocabulary and what the door gave must outlive it. */
Look *look_over(const Vocab *v, Str path, Str text, const Door *door, Arena *a);
/* Why what stands in the span was not read as a value (a faulty number, no such item); NULL when it
 * was. */
const Finding *look_fault(const Look *l, Span span);
/* The first reading that stands in the span; NULL. */
const Reading *look_reading(const Look *l, Span span);
/* The first error of reading (not of checking) at or behind an offset; NULL. */
const Finding *look_first_fault(const Look *l, uint32_t from);

#endif
