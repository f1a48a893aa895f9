/*
 * Bytes to lines: what kind of line each is, and its parts as slices. Knows the shape of the format
 * and no word of its vocabulary, so job logs, part cards and vocabulary files are all read with it.
 * The rules are format/format.md, "Lines"; the order of tests here is the order there.
 */
#ifndef THOU_LOG_LINE_H
#define THOU_LOG_LINE_H

#include "base/date.h"
#include "base/finding.h"
#include "log/row.h"

typedef enum LineKind {
    LINE_END, /* no more lines */
    LINE_BLANK,
    LINE_NOTE,    /* anything else, or after `>` or `;`; body is its text */
    LINE_HEADING, /* date, optional corrects, body is the title */
    LINE_READING, /* left = right ; remark */
    LINE_GRID,    /* body is the row, still with its bars; remark */
    LINE_BROKEN,  /* a finding was added for it; use no part of it */
} LineKind;

typedef struct Line {
    LineKind kind;
    bool struck;      /* `x ` stood before it */
    bool quoted_note; /* a note that began with `>` or stands in a >> << block */
    bool after_blank; /* the line above is blank, or there is none */
    Date date;        /* heading */
    bool corrects;
    Date corrected;
    Str whole;       /* the line without its end */
    Str left, right; /* reading: trimmed */
    Str body;        /* note, heading title, grid row: trimmed */
    Str remark;      /* without its ';', trimmed; n == 0 when there is none */
    uint32_t off;    /* of the whole */
} Line;

typedef struct LineReader {
    const Source *source;
    uint32_t at;
    uint32_t block_off; /* where an open >> stands */
    bool in_block, blank_before;
    bool has_odd_blank; /* somewhere in the text: nearly none has one */
    bool row_parted;    /* `row` is the line read last */
    Findings *findings; /* syntax findings go here; NULL to drop them */
    GridRow row;        /* a large thing, and never cleared as a whole */
} LineReader;

void line_start(LineReader *r, const Source *source, Findings *findings);
/* Next line; LINE_END for ever at the end. */
void line_next(LineReader *r, Line *out);
/* Behind a row that was parted as it was read: the next line, when it is such a row too. False
 * leaves it to line_next, and *row as it is, but for its cells. */
bool line_next_row(LineReader *r, Line *row);

/* The cells of a grid's row, the line that was read last; until the next is read. */
static inline const GridRow *line_row(LineReader *r, const Line *line) {
    if (!r->row_parted) row_part(line->body, &r->row);
    r->row_parted = true;
    return &r->row;
}
/* A ruled line of a grid: only bars, dashes, equals, plus, colons and blanks. */
bool line_ruled(Str body);

static inline Span line_span(const Source *s, Str part) {
    return (Span){part.n ? (uint32_t)(part.p - s->text.p) : 0, (uint32_t)part.n};
}

/* The codes of this room, for `thou check --list`; count is their number. */
extern const FindingKind line_kinds[];
extern const size_t line_kinds_count;

#endif
