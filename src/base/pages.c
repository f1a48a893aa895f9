#include "base/pages.h"

#include "base/fatal.h"
#include <pthread.h>
#include <stdbool.h>
#include <stdint.h>
#include <string.h>
#include <sys/mman.h>

enum { HUGE_PAGE = 1 << 21, KINDS = 5 }; /* 64, 128, 256, 512 kB, 1 MB */

/* A block nobody uses; it lies in the block itself. */
typedef struct Spare {
    struct Spare *next;
    size_t used; /* bytes from its start that may not be zero */
} Spare;

/* As in any allocator, the one thing here that outlives a call: nothing else can see it. */
static struct {
    pthread_mutex_t lock;
    char *at, *end; /* what is left of the piece that blocks are cut from */
    Spare *spare[KINDS];
} shared = {.lock = PTHREAD_MUTEX_INITIALIZER};

_Static_assert(PAGES_LEAST << (KINDS - 1) == PAGES_SHARED, "a list for each size of block");

size_t pages_round(size_t size) {
    size_t whole = PAGES_LEAST;
    while (whole < size && whole < PAGES_SHARED)
        whole *= 2;
    if (whole >= size) return whole;
    if (size > SIZE_MAX / 2) fatal("out of memory");
    return (size + HUGE_PAGE - 1) & ~(size_t)(HUGE_PAGE - 1);
}

static unsigned kind_of(size_t size) {
    return (unsigned)__builtin_ctzl(size / PAGES_LEAST);
}

/* Has the pages there before they are met: a huge one, or small ones at less than a fault for each.
 * Where the system can't, they come as they are met. */
static void bring(void *p, size_t size) {
#ifdef MADV_POPULATE_WRITE
    (void)madvise(p, size, MADV_POPULATE_WRITE);
#else
    (void)p, (void)size;
#endif
}

/* Whole huge pages, so aligned: asks for one more and returns what lies over. */
static char *map_huge(size_t size) {
    size_t room = size + HUGE_PAGE;
    char *p = mmap(NULL, room, PROT_READ | PROT_WRITE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
    if (p == MAP_FAILED) return NULL;
    size_t before = -(uintptr_t)p & (HUGE_PAGE - 1);
    if (before) munmap(p, before);
    munmap(p + before + size, HUGE_PAGE - before);
#ifdef MADV_HUGEPAGE
    (void)madvise(p + before, size, MADV_HUGEPAGE);
#endif
    return p + before;
}

static void keep(char *block, size_t size, size_t used) {
    Spare *s = (Spare *)(void *)block;
    Spare **list = &shared.spare[kind_of(size)];
    *s = (Spare){*list, used < sizeof *s ? sizeof *s : used};
    *list = s;
}

/* What is left of the piece is too small for the block asked for: it is kept in blocks of its
 * own, and a new piece begun. False: no memory. */
static bool new_piece(void) {
    while (shared.at < shared.end) {
        size_t size = PAGES_SHARED;
        while (size > (size_t)(shared.end - shared.at))
            size /= 2;
        keep(shared.at, size, 0);
        shared.at += size;
    }
    shared.at = map_huge(HUGE_PAGE);
    shared.end = shared.at ? shared.at + HUGE_PAGE : NULL;
    return shared.at;
}

static void *take_shared(size_t size) {
    Spare **list = &shared.spare[kind_of(size)];
    Spare *s = *list;
    if (s) {
        *list = s->next;
        memset(s, 0, s->used);
        return s;
    }
    if ((size_t)(shared.end - shared.at) < size && !new_piece()) return NULL;
    char *p = shared.at;
    shared.at += size;
    bring(p, size);
    return p;
}

void *pages_take(size_t size) {
    if (size > PAGES_SHARED) {
        char *p = map_huge(size);
        if (p) bring(p, size);
        return p;
    }
    pthread_mutex_lock(&shared.lock);
    void *p = take_shared(size);
    pthread_mutex_unlock(&shared.lock);
    return p;
}

void pages_give(void *block, size_t size, size_t used) {
    if (size > PAGES_SHARED) {
        munmap(block, size);
        return;
    }
    pthread_mutex_lock(&shared.lock);
    keep(block, size, used);
    pthread_mutex_unlock(&shared.lock);
}
