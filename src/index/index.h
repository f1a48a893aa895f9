/*
 * The index: what all jobs of a book say, in one SQLite file (BOOK/.thou/index.db), so that ten
 * thousand logs are searched in a few milliseconds. It is a cache: it renews itself by what
 * changed, is rebuilt when it is damaged, of another version or gone, and is made in memory where
 * the book cannot be written. The tables are src/index/schema.sql; the views that people may query
 * are format/index.md.
 */
#ifndef THOU_INDEX_INDEX_H
#define THOU_INDEX_INDEX_H

#include "book/book.h"
#include "index/survey.h"

typedef struct Index Index;

typedef struct IndexPlan {
    bool as_is;     /* do not look for changes (an index that is not there is made all the same) */
    bool anew;      /* throw away what is there: it turned out damaged */
    int64_t now_ns; /* the clock, since 1970: stamps as young as this are not trusted later */
    Survey *survey; /* of the book's folder, begun already; it is taken over. Or NULL */
    unsigned threads; /* that read and compute while the caller's thread writes; 0: none */
    /* Told after each job that was taken in, in the caller's thread; NULL: nobody. */
    void (*told)(void *ctx, uint32_t done, uint32_t all);
    void *told_ctx;
} IndexPlan;

typedef struct IndexNews { /* what opening it took */
    uint32_t read;         /* jobs that were read and computed */
    uint32_t gone;         /* jobs that were taken out */
    bool in_memory;        /* nothing could be written: it lasts as long as the Index */
    const char *rebuilt;   /* why a damaged index was made anew; NULL when none was */
} IndexNews;

/* Opens the index of a book. One that is there can be asked at once, and answers from what was
 * stored; another is made first. The book must have a folder and a vocabulary without errors. Jobs
 * with faults are indexed as far as they can be read. plan and news must stay until index_confirm.
 * ERR_INDEX, ERR_IO. */
bool index_open(Book *b, const IndexPlan *plan, Index **out, IndexNews *news, Err *err)
    __attribute__((warn_unused_result));
/* Looks whether the files are still those that were read, which a thread has begun with since
 * index_open, and brings the index up to date. *changed: what was answered before may be wrong, so
 * ask again. With plan->as_is nothing is looked at. ERR_INDEX, ERR_IO. */
bool index_confirm(Index *x, bool *changed, Err *err) __attribute__((warn_unused_result));
void index_close(Index *x); /* NULL is fine */

#endif
