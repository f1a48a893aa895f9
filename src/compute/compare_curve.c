/* Curves at equal conditions. */
#include "compute/compare_parts.h"

#include <math.h>
#include <stdlib.h>

typedef struct Condition {
    double at;
    uint8_t side;     /* whose reading states it, */
    uint32_t reading; /* that reading, */
    uint32_t order;   /* and when it was added */
} Condition;

typedef struct Conditions {
    Condition *items; /* when settled: by rising condition, each once */
    uint32_t count, room;
} Conditions;

/* Only what was read on the subject itself counts; a card's curve is no reading of it. */
static Curve own_curve(const Comparing *c, int side, TagId tag, SubjectId id) {
    Curve none = {.st = V_MISSING};
    if (id == SUBJECT_NONE || c->j[side]->subjects[id].cls != c->v->tags[tag].of) return none;
    if (state_reading(eval_state(c->e[side]), tag, id, UINT32_MAX) == NO_READING) return none;
    const Curve *curve = eval_curve(c->e[side], tag, eval_state(c->e[side])->index[id], F_TAG);
    return curve->job == c->j[side] && !(curve->st & V_NOMINAL) ? *curve : none;
}

static void add_condition(const Comparing *c, Conditions *list, double at, uint8_t side,
                          uint32_t reading) {
    arena_grow(c->a, list->items, list->count, list->room);
    list->items[list->count] = (Condition){at, side, reading, list->count};
    list->count++;
}

static int by_condition(const void *a, const void *b) {
    const Condition *x = a, *y = b;
    if (x->at != y->at) return x->at < y->at ? -1 : 1;
    return x->order < y->order ? -1 : x->order > y->order;
}

/* Sorts them; of the same condition the one that was added first stays. */
static void settle(Conditions *list) {
    uint32_t count = 0;
    if (list->count) qsort(list->items, list->count, sizeof *list->items, by_condition);
    for (uint32_t i = 0; i < list->count; i++) {
        Condition *last = count ? &list->items[count - 1] : NULL;
        if (!last || !same_condition(last->at, list->items[i].at))
            list->items[count++] = list->items[i];
        else if (list->items[i].order < last->order)
            *last = list->items[i];
    }
    list->count = count;
}

/* Among settled ones; NULL. */
static const Condition *find_condition(const Conditions *list, double at) {
    uint32_t low = 0, high = list->count;
    while (low < high) {
        uint32_t middle = low + (high - low) / 2;
        if (same_condition(list->items[middle].at, at)) return &list->items[middle];
        if (list->items[middle].at < at)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}

/* A curve moved to a single new point: that point alone was read. */
static void add_points(const Comparing *c, Conditions *list, uint8_t side, const Curve *curve) {
    if (curve->st & V_MISSING) return;
    if (curve->st & V_EXTENDED) {
        double at = c->j[side]->readings[curve->point].at;
        add_condition(c, list, at, side, curve->point);
        return;
    }
    for (uint32_t i = 0; i < curve->count; i++)
        add_condition(c, list, curve->points[i].at, side, curve->points[i].reading);
}

/* A doubted reading has no place on the curve; the row shows it all the same. */
static void add_doubted(const Comparing *c, Conditions *list, uint8_t side, TagId tag,
                        SubjectId id) {
    const Job *j = c->j[side];
    const State *s = eval_state(c->e[side]);
    if (id == SUBJECT_NONE) return;
    uint32_t i = state_reading(s, tag, id, UINT32_MAX);
    uint32_t entry = i == NO_READING ? 0 : reading_entry(j, &j->readings[i]);
    for (; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (reading_entry(j, r) != entry) break;
        if (!reading_counts(s, r) || !(r->flags & READ_SUSPECT)) continue;
        if (r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) continue;
        add_condition(c, list, r->at, side, i);
    }
}

static CompareSide doubted_side(const Comparing *c, int side, const Conditions *doubted,
                                double at) {
    const Condition *here = find_condition(doubted, at);
    if (!here) return (CompareSide){.value = NAN, .reading = NO_READING};
    const Reading *r = &c->j[side]->readings[here->reading];
    return (CompareSide){.there = true,
                         .value = r->value,
                         .reading = here->reading,
                         .st = V_READ | V_SUSPECT,
                         .words = reading_text(c->j[side], r)};
}

static CompareSide curve_side(const Comparing *c, int side, TagId tag, const Curve *curve,
                              const Conditions *doubted, double at) {
    CompareSide out = doubted_side(c, side, doubted, at);
    if (out.there || curve->st & V_MISSING) return out;
    const Point *point = curve->st & V_EXTENDED ? NULL : curve_point(curve, at);
    uint32_t reading = point ? point->reading : NO_READING;
    if (curve->st & V_EXTENDED && same_condition(c->j[side]->readings[curve->point].at, at))
        reading = curve->point;
    if (reading != NO_READING) {
        const Reading *r = &c->j[side]->readings[reading];
        return (CompareSide){.there = true,
                             .value = r->value,
                             .reading = reading,
                             .st = V_READ,
                             .words = reading_text(c->j[side], r)};
    }
    /* one new point with the shape of an older curve tells nothing more anywhere else */
    if (curve->st & V_EXTENDED) return out;
    uint8_t st = 0;
    double value = curve_at(curve, at, c->v->tags[tag].reach, &st);
    if (st & V_MISSING) return out;
    return (CompareSide){
        .there = true, .value = value, .reading = NO_READING, .st = st, .on_curve = true};
}

/* Whether both curves are the same readings: nothing was read again, also not in between. */
static bool one_curve(const Comparing *c, const Curve *a, const Curve *b) {
    if (c->j[0] != c->j[1] || a->count != b->count || a->st != b->st || a->shift != b->shift)
        return false;
    if (!a->count || !a->points || !b->points) return false; /* curves that are not there */
    return a->points[0].reading == b->points[0].reading;
}

void compare_curves(Comparing *c, TagId tag, const Pair *p) {
    Curve curve[2];
    Conditions list = {0}, doubted[2] = {{0}, {0}};
    for (uint8_t i = 2; i-- > 0;) {
        curve[i] = own_curve(c, i, tag, p->id[i]);
        add_points(c, &list, i, &curve[i]);
        add_doubted(c, &list, i, tag, p->id[i]);
        add_doubted(c, &doubted[i], i, tag, p->id[i]);
        settle(&doubted[i]);
    }
    settle(&list);
    bool again = !one_curve(c, &curve[0], &curve[1]);
    for (uint32_t i = 0; i < list.count; i++) {
        const Condition *at = &list.items[i];
        CompareRow *r = compare_row(c, COMPARE_READING, tag, p);
        r->has_at = true;
        r->at = at->at;
        r->at_side = at->side;
        r->at_reading = at->reading;
        for (int side = 0; side < 2; side++)
            r->side[side] = curve_side(c, side, tag, &curve[side], &doubted[side], at->at);
        compare_judge(c, r);
        bool left_out = r->how == COMPARE_ONLY_A && curve[1].st & V_EXTENDED;
        if (left_out || (!again && r->how == COMPARE_SAME)) r->how = COMPARE_NOT_AGAIN;
    }
}
