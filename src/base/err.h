/*
 * Failures of the machine (files, SQLite, git, memory), as opposed to faults in what a person
 * wrote (base/finding.h). Filled once, where the failure is detected, and never overwritten on
 * the way up. A function that can fail takes `Err *err` last and returns false; its outputs are
 * set only on success.
 */
#ifndef THOU_BASE_ERR_H
#define THOU_BASE_ERR_H

#include <stdbool.h>

typedef enum ErrKind {
    ERR_NONE = 0,
    ERR_IO,      /* a file or folder could not be read or written */
    ERR_CHANGED, /* the file changed under us since it was read */
    ERR_INDEX,   /* SQLite */
    ERR_HISTORY, /* git */
    ERR_USAGE,   /* the command line, or a name that is not there */
    ERR_LIMIT,   /* a documented limit of the program */
} ErrKind;

typedef struct Err {
    ErrKind kind;
    char text[600]; /* one sentence: what, and what to do */
} Err;

/* Sets *err unless it is set already. Always false, for `return err_set(...)`, in a form that lets
 * the compiler and the analyser of `make lint` know it. */
#define err_set(...) (err_fill(__VA_ARGS__), err_false())
/* The same with ": " and strerror(errno) behind the text. */
#define err_errno(...) (err_fill_errno(__VA_ARGS__), err_false())

void err_fill(Err *err, ErrKind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
void err_fill_errno(Err *err, ErrKind kind, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

static inline bool err_false(void) {
    return false;
}

#endif
