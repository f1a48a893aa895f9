/*
 * The readings of one tag on one subject, as a chain from the last to the first, in the order in
 * which they count: that of the file, but a correcting entry's readings stand where those of the
 * day it corrects stood. Made once when a job has been read; marks repeated and replaced readings.
 */
#ifndef THOU_COMPUTE_CHAIN_H
#define THOU_COMPUTE_CHAIN_H

#include "compute/job.h"
#include <math.h>

#define NO_READING UINT32_MAX

enum { EXTENTS_MOST = 4 };

typedef struct Extent { /* of the values read at one condition (NAN without) */
    double at, low, high;
} Extent;

/* All readings of one tag, good and bad: what lets a check see at once that it would find nothing
 * in them. */
typedef struct ChainRow {
    uint32_t *last;   /* per subject: index of the last reading + 1, 0 for none */
    const Unit *unit; /* of all of them, unless `units_differ` */
    uint32_t classes; /* bit per class whose subjects have a reading */
    uint32_t own;     /* subjects of the tag's own class that have a reading */
    uint16_t flags;   /* READ_...: of any of them */
    ClassId of;       /* the tag's own class */
    uint8_t extent_count;
    bool unbounded;    /* more conditions than have an extent, or a value that is no number */
    bool units_differ; /* of some */
    bool crowded;      /* more than two of one subject in one entry; told where none is struck or
                          superseded */
    bool again;        /* a subject in more than one entry, as they stand in the file */
    Extent extents[EXTENTS_MOST];
} ChainRow;

typedef struct Chain {
    const uint16_t
        *row;       /* per tag: index of its row, or CHAIN_NO_ROW when the log never reads it */
    ChainRow *rows; /* in the order in which the log comes to them */
    uint32_t row_count;
    const TagId *tags; /* those with a row, in the order of the vocabulary */
    uint32_t *prev;    /* per reading: index of the one before it + 1, 0 for none */
    uint32_t subjects;
} Chain;
#define CHAIN_NO_ROW ((uint16_t)0xffff)

void chain_build(Job *j);
/* See reading_entry. */
uint32_t corrected_entry(const Job *j, const Reading *r);
/* Takes in that the reading's value, or a flag of it, is another than when the chain was built. */
void chain_value_changed(const Job *j, const Reading *r);

/* These stand on the hottest paths. */

/* Of a tag that the log reads. */
static inline const ChainRow *chain_row(const Job *j, TagId tag) {
    return &j->chain->rows[j->chain->row[tag]];
}

/* Index of the last reading (of any state) of the tag on the subject, or NO_READING. */
static inline uint32_t chain_last(const Job *j, TagId tag, SubjectId subject) {
    const Chain *c = j->chain;
    if (tag == TAG_NONE || c->row[tag] == CHAIN_NO_ROW || subject >= c->subjects) return NO_READING;
    return c->rows[c->row[tag]].last[subject] - 1;
}

static inline uint32_t chain_prev(const Job *j, uint32_t reading) {
    return j->chain->prev[reading] - 1;
}

/* The entry whose state a reading belongs to: the corrected one for a correction. A fact in a
 * correcting entry acts at its own line, as anywhere. */
static inline uint32_t reading_entry(const Job *j, const Reading *r) {
    return j->has_corrections ? corrected_entry(j, r) : r->entry;
}

/* Numbers alike to a part in 1e9; NAN equals NAN. */
static inline bool same_condition(double a, double b) {
    if (a == b) return true; /* as nearly always when they are alike */
    if (isnan(a) || isnan(b)) return isnan(a) && isnan(b);
    return fabs(a - b) <= 1e-9 * (fabs(a) + fabs(b));
}

#endif
