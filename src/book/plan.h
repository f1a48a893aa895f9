/*
 * Which readings are asked for, and in which order: the vocabulary's forms laid over the layout of
 * one job. The blank log, the paper form and the guided entry all go by the same plan, so that what
 * was written by hand is typed in the order it stands on the paper.
 */
#ifndef THOU_BOOK_PLAN_H
#define THOU_BOOK_PLAN_H

#include "base/err.h"
#include "compute/eval.h"

typedef struct PlanColumn {
    TagId tag;
    uint8_t spot;     /* SPOT_NONE: the bare value */
    const Unit *unit; /* what a number without a unit is in; NULL for words and placements */
    double at;        /* condition in SI; NAN without */
    Str at_text;      /* "1.720 in"; empty for a curve: where it is to be read is not known */
    Str head;         /* as a grid's head has it: "spring load lbf @ 1.720 in" */
} PlanColumn;

typedef struct PlanGrid {
    const Form *form; /* NULL: made for what was asked for */
    ClassId rows;
    Str title; /* "Heights"; for an entry's heading and a form's */
    PlanColumn *columns;
    uint32_t column_count, column_room;
    Str *labels; /* of its rows: "I1", "S31#4"; "" for the engine as a whole */
    SubjectId
        *places; /* in the order a person works; SUBJECT_NONE: an item that is not there yet */
    uint32_t row_count;
    bool *wanted;   /* [row * column_count + column]: the log lacks it, or it was asked for */
    bool *lacks;    /* likewise: the log lacks it */
    bool as_lines;  /* of the engine, a bank, a head: a line each and no grid */
    bool lacks_set; /* the rows are items, and no set of them is in use */
} PlanGrid;

typedef struct Plan {
    PlanGrid *grids;
    uint32_t count, room;
    Str *not_begun; /* forms left out, since the log has begun with others */
    uint32_t not_begun_count, not_begun_room;
    const Job *job; /* the log as it was read for the plan; its layout is made whole */
} Plan;

typedef struct PlanAsk {
    Str what;   /* "heights", "chamber, lash I", "spring load #1..14 @ 1.720 in"; empty: what is
                 * lacking
                 */
    Str set;    /* the set of the rows that are items; empty: the one in use in the log */
    bool blank; /* all cells of all forms, whatever the log has: for paper */
} PlanAsk;

/* Everything is in `a`. ERR_USAGE names a word of `what` that is neither a form, nor a quantity and
 * its places. Sources and vocabulary must outlive the plan. */
bool plan_make(const Vocab *v, const Source *log, const Door *door, const PlanAsk *ask, Arena *a,
               Plan *out, Err *err) __attribute__((warn_unused_result));

/* What a log that was changed meanwhile lacks of the plan's grids, as `lacks` has it: the same
 * questions put to it again. */
bool **plan_lacking(const Plan *plan, const Source *log, const Door *door, const PlanAsk *ask,
                    Arena *a);

/* What a cell is called in a log, left of the equals sign: "spring load S31#4 @ 1.720 in". */
Str plan_key(const Plan *p, const PlanGrid *g, uint32_t row, uint32_t column, Arena *a);

#endif
