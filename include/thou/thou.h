/*
 * libthou: read the build log of an engine, compute and check it, ask it for values.
 *
 * Ownership: what an `_open` function gives is given back with its `_close`, which takes NULL too.
 * Every text handed out is NUL-terminated UTF-8 and lives as long as the handle it came from; copy
 * what you keep. A book must outlive its jobs. Errors: faults in what a person wrote are findings,
 * never failures; a log with faults can be asked for all that could be read. Failures of the
 * machine (no such file, out of reach) give THOU_TROUBLE. THOU_TROUBLE and THOU_UNKNOWN put one
 * sentence into `error`, which may be NULL, and set no other output; THOU_OK sets the output, and
 * so does THOU_MISSING, where it says what lacks. Running out of memory ends the program. Threads:
 * a book may be shared by threads; a job belongs to one thread at a time. Units: values come in the
 * unit you ask for, by any name the format knows ("in", "mm", "lbf"); NULL asks for the one the
 * log's own settings show. Places, tags and subjects are named as in a log.
 */
#ifndef THOU_THOU_H
#define THOU_THOU_H

#include <stdbool.h>
#include <stddef.h>

typedef struct thou_book thou_book;
typedef struct thou_job thou_job;

typedef enum thou_status {
    THOU_OK = 0,
    THOU_MISSING, /* a value that is not there: thou_value.missing says what lacks */
    THOU_UNKNOWN, /* a name nobody knows: a tag, a subject, a unit, a job */
    THOU_TROUBLE, /* the machine: a file or folder */
} thou_status;

typedef struct thou_error {
    char text[600];
} thou_error;

/* ---- books ----------------------------------------------------------------------------------- */

/* The book in a folder (with jobs/, parts/, shop.vocab); NULL opens none: lone logs under the
 * built-in vocabulary. A shop.vocab with errors is THOU_TROUBLE: nothing may be computed under it.
 */
thou_status thou_book_open(const char *folder, thou_book **out, thou_error *error);
void thou_book_close(thou_book *book);

/* ---- jobs -------------------------------------------------------------------------------------
 */

/* A job by name, a unique part of its name, or the path of a log. `day` (ISO date, or NULL for the
 * end of the log) is the state asked about. */
thou_status thou_job_open(thou_book *book, const char *name, const char *day, thou_job **out,
                          thou_error *error);
/* The same from text in memory (not kept); `path` is what findings call it. */
thou_status thou_job_read(thou_book *book, const char *path, const char *text, size_t size,
                          const char *day, thou_job **out, thou_error *error);
void thou_job_close(thou_job *job);
const char *thou_job_name(const thou_job *job);

typedef struct thou_finding {
    const char *file;
    unsigned line, column; /* from 1; columns in characters */
    bool error;            /* else a warning */
    const char *code;      /* stable; see format/checks.md */
    const char *message;
} thou_finding;

/* All findings, of reading and of checking, sorted by file and line. */
size_t thou_job_findings(thou_job *job);
thou_finding thou_job_finding(const thou_job *job, size_t index); /* index below the count */

/* ---- values -------------------------------------------------------------------------------------
 */

typedef struct thou_value {
    double value;
    const char *unit; /* of `value`; "" for a plain number */
    bool measured;    /* a reading; else worked out */
    bool nominal;     /* rests on a part card: nothing was measured */
    bool partial;     /* of some of its members only */
    bool carried;     /* a reading was set aside; the formula carries it on */
    bool extended;    /* a curve beyond its ends, or on one new point */
    const char *file; /* of a reading; NULL otherwise */
    unsigned line;
    const char *missing; /* THOU_MISSING: the tag that lacks, and all else is 0; else NULL */
} thou_value;

/* A quantity on a subject ("I3", "S31#7", "" for the engine): measured or computed, as a sheet
 * shows it. A part is named by its place, too: the one that sits there on the job's day. A place
 * that the log's layout has is known, whether a line names it or not; what nobody measured there,
 * or a part that does not sit there, is THOU_MISSING. A curve has no one value: THOU_UNKNOWN. */
thou_status thou_job_value(thou_job *job, const char *tag, const char *subject, const char *unit,
                           thou_value *out, thou_error *error);
/* A curve (spring load, flow, torque) read at a condition, given in `at_unit`; NULL is again the
 * unit that the log's own settings show. It is `measured` at a condition at which it was read.
 * THOU_UNKNOWN when the quantity is no curve. */
thou_status thou_job_value_at(thou_job *job, const char *tag, const char *subject, double at,
                              const char *at_unit, const char *unit, thou_value *out,
                              thou_error *error);

/* "0.1.0" */
const char *thou_version(void);

#endif
