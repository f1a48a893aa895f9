/*
 * Two states of engines, reading by reading: of one log at two days or stages, of two versions of a
 * log, of two jobs. What was read on the same thing is compared: a place with the place of that
 * name, an item with the item of that number wherever it sits by now. Where the other state has no
 * such item, what sits at the same place is taken, and the row says so.
 *
 * Curves are compared at equal conditions. Where one state was not read at a condition, its own
 * curve is asked there, no further than the vocabulary lets it reach; a row with no reading at
 * either end is never made.
 */
#ifndef THOU_COMPUTE_COMPARE_H
#define THOU_COMPUTE_COMPARE_H

#include "compute/eval.h"

typedef enum CompareKind {
    COMPARE_READING,
    COMPARE_COMPUTED, /* worked out in at least one of them */
    COMPARE_FACT,     /* words, a choice, a date, a stock */
    COMPARE_PLACED,   /* what sits at a place */
} CompareKind;

typedef enum CompareHow {
    COMPARE_SAME, /* read in both, to the same value */
    COMPARE_CHANGED,
    COMPARE_DOUBTED, /* one of them is doubted: nothing is worked out from it */
    COMPARE_ONLY_A,
    COMPARE_ONLY_B,
    COMPARE_NOT_AGAIN, /* it is one and the same reading: B did not read it again */
} CompareHow;

typedef struct CompareSide {
    bool there;
    double value;     /* SI; NAN for words */
    uint32_t reading; /* in the job of that side; NO_READING where it was worked out */
    uint8_t st;       /* V_... */
    bool on_curve;    /* taken from the curve of its own readings */
    Str words;        /* of a fact, a choice */
} CompareSide;

typedef struct CompareRow {
    CompareKind kind;
    CompareHow how;
    TagId tag;
    ClassId cls;          /* of the subject */
    SubjectId subject[2]; /* of A and B; SUBJECT_NONE where that job has none such */
    SubjectId place[2];   /* of an item: where it sits; SUBJECT_NONE */
    bool by_place;        /* two items that only share a place */
    bool has_at;
    double at;           /* SI, or a spot's index */
    uint8_t at_side;     /* the side whose reading states the condition, */
    uint32_t at_reading; /* and that reading */
    CompareSide side[2];
    double difference; /* B less A, SI; NAN without */
    double part;       /* of A; NAN where that means nothing (A is 0, a temperature) */
} CompareRow;

typedef struct Compare {
    CompareRow *rows; /* by class in the order of the vocabulary, subject, then tag */
    uint32_t count, room;
} Compare;

/* Both must be of one vocabulary; they may be of one job. */
Compare compare_states(Eval *a, Eval *b, Arena *arena);

#endif
