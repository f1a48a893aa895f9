/* A selective fit as a table, as the lines for the log, and for other programs. */
#ifndef THOU_SHOW_FIT_H
#define THOU_SHOW_FIT_H

#include "base/buf.h"
#include "base/date.h"
#include "compute/fit.h"

typedef struct FitShow {
    int width;
    bool colour;
    System system;
    Str lines; /* what is to stand at the log's end; empty: nothing changes */
} FitShow;

/* The answer for people. There was something to solve (trouble FIT_FINE). */
void fit_text(Buf *out, const FitAnswer *answer, const FitShow *how);
/* A line a place, and one for the result: format/fit.md. */
void fit_json(Buf *out, const FitAnswer *answer);
/* One entry that does what was found, with what changes alone; empty when nothing does. */
Str fit_lines(const FitAnswer *answer, Date day, Arena *a);
/* A size of adjuster with all its digits, and the unit it is said in. */
Str fit_size(const FitAnswer *answer, double si, Arena *a);
const Unit *fit_size_unit(const FitAnswer *answer);
/* A stack as its sizes: ".015 + .030", "none". */
Str fit_stack(const FitAnswer *answer, uint32_t place, Arena *a);

#endif
