/*
 * The differences of two states of engines (compute/compare.h), for the builder and as rows for
 * other programs. Keys are those of format/json.md.
 */
#ifndef THOU_SHOW_DIFF_H
#define THOU_SHOW_DIFF_H

#include "base/buf.h"
#include "compute/compare.h"

typedef struct DiffOptions {
    Str name[2];   /* what A and B are, for the head of the text */
    bool all;      /* what is the same and what only one of them has, too */
    bool computed; /* every computed value that differs, not only those that a limit is set on */
    int width;     /* columns of the terminal */
    bool colour;
} DiffOptions;

void diff_text(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how);
void diff_json(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how);
void diff_csv(Buf *out, const Compare *c, Eval *a, Eval *b, const DiffOptions *how);
/* Whether anything differs, or stands in one of them only. */
bool diff_any(const Compare *c);

#endif
