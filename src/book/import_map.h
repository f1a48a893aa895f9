/*
 * How the columns of a tester's or spreadsheet's CSV come into the log: a small text that is kept
 * in the book, imports/NAME.map, in the log's own `name = value` form.
 *
 *   separator = semicolon            comma, semicolon or tab
 *   decimal = comma                  point or comma
 *   rows = spring                    what the rows are of
 *   place column = No.               which of them; several columns are put together
 *   condition column = Height [mm]   where a curve was read, when every row says so itself
 *   Load [N] = spring load N @ 43.70 mm
 *   Operator = -                     not read
 *
 * A line is split at its last ` = `; a column with the name of another line, or that begins with a
 * quote or semicolon, stands in double quotes.
 */
#ifndef THOU_BOOK_IMPORT_MAP_H
#define THOU_BOOK_IMPORT_MAP_H

#include "base/csv.h"
#include "base/err.h"
#include "compute/job.h"

enum { IMPORT_PLACES = 4 };

typedef struct ImportColumn {
    Str name;           /* as the CSV's head has it */
    TagId tag;          /* TAG_NONE: not read */
    Str head;           /* of the grid: "spring load N @ 43.70 mm" */
    Str spot, unit, at; /* "top thrust", "N", "43.70 mm"; each may be empty */
    bool by_row;        /* a curve, read where the row's condition column says */
} ImportColumn;

typedef struct ImportMap {
    const char *path;
    char separator; /* 0: not stated */
    bool decimal_stated, decimal_comma;
    ClassId rows;
    Str places[IMPORT_PLACES]; /* names of columns */
    uint32_t place_count;
    Str condition; /* name of a column; empty without */
    const Unit *condition_unit;
    ImportColumn *columns;
    uint32_t count, room;
} ImportMap;

/* Texts are slices of `text`. ERR_USAGE names file, line, what is wrong and what to do. */
bool import_map_read(const Vocab *v, const char *path, Str text, Arena *a, ImportMap *out, Err *err)
    __attribute__((warn_unused_result));
/* A map for a CSV with this head, to be looked over by a person: columns that name a quantity of
 * the vocabulary are filled in, others are left unread. */
Str import_map_propose(const Vocab *v, const CsvRecord *head, char separator, bool decimal_comma,
                       Arena *a);
/* Whether a line of that name is a setting: a column called so stands in quotes. */
bool import_is_setting(Str name);
char import_separator(Str word); /* of "comma", "semicolon", "tab"; 0 for another word */
Str import_separator_word(char separator);

#endif
