/*
 * The answer on its way to stdout: gathered in a Buf, written in large pieces, and a failure to
 * write (a full disk, a reader that went away) noticed once and for all.
 */
#ifndef THOU_CLI_OUT_H
#define THOU_CLI_OUT_H

#include "base/buf.h"
#include "base/err.h"
#include "show/table.h"

typedef struct Out {
    Buf buf;
    int fd;
    bool terminal;
    bool colour;    /* a terminal, and nobody asked for none */
    unsigned width; /* columns of the terminal, else of COLUMNS, else 80 */
    bool gone;      /* the reader went away: write no more, say nothing */
    bool failed;
    int reason; /* errno of the failure */
} Out;

void out_init(Out *o, int fd);
void out_release(Out *o);
/* Of text that has to fit a terminal, and may be as wide as it gets elsewhere. */
TextStyle out_style(const Out *o);
void out_add(Out *o, Str s);
/* Writes what is gathered once it is much; out_flush writes it whatever there is. */
void out_settle(Out *o);
void out_flush(Out *o);
/* Flushes; false and an error for stderr when not all could be written (none when `gone`). */
bool out_finish(Out *o, Err *err) __attribute__((warn_unused_result));

/* Whether colour may be used on this file descriptor. */
bool wants_colour(int fd);
/* Columns of the terminal: as COLUMNS says, or the terminal; 80 where neither does. */
unsigned out_width(int fd);

#endif
