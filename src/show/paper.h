/*
 * The measuring form: a plan as boxes to print and to fill in by hand, in the order in which thou
 * fill asks. Plain text, pages of 80 columns and 60 lines with form feeds between, which both A4
 * and Letter hold.
 */
#ifndef THOU_SHOW_PAPER_H
#define THOU_SHOW_PAPER_H

#include "base/buf.h"
#include "book/plan.h"

enum { PAPER_COLUMNS = 80, PAPER_LINES = 60 };

/* `title` heads every page: the job's name and what it is. */
void paper_text(Buf *out, const Plan *plan, Str title);

#endif
