/* Jobs read and computed by some threads, handed out in order to the one that writes. */
#include "base/fatal.h"
#include "index/internal.h"

#include <pthread.h>

enum { RING = 32, THREADS_MOST = 8 };

typedef struct Place {
    Arena *arena;
    Digest digest;
    bool ready;
} Place;

struct Pool {
    Book *book;
    const PoolTask *tasks;
    uint32_t count;
    pthread_mutex_t lock; /* over all that follows */
    pthread_cond_t moved; /* a place became ready or free */
    uint32_t taken, given;
    bool stop;
    Place ring[RING];
    pthread_t threads[THREADS_MOST];
    unsigned started;
};

static void clear_place(Place *p) {
    Buf said = p->digest.said;
    buf_clear(&said);
    arena_reset(p->arena);
    p->digest = (Digest){.said = said};
}

static void digest_task(Pool *p, uint32_t at) {
    Place *place = &p->ring[at % RING];
    clear_place(place);
    digest_job(p->book, p->tasks[at].name, p->tasks[at].path, place->arena, &place->digest);
}

static void *work(void *arg) {
    Pool *p = arg;
    pthread_mutex_lock(&p->lock);
    for (;;) {
        while (!p->stop && p->taken < p->count && p->taken + 1 >= p->given + RING)
            pthread_cond_wait(&p->moved, &p->lock);
        if (p->stop || p->taken >= p->count) break;
        uint32_t at = p->taken++;
        pthread_mutex_unlock(&p->lock);
        digest_task(p, at);
        pthread_mutex_lock(&p->lock);
        p->ring[at % RING].ready = true;
        if (at == p->given) pthread_cond_broadcast(&p->moved);
    }
    pthread_mutex_unlock(&p->lock);
    return NULL;
}

Pool *pool_start(Book *b, const PoolTask *tasks, uint32_t count, unsigned threads) {
    enum { WORTH_A_THREAD = 16 };
    Pool *p = calloc(1, sizeof *p);
    if (!p) fatal("out of memory");
    *p = (Pool){.book = b, .tasks = tasks, .count = count};
    pthread_mutex_init(&p->lock, NULL);
    pthread_cond_init(&p->moved, NULL);
    for (uint32_t i = 0; i < RING && (i == 0 || count > 1); i++)
        p->ring[i].arena = arena_new();
    if (count < WORTH_A_THREAD) threads = 0;
    while (p->started < threads && p->started < THREADS_MOST &&
           pthread_create(&p->threads[p->started], NULL, work, p) == 0)
        p->started++;
    return p;
}

/* A place is free again only when the next one is asked for. */
Digest *pool_next(Pool *p) {
    uint32_t at = p->given;
    if (!p->started) {
        digest_task(p, at);
        p->given++;
        return &p->ring[at % RING].digest;
    }
    pthread_mutex_lock(&p->lock);
    while (!p->ring[at % RING].ready)
        pthread_cond_wait(&p->moved, &p->lock);
    p->ring[at % RING].ready = false;
    p->given++;
    pthread_cond_broadcast(&p->moved);
    pthread_mutex_unlock(&p->lock);
    return &p->ring[at % RING].digest;
}

void pool_stop(Pool *p) {
    if (!p) return;
    pthread_mutex_lock(&p->lock);
    p->stop = true;
    pthread_cond_broadcast(&p->moved);
    pthread_mutex_unlock(&p->lock);
    for (unsigned i = 0; i < p->started; i++)
        pthread_join(p->threads[i], NULL);
    for (uint32_t i = 0; i < RING; i++) {
        buf_release(&p->ring[i].digest.said);
        arena_free(p->ring[i].arena);
    }
    pthread_cond_destroy(&p->moved);
    pthread_mutex_destroy(&p->lock);
    free(p);
}
