/*
 * The past of one log, for the builder and as rows for other programs (keys: format/json.md).
 */
#ifndef THOU_SHOW_PAST_H
#define THOU_SHOW_PAST_H

#include "base/buf.h"
#include "compute/timeline.h"

typedef struct PastRecord {
    Str id;   /* as it is shown; empty: the file, not kept yet */
    Str kept; /* "2026-03-05 18:02" */
    Str by;
    Str summary; /* its first line */
} PastRecord;

typedef struct Past {
    Str job;
    const Vocab *vocab;
    const PastRecord *records; /* the first version first; numbers of the timeline */
    uint32_t count;
    const Timeline *timeline;
    const Source *now; /* the last version's text */
} Past;

typedef struct PastOptions {
    uint32_t most; /* records and corrections that text lists, the newest; 0: all */
    int width;
    bool colour;
} PastOptions;

void past_text(Buf *out, const Past *p, const PastOptions *how);
void past_json(Buf *out, const Past *p);
void past_csv(Buf *out, const Past *p);

/* Records alone, in the order given. */
void past_records_text(Buf *out, const PastRecord *records, uint32_t count, const PastOptions *how);
void past_records_json(Buf *out, const PastRecord *records, uint32_t count);
void past_records_csv(Buf *out, const PastRecord *records, uint32_t count);

#endif
