/*
 * The rows of a CSV as an entry for the log, through a map of its columns.
 *
 * A row that stands in the log already is never taken again. The log itself says which do: the
 * entry ends in notes, `> rows: ` and a mark for each row, made from its place and values. They are
 * written in one piece with the readings, so that no power cut comes between the two; they stay
 * when a reading is struck or mended by hand; and they go where the log goes. The same values of
 * another day are another reading, but only for a person who says the day.
 */
#ifndef THOU_BOOK_IMPORT_H
#define THOU_BOOK_IMPORT_H

#include "book/import_map.h"

typedef struct ImportRow {
    uint32_t line; /* in the CSV */
    Str label;     /* "I3", "S31#7" */
    Str condition; /* "43.70 mm", of a curve read row by row */
    Str *values;   /* by the map's columns; empty: none */
    Str mark;
    Str why;   /* it is skipped; empty: it is not */
    bool old;  /* it stands in the log */
    Str again; /* the heading below which its values stand, of another day than was said */
    Span span; /* in the text import_entry made last */
} ImportRow;

typedef struct Import {
    const ImportMap *map;
    const Vocab *v;
    ImportRow *rows;
    uint32_t count, room;
} Import;

typedef struct ImportAsk {
    Str csv, log;
    char separator;
    bool decimal_comma;
    Str set;         /* that bare numbers of items are of; may be empty */
    const Date *day; /* that was said to be the rows'; NULL */
} ImportAsk;

/* ERR_USAGE when the CSV lacks a column that the map reads. */
bool import_read(const Vocab *v, const ImportMap *map, const ImportAsk *ask, Arena *a, Import *out,
                 Err *err) __attribute__((warn_unused_result));
/* The entry of the rows that are not skipped; `head` is its heading and facts, lines ended. */
Str import_entry(Import *im, Str head, Arena *a);
uint32_t import_taken(const Import *im);    /* rows that are not skipped */
uint32_t import_expected(const Import *im); /* readings they must make */

#endif
