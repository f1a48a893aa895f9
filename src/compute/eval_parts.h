/* What the eval_*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_EVAL_PARTS_H
#define THOU_COMPUTE_EVAL_PARTS_H

#include "compute/eval.h"

/* A curve as it is, as it first was, as it was before: each is asked for by several formulas. */
typedef struct KnownCurves {
    const Curve *now, *first, *previous; /* NULL until made */
} KnownCurves;

struct Eval {
    const Job *job;
    const Vocab *v;
    const State *state;
    Arena *arena;
    Col **cols;           /* per tag */
    const Col **computed; /* per tag: formula alone */
    KnownCurves **curves; /* per tag that is one: per position */
    bool *busy;        /* per tag: being worked out; a cycle through data is missing, not a hang */
    uint8_t *possible; /* per tag: see eval_possible.c */
    TagId *blame;      /* per tag that is not possible: what is not there */
    uint32_t *maps[CLASS_MOST][CLASS_MOST]; /* made when asked for; see eval_related */
    bool map_made[CLASS_MOST][CLASS_MOST];
    bool judges_all; /* a limit of a card or of the shop is said to be unjudged, too */
};

Col *col_new(Eval *e, ClassId c);   /* all missing */
Col *col_sound(Eval *e, ClassId c); /* none missing: to be given values */
/* Finds out whether it is sound, when every position has been settled. */
void col_settle(Col *c);
/* NULL: the same class, position for position. */
const uint32_t *class_map(Eval *e, ClassId from, ClassId to);
const Col *formula_column(Eval *e, const Formula *f);
/* The reading of a tag on position i's subject itself, or on the place of a head that sits there.
 */
uint32_t own_reading(const Eval *e, TagId tag, SubjectId id, uint32_t before);
/* A value from a card in force at the subject; false when no card has it. */
bool card_reading(Eval *e, TagId tag, SubjectId id, const Job **card, uint32_t *reading);
/* Whether the tag can have a value anywhere, by the names the log and its cards use. */
bool tag_possible(Eval *e, TagId tag);
bool formula_possible(Eval *e, const Formula *f);

/* These stand on the hottest paths. */

static inline uint32_t class_count(const Eval *e, ClassId c) {
    return e->job->classes[c].count;
}

static inline SubjectId class_subject(const Eval *e, ClassId c, uint32_t i) {
    return e->job->classes[c].ids[i];
}

static inline void set_missing(Col *c, uint32_t i, TagId blame) {
    c->st[i] = V_MISSING;
    c->from[i] = blame;
}

#endif
