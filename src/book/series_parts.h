/* What the series*.c files of this room share. Nobody else includes this. */
#ifndef THOU_BOOK_SERIES_PARTS_H
#define THOU_BOOK_SERIES_PARTS_H

#include "book/series.h"

enum { SERIES_THREADS = 16 };

typedef struct Head { /* a log that the others before it are read through */
    const BookJob *job;
    Str *skip; /* paths of logs before it that another head has */
    uint32_t skip_count;
    double at; /* condition to be read at; NAN: its own choice */
    int32_t first_day;
    uint32_t unread; /* lines */
    SeriesList list;
} Head;

typedef struct Heads {
    Head *items;
    uint32_t count;
} Heads;

struct SeriesHold {
    Arena *arena;
    Arena *arenas[SERIES_THREADS]; /* one a worker */
};

/* Does a task for each number below `count` on some threads, each with a scratch arena that is
 * reset between tasks. The first failure ends it, and is in *err. */
typedef bool SeriesTask(void *ctx, unsigned worker, uint32_t i, Arena *scratch, Err *err);
bool series_work(uint32_t count, const SeriesPlan *plan, SeriesTask *task, void *ctx, Err *err)
    __attribute__((warn_unused_result));
/* Joins what the heads say of the same thing. `over`: what it runs over; NULL: days. */
void series_join(Heads *heads, const Tag *over, const SeriesAsk *ask, Arena *a, SeriesList *out);

#endif
