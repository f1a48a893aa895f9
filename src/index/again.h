/* What the readings of a whole book repeat to. */
#ifndef THOU_INDEX_AGAIN_H
#define THOU_INDEX_AGAIN_H

#include "index/index.h"
#include "stats/repeats.h"

/* Of a quantity, over all jobs, in SI; {0} when nothing was read again. */
bool index_repeats(Index *x, TagId tag, Repeats *out, Err *err) __attribute__((warn_unused_result));

#endif
