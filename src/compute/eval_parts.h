/* What the eval_*.c files share. Nobody else includes this. */
#ifndef THOU_COMPUTE_EVAL_PARTS_H
#define THOU_COMPUTE_EVAL_PARTS_H

#include "compute/eval.h"

#include <math.h>

/* A curve as it is, as it first was, as it was before: each is asked for by several formulas. */
typedef struct KnownCurves {
    TagId tag;
    Curve *now, *first, *previous; /* per position */
} KnownCurves;

/* The positions in one class that belong to those of another. Of all pairs of classes a log asks
 * for few. */
typedef struct ClassMap {
    const struct ClassMap *next;
    const uint32_t *positions;
    ClassId from, to;
} ClassMap;

/* Whether a tag can have a value: see eval_possible.c. */
enum { POSSIBLE_UNKNOWN, POSSIBLE, POSSIBLE_NOT, POSSIBLE_ASKED };

struct Eval {
    const Job *job;
    const Vocab *v;
    const State *state;
    Arena *arena;
    const Col **cols;     /* per tag */
    const Col **computed; /* per tag: formula alone */
    KnownCurves *curves;  /* of the few tags whose curves were asked for */
    uint32_t curve_count, curve_room;
    bool *busy;        /* per tag: being worked out; a cycle through data is missing, not a hang */
    uint8_t *possible; /* per tag; its own, or those of PossibleSeen */
    TagId *blame;      /* per tag that is not possible: what is not there */
    const ClassMap *maps; /* made when asked for; see eval_related */
    bool judges_all;      /* a limit of a card or of the shop is said to be unjudged, too */
};

Col *col_new(Eval *e, ClassId c);                 /* all missing */
Col *col_absent(Eval *e, ClassId c, TagId blame); /* the same for good: see Col */
Col *col_whole(Eval *e, ClassId c);               /* none missing: to be given values */
/* Finds out what is known of any, when every position has been given its value. */
Col *col_settle(Col *c);
static inline bool col_is_whole(const Col *c) { /* none is missing */
    return !(c->any & V_MISSING);
}
static inline bool col_is_sound(const Col *c) { /* nor has a doubt that it would hand on */
    return !(c->any & (V_MISSING | V_DOUBTS));
}
const uint32_t *class_map_make(Eval *e, ClassId from, ClassId to); /* of two classes */
void class_map_keep(Eval *e, ClassId from, ClassId to, const uint32_t *positions);
/* NULL: the same class, position for position. */
static inline const uint32_t *class_map(Eval *e, ClassId from, ClassId to) {
    if (from == to) return NULL;
    for (const ClassMap *m = e->maps; m; m = m->next) {
        if (m->from == from && m->to == to) return m->positions;
    }
    return class_map_make(e, from, to);
}
const Col *formula_column(Eval *e, const Formula *f);
/* A node as an operand: of a name it may be that tag's own column, whose values say where they were
 * read. */
const Col *operand(Eval *e, const Formula *f);
/* The same as own_reading, where a head may sit at the place, or of entries before this one. */
uint32_t reading_there(const Eval *e, TagId tag, SubjectId id, uint32_t before);
/* A value from a card in force at the subject; false when no card has it. */
bool card_reading(Eval *e, TagId tag, SubjectId id, const Job **card, uint32_t *reading);
/* The curves of a tag by position: each is made by eval_curve when it is asked for. */
Curve *known_curves(Eval *e, TagId tag, FormulaKind which);
static inline bool curve_is_known(const Curve *c) { /* without points it is missing */
    return c->count || c->st;
}
static inline double point_between(const Point *a, const Point *b, double at) {
    return a->value + (b->value - a->value) * ((at - a->at) / (b->at - a->at));
}
void possible_start(Eval *e, PossibleSeen *seen); /* which may be NULL */
void possible_find(Eval *e, TagId tag);           /* of one that is unknown */
bool formula_possible(Eval *e, const Formula *f);

/* eval_leaf.c: a column of a node that ends a formula (a curve's holds its condition still) */
const Col *column_tag(Eval *e, const Formula *f);
const Col *column_curve(Eval *e, const Formula *f);
const Col *column_past(Eval *e, const Formula *f);
const Col *column_when(Eval *e, const Formula *f);
const Col *column_lost(Eval *e, const Formula *f);
const Col *column_fitted(Eval *e, const Formula *f);
const Col *column_aim(Eval *e, const Formula *f);
const Col *column_spot(Eval *e, const Formula *f);

/* These stand on the hottest paths. */

static inline uint32_t class_count(const Eval *e, ClassId c) {
    return e->job->classes[c].count;
}

static inline SubjectId class_subject(const Eval *e, ClassId c, uint32_t i) {
    return e->job->classes[c].ids[i];
}

/* The reading of a tag on a subject itself, or on the place of a head that sits there. */
static inline uint32_t own_reading(const Eval *e, TagId tag, SubjectId id, uint32_t before) {
    if (before != UINT32_MAX || e->state->carried) return reading_there(e, tag, id, before);
    return state_last(e->state, tag, id);
}

/* Whether each reading of a tag counts as it stands and where it stands: none of them is in doubt,
 * of a spot, superseded or read at a head. */
static inline bool counts_plainly(const Eval *e, const ChainRow *row) {
    return !e->state->in && !e->state->carried && !e->job->has_corrections &&
           !(row->flags & (READ_BAD | READ_REPEATED | READ_SPOT));
}

/* Whether the tag can have a value anywhere, by the names the log and its cards use. */
static inline bool tag_possible(Eval *e, TagId tag) {
    if (e->possible[tag] == POSSIBLE_UNKNOWN) possible_find(e, tag);
    return e->possible[tag] == POSSIBLE;
}

static inline void set_missing(Col *c, uint32_t i, TagId blame) {
    c->st[i] = V_MISSING;
    c->from[i] = blame;
}

static inline uint8_t doubts(uint8_t st) {
    return st & V_DOUBTS;
}

static inline void col_put(Col *c, uint32_t i, double v, uint8_t st, TagId blame) {
    if (!isfinite(v)) {
        set_missing(c, i, blame);
        return;
    }
    c->v[i] = v;
    c->st[i] = st;
    c->from[i] = 0; /* it may have been called missing before */
}

static inline void col_put_missing(Col *c, uint32_t i, const Col *because, uint32_t at,
                                   TagId fallback) {
    c->st[i] = V_MISSING | (because->st[at] & V_SUSPECT);
    c->from[i] = because->st[at] & V_SUSPECT ? fallback : because->from[at];
}

#endif
