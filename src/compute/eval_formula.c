/*
 * Formulas, a node at a time over every subject of its context. Where all operands are there, as in
 * most columns, a node is one plain loop over their values; only where some are missing is each
 * position looked at.
 */
#include "compute/eval_parts.h"

/* ---- arithmetic ------------------------------------------------------------------------------ */

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

/* The four that make up most formulas, a loop each. */
static void binary_all(FormulaKind kind, const double *a, const double *b, double *restrict v,
                       uint32_t n) {
    switch (kind) {
    case F_ADD:
        for (uint32_t i = 0; i < n; i++)
            v[i] = a[i] + b[i];
        break;
    case F_SUBTRACT:
        for (uint32_t i = 0; i < n; i++)
            v[i] = a[i] - b[i];
        break;
    case F_MULTIPLY:
        for (uint32_t i = 0; i < n; i++)
            v[i] = a[i] * b[i];
        break;
    case F_DIVIDE:
        for (uint32_t i = 0; i < n; i++)
            v[i] = a[i] / b[i];
        break;
    default:
        for (uint32_t i = 0; i < n; i++)
            v[i] = binary(kind, a[i], b[i]);
    }
}

/* What is infinite or no number has all bits of its exponent set: one more and they run over. */
static bool all_finite(const double *v, uint32_t n) {
    const uint64_t exponent = (uint64_t)0x7ff << 52, one = (uint64_t)1 << 52;
    uint64_t over = 0;
    for (uint32_t i = 0; i < n; i++) {
        uint64_t bits;
        memcpy(&bits, &v[i], sizeof bits);
        over |= (bits & exponent) + one;
    }
    return !(over >> 63);
}

/* Settles a column that was given a value at every position, worked out from what has these doubts:
 * what came to no number is missing. */
static const Col *worked_out(Col *c, uint8_t known) {
    c->any = known & V_DOUBTS;
    if (all_finite(c->v, c->n)) return c;
    for (uint32_t i = 0; i < c->n; i++)
        if (!isfinite(c->v[i])) set_missing(c, i, TAG_NONE);
    c->any |= V_MISSING;
    return c;
}

static const Col *column_number(Eval *e, const Formula *f) {
    Col *c = col_whole(e, f->context);
    for (uint32_t i = 0; i < c->n; i++)
        c->v[i] = f->number;
    return c;
}

static const Col *unary_of_whole(const Formula *f, const Col *a, Col *c) {
    for (uint32_t i = 0; i < c->n; i++)
        c->v[i] = unary(f, a->v[i]);
    for (uint32_t i = 0; i < c->n && a->any & V_DOUBTS; i++)
        c->st[i] = a->st[i] & V_DOUBTS;
    return worked_out(c, a->any);
}

static const Col *column_unary(Eval *e, const Formula *f) {
    const Col *a = operand(e, f->a);
    if (a->absent) return a;
    if (col_is_whole(a)) return unary_of_whole(f, a, col_whole(e, f->context));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        if (a->st[i] & V_MISSING)
            col_put_missing(c, i, a, i, TAG_NONE);
        else
            col_put(c, i, unary(f, a->v[i]), doubts(a->st[i]), TAG_NONE);
    }
    return col_settle(c);
}

static const Col *binary_of_whole(FormulaKind kind, const Col *a, const Col *b, Col *c) {
    binary_all(kind, a->v, b->v, c->v, c->n);
    uint8_t any = a->any | b->any;
    for (uint32_t i = 0; i < c->n && any & V_DOUBTS; i++)
        c->st[i] = (a->st[i] | b->st[i]) & V_DOUBTS;
    return worked_out(c, any);
}

static const Col *column_binary(Eval *e, const Formula *f) {
    const Col *a = operand(e, f->a), *b = operand(e, f->b);
    if (a->absent) return a;
    if (col_is_whole(a) && b->absent) return b;
    if (col_is_whole(a) && col_is_whole(b))
        return binary_of_whole(f->kind, a, b, col_whole(e, f->context));
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        if (a->st[i] & V_MISSING)
            col_put_missing(c, i, a, i, TAG_NONE);
        else if (b->st[i] & V_MISSING)
            col_put_missing(c, i, b, i, TAG_NONE);
        else
            col_put(c, i, binary(f->kind, a->v[i], b->v[i]), doubts(a->st[i] | b->st[i]), TAG_NONE);
    }
    return col_settle(c);
}

/* A doubted reading is no reason to fall back on something else: it stays missing. */
static const Col *column_else(Eval *e, const Formula *f) {
    const Col *a = operand(e, f->a);
    if (col_is_whole(a)) return a;
    const Col *b = operand(e, f->b);
    if (a->absent && !(b->any & V_SUSPECT)) return b;
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        const Col *from = (a->st[i] & V_MISSING) && !(a->st[i] & V_SUSPECT) ? b : a;
        if (from->st[i] & V_MISSING)
            col_put_missing(c, i, from, i, TAG_NONE);
        else
            col_put(c, i, from->v[i], doubts(from->st[i]), TAG_NONE);
    }
    return col_settle(c);
}

/* ---- aggregates ------------------------------------------------------------------------------ */

typedef struct Group {
    double sum, low, high;
    uint32_t members, there;
    uint8_t st;
    TagId blame; /* of a member that is not there */
    bool suspect;
} Group;

static void group_add(Group *g, double v, uint8_t st) {
    g->sum += v;
    g->low = g->there && g->low < v ? g->low : v;
    g->high = g->there && g->high > v ? g->high : v;
    g->st |= doubts(st);
    g->there++;
}

static void group_lacks(Group *g, const Col *a, uint32_t i) {
    g->blame = (TagId)a->from[i];
    g->suspect |= (a->st[i] & V_SUSPECT) != 0;
}

/* Whether a subject of the class that is aggregated over counts: an item that sits somewhere; of
 * the whole engine, no place on a head beside the one it sits at. */
static bool is_member(const Eval *e, SubjectId id, bool item, bool of_engine) {
    if (item) return e->state->sits_at && e->state->sits_at[id] != SUBJECT_NONE;
    return !of_engine || e->job->subjects[id].kind != SUBJECT_CARRIED;
}

static Group *groups_of(Eval *e, const Formula *f, const Col *a) {
    Group *groups = arena_array(e->arena, class_count(e, f->context) + 1, sizeof *groups);
    const uint32_t *map = class_map(e, f->over, f->context);
    bool item = e->v->classes[f->over].kind == CLASS_ITEM, of_engine = f->context == CLASS_ENGINE;
    for (uint32_t i = 0; i < a->n; i++) {
        uint32_t at = map ? map[i] : i;
        if (at == UINT32_MAX || !is_member(e, class_subject(e, f->over, i), item, of_engine))
            continue;
        Group *g = &groups[at];
        g->members++;
        if (a->st[i] & V_MISSING)
            group_lacks(g, a, i);
        else
            group_add(g, a->v[i], a->st[i]);
    }
    return groups;
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

/* Whether the members that are there make a value. */
static bool is_enough(const Formula *f, const Group *g) {
    if (f->aggregate == AGG_COUNT) return true;
    if (f->aggregate == AGG_SPREAD && g->there < 2) return false;
    return g->there > 0 && (g->there == g->members || (f->aggregate != AGG_SUM && !f->here));
}

static const Col *column_aggregate(Eval *e, const Formula *f) {
    const Col *a = operand(e, f->a);
    const Group *groups = groups_of(e, f, a);
    Col *c = col_new(e, f->context);
    for (uint32_t i = 0; i < c->n; i++) {
        const Group *g = &groups[i];
        bool all = g->there == g->members;
        if (is_enough(f, g)) {
            uint8_t st = g->st | (all ? 0 : V_PARTIAL);
            col_put(c, i, group_value(g, f->aggregate), st, TAG_NONE);
            continue;
        }
        set_missing(c, i, !all && g->blame != TAG_NONE ? g->blame : first_tag(f->a));
        if (g->suspect) c->st[i] |= V_SUSPECT;
    }
    return col_settle(c);
}

/* ---- nodes ----------------------------------------------------------------------------------- */

const Col *operand(Eval *e, const Formula *f) {
    static const Col *(*const columns[])(Eval *, const Formula *) = {
        [F_NUMBER] = column_number,
        [F_TAG] = column_tag,
        [F_FIRST] = column_past,
        [F_PREVIOUS] = column_past,
        [F_READ] = column_past,
        [F_WHEN] = column_when,
        [F_LOST] = column_lost,
        [F_FITTED] = column_fitted,
        [F_AIM] = column_aim,
        [F_SPOT] = column_spot,
        [F_AT] = column_curve,
        [F_SLOPE] = column_curve,
        [F_WHERE] = column_curve,
        [F_NEGATE] = column_unary,
        [F_POWER] = column_unary,
        [F_SQRT] = column_unary,
        [F_SIN] = column_unary,
        [F_COS] = column_unary,
        [F_TAN] = column_unary,
        [F_ASIN] = column_unary,
        [F_ACOS] = column_unary,
        [F_ATAN] = column_unary,
        [F_ABS] = column_unary,
        [F_IN] = column_unary,
        [F_ADD] = column_binary,
        [F_SUBTRACT] = column_binary,
        [F_MULTIPLY] = column_binary,
        [F_DIVIDE] = column_binary,
        [F_MIN] = column_binary,
        [F_MAX] = column_binary,
        [F_AGGREGATE] = column_aggregate,
        [F_ELSE] = column_else,
    };
    return columns[f->kind](e, f);
}

/* A formula's values were worked out, even where it is a name alone. */
static const Col *as_worked_out(Eval *e, ClassId of, const Col *from) {
    Col *c = col_whole(e, of);
    memcpy(c->v, from->v, c->n * sizeof *c->v);
    for (uint32_t i = 0; i < c->n; i++) {
        c->st[i] = from->st[i] & (uint8_t) ~(V_READ | V_ABOVE);
        if (c->st[i] & V_MISSING) c->from[i] = from->from[i];
    }
    c->any = from->any & (uint8_t) ~(V_READ | V_ABOVE);
    return c;
}

const Col *formula_column(Eval *e, const Formula *f) {
    const Col *c = operand(e, f);
    return c->any & (V_READ | V_ABOVE) ? as_worked_out(e, f->context, c) : c;
}
