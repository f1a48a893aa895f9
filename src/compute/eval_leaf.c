/* What formulas end in: names, curves, the past of a reading, aims and spots, a column each. */
#include "compute/eval_parts.h"
#include "compute/fitted.h"
#include "compute/lost.h"

#include <math.h>

/* No such head or bank was declared: what was said of all of them on the engine counts. */
static void engine_wide(const Eval *e, Col *c, uint32_t i, TagId tag) {
    set_missing(c, i, tag);
    ClassKind kind = e->v->classes[e->v->tags[tag].of].kind;
    if (kind != CLASS_CARRIER && kind != CLASS_BANK) return;
    uint32_t r = state_reading(e->state, tag, SUBJECT_ENGINE, UINT32_MAX);
    if (r == NO_READING) return;
    if (e->job->readings[r].flags & READ_SUSPECT)
        c->st[i] |= V_SUSPECT;
    else
        col_put(c, i, e->job->readings[r].value, 0, tag);
}

/* The tag's own column where it is asked for on its own class, as an operand may be, unless it
 * holds what is in doubt: then the name is to blame, and not the reading. */
const Col *column_tag(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    const Col *from = eval_tag(e, f->tag);
    if (!map && !(from->any & V_SUSPECT)) return from;
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        if (at == UINT32_MAX) {
            engine_wide(e, c, i, f->tag);
        } else if (from->st[at] & V_MISSING) {
            col_put_missing(c, i, from, at, f->tag);
        } else {
            c->v[i] = from->v[at];
            c->st[i] = doubts(from->st[at]);
        }
    }
    return col_settle(c);
}

/* ---- curves ---------------------------------------------------------------------------------- */

/* How the curve that a node asks about is read there. */
static double on_curve(const Formula *f, const Curve *c, double where, double reach, uint8_t *st) {
    switch (f->kind) {
    case F_SLOPE: return curve_slope(c, st);
    case F_WHERE: return curve_where(c, where, reach, st);
    default: return curve_at(c, where, reach, st);
    }
}

/* A straight curve's value at x: between its ends, where most are asked for, there is nothing to
 * find out. */
static inline double straight_at(const Curve *c, double x, double reach, uint8_t *st) {
    const Point *p = c->points;
    bool between = x >= p[0].at && x <= p[1].at;
    return between ? point_between(&p[0], &p[1], x) + c->shift : curve_at(c, x, reach, st);
}

/* Reads straight curves, up to the first position that has another, or no value. Returns that. */
static uint32_t read_straight(const uint32_t *map, const Col *where, const Curve *curves,
                              double reach, Col *c) {
    uint32_t i = 0;
    for (; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        if (at == UINT32_MAX || curves[at].count != 2 || curves[at].st) break;
        uint8_t st = 0;
        double v = straight_at(&curves[at], where->v[i], reach, &st);
        if (st & V_MISSING || !isfinite(v)) break;
        c->v[i] = v;
        c->st[i] = st;
    }
    return i;
}

const Col *column_curve(Eval *e, const Formula *f) {
    static const Curve none = {.st = V_MISSING};
    const Formula *ref = f->a;
    const Tag *tag = &e->v->tags[ref->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    const Col *b = f->b ? operand(e, f->b) : NULL;
    const Curve *curves = known_curves(e, ref->tag, ref->kind);
    Col *c = col_new(e, f->context);
    uint32_t i = 0;
    if (b && f->kind == F_AT && col_is_sound(b)) i = read_straight(map, b, curves, tag->reach, c);
    for (; i < c->n; i++) {
        if (b && (b->st[i] & V_MISSING)) {
            col_put_missing(c, i, b, i, ref->tag);
            continue;
        }
        uint32_t at = map ? map[i] : i;
        const Curve *curve = at == UINT32_MAX              ? &none
                             : curve_is_known(&curves[at]) ? &curves[at]
                                                           : eval_curve(e, ref->tag, at, ref->kind);
        uint8_t st = b ? doubts(b->st[i]) : 0;
        double v = on_curve(f, curve, b ? b->v[i] : 0, tag->reach, &st);
        if (st & V_MISSING) {
            set_missing(c, i, ref->tag);
            c->st[i] |= st & V_SUSPECT;
        } else {
            col_put(c, i, v, doubts(st), ref->tag);
        }
    }
    return col_settle(c);
}

/* ---- the past -------------------------------------------------------------------------------- */

static bool good(const Reading *r) {
    return !(r->flags & (READ_BAD | READ_REPEATED));
}

/* The reading that first, previous or read NAME means on a subject; NO_READING. */
static uint32_t find_past(const Eval *e, FormulaKind kind, TagId tag, SubjectId id) {
    const Job *j = e->job;
    uint32_t newest = own_reading(e, tag, id, UINT32_MAX), first = NO_READING;
    if (newest == NO_READING) return NO_READING;
    uint32_t entry = reading_entry(j, &j->readings[newest]);
    for (uint32_t i = newest; i != NO_READING; i = chain_prev(j, i)) {
        const Reading *r = &j->readings[i];
        if (!good(r) || !reading_counts(e->state, r)) continue;
        if (kind == F_READ) return i;
        if (reading_entry(j, r) == entry) continue;
        if (kind == F_PREVIOUS) return i;
        first = i;
    }
    return first;
}

/* The first of the readings that end in this one, if it is of an earlier entry. */
static uint32_t first_before(const Job *j, uint32_t last) {
    uint32_t first = last;
    for (uint32_t i = last; i != NO_READING; i = chain_prev(j, i))
        first = i;
    return j->readings[first].entry == j->readings[last].entry ? NO_READING : first;
}

/* As find_past. `plain`: all readings of the tag count plainly. */
static uint32_t past_reading(const Eval *e, FormulaKind kind, TagId tag, SubjectId id, bool plain) {
    if (!plain || kind == F_PREVIOUS) return find_past(e, kind, tag, id);
    uint32_t last = chain_last(e->job, tag, id);
    return last == NO_READING || kind == F_READ ? last : first_before(e->job, last);
}

const Col *column_past(Eval *e, const Formula *f) {
    if (e->job->chain->row[f->tag] == CHAIN_NO_ROW) return col_absent(e, f->context, f->tag);
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    bool plain = counts_plainly(e, chain_row(e->job, f->tag));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        uint32_t r = at == UINT32_MAX
                         ? NO_READING
                         : past_reading(e, f->kind, f->tag, class_subject(e, tag->of, at), plain);
        if (r == NO_READING)
            set_missing(c, i, f->tag);
        else
            col_put(c, i, e->job->readings[r].value, 0, f->tag);
    }
    return col_settle(c);
}

/* The value a tag had on a subject (or above it) at the end of an entry; NAN. */
static double value_then(const Eval *e, TagId tag, SubjectId id, uint32_t entry) {
    for (; id != SUBJECT_NONE; id = state_up(e->state, id)) {
        uint32_t i = own_reading(e, tag, id, UINT32_MAX); /* mostly there was none since */
        if (i != NO_READING && reading_entry(e->job, &e->job->readings[i]) > entry)
            i = own_reading(e, tag, id, entry + 1);
        if (i != NO_READING) return good(&e->job->readings[i]) ? e->job->readings[i].value : NAN;
        if (id == SUBJECT_ENGINE) break;
    }
    return NAN;
}

/* NAME when OTHER read: both on the subject of the context. */
const Col *column_when(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag], *other = &e->v->tags[f->tag2];
    const uint32_t *map = class_map(e, f->context, tag->of),
                   *other_map = class_map(e, f->context, other->of);
    bool read = e->job->chain->row[f->tag2] != CHAIN_NO_ROW;
    bool plain = read && counts_plainly(e, chain_row(e->job, f->tag2));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i, then = other_map ? other_map[i] : i;
        uint32_t r = then == UINT32_MAX ? NO_READING
                                        : past_reading(e, F_READ, f->tag2,
                                                       class_subject(e, other->of, then), plain);
        if (r == NO_READING || at == UINT32_MAX) {
            set_missing(c, i, r == NO_READING ? f->tag2 : f->tag);
            continue;
        }
        uint32_t entry = reading_entry(e->job, &e->job->readings[r]);
        col_put(c, i, value_then(e, f->tag, class_subject(e, tag->of, at), entry), 0, f->tag);
    }
    return col_settle(c);
}

const Col *column_lost(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        Lost lost = eval_lost(e, f, i);
        if (lost.why == LOST_KNOWN) {
            col_put(c, i, lost.value, 0, f->tag);
            continue;
        }
        set_missing(c, i, lost.why == LOST_NO_WORK ? f->tag2 : f->tag);
        if (lost.why == LOST_DOUBTED) c->st[i] |= V_SUSPECT;
    }
    return col_settle(c);
}

const Col *column_fitted(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    Fitted *times = fitted_start(e->state, f->tag, e->arena);
    if (e->job->entry_count) fitted_to(times, e->state->last_entry);
    for (uint32_t i = 0; i < c->n; i++) {
        double run = fitted_time(times, class_subject(e, f->context, i));
        if (isnan(run) || e->job->chain->row[f->tag] == CHAIN_NO_ROW)
            set_missing(c, i, f->tag);
        else
            col_put(c, i, run, 0, f->tag);
    }
    return col_settle(c);
}

/* ---- aims and spots -------------------------------------------------------------------------- */

/* The nearest subject wins; then the job before its cards before the shop. */
static bool aim_wins(const Force *f, const Force *best) {
    if (!best || (f->subject != SUBJECT_ENGINE && best->subject == SUBJECT_ENGINE)) return true;
    if (f->subject != best->subject) return false;
    return (best->shop && !f->shop) || (!f->card && !f->shop && !best->card && !best->shop);
}

static const Force *best_aim(const State *s, const Force *all, uint32_t count, TagId tag,
                             SubjectId id) {
    const Force *best = NULL;
    for (uint32_t i = 0; i < count; i++) {
        const Force *f = &all[i];
        if (f->kind != EVENT_AIM || f->tag != tag || !state_under(s, id, f->subject)) continue;
        if (f->letter && s->job->subjects[id].letter != f->letter) continue;
        if (f->card && !state_card_applies(s, f->card, id)) continue;
        if (aim_wins(f, best)) best = f;
    }
    return best;
}

double eval_aim(const Eval *e, TagId tag, SubjectId id, const Force **whose) {
    const State *s = e->state;
    const Force *best = best_aim(s, s->forces, s->force_count, tag, id);
    /* what a card or the shop aims at gives way to the job's `aim NAME = none` */
    if (best && (best->card || best->shop) && best_aim(s, s->lifted, s->lifted_count, tag, id))
        best = NULL;
    if (whose) *whose = best;
    return best ? best->range.low : NAN;
}

const Col *column_aim(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        double aim =
            at == UINT32_MAX ? NAN : eval_aim(e, f->tag, class_subject(e, tag->of, at), NULL);
        col_put(c, i, aim, 0, f->tag);
    }
    return col_settle(c);
}

const Col *column_spot(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        set_missing(c, i, f->tag);
        if (at == UINT32_MAX) continue;
        uint32_t r = own_reading(e, f->tag, class_subject(e, tag->of, at), UINT32_MAX);
        uint32_t entry = r == NO_READING ? 0 : reading_entry(e->job, &e->job->readings[r]);
        for (; r != NO_READING; r = chain_prev(e->job, r)) {
            const Reading *reading = &e->job->readings[r];
            if (reading_entry(e->job, reading) != entry) break;
            if (!(reading->flags & READ_SPOT) || reading->at != f->number) continue;
            if (reading->flags & (READ_STRUCK | READ_REPLACED | READ_REPEATED)) continue;
            if (reading->flags & READ_SUSPECT)
                c->st[i] |= V_SUSPECT;
            else
                col_put(c, i, reading->value, 0, f->tag);
            break;
        }
    }
    return col_settle(c);
}
