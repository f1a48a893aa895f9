/*
 * A row of a grid, parted at its bars. Nearly every line of a shop's log is a row of one label and
 * numbers: those are taken in one go, everything else about rows the long way.
 */
#ifndef THOU_LOG_ROW_H
#define THOU_LOG_ROW_H

#include "base/number.h"

enum { CELLS_MOST = 66 }; /* as many as are kept */

typedef struct GridCell {
    Str text; /* trimmed */
    Number number;
    bool plain; /* the text is this number, and nothing else */
} GridCell;

typedef struct GridRow {
    GridCell cells[CELLS_MOST];
    uint32_t count; /* may be more than are kept */
} GridRow;

/* Whether the line that p begins with is a label (`I3`, `#7`, `12`) and then numbers (`.500`) or
 * items (`#7`), each behind a bar with blanks on both sides: such a line is a row, and needs none
 * of the questions that are asked of others. Gives where the line ends (the line feed, or `end`);
 * NULL when it is anything else, and then what is in *row is of no use. */
const char *row_plain(const char *p, const char *end, GridRow *row);
/* Parts any row at its bars; outer bars are skipped. No cell is marked as plain. */
void row_part(Str body, GridRow *row);

#endif
