/*
 * The build sheet: everything known of one job at a day, for the builder who reads it, and as rows
 * for other programs. The Eval must be of the state at the day asked for.
 */
#ifndef THOU_SHOW_SHEET_H
#define THOU_SHOW_SHEET_H

#include "base/buf.h"
#include "compute/verdict.h"

typedef struct SheetOptions {
    System system; /* SYSTEM_NONE: the job's own */
    int32_t until; /* the day the state is of, to be named; INT32_MAX when it is the last */
    int width;     /* columns of the terminal */
    bool colour;
    bool for_owner; /* without remarks and struck readings; only the notes that are meant for him */
} SheetOptions;

void sheet_text(Buf *out, Eval *e, const SheetOptions *how);
/* As one HTML page that needs nothing else: no script, no request, and prints. With the plan of the
 * engine, charts, and the working of each number. */
void sheet_page(Buf *out, Eval *e, const SheetOptions *how);
/* A row each of kind reading, fact, computed, missing, limit; keys are those of
 * format/format.md's notation: kind job entry subject tag value unit at state ... */
void sheet_json(Buf *out, Eval *e, const SheetOptions *how);
void sheet_csv(Buf *out, Eval *e, const SheetOptions *how);

#endif
