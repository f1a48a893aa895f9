/* thou fill: what its files share. */
#ifndef THOU_CLI_FILL_H
#define THOU_CLI_FILL_H

#include "book/bench.h"
#include "cli/feed.h"
#include "cli/open_job.h"
#include "compute/look_over.h"

enum {
    FILL_BY,
    FILL_WITH,
    FILL_SET,
    FILL_DAY,
    FILL_FROM,
    FILL_PATTERN,
    FILL_SPEED,
    FILL_CSV,
    FILL_MAP,
    FILL_SEPARATOR,
    FILL_DECIMAL,
    FILL_APPEND,
    FILL_OPTIONS
};

typedef struct Fill {
    Run *run;
    Book *book;
    const char *name, *path; /* the job as it was called; its log */
    Source log;
    FileStamp stamp;
    PlanAsk asked;
    Plan plan;
    Bench bench;
    Feed feeds[2]; /* keyboard or pipe; gauge */
    Str pattern;
    Arena *arenas[2]; /* of the two looks, by turns */
    unsigned turn;
    const Look *look; /* at the log with what was typed so far */
    uint32_t entry_at;
    BenchCell *last; /* the one that was given last: what `?` and `back` are about */
} Fill;

ExitCode fill_bench(Fill *f);       /* fill_bench.c: asks, keeps, appends */
ExitCode fill_csv(Fill *f, Job *j); /* fill_csv.c */
Str fill_when(Run *run);            /* the day of the entry, for its heading */
/* fill_look.c */
const Look *fill_look(Fill *f);           /* a new look with the bench as it is */
bool fill_reread(Fill *f, bool *changed); /* the log, when its file is another by now */
/* Questions that the log answers since it was read again are left out; they are named in *dropped.
 * What was typed before the log had an answer too is in *twice. */
bool fill_drop_answered(Fill *f, Str *dropped, Str *twice);
const Look *fill_try(Fill *f, BenchCell *cell, Str typed, const char **fault);

#endif
