/*
 * One sitting at the bench: the cells of a plan with what was typed for them, the entry they make,
 * the side file that keeps them until they stand in the log, and the appending itself. Nothing is
 * asked and nothing is judged here.
 *
 * The side file is in the log's own form, a line a reading, so that a person can read it and paste
 * it; a line stands in it, synced to the disk, before the next question is asked. What it begins
 * with is written whole before it gets its name, and its last line is the entry's heading: a file
 * without one was damaged, and no entry is made of it. As long as it is asked for readings the file
 * is locked, so that two do not ask for the same.
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
    bool lacking; /* the log had no value for it when it was read last */
    Span span;    /* of the value in the text bench_entry made last; len 0: it is not in it */
} BenchCell;

typedef struct Kept { /* a side file, locked */
    bool there;       /* it holds something; one that does not is begun anew */
    int fd;           /* -1: there is no file */
    FileStamp stamp;  /* as it was read */
    uint64_t size;    /* of its whole lines */
    Str log, ask, set, heading;
    Str *facts; /* for the entry */
    uint32_t fact_count, fact_room;
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
    Str start;       /* the first lines of a new side file; empty: it goes on with a kept one */
    int fd;          /* of the side file; -1 while there is none */
    FileStamp stamp; /* of the one that holds nothing and gives way to the new one */
    uint64_t size;   /* up to where its lines are whole and synced */
    bool bare;       /* it was begun here and has no value yet: it goes with the sitting */
} Bench;

/* Where the side file of a log stands: FOLDER/.thou/fill/NAME in a book, beside a lone log
 * otherwise. `folder` NULL: no book. */
const char *bench_side(const char *folder, const char *log, Arena *a);
/* Locks and reads the side file, if there is one. ERR_CHANGED when another `thou fill` of the same
 * log is at work; ERR_USAGE when there are values in it, but no heading to put them under. */
bool kept_open(const char *side, Arena *a, Kept *out, Err *err) __attribute__((warn_unused_result));

/* Cells that are wanted, with what was kept of them. The plan must outlive it; the lock is its own
 * from now on. */
void bench_init(Bench *b, const Plan *plan, const Kept *kept, const char *side, Arena *a);
/* Before the first question: a new side file of `start`, or the kept one with no line unfinished.
 * ERR_CHANGED when another has begun meanwhile. */
bool bench_begin(Bench *b, Err *err) __attribute__((warn_unused_result));
void bench_release(Bench *b); /* lets go of the side file; the values in it stay */

/* Takes "1.721 ; tight" apart and into the cell; NULL, or why it can't stand in a grid. */
const char *bench_put(Bench *b, BenchCell *cell, Str typed);
/* The same for good: in the side file and on the disk. */
bool bench_keep(Bench *b, const BenchCell *cell, Err *err) __attribute__((warn_unused_result));
bool bench_keep_skip(Bench *b, const BenchCell *cell, Err *err) __attribute__((warn_unused_result));
/* Whether the log has come to have a value for the cell since it was read last; once. `lacks` as
 * plan_lacking has it. */
bool bench_answered(BenchCell *cell, const Plan *plan, bool **lacks);
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
