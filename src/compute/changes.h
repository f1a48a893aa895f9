/*
 * What changed from one version of a log to the next, reading by reading: added, taken out, written
 * over, struck, doubted, moved to another entry. Notes, titles, remarks and the order of lines do
 * not count. (What differs between two states of engines is compute/compare.h.)
 */
#ifndef THOU_COMPUTE_CHANGES_H
#define THOU_COMPUTE_CHANGES_H

#include "compute/chain.h"

typedef enum SaidKind {
    SAID_READING, /* a number that was read */
    SAID_FACT,    /* words, a choice, a date, a stock */
    SAID_PLACED,  /* an item at a place */
    SAID_RULE,    /* any other line: a limit, an aim, an acceptance, a gauge, what was scrapped */
} SaidKind;

#define SAID_NONE UINT32_MAX

typedef struct Said { /* one thing that a log says; its texts are the log's own */
    SaidKind kind;
    TagId tag;        /* TAG_NONE: of a rule */
    Str subject;      /* empty for the engine as a whole */
    Str head;         /* of a rule: what stands before its ` = ` */
    Str text;         /* the value as written, without unit */
    Str condition;    /* as written, without unit; a spot's name */
    double value, at; /* SI; NAN without */
    const Unit *unit, *at_unit;
    Date date;         /* of its entry; day DAY_NONE before the first heading */
    uint16_t flags;    /* READ_SUSPECT, READ_STRUCK: as the person wrote it */
    uint32_t off;      /* where the value stands in the log */
    uint32_t replaces; /* the earlier one in the same list that no longer counts because of it */
    bool again;        /* `replaces` is of the same entry: it was read again, or struck */
} Said;

typedef struct SaidList {
    Said *items; /* in the order of the file */
    uint32_t count;
} SaidList;

/* All that the log itself says, without what it continues. Subjects' names are in `a`; the other
 * texts point into the log's source, which must live as long. */
SaidList said_by(const Job *j, Arena *a);

typedef enum ChangeKind {
    CHANGE_ADDED,
    CHANGE_REMOVED,
    CHANGE_VALUE,     /* written over with another value */
    CHANGE_CONDITION, /* the same value at another condition */
    CHANGE_STATE,     /* struck or doubted since, or no longer */
    CHANGE_MOVED,     /* to another entry */
    CHANGE_KINDS,
} ChangeKind;

typedef struct Change {
    ChangeKind kind;
    uint32_t was, now; /* indices of the two lists; SAID_NONE */
} Change;

typedef struct Changes {
    Change *items; /* what `now` has, in its order; then what was taken out */
    uint32_t count;
    uint32_t *was; /* per item of `now`: its index in `old`, or SAID_NONE */
} Changes;

Changes changes_between(const SaidList *old, const SaidList *now, Arena *a);

/* "bind height I3", "spring load S31#3 @ 1.720 in", "limit seat load". */
Str said_name(const Vocab *v, const Said *s, Arena *a);
/* "1.142 in", "189 lbf ?", "x 2.732 in"; without the unit: "1.142". */
Str said_value(const Said *s, bool with_unit, Arena *a);

#endif
