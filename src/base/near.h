/* Nearest known names for a mistyped one. */
#ifndef THOU_BASE_NEAR_H
#define THOU_BASE_NEAR_H

#include "base/arena.h"

enum { NEAR_MOST = 3 };

typedef struct Near {
    Str typed;
    Str names[NEAR_MOST];
    unsigned distance[NEAR_MOST];
    unsigned count;
} Near;

/* Edits (insert, delete, change, swap of neighbours; ASCII case ignored) between a and b, or
 * `most` + 1 when there are more than `most`. Words in another order count one edit a move. */
unsigned near_distance(Str a, Str b, unsigned most);
void near_start(Near *n, Str typed);
void near_offer(Near *n, Str name); /* keeps it if it is among the nearest that are near enough */
Str near_text(const Near *n, Arena *a); /* "did you mean 'x', 'y' or 'z'?", or empty */

#endif
