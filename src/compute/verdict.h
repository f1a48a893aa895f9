/*
 * Limits against values: every limit in force, each author on its own. A difference of less than a
 * thousandth of the last shown place is equality, and equality holds.
 */
#ifndef THOU_COMPUTE_VERDICT_H
#define THOU_COMPUTE_VERDICT_H

#include "compute/eval.h"

typedef enum VerdictKind {
    VERDICT_HOLDS,
    VERDICT_NOMINAL, /* holds, but by the card's value: nothing was measured */
    VERDICT_SO_FAR,  /* holds for the members there are */
    VERDICT_BROKEN,
    VERDICT_UNJUDGED, /* the value is missing; see `missing` */
} VerdictKind;

typedef struct Verdict {
    const Force *force;
    SubjectId subject;
    VerdictKind kind;
    double value;  /* SI */
    double margin; /* SI: distance to the nearer bound; negative when broken; 0 when equal */
    double bound;  /* SI: that bound */
    uint8_t st;    /* V_... of the value */
    TagId missing; /* VERDICT_UNJUDGED: what is not there */
    bool alone;    /* of the card's part alone, where items of other parts share the place */
    const Force *accepted; /* the acceptance that lets it stand, or NULL */
} Verdict;

typedef struct Verdicts {
    Verdict *items; /* by force, then subject in the order of its class */
    uint32_t count, room;
} Verdicts;

/* All verdicts of the state. A limit of a card or of the shop on a place where its value is missing
 * gives no verdict; one that the log itself states gives VERDICT_UNJUDGED. */
Verdicts verdicts_of(Eval *e, Arena *a);
/* Whether a limit is one for this subject: of what it is on, its letter, the part in use; a
 * standing limit of the shop gives way to the one its author states in the log. */
bool force_applies(const Eval *e, const Force *f, SubjectId id);
/* Whether it is a limit of the shop that gives way: its author states another in the log, or none.
 */
bool force_restated(const Eval *e, const Force *f, SubjectId id);
/* Values of a tag that differ by less are equal: SI, a thousandth of its last shown place. */
double equal_within(const Tag *tag);
/* One range against one value: margin and bound, both SI; the margin is 0 when they are equal. */
double range_margin(const Tag *tag, const Range *range, double value, double *bound);

#endif
