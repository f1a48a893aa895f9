/*
 * What is wrong (or doubtful) with what a person wrote. Findings are data: they are collected,
 * sorted by file and offset, and shown by `show/findings`. Each has a stable code from a table of
 * its room (the table rows are `FindingKind`), so that the list in `thou check --list`, the
 * format's text and the tests come from one place.
 */
#ifndef THOU_BASE_FINDING_H
#define THOU_BASE_FINDING_H

#include "base/source.h"

typedef enum Level { LEVEL_WARNING, LEVEL_ERROR } Level;

typedef struct FindingKind {
    const char *code; /* stable: "unknown-tag" */
    Level level;
    const char *title; /* one line for `thou check --list` */
} FindingKind;

typedef struct Finding {
    const FindingKind *kind;
    const Source *source; /* the file it is in */
    Span span;            /* what the caret underlines */
    Str message;          /* what, and what to do: one line */
    /* for --json; absent when empty. Shown as in the message, already formatted. */
    Str subject, tag, value, unit, limit, by, margin;
} Finding;

typedef struct Findings {
    Arena *arena; /* holds the items and every text in them */
    Finding *items;
    uint32_t count, room;
    uint32_t errors, warnings; /* all that were added, also those no longer kept */
    /* finding.c's own: how many are kept of the file at hand, and what is handed out past the most
     */
    const Source *counted_of;
    uint32_t counted;
    Finding *scratch;
} Findings;

/* Most findings kept of one file; a last one, `too-many`, then says that there are more. */
#define FINDINGS_MAX 1000
extern const FindingKind finding_too_many;

/* Adds one; the message is formatted into the arena. Returns it for the optional fields, never
 * NULL (past FINDINGS_MAX a scratch one that is not kept, though it is still counted). */
Finding *finding_add(Findings *f, const FindingKind *kind, const Source *source, Span span,
                     const char *format, ...) __attribute__((format(printf, 5, 6)));
/* By path, then offset, then code; equal ones keep their order. */
void findings_sort(Findings *f);

#endif
