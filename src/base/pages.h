/*
 * Where arenas get their blocks: memory straight from the system, in huge pages where it has them.
 * Meeting 370 small pages one by one costs a short command more than all of its work. Blocks up to
 * PAGES_SHARED are cut from shared pieces and kept for the next arena, as malloc would keep them;
 * larger ones go back to the system. May be called from any thread.
 */
#ifndef THOU_BASE_PAGES_H
#define THOU_BASE_PAGES_H

#include <stddef.h>

enum { PAGES_LEAST = 1 << 16, PAGES_SHARED = 1 << 20 };

/* What a block for `size` bytes takes: a power of two from PAGES_LEAST on, or whole huge pages.
 * Aborts when that overflows. */
size_t pages_round(size_t size);

/* A block of `size` bytes (as pages_round gives it), zeroed; NULL when there is no memory. */
void *pages_take(size_t size);

/* Gives it back: `used` says how many bytes from its start may be other than zero. */
void pages_give(void *block, size_t size, size_t used);

#endif
