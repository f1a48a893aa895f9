/*
 * Readings that repeat each other: the same thing, at the same condition, within one entry. What
 * they scatter by is what the instrument repeats to.
 */
#ifndef THOU_COMPUTE_REPEATED_H
#define THOU_COMPUTE_REPEATED_H

#include "compute/chain.h"
#include "stats/repeats.h"

/* Of a reading that counts: it and the earlier ones that it repeats, in SI. Suspect, struck and
 * replaced ones are left out, and values said for many places at once: nobody read each of them.
 * Of a reading that does not count: nothing. */
void repeated_add(const Job *j, uint32_t reading, Repeats *to);

#endif
