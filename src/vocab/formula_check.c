/*
 * Units and places of a parsed formula. Each node is told the class it is evaluated on and gets its
 * dimension; what could only fail on a job later on is refused here.
 */
#include "vocab/parts.h"

#include <math.h>

typedef struct Check {
    Vocab *v;
    const Source *source;
    Findings *findings;
} Check;

static bool check(Check *c, Node *n, ClassId context);

const char *dim_words(Dim d) {
    const char *name = dim_name(d);
    return *name ? name : "a dimension without a name";
}

/* ---- places -----------------------------------------------------------------------------------
 */

/* Whether a name of `to` is found at the place `here` itself: its own, an item's that sits there,
 * the bank's or head's that holds it, the set's of an item that is or sits there. */
static bool found_at(const Vocab *v, ClassId here, ClassId to) {
    const Class *class = &v->classes[to];
    switch (class->kind) {
    case CLASS_PLACE: return here == to;
    case CLASS_BANK:
    case CLASS_CARRIER: return here == to || here == class->holds;
    case CLASS_ITEM: return here == to || here == class->up;
    case CLASS_SET:
        return here == to || here == class->holds || here == v->classes[class->holds].up;
    }
    return false;
}

bool class_reaches(const Vocab *v, ClassId from, ClassId to) {
    for (ClassId here = from; here != CLASS_NONE; here = v->classes[here].up)
        if (found_at(v, here, to)) return true;
    return to == CLASS_ENGINE;
}

bool class_under(const Vocab *v, ClassId below, ClassId above) {
    if (below == above) return false;
    if (above == CLASS_ENGINE) return true;
    ClassKind kind = v->classes[above].kind;
    if (kind != CLASS_PLACE && kind != CLASS_ITEM)
        return v->classes[above].holds != CLASS_NONE &&
               (below == v->classes[above].holds || class_under(v, below, v->classes[above].holds));
    if (v->classes[below].kind != CLASS_PLACE && v->classes[below].kind != CLASS_ITEM) return false;
    for (ClassId here = v->classes[below].up; here != CLASS_NONE; here = v->classes[here].up)
        if (here == above) return true;
    return false;
}

static unsigned class_depth(const Vocab *v, ClassId class) {
    unsigned depth = 0;
    for (ClassId here = class; here != CLASS_ENGINE && here != CLASS_NONE;
         here = v->classes[here].up)
        depth++;
    return depth;
}

static const Tag *tag_of(const Check *c, const Node *n) {
    return &c->v->tags[n->f.tag];
}

static Str text_of(const Check *c, const Node *n) {
    return source_slice(c->source, n->f.span);
}

static Str class_name(const Check *c, ClassId class) {
    return c->v->classes[class].name;
}

static bool reach(Check *c, const Node *n, ClassId context, const Tag *tag) {
    if (class_reaches(c->v, context, tag->of)) return true;
    const char *advice = class_under(c->v, tag->of, context)
                             ? ": say which with 'sum of', 'mean of', 'largest of' ..."
                             : "";
    vocab_fault(c->findings, K_FORMULA_PLACE, c->source, text_of(c, n),
                "'%.*s' is of a %.*s, and this is computed on a %.*s%s", STR_ARG(tag->name),
                STR_ARG(class_name(c, tag->of)), STR_ARG(class_name(c, context)), advice);
    return false;
}

/* ---- names ------------------------------------------------------------------------------------
 */

static bool curve_fault(Check *c, const Node *n, const char *what) {
    vocab_fault(c->findings, K_CURVE, c->source, text_of(c, n), "'%.*s' %s",
                STR_ARG(tag_of(c, n)->name), what);
    return false;
}

/* A tag that stands for one number on its subject. */
static bool check_number(Check *c, Node *n, ClassId context) {
    const Tag *tag = tag_of(c, n);
    if (tag->kind != TAG_NUMBER && tag->kind != TAG_CHOICE)
        return curve_fault(c, n, "has no number to compute with");
    if (tag->has_curve) return curve_fault(c, n, "is a curve: say 'at' and a value, or 'slope of'");
    bool any_spot = tag->uses_spot || tag->used_aggregate != AGG_SUM;
    if (tag->spot_count && !any_spot && n->f.kind != F_SPOT)
        return curve_fault(c, n, "has spots: say 'at' and one of them, or give it 'uses'");
    n->f.dim = tag->dim;
    return reach(c, n, context, tag);
}

static bool check_when(Check *c, Node *n, ClassId context) {
    return check_number(c, n, context) && reach(c, n, context, &c->v->tags[n->f.tag2]);
}

/* Spots and choices have nothing that is lost; and work must be told of the thing or above it. */
static bool check_lost(Check *c, Node *n, ClassId context) {
    if (!check_number(c, n, context)) return false;
    if (tag_of(c, n)->kind == TAG_CHOICE || tag_of(c, n)->spot_count)
        return curve_fault(c, n, "is no plain number: nothing is lost of it");
    return reach(c, n, context, &c->v->tags[n->f.tag2]);
}

static bool check_fitted(Check *c, Node *n, ClassId context) {
    if (c->v->classes[context].kind == CLASS_ITEM) return check_number(c, n, context);
    vocab_fault(c->findings, K_FORMULA_PLACE, c->source, text_of(c, n),
                "only items are fitted; a %.*s is none", STR_ARG(class_name(c, context)));
    return false;
}

/* The curve that `at`, `slope of` and `where` read. */
static bool check_curve(Check *c, Node *n, ClassId context) {
    bool name = n->f.kind == F_TAG || n->f.kind == F_FIRST || n->f.kind == F_PREVIOUS;
    if (n->f.tag == TAG_NONE || !name) {
        vocab_fault(c->findings, K_CURVE, c->source, text_of(c, n),
                    "a curve is read by its name, or with first or previous before it");
        return false;
    }
    if (!tag_of(c, n)->has_curve)
        return curve_fault(c, n, "is no curve, so it has nothing to be read at");
    n->f.context = context;
    n->f.dim = tag_of(c, n)->dim;
    return reach(c, n, context, tag_of(c, n));
}

static bool must_be(Check *c, const Node *n, Dim want, const char *why) {
    if (n->f.dim == want) return true;
    vocab_fault(c->findings, K_FORMULA_UNIT, c->source, text_of(c, n),
                "this is %s, and %s is wanted %s", dim_words(n->f.dim), dim_words(want), why);
    return false;
}

static bool check_at(Check *c, Node *n, ClassId context) {
    if (!check_curve(c, n->a, context) || !check(c, n->b, context) ||
        !must_be(c, n->b, tag_of(c, n->a)->over->dim, "behind 'at'"))
        return false;
    n->f.dim = n->a->f.dim;
    return true;
}

static bool set_dim(Check *c, Node *n, Dim dim) {
    n->f.dim = dim;
    if (dim != DIM_OVER) return true;
    vocab_fault(c->findings, K_FORMULA_UNIT, c->source, text_of(c, n),
                "'%.*s' has no unit: an exponent in it is too large", STR_ARG(text_of(c, n)));
    return false;
}

static bool check_slope(Check *c, Node *n, ClassId context) {
    if (!check_curve(c, n->a, context)) return false;
    return set_dim(c, n, dim_div(n->a->f.dim, tag_of(c, n->a)->over->dim));
}

static bool check_where(Check *c, Node *n, ClassId context) {
    if (!check_curve(c, n->a, context) || !check(c, n->b, context) ||
        !must_be(c, n->b, n->a->f.dim, "behind '='"))
        return false;
    n->f.dim = tag_of(c, n->a)->over->dim;
    return true;
}

/* ---- arithmetic -------------------------------------------------------------------------------
 */

static bool check_same(Check *c, Node *n, ClassId context) {
    if (!check(c, n->a, context) || !check(c, n->b, context)) return false;
    n->f.dim = n->a->f.dim;
    if (n->a->f.dim == n->b->f.dim) return true;
    vocab_fault(c->findings, K_FORMULA_UNIT, c->source, text_of(c, n),
                "'%.*s' is %s and '%.*s' is %s; they don't go together", STR_ARG(text_of(c, n->a)),
                dim_words(n->a->f.dim), STR_ARG(text_of(c, n->b)), dim_words(n->b->f.dim));
    return false;
}

static bool check_product(Check *c, Node *n, ClassId context) {
    if (!check(c, n->a, context) || !check(c, n->b, context)) return false;
    return set_dim(c, n,
                   n->f.kind == F_MULTIPLY ? dim_mul(n->a->f.dim, n->b->f.dim)
                                           : dim_div(n->a->f.dim, n->b->f.dim));
}

static bool raise_dim(Check *c, Node *n, int num, int den) {
    if (dim_pow(n->a->f.dim, num, den, &n->f.dim)) return true;
    vocab_fault(c->findings, K_FORMULA_UNIT, c->source, text_of(c, n),
                "%s has no unit when it is raised to this power", dim_words(n->a->f.dim));
    return false;
}

/* A plain number may have any exponent; a unit only a fraction that its own exponents allow. */
static bool check_power(Check *c, Node *n, ClassId context) {
    enum { DEN_MOST = 6 };
    if (!check(c, n->a, context)) return false;
    n->f.dim = DIM_NUMBER;
    if (n->a->f.dim == DIM_NUMBER) return true;
    for (int den = 1; den <= DEN_MOST && fabs(n->f.number) < 16; den++) {
        double num = n->f.number * den;
        if (fabs(num - round(num)) < 1e-12) return raise_dim(c, n, (int)lround(num), den);
    }
    return raise_dim(c, n, 1, 31);
}

static bool check_negate(Check *c, Node *n, ClassId context) {
    bool right = check(c, n->a, context);
    n->f.dim = n->a->f.dim;
    return right;
}

static bool check_sqrt(Check *c, Node *n, ClassId context) {
    return check(c, n->a, context) && raise_dim(c, n, 1, 2);
}

static bool check_angle(Check *c, Node *n, ClassId context) {
    n->f.dim = DIM_NUMBER;
    return check(c, n->a, context) && must_be(c, n->a, DIM_ANGLE, "here");
}

static bool check_arc(Check *c, Node *n, ClassId context) {
    n->f.dim = DIM_ANGLE;
    return check(c, n->a, context) && must_be(c, n->a, DIM_NUMBER, "here");
}

static bool check_constant(Check *c, Node *n, ClassId context) {
    (void)c, (void)n, (void)context; /* its dimension came with its unit */
    return true;
}

static bool check_in(Check *c, Node *n, ClassId context) {
    if (!check(c, n->a, context)) return false;
    Str text = text_of(c, n);
    size_t blank = text.n;
    while (blank > 0 && !is_blank(text.p[blank - 1]))
        blank--;
    Str name = str_skip(text, blank);
    n->f.unit = unit_find(name, n->a->f.dim);
    n->f.dim = DIM_NUMBER;
    if (n->f.unit && n->f.unit->dim == n->a->f.dim) return true;
    vocab_fault(c->findings, K_FORMULA_UNIT, c->source, name, "'%.*s' is no unit of %s",
                STR_ARG(name), dim_words(n->a->f.dim));
    return false;
}

/* ---- aggregates -------------------------------------------------------------------------------
 */

/* Classes that the names in an operand are of, a bit each; inner aggregates look after themselves.
 */
static uint32_t classes_in(const Check *c, const Node *n) {
    if (!n || n->f.kind == F_AGGREGATE) return 0;
    uint32_t classes = classes_in(c, n->a) | classes_in(c, n->b);
    return n->f.tag == TAG_NONE ? classes : classes | (uint32_t)1 << tag_of(c, n)->of;
}

/* The deepest of them under the context; with `here` the item class that sits right at it. */
static ClassId members(const Check *c, const Node *n, ClassId context) {
    uint32_t classes = classes_in(c, n->a);
    ClassId best = CLASS_NONE;
    for (unsigned i = 0; i < c->v->class_count; i++) {
        ClassId class = (ClassId)i;
        const Class *row = &c->v->classes[i];
        bool sits_here = row->kind == CLASS_ITEM && row->up == context;
        bool right = n->f.here ? sits_here : class_under(c->v, class, context);
        bool deeper = best == CLASS_NONE || class_depth(c->v, class) > class_depth(c->v, best);
        if (classes >> i & 1 && right && deeper) best = class;
    }
    return best;
}

static bool check_aggregate(Check *c, Node *n, ClassId context) {
    if (n->f.over == CLASS_NONE) n->f.over = members(c, n, context);
    Str on = class_name(c, context);
    if (n->f.over == CLASS_NONE) {
        vocab_fault(c->findings, K_FORMULA_PLACE, c->source, text_of(c, n),
                    n->f.here ? "'%.*s' speaks of no item that sits at a %.*s"
                              : "'%.*s' speaks of nothing under a %.*s; say 'over CLASS'",
                    STR_ARG(text_of(c, n->a)), STR_ARG(on));
        return false;
    }
    if (!class_under(c->v, n->f.over, context)) {
        vocab_fault(c->findings, K_FORMULA_PLACE, c->source, text_of(c, n),
                    "a %.*s has no %.*s under it", STR_ARG(on),
                    STR_ARG(c->v->classes[n->f.over].plural));
        return false;
    }
    if (!check(c, n->a, n->f.over)) return false;
    n->f.dim = n->f.aggregate == AGG_COUNT ? DIM_NUMBER : n->a->f.dim;
    return true;
}

/* ---- the table --------------------------------------------------------------------------------
 */

static bool (*const checks[])(Check *c, Node *n,
                              ClassId context) = {[F_NUMBER] = check_constant,
                                                  [F_TAG] = check_number,
                                                  [F_FIRST] = check_number,
                                                  [F_PREVIOUS] = check_number,
                                                  [F_READ] = check_number,
                                                  [F_WHEN] = check_when,
                                                  [F_LOST] = check_lost,
                                                  [F_FITTED] = check_fitted,
                                                  [F_AIM] = check_number,
                                                  [F_SPOT] = check_number,
                                                  [F_AT] = check_at,
                                                  [F_SLOPE] = check_slope,
                                                  [F_WHERE] = check_where,
                                                  [F_NEGATE] = check_negate,
                                                  [F_ADD] = check_same,
                                                  [F_SUBTRACT] = check_same,
                                                  [F_MULTIPLY] = check_product,
                                                  [F_DIVIDE] = check_product,
                                                  [F_POWER] = check_power,
                                                  [F_SQRT] = check_sqrt,
                                                  [F_SIN] = check_angle,
                                                  [F_COS] = check_angle,
                                                  [F_TAN] = check_angle,
                                                  [F_ASIN] = check_arc,
                                                  [F_ACOS] = check_arc,
                                                  [F_ATAN] = check_arc,
                                                  [F_ABS] = check_negate,
                                                  [F_MIN] = check_same,
                                                  [F_MAX] = check_same,
                                                  [F_AGGREGATE] = check_aggregate,
                                                  [F_IN] = check_in,
                                                  [F_ELSE] = check_same};

static bool check(Check *c, Node *n, ClassId context) {
    n->f.context = context;
    n->f.a = n->a ? &n->a->f : NULL;
    n->f.b = n->b ? &n->b->f : NULL;
    return checks[n->f.kind](c, n, context);
}

bool formula_check(Vocab *v, const Source *source, Node *root, ClassId of, Findings *findings) {
    Check c = {.v = v, .source = source, .findings = findings};
    return check(&c, root, of);
}

void formula_inputs(const Formula *f, void (*visit)(void *ctx, TagId tag), void *ctx) {
    if (!f) return;
    if (f->kind == F_TAG || f->kind == F_SPOT || f->kind == F_FITTED) visit(ctx, f->tag);
    formula_inputs(f->a, visit, ctx);
    formula_inputs(f->b, visit, ctx);
}
