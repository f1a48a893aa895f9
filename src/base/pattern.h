/*
 * How the lines look that a gauge types: a pattern picks the number and its unit out of one.
 * In a pattern VALUE stands for the number, UNIT for its unit, `...` for any text, also none, a
 * blank for any blanks, also none; everything else stands for itself. Blanks at the ends of a line
 * do not count. Behind `...` the number is the first that fits and begins a word, so that it is
 * never the end of a longer one.
 */
#ifndef THOU_BASE_PATTERN_H
#define THOU_BASE_PATTERN_H

#include "base/str.h"

enum { PATTERN_MOST = 200 }; /* bytes of a pattern */

/* Why it is no pattern, or NULL. */
const char *pattern_fault(Str pattern);
/* False when the line does not fit. `unit` is empty when the pattern has none. */
bool pattern_fits(Str pattern, Str line, Str *number, Str *unit);

#endif
