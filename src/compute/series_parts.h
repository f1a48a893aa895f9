/* What the series_*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_SERIES_PARTS_H
#define THOU_COMPUTE_SERIES_PARTS_H

#include "compute/fitted.h"
#include "compute/series.h"

typedef struct Follow { /* one job being followed */
    const Job *j;
    const Vocab *v;
    const Tag *tag;
    const SeriesAsk *ask;
    Paths skip;
    Arena *a, *scratch;
    SeriesList *out;
    State *end; /* as the log leaves it */
    Eval *end_eval;
    Fitted *fitted;  /* NULL over days */
    bool *has_input; /* per tag: the quantity rests on it */
    bool *has_class; /* per class: one of those is read on it */
    bool rests_on_items;
    Str engine;
    Str *job_names; /* per source */
    bool is_item;
    double
        *run; /* [entry * subjects + item]: what it had run; NULL: ask `fitted` as it is played */
} Follow;

/* A new series, with room for some points. */
Series *follow_series(Follow *f, SubjectId id, Str place, Str item, Str began, uint32_t points);
void follow_point(Follow *f, Series *s, SubjectId id, uint32_t entry, double y, double step,
                  uint8_t st);
bool follow_skips(const Follow *f, uint32_t entry);
/* What set aside the readings of an entry by the time of a later one, and when; TAG_NONE. */
TagId follow_aside(const Follow *f, SubjectId id, uint32_t from, uint32_t to, uint32_t *when);
Str follow_began(const Follow *f, TagId by, uint32_t entry);

void follow_readings(Follow *f); /* series_read.c: what is only measured, and curves */
void follow_states(Follow *f);   /* series_state.c: worked out at each state of the engine */

#endif
