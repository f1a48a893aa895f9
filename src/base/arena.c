#include "base/arena.h"
#include "base/fatal.h"
#include "base/pages.h"
#include <stdalign.h>

/*
 * A chain of blocks, filled by moving a mark. Blocks come zeroed from the system, so that handing
 * out memory touches none of it; what was in use before a reset is zeroed when it is handed out
 * anew, and then is where its new owner wants it, near the processor. `at` never moves back but in
 * a reset: what is left of a block that was too full for one object is given up.
 */
enum { ALIGN = alignof(max_align_t), BLOCK_FIRST = PAGES_LEAST, BLOCK_LARGEST = PAGES_SHARED };

typedef struct Block {
    struct Block *next;
    size_t size; /* of bytes */
    size_t used;
    size_t stained; /* of bytes, from the first: what resets have left as it was */
    alignas(max_align_t) char bytes[];
} Block;

struct Arena {
    Block *first, *at;
    size_t held;
    size_t next_size; /* of the next block, its head included */
};

#ifndef THOU_ARENA_DEBUG

static Block *block_memory(size_t *bytes) {
    *bytes = pages_round(*bytes);
    return pages_take(*bytes);
}

static void block_free(Block *b) {
    pages_give(b, sizeof *b + b->size, sizeof *b + (b->used > b->stained ? b->used : b->stained));
}

#else

static Block *block_memory(size_t *bytes) {
    return calloc(1, *bytes);
}

static void block_free(Block *b) {
    free(b);
}

#endif

static Block *block_new(size_t size) {
    if (size > SIZE_MAX - sizeof(Block)) fatal("out of memory");
    size_t bytes = sizeof(Block) + size;
    Block *b = block_memory(&bytes);
    if (!b) fatal("out of memory");
    b->size = bytes - sizeof(Block);
    return b;
}

Arena *arena_new(void) {
    Arena *a = calloc(1, sizeof *a);
    if (!a) fatal("out of memory");
    a->next_size = BLOCK_FIRST;
    return a;
}

static void free_blocks(Arena *a) {
    for (Block *b = a->first, *next; b; b = next) {
        next = b->next;
        block_free(b);
    }
}

void arena_free(Arena *a) {
    if (!a) return;
    free_blocks(a);
    free(a);
}

size_t arena_bytes(const Arena *a) {
    return a->held;
}

/* Puts a new block behind the one in use and makes it the one in use. */
static Block *add_block(Arena *a, size_t size) {
    Block *b = block_new(size);
    a->held += sizeof(Block) + b->size;
    if (a->at) {
        b->next = a->at->next;
        a->at->next = b;
    } else {
        b->next = a->first;
        a->first = b;
    }
    a->at = b;
    return b;
}

#ifdef THOU_ARENA_DEBUG

void arena_reset(Arena *a) {
    free_blocks(a);
    *a = (Arena){.next_size = BLOCK_FIRST};
}

void *arena_alloc(Arena *a, size_t size) {
    return add_block(a, size)->bytes;
}

/* Filled with what is no use to anybody, so that what is read before it is filled shows. */
static void *arena_bare(Arena *a, size_t size) {
    return memset(arena_alloc(a, size), 0xA5, size);
}

#else

void arena_reset(Arena *a) {
    for (Block *b = a->first; b; b = b->next) {
        if (b->used > b->stained) b->stained = b->used;
        b->used = 0;
    }
    a->at = a->first;
}

/* The next `size` bytes of a block that has room for them, as they were left. */
static inline char *hand_out_bare(Block *b, size_t size) {
    char *p = b->bytes + b->used;
    b->used += size;
    return p;
}

/* The same zeroed. */
static inline void *hand_out(Block *b, size_t size) {
    size_t at = b->used;
    char *p = hand_out_bare(b, size);
    if (at >= b->stained) return p;
    size_t left = b->stained - at;
    return memset(p, 0, size < left ? size : left);
}

/* The same where the block in use has no room: of one kept by a reset, or a new one. Kept out of
 * line, for nearly every call has no use for it. */
__attribute__((noinline)) static void *hand_out_beyond(Arena *a, size_t size) {
    while (a->at && a->at->next) {
        a->at = a->at->next;
        if (a->at->size - a->at->used >= size) return hand_out(a->at, size);
    }
    size_t room = a->next_size - sizeof(Block);
    Block *b = add_block(a, size > room ? size : room);
    if (a->next_size < BLOCK_LARGEST) a->next_size *= 2;
    return hand_out(b, size);
}

static inline size_t aligned(size_t size) {
    if (size > SIZE_MAX - ALIGN) fatal("out of memory");
    return size ? (size + ALIGN - 1) & ~(size_t)(ALIGN - 1) : ALIGN;
}

static inline bool has_room(const Block *b, size_t size) {
    return b && b->size - b->used >= size;
}

void *arena_alloc(Arena *a, size_t size) {
    size = aligned(size);
    return has_room(a->at, size) ? hand_out(a->at, size) : hand_out_beyond(a, size);
}

static void *arena_bare(Arena *a, size_t size) {
    size = aligned(size);
    return has_room(a->at, size) ? hand_out_bare(a->at, size) : hand_out_beyond(a, size);
}

#endif

static size_t total_of(size_t count, size_t size) {
    size_t total;
    if (__builtin_mul_overflow(count, size, &total)) fatal("out of memory");
    return total;
}

void *arena_array(Arena *a, size_t count, size_t size) {
    return arena_alloc(a, total_of(count, size));
}

void *arena_bare_array(Arena *a, size_t count, size_t size) {
    return arena_bare(a, total_of(count, size));
}

Str arena_str(Arena *a, Str s) {
    if (s.n == SIZE_MAX) fatal("out of memory");
    char *p = arena_alloc(a, s.n + 1);
    if (s.n) memcpy(p, s.p, s.n);
    return (Str){p, s.n};
}

Str arena_vprintf(Arena *a, const char *format, va_list args) {
    char text[512]; /* most fit, and are formatted once */
    va_list again;
    va_copy(again, args);
    int n = vsnprintf(text, sizeof text, format, args);
    if (n < 0) fatal("a message could not be formatted");
    char *p = arena_alloc(a, (size_t)n + 1);
    if ((size_t)n < sizeof text)
        memcpy(p, text, (size_t)n);
    else
        (void)vsnprintf(p, (size_t)n + 1, format, again);
    va_end(again);
    return (Str){p, (size_t)n};
}

Str arena_printf(Arena *a, const char *format, ...) {
    va_list args;
    va_start(args, format);
    Str s = arena_vprintf(a, format, args);
    va_end(args);
    return s;
}
