/*
 * A row of a grid, parted at its bars. Nearly every line of a shop's log is a row of one label and
 * numbers: those are taken in one go, everything else about rows the long way.
 */
#ifndef THOU_LOG_ROW_H
#define THOU_LOG_ROW_H

#include "base/number.h"
#include "base/word.h"

enum {
    CELLS_MOST = 66, /* as many as are kept */
    SHAPE_WORDS = 8,
    SHAPE_CELLS = SHAPE_WORDS * WORD_BYTES / 4, /* `5 | ` is the shortest */
};

typedef struct GridCell {
    Str text; /* trimmed */
    Number number;
    uint32_t item; /* the text is `#` and this number, and nothing else; 0 */
    bool plain;    /* the text is `number`, and nothing else */
} GridCell;

typedef struct CellShape { /* where a cell's digits lie in the eight bytes that begin with it */
    uint64_t whole;        /* the bytes ahead of its mark, which is left out: a point, or a # */
    double divisor;        /* for its decimals */
    uint8_t from;          /* behind the row's first value */
    uint8_t shift;         /* bits to make its digits the last of the eight */
} CellShape;

/* A plain row from its first value to its line feed, but for which digits it has. The rows below
 * mostly have the same, and are then not parted anew. */
typedef struct RowShape {
    uint32_t bytes;               /* 0: of no row */
    uint32_t words;               /* the last one is of the last eight bytes */
    uint64_t digits[SHAPE_WORDS]; /* the low half of each byte that is a digit */
    uint64_t others[SHAPE_WORDS]; /* all bytes without those halves */
    CellShape cells[SHAPE_CELLS]; /* of the values */
} RowShape;

typedef struct GridRow {
    GridCell cells[CELLS_MOST];
    uint32_t count;  /* may be more than are kept */
    uint32_t number; /* of a plain row's label; 0 of any other row */
    char mark;       /* of a plain row's label: the `#` or letter before its number, or 0 */
    bool alike;      /* a plain row of the same shape as the one before it: its cells are of the
                        same kinds */
    RowShape shape;  /* of the last row, when it was plain */
} GridRow;

/* Whether a plain row's label may begin with p: most other lines have no digit so early. */
static inline bool row_begins(const char *p, const char *end) {
    return end - p > 1 && (is_digit(p[0]) || is_digit(p[1]));
}

/* Before the first row of a text. */
void row_start(GridRow *row);
/* Whether the line that p begins with is a label (`I3`, `#7`, `12`) and then numbers (`.500`) or
 * items (`#7`), each behind a bar with blanks on both sides: such a line is a row, and needs none
 * of the questions that are asked of others. Gives where the line ends (the line feed, or `end`);
 * NULL when it is anything else, and then what is in *row is of no use. */
const char *row_plain(const char *p, const char *end, GridRow *row);
/* Parts any row at its bars; outer bars are skipped. No cell is marked as plain. */
void row_part(Str body, GridRow *row);

#endif
