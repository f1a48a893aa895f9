/*
 * A report is a table of columns and a renderer. A table holds texts that are already worded (the
 * digits of a number are part of what is said), and knows of each column how it lines up and what
 * it is called. Everything is in the arena it was made with; texts are not copied.
 */
#ifndef THOU_SHOW_TABLE_H
#define THOU_SHOW_TABLE_H

#include "base/arena.h"
#include "base/buf.h"

typedef enum Align { ALIGN_LEFT, ALIGN_RIGHT, ALIGN_POINT /* on the decimal point */ } Align;
typedef enum Json { JSON_TEXT, JSON_NUMBER, JSON_WORD /* true, false */ } Json;
typedef enum Tone { TONE_PLAIN, TONE_BAD, TONE_DOUBT, TONE_GOOD, TONE_DIM, TONE_HEAD } Tone;

typedef struct TableColumn {
    const char *key; /* of CSV and JSON: "value"; "at.value" is `value` in an object `at` */
    Str heading;     /* of text; its words are put on several lines when the column is narrow */
    Str unit;        /* under the heading; may be empty */
    Align align;
    Json json;
    bool label; /* repeated at the left of every group of columns; labels stand first */
    Str says;   /* what it means, for a page; may be empty */
} TableColumn;

typedef struct Cell {
    Str text; /* empty: shown as nothing, absent in JSON */
    Tone tone;
    uint32_t ref; /* what its maker knows it by; 0 without */
} Cell;

typedef struct Table {
    Arena *arena;
    TableColumn *columns;
    uint32_t column_count, column_room;
    Cell *cells; /* row by row */
    uint32_t cell_count, cell_room;
    uint32_t row_count;
} Table;

typedef struct TextStyle {
    int width; /* columns of the terminal; 0: as wide as it gets */
    bool colour;
    int indent;
} TextStyle;

Table *table_new(Arena *a);
/* All columns come before the first row. Returns the column's number. */
uint32_t table_column(Table *t, TableColumn column);
uint32_t table_row(Table *t); /* an empty row at the end; returns its number */
void table_put(Table *t, uint32_t row, uint32_t column, Str text, Tone tone);
void table_put_cell(Table *t, uint32_t row, uint32_t column, Cell cell);

/* Aligned for UTF-8. A table wider than the style says is cut into groups of columns, each with the
 * labels repeated; columns without a text in any row are left out. */
void table_text(Buf *out, const Table *t, TextStyle style);
/* RFC 4180, with a line of keys. An apostrophe stands before a text that a spreadsheet would take
 * for a formula. */
void table_csv(Buf *out, const Table *t);
void table_json(Buf *out, const Table *t); /* an object a line */

typedef struct TableWidth {    /* of one column, in characters */
    size_t all, before, after; /* of those: before the decimal point, and from it on */
    bool used;                 /* some row has a text in it */
} TableWidth;
TableWidth table_measure(const Table *t, uint32_t column);
/* The columns in front that are labels. */
uint32_t table_labels(const Table *t);
/* The end of the group of columns that begins at `from` and fits into `most` characters; at least
 * one. `labels` is what those in front take, and `gap` what stands between two columns. */
uint32_t table_group(const Table *t, const TableWidth *widths, uint32_t from, size_t labels,
                     size_t gap, size_t most);

/* As HTML: a <table> for each group of columns. `cell` writes what stands in a cell, `heading` in
 * a heading; NULL: their texts alone. */
typedef struct TableHtml {
    Str caption;
    size_t width; /* characters across; 0: as wide as it gets */
    void (*cell)(void *ctx, Buf *out, const Cell *cell);
    void *ctx;
} TableHtml;
void table_html(Buf *out, const Table *t, const TableHtml *how);

/* A text in a tone: with its escape sequences when colour is on, else alone. */
void tone_text(Buf *out, Str text, Tone tone, bool colour);
/* Words, in tones or plain, folded at `width` columns, every line after the first `indent` blanks
 * in; ends the line. */
void fold_text(Buf *out, Str text, int width, int indent);
/* Whether the text does not fit behind what stands in the line already. */
bool fold_needed(const Buf *out, Str text, int width);
/* A number as JSON takes it: `.500` is 0.500, `+1.2` is 1.2; false when it is no plain decimal. */
bool json_number(Buf *out, Str digits);
/* The same of a reading's text, and of a fraction its value; false where the number does not say
 * all that was written: `5/16`, `+1.2`. */
bool json_reading(Buf *out, Str text);

#endif
