/*
 * The series of a book: which logs belong together, each read once, and what they say of the same
 * thing joined. A log that another continues is read through that one, so nothing counts twice.
 * Logs of one engine that do not continue each other are joined by its serial, in the order of
 * their days; items by their set and number within that engine. A set's name that another engine's
 * logs use as well is another set there: the springs of two engines are never mixed by a name.
 */
#ifndef THOU_BOOK_SERIES_H
#define THOU_BOOK_SERIES_H

#include "book/book.h"
#include "compute/series.h"

typedef struct BookJob {
    Str name;
    const char *path;
    Str engine;       /* empty: none is said */
    Str continues;    /* empty: none */
    int32_t last_day; /* of its entries; DAY_NONE */
} BookJob;

typedef struct BookJobs {
    BookJob *items;
    uint32_t count, room;
} BookJobs;

typedef struct BookSeries {
    SeriesList list; /* by engine, in the order of days */
    uint32_t logs;   /* that were read */
    Str faulty;      /* a log with lines that could not be read; empty: none */
    uint32_t faulty_lines, faulty_logs;
    struct SeriesHold *hold; /* all that is in it */
} BookSeries;

typedef struct SeriesPlan {
    unsigned threads; /* that read logs, this one counted */
    /* Told how many logs were read, by one thread at a time; NULL: nobody. */
    void (*told)(void *ctx, uint32_t done, uint32_t all);
    void *told_ctx;
} SeriesPlan;

/* The series of these jobs. Give back with book_series_free, whatever came of it. */
bool book_series(Book *b, const BookJobs *jobs, const SeriesAsk *ask, const SeriesPlan *plan,
                 BookSeries *out, Err *err) __attribute__((warn_unused_result));
void book_series_free(BookSeries *s);

#endif
