/*
 * One arena a document: many small objects, freed (or reset for reuse) all at once. No object in
 * it is ever freed alone. Memory comes back zeroed and aligned for any type. Running out of
 * memory aborts with one line on stderr: there is nothing a command could still do.
 * Under THOU_ARENA_DEBUG (set by `make sanitize`) each object is its own allocation, so that
 * AddressSanitizer sees overruns between neighbours.
 */
#ifndef THOU_BASE_ARENA_H
#define THOU_BASE_ARENA_H

#include "base/str.h"
#include <stdarg.h>

typedef struct Arena Arena;

Arena *arena_new(void);
void arena_free(Arena *a);  /* NULL is fine */
void arena_reset(Arena *a); /* keeps its blocks for reuse; what was in it is gone */
void *arena_alloc(Arena *a, size_t size) __attribute__((malloc, alloc_size(2), returns_nonnull));
void *arena_array(Arena *a, size_t count, size_t size); /* aborts on overflow of count * size */
/* The same not zeroed: for what is filled whole, one by one, before it is read. */
void *arena_bare_array(Arena *a, size_t count, size_t size);
Str arena_str(Arena *a, Str s); /* copy, with a NUL behind it */
Str arena_printf(Arena *a, const char *format, ...) __attribute__((format(printf, 2, 3)));
Str arena_vprintf(Arena *a, const char *format, va_list args) __attribute__((format(printf, 2, 0)));
size_t arena_bytes(const Arena *a); /* what it holds from the system */

/* Makes room for one more element in an arena-held growing array: doubles, copying. `items`,
 * `count`, `room` are lvalues (pointer, count, capacity of any unsigned type). */
#define arena_grow(a, items, count, room)                                          \
    do {                                                                           \
        if ((count) == (room)) {                                                   \
            size_t grow_to_ = (room) ? (size_t)(room)*2 : 16;                      \
            void *grown_ = arena_array((a), grow_to_, sizeof *(items));            \
            if (count) memcpy(grown_, (items), (size_t)(count) * sizeof *(items)); \
            (items) = grown_;                                                      \
            (room) = (__typeof__(room))grow_to_;                                   \
        }                                                                          \
    } while (0)

#endif
