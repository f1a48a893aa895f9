/* Texts numbered from 0 in the order they are first met: a hash table. The texts themselves are not
 * copied and must live as long as it. Zeroed, it is empty. */
#ifndef THOU_BASE_STR_INDEX_H
#define THOU_BASE_STR_INDEX_H

#include "base/arena.h"

#define STR_INDEX_NONE UINT32_MAX

typedef struct StrIndex {
    Str *texts; /* by number */
    uint32_t count, room;
    uint32_t *slots; /* number + 1 of a text; open addressing */
    uint32_t slot_count;
} StrIndex;

uint32_t str_index_add(StrIndex *x, Arena *a, Str text); /* its number; a new one when it is new */
uint32_t str_index_find(const StrIndex *x, Str text);    /* or STR_INDEX_NONE */
void str_index_clear(StrIndex *x);                       /* empty again, its memory kept */

#endif
