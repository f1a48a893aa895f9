/* Which jobs belong together: those of an engine, with a part, or all, and what each continues. */
#ifndef THOU_INDEX_TIES_H
#define THOU_INDEX_TIES_H

#include "book/series.h"
#include "index/index.h"

/* Jobs of the engine (its serial whole; empty: any) that name the part (whole; empty: any) in any
 * entry, and those that continue one of them. Paths are the book's. */
bool index_ties(Index *x, Str engine, Str part, Arena *a, BookJobs *out, Err *err)
    __attribute__((warn_unused_result));
/* "; did you mean ...?" for an engine that no job has, or empty. */
bool index_near_engine(Index *x, Str typed, Arena *a, Str *out, Err *err)
    __attribute__((warn_unused_result));

#endif
