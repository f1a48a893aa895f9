/*
 * One sitting at the bench: the cells of a plan with what was typed for them, the entry they make,
 * the side file that keeps them until they stand in the log, and the appending itself. Nothing is
 * asked and nothing is judged here.
 *
 * The side file is in the log's own form, a line a reading, so that a person can read it and paste
 * it; a line stands in it, synced to the disk, before the next question is asked.
 */
#ifndef THOU_BOOK_BENCH_H
#define THOU_BOOK_BENCH_H

#include "base/file.h"
#include "book/plan.h"

typedef struct BenchCell {
    uint32_t grid, row, column;
    Str key;    /* "installed height I1" */
    Str value;  /* as typed: "1.721", "189 ?", "43.7 mm", "-"; empty while nothing was */
    Str remark; /* without its semicolon */
    bool skipped;
    Span span; /* of the value in the text bench_entry made last; len 0: it is not in it */
} BenchCell;

typedef struct Kept { /* a side file */
    bool there;
    Str log, ask, set, heading;
    Str *lines; /* the others, in order */
    uint32_t count, room;
    Str cut_off; /* an unfinished last line: never acknowledged */
} Kept;

typedef struct Bench {
    Arena *arena;
    const Plan *plan;
    BenchCell *cells; /* in the order they are asked */
    uint32_t count;
    Str heading; /* "2026-03-04 14:20  Heights" */
    Str *lines;  /* that go under the heading: facts, and kept values no cell of the plan is for */
    uint32_t line_count, line_room;
    uint32_t strays; /* of them: kept lines that no cell is for */
    const char *side;
    Str start; /* the side file's first lines, written with the first value */
    int fd;    /* of the side file; -1 while there is none */
} Bench;

/* Where the side file of a log stands: FOLDER/.thou/fill/NAME in a book, beside a lone log
 * otherwise. `folder` NULL: no book. */
const char *bench_side(const char *folder, const char *log, Arena *a);
bool kept_read(const char *side, Arena *a, Kept *out, Err *err) __attribute__((warn_unused_result));

/* Cells that are wanted, with what was kept of them. The plan must outlive it. */
void bench_init(Bench *b, const Plan *plan, const Kept *kept, const char *side, Arena *a);
void bench_release(Bench *b); /* closes the side file; what is in it stays */

/* Takes "1.721 ; tight" apart and into the cell; NULL, or why it can't stand in a grid. */
const char *bench_put(Bench *b, BenchCell *cell, Str typed);
/* The same for good: in the side file and on the disk. ERR_CHANGED when another `thou fill` of the
 * same log is at work. `ask` and `log` are noted in a new file. */
bool bench_keep(Bench *b, const BenchCell *cell, Err *err) __attribute__((warn_unused_result));
bool bench_keep_skip(Bench *b, const BenchCell *cell, Err *err) __attribute__((warn_unused_result));
void bench_line(Bench *b, Str line); /* a fact for the entry; once only */
uint32_t bench_given(const Bench *b);

/* The entry as it goes to the log: heading, facts, a grid for each of the plan's that has values.
 * Sets the cells' spans. Lines end in LF. */
Str bench_entry(Bench *b, Arena *a);
/* The entry with the line ends that the log has. */
Str bench_ends_as(Str log, Str entry, Arena *a);
/* The log with the entry behind it, a blank line between; *at is the offset of the entry. */
Str bench_joined(Str log, Str entry, Arena *a, uint32_t *at);

/* Appends the entry to the log of which `was` is the stamp, line ends as the log has them, and
 * takes the side file away. ERR_CHANGED: the log is not that any more, nothing was written. */
bool bench_append(Bench *b, const char *log, Str text, const FileStamp *was, Err *err)
    __attribute__((warn_unused_result));
/* Whether the kept entry stands in the log already: a power cut came between the two. */
bool bench_is_in(Bench *b, Str text);
bool bench_drop(Bench *b, Err *err) __attribute__((warn_unused_result)); /* removes the side file */

#endif
