/*
 * What a record says of itself: one line a file, made from its readings.
 * "26-014: 48 readings added; bind height I3 corrected 1.412 -> 1.142 in"
 */
#ifndef THOU_SHOW_SUMMARY_H
#define THOU_SHOW_SUMMARY_H

#include "base/buf.h"
#include "compute/changes.h"

typedef enum SummaryHow {
    SUMMARY_NEW,
    SUMMARY_CHANGED,
    SUMMARY_GONE,
} SummaryHow;

typedef struct SummaryFile {
    Str name;        /* "26-014" */
    const char *one; /* "log", "card", "map", "file" */
    SummaryHow how;
    const Vocab *vocab; /* NULL: it has no readings, or they could not be read */
    SaidList old, now;
    Changes changes; /* of `old` to `now`; of a new one all of it */
} SummaryFile;

typedef struct SummaryLine { /* what is told of one file */
    const char *one;
    Str brief;         /* "26-014: 48 readings added; ...": corrections left out where it is long */
    Str whole;         /* the same with more of them */
    uint32_t readings; /* added */
} SummaryLine;

/* Its texts are in `a`; nothing of `f` is needed any more. */
SummaryLine summary_line(const SummaryFile *f, Arena *a);
/* The message of a record: a first line (`said` when the person gave one), and a line a file where
 * that does not tell all. */
void summary_record(Buf *out, const SummaryLine *lines, uint32_t count, Str said);
/* "bind height I3 corrected 1.412 -> 1.142 in", of any change but an addition. */
Str summary_change(const Vocab *v, const Said *was, const Said *now, ChangeKind kind, Arena *a);

#endif
