/* Many logs on a few threads. */
#include "book/series_parts.h"

#include <pthread.h>

typedef struct Work {
    const SeriesPlan *plan;
    SeriesTask *task;
    void *ctx;
    pthread_mutex_t lock; /* over what follows */
    uint32_t next, done, count;
    unsigned workers;
    bool failed;
    Err err;
} Work;

static void fail(Work *w, const Err *err) {
    if (!w->failed) w->err = *err;
    w->failed = true;
}

static void *work(void *arg) {
    enum { AT_ONCE = 16 };
    Work *w = arg;
    Arena *scratch = arena_new();
    pthread_mutex_lock(&w->lock);
    unsigned worker = w->workers++;
    while (!w->failed && w->next < w->count) {
        uint32_t from = w->next, to = from + AT_ONCE < w->count ? from + AT_ONCE : w->count;
        if (w->count < AT_ONCE * 4) to = from + 1;
        w->next = to;
        pthread_mutex_unlock(&w->lock);
        Err err = {0};
        bool ok = true;
        for (uint32_t i = from; ok && i < to; i++) {
            ok = w->task(w->ctx, worker, i, scratch, &err);
            arena_reset(scratch);
        }
        pthread_mutex_lock(&w->lock);
        if (!ok) fail(w, &err);
        w->done += to - from;
        if (w->plan->told) w->plan->told(w->plan->told_ctx, w->done, w->count);
    }
    pthread_mutex_unlock(&w->lock);
    arena_free(scratch);
    return NULL;
}

bool series_work(uint32_t count, const SeriesPlan *plan, SeriesTask *task, void *ctx, Err *err) {
    Work w = {.plan = plan, .task = task, .ctx = ctx, .count = count};
    pthread_t started[SERIES_THREADS];
    unsigned n = 0, threads = plan->threads;
    if (threads > SERIES_THREADS) threads = SERIES_THREADS;
    pthread_mutex_init(&w.lock, NULL);
    /* This thread works too; one that cannot be started is done without. */
    while (n + 1 < threads && n + 1 < count && pthread_create(&started[n], NULL, work, &w) == 0)
        n++;
    work(&w);
    for (unsigned i = 0; i < n; i++)
        pthread_join(started[i], NULL);
    pthread_mutex_destroy(&w.lock);
    if (w.failed) *err = w.err;
    return !w.failed;
}
