/*
 * Readings of one quantity as they follow each other: on each item wherever it sat, or on each
 * place, with what had been run by then. One log (and those it continues) gives a list of series;
 * src/book joins the lists of a book.
 *
 * Like is compared with like. A curve is read at one condition, through the curve of each entry. A
 * quantity with a formula is worked out anew at each entry that read or fitted something it rests
 * on. Where another item comes to sit at a place, or a later entry sets the older readings aside, a
 * new series begins. Readings that do not count (suspect, struck, replaced) are left out and
 * counted; of repeats the last counts.
 */
#ifndef THOU_COMPUTE_SERIES_H
#define THOU_COMPUTE_SERIES_H

#include "compute/say.h"
#include "stats/repeats.h"

enum { SERIES_CONDITIONS = 8 }; /* of a first and a last curve, compared with each other */

typedef struct SeriesAsk {
    TagId tag;
    TagId over;     /* quantity of the engine that it runs over; TAG_NONE: days */
    TagId group_by; /* a fact that puts series together; TAG_NONE: an item's set, else the engine */
    bool by_place;  /* of items: by where they sat; each item at a place is a series of its own */
    double at;      /* condition (SI); NAN: what the vocabulary compares at, else the most common */
    Str part;       /* only where this part is in use; empty: all */
    bool has_with;  /* with each reading what `with`, a fact in words, says in the same entry */
    TagId with;
    bool as_read; /* what the gauge said, though it was later found off: for judging the gauge */
} SeriesAsk;

typedef struct SeriesPoint {
    double run;  /* SI: what had been run; NAN: not known */
    double y;    /* SI */
    double step; /* SI: last digit as written; 0 of a computed value */
    int32_t day;
    uint8_t st;      /* V_... */
    Str job;         /* name of the log it stands in */
    Str place;       /* of an item: where it sat; else empty */
    const Str *said; /* by the fact asked for; NULL: nothing */
} SeriesPoint;

typedef struct SeriesLimit { /* in force at the end */
    Str by, text;
    Range range;
} SeriesLimit;

typedef struct SeriesCurve { /* a whole curve, for telling which kind of change it was */
    double *at, *value;
    uint32_t count; /* at most SERIES_CONDITIONS */
} SeriesCurve;

typedef struct LeftOut {
    uint32_t suspect, struck, replaced;
    uint32_t beyond;  /* no curve there reaches the condition */
    uint32_t nominal; /* from a part card: nobody measured it */
    uint32_t unknown; /* what ran while it was fitted is not known */
} LeftOut;

typedef struct Series {
    SubjectId id; /* in the job it was made of */
    Str engine;   /* serial; of a log without one "job NAME" */
    Str subject;  /* "S31#7", "E3" */
    Str place;    /* of an item: where it sits at the end, or sat last; may be empty */
    Str item;     /* of a place with items: what sits there in this series; may be empty */
    Str group;    /* its set, or the words of the fact asked for; may be empty */
    Str part;     /* the part in use */
    Str began;    /* why it is a new series: "after milled, 2024-11-08"; empty for the first */
    double at;    /* the condition; NAN */
    Str at_text;  /* as it was written there: "1.700 in"; empty */
    Shown shown;  /* what the log shows the quantity in */
    SeriesPoint *points; /* as they follow each other */
    uint32_t count, room;
    LeftOut left_out;
    SeriesLimit *limits;
    uint32_t limit_count;
    const SeriesCurve *first, *last; /* of a curve: the first and the last that count; NULL */
    double run_end, run_start; /* of an item: run at the end of the log; of the engine when the
                                  log's own first entry names it */
    double engine_end;         /* of the engine at the end */
    bool fitted_end, is_item;
    uint32_t falls;    /* of what the engine ran, at the first point: later ones have run unknown */
    bool run_lost;     /* of a place: what the engine ran went backwards since its first point */
    bool ends_unknown; /* what stood behind its last point is not known */
} Series;

typedef struct SeriesList {
    Series *items;
    uint32_t count, room;
    Repeats repeats; /* in the logs read, of the quantity; SI */
} SeriesList;

/* Adds the series of a job to `out`, everything in `a` (the job may go). `scratch` is used for
 * what is computed on the way. Entries of the logs in `skip` (by path) give no points: another job
 * that continues the same log has them already. */
typedef struct Paths {
    const Str *items;
    uint32_t count;
} Paths;
void series_of_job(const Job *j, const SeriesAsk *ask, Paths skip, Arena *a, Arena *scratch,
                   SeriesList *out);

/* What a log says its engine is: its serial, else "job NAME". */
Str series_engine(const Job *j, Arena *a);
/* Whether the quantity can be followed at all: a number, not a circumstance of its entry alone
 * unless it is of the engine. */
bool series_possible(const Vocab *v, TagId tag);
/* Whether a series of it is made of readings, not worked out from those of others. */
bool series_is_read(const Tag *tag);

#endif
