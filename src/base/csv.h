/*
 * Comma-separated values as RFC 4180 has them, with any separator: quoted fields, doubled quotes,
 * line ends inside of quotes. A byte-order mark is passed over, and so is a first line `sep=;`, by
 * which spreadsheets say what parts the columns; lines end in CRLF, LF or CR.
 */
#ifndef THOU_BASE_CSV_H
#define THOU_BASE_CSV_H

#include "base/arena.h"

enum { CSV_FIELDS = 256 };

typedef struct CsvReader {
    Str text;
    size_t at;
    uint32_t line; /* of the next record's first line */
    char separator;
} CsvReader;

typedef struct CsvRecord {
    Str fields[CSV_FIELDS]; /* without quotes and outer blanks; in the arena when they had quotes */
    uint32_t count;
    uint32_t line;     /* where it begins, from 1 */
    Str whole;         /* as it stands in the text, without its line end */
    const char *fault; /* why it can't be trusted; NULL */
} CsvRecord;

void csv_start(CsvReader *r, Str text, char separator);
/* False at the end. An empty line is a record of one empty field. */
bool csv_next(CsvReader *r, Arena *a, CsvRecord *out);
/* The separator that a first line states; 0 without such a line. */
char csv_stated(Str text);
/* The separator among comma, semicolon and tab: the one that parts the first records into as many
 * fields each, or, where all leave them ragged, the one that parts the head. 0 when there is none,
 * or more than one. */
char csv_sniff(Str text, bool no_comma);

#endif
