/*
 * A point that its own curve contradicts: ten, a hundred or 25.4 times what the points beside it
 * lead to. The set's check needs four alike; a dyno pull or one port on the bench has no others.
 */
#include "compute/check_parts.h"

#include <math.h>
#include <stdlib.h>

enum { POINTS_LEAST = 3, DENT_LEAST = 5 };
/* Parts off the line between neighbours: what is no bend of a curve, and what is. */
static const double DENT = .2, SMOOTH = .1;
/* How far, as a ratio, the slip may be missed: a curve bends. */
static const double BEND = 1.35;
static const double APART = 3; /* times beyond both neighbours: nothing less is a slip */

typedef struct CurvePoint {
    double at, value;
    uint32_t reading;
} CurvePoint;

typedef struct CurvePoints {
    CurvePoint *items;
    uint32_t count, room;
} CurvePoints;

static int by_condition(const void *pa, const void *pb) {
    const CurvePoint *a = pa, *b = pb;
    return (a->at > b->at) - (a->at < b->at);
}

/* The first reading of the entry before, and how many there are of this one. */
static uint32_t entry_before(const Job *j, uint32_t i, uint32_t *count) {
    uint32_t entry = reading_entry(j, &j->readings[i]);
    for (*count = 0; i != NO_READING && reading_entry(j, &j->readings[i]) == entry; ++*count)
        i = chain_prev(j, i);
    return i;
}

/* The undoubted points among the readings from i to the one before `until`. */
static void gather(const Check *c, uint32_t i, uint32_t until, CurvePoints *out) {
    const Job *j = c->job;
    out->count = 0;
    for (; i != until; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (!counts_here(c, i) || c->said[i]) continue;
        arena_grow(c->arena, out->items, out->count, out->room);
        out->items[out->count++] = (CurvePoint){r->at, r->value, i};
    }
}

static double straight(const CurvePoint *a, const CurvePoint *b, double at) {
    return a->value + (b->value - a->value) * (at - a->at) / (b->at - a->at);
}

/* Whether the value lies far beyond both, on the same side of nothing. */
static bool stands_out(double value, double a, double b) {
    if (value * a <= 0 || value * b <= 0) return false;
    double v = fabs(value), least = fmin(fabs(a), fabs(b)), most = fmax(fabs(a), fabs(b));
    return v * APART < least || v > most * APART;
}

static void judge_point(Check *c, const CurvePoints *p, uint32_t k) {
    bool first = k == 0, last = k + 1 == p->count;
    const CurvePoint *point = &p->items[k], *a = &p->items[first ? 1 : k - 1],
                     *b = &p->items[first  ? 2
                                    : last ? k - 2
                                           : k + 1];
    if (!stands_out(point->value, a->value, b->value)) return;
    double expected = straight(a, b, point->at);
    const char *slip = slip_between(point->value, expected / BEND, expected * BEND);
    if (!slip) return;
    const Job *j = c->job;
    const Reading *r = &j->readings[point->reading];
    doubt(c, UNIT_SLIP, point->reading,
          "%.*s @ %.*s = %.*s is about %s what the curve beside it leads to (%.*s): a slipped "
          "point, or another unit?",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_condition(c->arena, j, r, SYSTEM_NONE)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)), slip,
          STR_ARG(say_number(c->arena, say_unit(j, r->tag, SYSTEM_NONE), expected, true)));
}

/* How far a point is off the line between those beside it, as a part of that. */
static double off_line(const CurvePoints *p, uint32_t before, uint32_t k, uint32_t behind) {
    double expected = straight(&p->items[before], &p->items[behind], p->items[k].at);
    return expected == 0 ? INFINITY : fabs(p->items[k].value / expected - 1);
}

/* Whether the curve is smooth about point k once that is left out. */
static bool smooth_without(const CurvePoints *p, uint32_t k) {
    bool left = k < 2 || off_line(p, k - 2, k - 1, k + 1) <= SMOOTH;
    bool right = k + 2 >= p->count || off_line(p, k - 1, k + 1, k + 2) <= SMOOTH;
    return left && right;
}

/* `303` for 503 in a pull: no slip of a point, and a dent that the engine did not have. */
static void judge_dent(Check *c, const CurvePoints *p, uint32_t k) {
    const CurvePoint *point = &p->items[k];
    if (c->said[point->reading] || off_line(p, k - 1, k, k + 1) < DENT || !smooth_without(p, k))
        return;
    const Job *j = c->job;
    const Reading *r = &j->readings[point->reading];
    double expected = straight(&p->items[k - 1], &p->items[k + 1], point->at);
    doubt(c, SET_CONTRADICTS, point->reading,
          "%.*s @ %.*s = %.*s stands off the line between the points beside it (%.*s), and the "
          "curve is smooth without it; read it again, or accept it with a reason",
          STR_ARG(say_subject(c->arena, j, r->tag, r->subject)),
          STR_ARG(say_condition(c->arena, j, r, SYSTEM_NONE)),
          STR_ARG(say_reading(c->arena, j, r, SYSTEM_NONE, true)),
          STR_ARG(say_number(c->arena, say_unit(j, r->tag, SYSTEM_NONE), expected, true)));
}

/* Whether the conditions run one way when point `without` is left out (count: none is). */
static bool runs_one_way(const CurvePoints *p, uint32_t without) {
    double last = NAN, way = 0;
    for (uint32_t k = 0; k < p->count; k++) {
        if (k == without) continue;
        double step = p->items[k].at - last;
        if (!isnan(step) && step * way < 0) return false;
        if (!isnan(step) && step != 0) way = step;
        last = p->items[k].at;
    }
    return true;
}

/* The one point that breaks the order in which the others were written; count when there is none.
 */
static uint32_t out_of_order(const CurvePoints *p) {
    if (runs_one_way(p, p->count)) return p->count;
    double way = p->items[p->count - 1].at > p->items[0].at ? 1 : -1;
    for (uint32_t k = 1; k < p->count; k++) {
        if ((p->items[k].at - p->items[k - 1].at) * way > 0) continue;
        return runs_one_way(p, k) ? k : runs_one_way(p, k - 1) ? k - 1 : p->count;
    }
    return p->count;
}

/* `500` for 5500 in the first column of a pull. A row holds the points of several curves, and is
 * named once. */
static void judge_order(Check *c, const CurvePoints *p) {
    uint32_t k = p->count < DENT_LEAST ? p->count : out_of_order(p);
    if (k == p->count) return;
    const Job *j = c->job;
    const Reading *r = &j->readings[p->items[k].reading];
    c->said[p->items[k].reading] = 1;
    if (c->row_said == r->at_off || accepted(c, r->tag, r->subject)) return;
    c->row_said = r->at_off;
    const Tag *tag = &j->vocab->tags[r->tag];
    Finding *f = doubt_at(
        c, SET_CONTRADICTS, (Span){r->at_off, r->at_len},
        "%.*s stands out of the order of the other points of %.*s: a slip in its %.*s? Strike the "
        "row with x and write it again",
        STR_ARG(say_condition(c->arena, j, r, SYSTEM_NONE)), STR_ARG(tag->name),
        STR_ARG(tag->over_name));
    f->tag = tag->name;
}

/* Those between others first: one that slipped there leads the ends astray, and is left out. */
static void judge_curve(Check *c, CurvePoints *p) {
    qsort(p->items, p->count, sizeof *p->items, by_condition);
    for (uint32_t k = 1; k + 1 < p->count; k++)
        judge_point(c, p, k);
    uint32_t kept = 0;
    for (uint32_t k = 0; k < p->count; k++) {
        if (!c->said[p->items[k].reading]) p->items[kept++] = p->items[k];
    }
    p->count = kept;
    for (uint32_t k = 1; kept >= DENT_LEAST && k + 1 < kept; k++)
        judge_dent(c, p, k);
    if (kept < POINTS_LEAST) return;
    judge_point(c, p, 0);
    judge_point(c, p, kept - 1);
}

/* Most springs are read at two heights. */
static bool has_curves(const ChainRow *row) {
    return row->crowded || row->flags & (READ_STRUCK | READ_REPEATED | READ_REPLACED);
}

void check_curves(Check *c) {
    const Job *j = c->job;
    CurvePoints points = {0};
    for (uint32_t k = 0; k < j->chain->row_count; k++) {
        TagId tag = j->chain->tags[k];
        if (!j->vocab->tags[tag].has_curve || !has_curves(chain_row(j, tag))) continue;
        for (SubjectId id = 0; id < j->chain->subjects; id++) {
            uint32_t count;
            for (uint32_t i = chain_last(j, tag, id), next; i != NO_READING; i = next) {
                next = entry_before(j, i, &count);
                if (count < POINTS_LEAST) continue;
                gather(c, i, next, &points);
                judge_order(c, &points);
                gather(c, i, next, &points); /* without what that named */
                if (points.count >= POINTS_LEAST) judge_curve(c, &points);
            }
        }
    }
}
