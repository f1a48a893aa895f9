/* Formulas, a node at a time over every subject of its context. */
#include "compute/eval_parts.h"
#include "compute/fitted.h"
#include "compute/lost.h"

#include <math.h>

static const Col *node(Eval *e, const Formula *f) {
    return formula_column(e, f);
}

static uint8_t doubts(uint8_t st) {
    return st & V_DOUBTS;
}

static void put(Col *c, uint32_t i, double v, uint8_t st, TagId blame) {
    if (!isfinite(v)) {
        set_missing(c, i, blame);
        return;
    }
    c->v[i] = v;
    c->st[i] = st;
    c->from[i] = 0; /* it may have been called missing before */
}

/* Of a sound column that was given values: what came to no number is missing. */
static const Col *checked(Col *c) {
    for (uint32_t i = 0; i < c->n; i++)
        c->sound &= isfinite(c->v[i]) != 0;
    for (uint32_t i = 0; !c->sound && i < c->n; i++)
        if (!isfinite(c->v[i])) set_missing(c, i, TAG_NONE);
    return c;
}

static void put_missing(Col *c, uint32_t i, const Col *because, uint32_t at, TagId fallback) {
    c->st[i] = V_MISSING | (because->st[at] & V_SUSPECT);
    c->from[i] = because->st[at] & V_SUSPECT ? fallback : because->from[at];
}

static double unary(const Formula *f, double a) {
    switch (f->kind) {
    case F_NEGATE: return -a;
    case F_POWER: return f->number == 2 ? a * a : pow(a, f->number);
    case F_IN: return unit_from_si(f->unit, a);
    case F_SQRT: return sqrt(a);
    case F_SIN: return sin(a);
    case F_COS: return cos(a);
    case F_TAN: return tan(a);
    case F_ASIN: return asin(a);
    case F_ACOS: return acos(a);
    case F_ATAN: return atan(a);
    case F_ABS: return fabs(a);
    default: return NAN;
    }
}

static double binary(FormulaKind kind, double a, double b) {
    switch (kind) {
    case F_ADD: return a + b;
    case F_SUBTRACT: return a - b;
    case F_MULTIPLY: return a * b;
    case F_DIVIDE: return a / b;
    case F_MIN: return fmin(a, b);
    case F_MAX: return fmax(a, b);
    default: return NAN;
    }
}

/* The four that make up most formulas, a loop each over values that are all there. */
static const Col *sound_binary(FormulaKind kind, const double *a, const double *b, Col *c) {
    switch (kind) {
    case F_ADD:
        for (uint32_t i = 0; i < c->n; i++)
            c->v[i] = a[i] + b[i];
        break;
    case F_SUBTRACT:
        for (uint32_t i = 0; i < c->n; i++)
            c->v[i] = a[i] - b[i];
        break;
    case F_MULTIPLY:
        for (uint32_t i = 0; i < c->n; i++)
            c->v[i] = a[i] * b[i];
        break;
    case F_DIVIDE:
        for (uint32_t i = 0; i < c->n; i++)
            c->v[i] = a[i] / b[i];
        break;
    default:
        for (uint32_t i = 0; i < c->n; i++)
            c->v[i] = binary(kind, a[i], b[i]);
    }
    return checked(c);
}

static const Col *column_number(Eval *e, const Formula *f) {
    Col *c = col_sound(e, f->context);
    for (uint32_t i = 0; i < c->n; i++)
        c->v[i] = f->number;
    return checked(c);
}

static const Col *sound_unary(const Formula *f, const double *a, Col *c) {
    for (uint32_t i = 0; i < c->n; i++)
        c->v[i] = unary(f, a[i]);
    return checked(c);
}

static const Col *column_unary(Eval *e, const Formula *f) {
    const Col *a = node(e, f->a);
    if (a->sound) return sound_unary(f, a->v, col_sound(e, f->context));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        if (a->st[i] & V_MISSING)
            put_missing(c, i, a, i, TAG_NONE);
        else
            put(c, i, unary(f, a->v[i]), doubts(a->st[i]), TAG_NONE);
    }
    return c;
}

static const Col *column_binary(Eval *e, const Formula *f) {
    const Col *a = node(e, f->a), *b = node(e, f->b);
    if (a->sound && b->sound) return sound_binary(f->kind, a->v, b->v, col_sound(e, f->context));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        if (a->st[i] & V_MISSING)
            put_missing(c, i, a, i, TAG_NONE);
        else if (b->st[i] & V_MISSING)
            put_missing(c, i, b, i, TAG_NONE);
        else
            put(c, i, binary(f->kind, a->v[i], b->v[i]), doubts(a->st[i] | b->st[i]), TAG_NONE);
    }
    return c;
}

/* A doubted reading is no reason to fall back on something else: it stays missing. */
static const Col *column_else(Eval *e, const Formula *f) {
    const Col *a = node(e, f->a);
    if (a->sound) return a;
    const Col *b = node(e, f->b);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        const Col *from = (a->st[i] & V_MISSING) && !(a->st[i] & V_SUSPECT) ? b : a;
        if (from->st[i] & V_MISSING)
            put_missing(c, i, from, i, TAG_NONE);
        else
            put(c, i, from->v[i], doubts(from->st[i]), TAG_NONE);
    }
    col_settle(c);
    return c;
}

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
        put(c, i, e->job->readings[r].value, 0, tag);
}

/* Not the column itself: that says of its values that they were read. */
static const Col *sound_copy(const Col *from, Col *c) {
    memcpy(c->v, from->v, c->n * sizeof *c->v);
    return c;
}

static const Col *column_tag(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    const Col *from = eval_tag(e, f->tag);
    if (from->sound && !map) return sound_copy(from, col_sound(e, f->context));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        if (at == UINT32_MAX) {
            engine_wide(e, c, i, f->tag);
        } else if (from->st[at] & V_MISSING) {
            put_missing(c, i, from, at, f->tag);
        } else {
            c->v[i] = from->v[at];
            c->st[i] = doubts(from->st[at]);
        }
    }
    col_settle(c);
    return c;
}

/* ---- curves
 * ------------------------------------------------------------------------------------------------
 */

static const Curve *related_curve(Eval *e, const Formula *ref, const uint32_t *map, uint32_t i) {
    static const Curve none = {.st = V_MISSING};
    uint32_t at = map ? map[i] : i;
    if (at == UINT32_MAX) return &none;
    return eval_curve(e, ref->tag, at, ref->kind);
}

static const Col *column_curve(Eval *e, const Formula *f) {
    const Formula *ref = f->a;
    const Tag *tag = &e->v->tags[ref->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    const Col *b = f->b ? node(e, f->b) : NULL;
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        if (b && (b->st[i] & V_MISSING)) {
            put_missing(c, i, b, i, ref->tag);
            continue;
        }
        double where = b ? b->v[i] : 0;
        uint8_t st = b ? doubts(b->st[i]) : 0;
        const Curve *curve = related_curve(e, ref, map, i);
        double v = f->kind == F_SLOPE   ? curve_slope(curve, &st)
                   : f->kind == F_WHERE ? curve_where(curve, where, tag->reach, &st)
                                        : curve_at(curve, where, tag->reach, &st);
        if (st & V_MISSING) {
            set_missing(c, i, ref->tag);
            c->st[i] |= st & V_SUSPECT;
        } else {
            put(c, i, v, doubts(st), ref->tag);
        }
    }
    return c;
}

/* ---- aggregates ------------------------------------------------------------------------------ */

typedef struct Group {
    double sum, low, high;
    uint32_t members, there;
    uint8_t st;
    TagId blame;
    bool suspect;
} Group;

static Group *groups_of(Eval *e, const Formula *f, const Col *a) {
    uint32_t n = class_count(e, f->context);
    Group *g = arena_array(e->arena, n + 1, sizeof *g);
    for (uint32_t i = 0; i < n; i++)
        g[i] = (Group){.low = INFINITY, .high = -INFINITY, .blame = TAG_NONE};
    const uint32_t *map = class_map(e, f->over, f->context);
    bool items = e->v->classes[f->over].kind == CLASS_ITEM;
    for (uint32_t i = 0; i < a->n; i++) {
        SubjectId id = class_subject(e, f->over, i);
        SubjectKind kind = e->job->subjects[id].kind;
        if (items ? !e->state->sits_at || e->state->sits_at[id] == SUBJECT_NONE
                  : kind == SUBJECT_CARRIED && f->context == CLASS_ENGINE)
            continue;
        uint32_t at = map ? map[i] : i;
        if (at == UINT32_MAX) continue;
        g[at].members++;
        if (a->st[i] & V_MISSING) {
            g[at].blame = (TagId)a->from[i];
            g[at].suspect |= (a->st[i] & V_SUSPECT) != 0;
            continue;
        }
        g[at].there++;
        g[at].st |= doubts(a->st[i]);
        g[at].sum += a->v[i];
        g[at].low = fmin(g[at].low, a->v[i]);
        g[at].high = fmax(g[at].high, a->v[i]);
    }
    return g;
}

static double group_value(const Group *g, Aggregate aggregate) {
    switch (aggregate) {
    case AGG_SUM: return g->sum;
    case AGG_MEAN: return g->sum / g->there;
    case AGG_SPREAD: return g->high - g->low;
    case AGG_LARGEST: return g->high;
    case AGG_SMALLEST: return g->low;
    case AGG_COUNT: return g->there;
    }
    return NAN;
}

/* What an operand is about, to name it when there is nothing to work it out from. */
static TagId first_tag(const Formula *f) {
    while (f->a)
        f = f->a;
    return f->kind == F_NUMBER ? TAG_NONE : f->tag;
}

static const Col *column_aggregate(Eval *e, const Formula *f) {
    const Col *a = node(e, f->a);
    const Group *groups = groups_of(e, f, a);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        const Group *g = &groups[i];
        bool all = g->there == g->members;
        bool enough = f->aggregate == AGG_COUNT ||
                      (g->there > 0 && (all || (f->aggregate != AGG_SUM && !f->here)));
        if (f->aggregate == AGG_SPREAD && g->there < 2) enough = false;
        if (!enough) {
            set_missing(c, i, g->blame != TAG_NONE ? g->blame : first_tag(f->a));
            if (g->suspect) c->st[i] |= V_SUSPECT;
            continue;
        }
        put(c, i, group_value(g, f->aggregate), (uint8_t)(g->st | (all ? 0 : V_PARTIAL)), TAG_NONE);
    }
    return c;
}

/* ---- the past
 * -------------------------------------------------------------------------------------------------
 */

static bool good(const Reading *r) {
    return !(r->flags & (READ_BAD | READ_REPEATED));
}

/* The reading that first, previous or read NAME means on a subject; NO_READING. */
static uint32_t past_reading(const Eval *e, FormulaKind kind, TagId tag, SubjectId id) {
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

static const Col *column_past(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        uint32_t r = at == UINT32_MAX
                         ? NO_READING
                         : past_reading(e, f->kind, f->tag, class_subject(e, tag->of, at));
        if (r == NO_READING)
            set_missing(c, i, f->tag);
        else
            put(c, i, e->job->readings[r].value, 0, f->tag);
    }
    return c;
}

/* The value a tag had on a subject (or above it) at the end of an entry; NAN. */
static double value_then(const Eval *e, TagId tag, SubjectId id, uint32_t entry) {
    for (; id != SUBJECT_NONE; id = state_up(e->state, id)) {
        uint32_t i = own_reading(e, tag, id, entry == UINT32_MAX ? UINT32_MAX : entry + 1);
        if (i != NO_READING) return good(&e->job->readings[i]) ? e->job->readings[i].value : NAN;
        if (id == SUBJECT_ENGINE) break;
    }
    return NAN;
}

/* NAME when OTHER read: both on the subject of the context. */
static const Col *column_when(Eval *e, const Formula *f) {
    const Tag *tag = &e->v->tags[f->tag], *other = &e->v->tags[f->tag2];
    const uint32_t *map = class_map(e, f->context, tag->of),
                   *other_map = class_map(e, f->context, other->of);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i, then = other_map ? other_map[i] : i;
        uint32_t r = then == UINT32_MAX
                         ? NO_READING
                         : past_reading(e, F_READ, f->tag2, class_subject(e, other->of, then));
        if (r == NO_READING || at == UINT32_MAX) {
            set_missing(c, i, r == NO_READING ? f->tag2 : f->tag);
            continue;
        }
        uint32_t entry = reading_entry(e->job, &e->job->readings[r]);
        put(c, i, value_then(e, f->tag, class_subject(e, tag->of, at), entry), 0, f->tag);
    }
    return c;
}

static const Col *column_lost(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        Lost lost = eval_lost(e, f, i);
        if (lost.why == LOST_KNOWN) {
            put(c, i, lost.value, 0, f->tag);
            continue;
        }
        set_missing(c, i, lost.why == LOST_NO_WORK ? f->tag2 : f->tag);
        if (lost.why == LOST_DOUBTED) c->st[i] |= V_SUSPECT;
    }
    return c;
}

static const Col *column_fitted(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    Fitted *times = fitted_start(e->state, f->tag, e->arena);
    if (e->job->entry_count) fitted_to(times, e->state->last_entry);
    for (uint32_t i = 0; i < c->n; i++) {
        double run = fitted_time(times, class_subject(e, f->context, i));
        if (isnan(run) || e->job->chain->row[f->tag] == CHAIN_NO_ROW)
            set_missing(c, i, f->tag);
        else
            put(c, i, run, 0, f->tag);
    }
    return c;
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

static const Col *column_aim(Eval *e, const Formula *f) {
    Col *c = col_new(e, f->context);
    const Tag *tag = &e->v->tags[f->tag];
    const uint32_t *map = class_map(e, f->context, tag->of);
    for (uint32_t i = 0; i < c->n; i++) {
        uint32_t at = map ? map[i] : i;
        double aim =
            at == UINT32_MAX ? NAN : eval_aim(e, f->tag, class_subject(e, tag->of, at), NULL);
        put(c, i, aim, 0, f->tag);
    }
    return c;
}

static const Col *column_spot(Eval *e, const Formula *f) {
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
                put(c, i, reading->value, 0, f->tag);
            break;
        }
    }
    return c;
}

const Col *formula_column(Eval *e, const Formula *f) {
    switch (f->kind) {
    case F_NUMBER: return column_number(e, f);
    case F_TAG: return column_tag(e, f);
    case F_FIRST:
    case F_PREVIOUS:
    case F_READ: return column_past(e, f);
    case F_WHEN: return column_when(e, f);
    case F_LOST: return column_lost(e, f);
    case F_FITTED: return column_fitted(e, f);
    case F_AIM: return column_aim(e, f);
    case F_SPOT: return column_spot(e, f);
    case F_AT:
    case F_SLOPE:
    case F_WHERE: return column_curve(e, f);
    case F_NEGATE:
    case F_POWER:
    case F_SQRT:
    case F_SIN:
    case F_COS:
    case F_TAN:
    case F_ASIN:
    case F_ACOS:
    case F_ATAN:
    case F_ABS:
    case F_IN: return column_unary(e, f);
    case F_ADD:
    case F_SUBTRACT:
    case F_MULTIPLY:
    case F_DIVIDE:
    case F_MIN:
    case F_MAX: return column_binary(e, f);
    case F_AGGREGATE: return column_aggregate(e, f);
    case F_ELSE: return column_else(e, f);
    }
    return col_new(e, f->context);
}
