/*
 * Curves: the good points of one item in one entry, newest first. A single new point takes the
 * shape of the curve before it. Straight between points; beyond the ends by a stated part of the
 * span.
 */
#include "compute/eval_parts.h"

#include <math.h>

enum { SORTED_MOST = 16 }; /* points of a curve that are put in their place one by one */

/* The good points of one entry, gathered; most of those that are looked at are not kept. */
typedef struct EntryPoints {
    Point few[SORTED_MOST]; /* by rising condition, until they are more */
    Point *many;
    uint32_t count, room, entry;
    bool doubted; /* a reading of that entry is */
} EntryPoints;

static const Point *points_of(const EntryPoints *p) {
    return p->count > SORTED_MOST ? p->many : p->few;
}

static void add_to_many(Arena *a, EntryPoints *to, Point p) {
    if (to->count == SORTED_MOST) {
        to->room = 2 * SORTED_MOST;
        to->many = arena_array(a, to->room, sizeof *to->many);
        memcpy(to->many, to->few, sizeof to->few);
    }
    arena_grow(a, to->many, to->count, to->room);
    to->many[to->count++] = p;
}

static void add_point(Arena *a, EntryPoints *to, Point p) {
    if (to->count >= SORTED_MOST) { /* see settle */
        add_to_many(a, to, p);
        return;
    }
    for (uint32_t i = 0; i < to->count; i++) {
        if (same_condition(to->few[i].at, p.at)) return; /* the newest of one condition counts */
    }
    uint32_t i = to->count++;
    for (; i > 0 && to->few[i - 1].at > p.at; i--)
        to->few[i] = to->few[i - 1];
    to->few[i] = p;
}

static int by_condition(const void *pa, const void *pb) {
    const Point *a = pa, *b = pb;
    if (!same_condition(a->at, b->at)) return a->at < b->at ? -1 : 1;
    return (a->reading < b->reading) - (a->reading > b->reading); /* the newest first */
}

/* A long curve is sorted when all of it is there: a dyno writes down thousands of points. */
static void settle(EntryPoints *p) {
    if (p->count <= SORTED_MOST) return;
    qsort(p->many, p->count, sizeof *p->many, by_condition);
    uint32_t kept = 1;
    for (uint32_t i = 1; i < p->count; i++) {
        if (!same_condition(p->many[kept - 1].at, p->many[i].at)) p->many[kept++] = p->many[i];
    }
    p->count = kept;
    if (kept <= SORTED_MOST) memcpy(p->few, p->many, kept * sizeof *p->few);
}

/* The good points of the entry that reading i is of. Returns the reading before that entry. */
static uint32_t gather(Arena *a, const Job *j, const State *s, uint32_t i, EntryPoints *out) {
    out->entry = reading_entry(j, &j->readings[i]);
    out->count = 0;
    out->doubted = false;
    for (; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (s && !reading_counts(s, r)) continue;
        if (reading_entry(j, r) != out->entry) break;
        if (r->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) continue;
        if (r->flags & READ_SUSPECT)
            out->doubted = true;
        else
            add_point(a, out, (Point){r->at, r->value, i});
    }
    settle(out);
    return i;
}

static Curve curve_of(Arena *a, const Job *j, const EntryPoints *p) {
    Curve c = {.job = j, .count = p->count, .entry = p->entry};
    c.points = arena_array(a, p->count, sizeof *c.points);
    memcpy(c.points, points_of(p), p->count * sizeof *c.points);
    return c;
}

/* A chain may end in struck readings of another entry: find where the next good entry starts. */
static uint32_t next_counting(const Job *j, const State *s, uint32_t i) {
    for (; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (s && !reading_counts(s, r)) continue;
        if (!(r->flags & (READ_STRUCK | READ_REPLACED))) break;
    }
    return i;
}

static Curve missing_curve(uint8_t st) {
    return (Curve){.st = V_MISSING | st, .entry = UINT32_MAX};
}

/* The newest curve with a shape before reading i, carried to the one new point. */
static Curve shifted_to(Arena *a, const Job *j, const State *s, uint32_t i, const Curve *now) {
    EntryPoints found;
    while ((i = next_counting(j, s, i)) != NO_READING) {
        i = gather(a, j, s, i, &found);
        if (found.count < 2) continue;
        Curve old = curve_of(a, j, &found);
        uint8_t st = 0;
        double was = curve_at(&old, now->points[0].at, INFINITY, &st);
        old.shift = now->points[0].value - was;
        old.point = now->points[0].reading;
        old.entry = now->entry;
        old.st |= V_EXTENDED | V_CARRIED;
        return old;
    }
    return *now; /* one point: good at its own condition only */
}

/* The newest curve at or before reading i. */
static Curve newest(Arena *a, const Job *j, const State *s, uint32_t i) {
    EntryPoints found;
    i = next_counting(j, s, i);
    if (i == NO_READING) return missing_curve(0);
    i = gather(a, j, s, i, &found);
    if (found.count == 0) return missing_curve(found.doubted ? V_SUSPECT : 0);
    Curve now = curve_of(a, j, &found);
    return now.count >= 2 ? now : shifted_to(a, j, s, i, &now);
}

/* The first curve ever read, and how many entries have read one. */
static Curve earliest_of(Arena *a, const Job *j, const State *s, uint32_t i, uint32_t *curves) {
    EntryPoints both[2], *found = &both[0], *first = &both[1];
    first->count = 0;
    *curves = 0;
    while ((i = next_counting(j, s, i)) != NO_READING) {
        i = gather(a, j, s, i, found);
        if (found->count < 1) continue;
        ++*curves;
        if (found->count < 2 && first->count >= 2) continue;
        EntryPoints *older = found;
        found = first;
        first = older;
    }
    return curve_of(a, j, first);
}

/* Where the oldest entry with a good point begins, and how many entries have one. */
static uint32_t oldest_entry(const Job *j, const State *s, uint32_t i, uint32_t *entries) {
    uint32_t start = NO_READING, entry = UINT32_MAX;
    *entries = 0;
    for (; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if ((s && !reading_counts(s, r)) || r->flags & (READ_BAD | READ_REPEATED)) continue;
        if (reading_entry(j, r) == entry) continue;
        entry = reading_entry(j, r);
        start = i;
        ++*entries;
    }
    return start;
}

/* The first curve ever read, when a later entry has read the thing again. Mostly it is that of the
 * oldest entry, and those between need not be gathered. */
static Curve earliest(Arena *a, const Job *j, const State *s, uint32_t i) {
    uint32_t curves, start = oldest_entry(j, s, i, &curves);
    if (curves < 2) return missing_curve(0);
    Curve first = earliest_of(a, j, s, start, &curves);
    if (first.count < 2) first = earliest_of(a, j, s, i, &curves);
    return first;
}

static Curve before_newest(Arena *a, const Job *j, const State *s, uint32_t i) {
    EntryPoints passed;
    i = next_counting(j, s, i);
    if (i == NO_READING) return missing_curve(0);
    return newest(a, j, s, gather(a, j, s, i, &passed));
}

static Curve pick(Arena *a, const Job *j, const State *s, uint32_t i, FormulaKind which) {
    if (i == NO_READING) return missing_curve(0);
    if (which == F_FIRST) return earliest(a, j, s, i);
    if (which == F_PREVIOUS) return before_newest(a, j, s, i);
    return newest(a, j, s, i);
}

static Curve find_curve(Eval *e, TagId tag, uint32_t i, FormulaKind which) {
    const Tag *t = &e->v->tags[tag];
    const Job *j = e->job;
    SubjectId id = class_subject(e, t->of, i);
    if (j->chain->row[tag] != CHAIN_NO_ROW) {
        uint32_t reading = own_reading(e, tag, id, UINT32_MAX);
        if (reading != NO_READING) {
            SubjectId on = j->readings[reading].subject;
            return pick(e->arena, j, e->state, chain_last(j, tag, on), which);
        }
        for (SubjectId at = state_up(e->state, id); at != SUBJECT_NONE;
             at = state_up(e->state, at)) {
            reading = own_reading(e, tag, at, UINT32_MAX);
            if (reading != NO_READING)
                return pick(e->arena, j, e->state, chain_last(j, tag, j->readings[reading].subject),
                            which);
            if (at == SUBJECT_ENGINE) break;
        }
        SubjectId set = j->subjects[id].kind == SUBJECT_ITEM ? j->subjects[id].up : SUBJECT_NONE;
        if (set != SUBJECT_NONE && chain_last(j, tag, set) != NO_READING)
            return pick(e->arena, j, e->state, chain_last(j, tag, set), which);
    }
    const Job *card;
    if (which != F_TAG || !j->card_count || !card_reading(e, tag, id, &card, &i))
        return missing_curve(0);
    Curve c = newest(e->arena, card, NULL, chain_last(card, tag, SUBJECT_ENGINE));
    c.st |= V_NOMINAL;
    return c;
}

/* The last reading of the first entry that holds any, where a later one holds some, too. */
static uint32_t first_entry_end(const Job *j, uint32_t last) {
    uint32_t end = last;
    for (uint32_t i = chain_prev(j, last); i != NO_READING; i = chain_prev(j, i)) {
        if (j->readings[i].entry != j->readings[end].entry) end = i;
    }
    return end == last ? NO_READING : end;
}

/* Makes the curve of an entry that has read two points; `last` is the later of them. */
static void make_straight(const Job *j, uint32_t last, Curve *c, Point points[2]) {
    const Reading *all = j->readings, *late = &all[last];
    uint32_t first = chain_prev(j, last);
    if (first == NO_READING) return;
    const Reading *early = &all[first];
    uint32_t before = chain_prev(j, first);
    if (early->entry != late->entry || same_condition(early->at, late->at) ||
        (before != NO_READING && all[before].entry == late->entry))
        return;
    bool falls = early->at > late->at;
    points[falls] = (Point){early->at, early->value, first};
    points[!falls] = (Point){late->at, late->value, last};
    *c = (Curve){.job = j, .points = points, .count = 2, .entry = late->entry};
}

/* Makes the curves that are no more than two readings of one entry, as nearly all are, and leaves
 * the others to eval_curve. */
static void make_plain_curves(const Eval *e, TagId tag, FormulaKind which, Curve *curves) {
    const Job *j = e->job;
    if (which == F_PREVIOUS || j->chain->row[tag] == CHAIN_NO_ROW) return;
    const ChainRow *row = chain_row(j, tag);
    if (!counts_plainly(e, row)) return;
    ClassId of = e->v->tags[tag].of;
    uint32_t n = class_count(e, of);
    Point *points = arena_bare_array(e->arena, (size_t)n * 2, sizeof *points);
    for (uint32_t i = 0; i < n; i++) {
        uint32_t last = chain_last(j, tag, class_subject(e, of, i));
        if (last != NO_READING && which == F_FIRST) last = first_entry_end(j, last);
        if (last != NO_READING) make_straight(j, last, &curves[i], points + (size_t)i * 2);
    }
}

static KnownCurves *curves_of(Eval *e, TagId tag) {
    for (uint32_t i = 0; i < e->curve_count; i++)
        if (e->curves[i].tag == tag) return &e->curves[i];
    arena_grow(e->arena, e->curves, e->curve_count, e->curve_room);
    KnownCurves *new = &e->curves[e->curve_count++];
    *new = (KnownCurves){.tag = tag};
    return new;
}

Curve *known_curves(Eval *e, TagId tag, FormulaKind which) {
    KnownCurves *known = curves_of(e, tag);
    Curve **curves = which == F_FIRST      ? &known->first
                     : which == F_PREVIOUS ? &known->previous
                                           : &known->now;
    if (!*curves) {
        *curves = arena_array(e->arena, class_count(e, e->v->tags[tag].of), sizeof **curves);
        make_plain_curves(e, tag, which, *curves);
    }
    return *curves;
}

const Curve *eval_curve(Eval *e, TagId tag, uint32_t i, FormulaKind which) {
    Curve *c = &known_curves(e, tag, which)[i];
    if (!curve_is_known(c)) *c = find_curve(e, tag, i, which);
    return c;
}

Curve curve_as_of(const Job *j, uint32_t *i, Arena *a) {
    EntryPoints now;
    uint32_t from = *i;
    *i = gather(a, j, NULL, from, &now);
    if (now.count == 0) return missing_curve(now.doubted ? V_SUSPECT : 0);
    return now.count >= 2 ? curve_of(a, j, &now) : newest(a, j, NULL, from);
}

/* The first point at or above a condition; count when there is none. */
static uint32_t point_from(const Curve *c, double at) {
    uint32_t low = 0, high = c->count;
    while (low < high) {
        uint32_t mid = low + (high - low) / 2;
        if (c->points[mid].at < at && !same_condition(c->points[mid].at, at))
            low = mid + 1;
        else
            high = mid;
    }
    return low;
}

const Point *curve_point(const Curve *c, double at) {
    uint32_t i = point_from(c, at);
    return i < c->count && same_condition(c->points[i].at, at) ? &c->points[i] : NULL;
}

double curve_slope(const Curve *c, uint8_t *st) {
    *st |= c->st;
    if (c->count < 2) {
        *st |= V_MISSING;
        return NAN;
    }
    const Point *a = &c->points[0], *z = &c->points[c->count - 1];
    return (z->value - a->value) / (z->at - a->at);
}

double curve_at(const Curve *c, double at, double reach, uint8_t *st) {
    *st |= c->st;
    if (c->st & V_MISSING) return NAN;
    if (c->count == 1 && same_condition(c->points[0].at, at)) return c->points[0].value + c->shift;
    if (c->count < 2 || isnan(at)) {
        *st |= V_MISSING;
        return NAN;
    }
    double low = c->points[0].at, high = c->points[c->count - 1].at, span = high - low;
    double slack = 1e-9 * (fabs(low) + fabs(high));
    if (at < low - slack || at > high + slack) {
        if (at < low - reach * span - slack || at > high + reach * span + slack) {
            *st |= V_MISSING;
            return NAN;
        }
        *st |= V_EXTENDED;
    }
    uint32_t i = c->count == 2 ? 1 : point_from(c, at);
    if (i == 0) i = 1;
    if (i == c->count) i--;
    return point_between(&c->points[i - 1], &c->points[i], at) + c->shift;
}

double curve_where(const Curve *c, double value, double reach, uint8_t *st) {
    *st |= c->st;
    if ((c->st & V_MISSING) || c->count < 2 || isnan(value)) {
        *st |= V_MISSING;
        return NAN;
    }
    double want = value - c->shift, span = c->points[c->count - 1].at - c->points[0].at;
    for (uint32_t i = 1; i < c->count; i++) {
        const Point *a = &c->points[i - 1], *b = &c->points[i];
        if ((want - a->value) * (want - b->value) > 0 || a->value == b->value) continue;
        return a->at + (b->at - a->at) * ((want - a->value) / (b->value - a->value));
    }
    for (int end = 0; end < 2; end++) {
        const Point *a = end ? &c->points[c->count - 2] : &c->points[0];
        const Point *b = end ? &c->points[c->count - 1] : &c->points[1];
        if (a->value == b->value) continue;
        double at = a->at + (b->at - a->at) * ((want - a->value) / (b->value - a->value));
        double over = end ? at - b->at : a->at - at;
        if (over < 0 || over > reach * span * (1 + 1e-9)) continue;
        *st |= V_EXTENDED;
        return at;
    }
    *st |= V_MISSING;
    return NAN;
}
