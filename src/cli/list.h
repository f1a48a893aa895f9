/* What list.c, list_pool.c and list_text.c share: the jobs of a book, each read, checked, and put
 * into a row. */
#ifndef THOU_CLI_LIST_H
#define THOU_CLI_LIST_H

#include "cli/shelf.h"

typedef struct ListRow {
    Str name;
    const char *path;
    int32_t first, last; /* days; DAY_NONE */
    Str title, engine, owner, stage;
    Str run, run_unit; /* how long it ran, as the log leaves it; empty when nothing says so */
    double run_si;     /* the same to sort by; -1 when nothing says so */
    uint32_t errors, warnings;
    Err err; /* it could not be read */
} ListRow;

/* Reads all jobs of the book, on as many threads as there are processors. Rows come in the order of
 * `jobs`; their texts are in arenas that *keep holds: give them back with list_free. */
typedef struct List {
    ListRow *rows;
    uint32_t count;
    Arena **keep;
    unsigned keep_count;
} List;
void list_read(Book *b, const BookFiles *jobs, List *out, Arena *a);
void list_free(List *l);

/* A line a job; two lines each, where the width is too small for one. */
void list_text(Buf *out, const List *l, unsigned width, bool colour);

#endif
