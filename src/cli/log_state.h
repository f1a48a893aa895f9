/*
 * A state of a log, as a person names it on the command line, the same for every command:
 *
 *   JOB          the log as the file stands
 *   JOB@DATE     as the engine stood at the end of that day by the log's own entries; with a time
 *                of day (JOB@2026-03-02T14:00) as of then
 *   JOB@VERSION  the log as it was kept: the first four or more digits of a record's id; `last` is
 *                the last record
 *   JOB:STAGE    as the engine stood at the end of that stage; also JOB@VERSION:STAGE
 *
 * A name that holds such a sign itself is taken whole when a job or file is called so.
 */
#ifndef THOU_CLI_LOG_STATE_H
#define THOU_CLI_LOG_STATE_H

#include "cli/progress.h"
#include "cli/shelf.h"
#include "compute/state.h"
#include "history/history.h"

typedef struct LogState {
    const char *job; /* without what follows it */
    Str when;        /* behind the @; empty without */
    bool dated;      /* `when` is a date, */
    Date date;       /* this one */
    Str stage;       /* behind the : */
} LogState;

/* False and run->err when `when` is neither a date nor a version. */
bool log_state_read(Run *run, const char *argument, LogState *out)
    __attribute__((warn_unused_result));

/* The job it is of. past: one that was taken out of the book may be meant, too. */
bool log_state_target(Run *run, const char *job, bool past, Target *out)
    __attribute__((warn_unused_result));

/* The last entry of a stage (of its last run, when it occurs again), and the last before it;
 * *before is UINT32_MAX when the log begins with it. */
bool log_state_stage(const Job *j, Str stage, uint32_t *before, uint32_t *last, Arena *a, Err *err)
    __attribute__((warn_unused_result));
/* The last entry up to a moment; false when the log begins later. */
bool log_state_entry(const Job *j, Date until, uint32_t *last);

/* The history around a book, to read or to record in. told: where a long look shows how far it is,
 * to be started before anything is asked; may be NULL. Give back with history_close. */
bool open_history(Run *run, const Book *b, HistoryUse use, Progress *told, History **out)
    __attribute__((warn_unused_result));
/* A file's path as history has it: "jobs/26-014.job". */
bool history_path(Run *run, const Book *b, const char *path, const char **out)
    __attribute__((warn_unused_result));
/* The version a state means; a date is then the day by which it was kept. */
bool log_state_version(Run *run, History *h, const char *path, Str when, HistoryVersion *out)
    __attribute__((warn_unused_result));
/* "1a2b3c4d5e, kept 2026-03-05 18:02 by Kay Lund". */
Str version_text(const HistoryVersion *v, Arena *a);
/* "2026-03-05 18:02", in the recorder's own time. */
Str version_time(const HistoryVersion *v, Arena *a);

#endif
