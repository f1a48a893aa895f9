/* What was read off a curve: the points it used, and how. */
#include "show/why_parts.h"

#include <math.h>

static Str condition_text(Why *w, TagId tag, double at) {
    const Unit *unit = w->v->tags[tag].over;
    if (w->system != SYSTEM_NONE) unit = unit_in(unit, w->system);
    Buf b = {0};
    buf_double(&b, round(unit_from_si(unit, at) * 1e6) / 1e6);
    Str text = arena_printf(w->a, "%.*s %s", STR_ARG(buf_str(&b)), unit->name);
    buf_release(&b);
    return text;
}

static void tell_point(Why *w, const Curve *c, const Point *p) {
    const Reading *r = &c->job->readings[p->reading];
    Str moved = {0};
    if (c->shift != 0)
        moved = arena_printf(w->a, ", moved to %.*s",
                             STR_ARG(why_value(w, r->tag, p->value + c->shift)));
    why_line(w, "point %.*s @ %.*s%.*s", STR_ARG(why_reading(w, c->job, r)),
             STR_ARG(say_condition(w->a, c->job, r, w->system)), STR_ARG(moved));
}

static void tell_origin(Why *w, const Curve *c) {
    if (c->st & V_NOMINAL)
        why_line(w, "nominal: these points are from the part's card, not measured");
    if (!(c->st & V_EXTENDED)) return;
    const Reading *r = &c->job->readings[c->point];
    why_line(w, "one new point, %.*s @ %.*s: the shape is that of the curve before it",
             STR_ARG(why_reading(w, c->job, r)),
             STR_ARG(say_condition(w->a, c->job, r, w->system)));
}

/* The two points around a place on the curve: [*low, *low + 1]. False when it is one of them, *low.
 */
static bool around(const Curve *c, double x, bool by_value, uint32_t *low) {
    uint32_t n = c->count;
    for (uint32_t k = 0; k < n; k++) {
        double at = by_value ? c->points[k].value + c->shift : c->points[k].at;
        if (same_condition(at, x)) {
            *low = k;
            return false;
        }
    }
    for (uint32_t k = 0; k + 1 < n; k++) {
        double a = by_value ? c->points[k].value + c->shift : c->points[k].at;
        double b = by_value ? c->points[k + 1].value + c->shift : c->points[k + 1].at;
        *low = k;
        if ((x >= a && x <= b) || (x <= a && x >= b)) return true;
    }
    double first = by_value ? c->points[0].value + c->shift : c->points[0].at;
    double second = by_value ? c->points[1].value + c->shift : c->points[1].at;
    if ((first < second) == (x < first)) *low = 0;
    return true;
}

static void tell_span(Why *w, const Curve *c, TagId tag, double x, bool by_value) {
    uint32_t low = 0;
    if (c->count < 2 || !around(c, x, by_value, &low)) {
        if (c->count) tell_point(w, c, &c->points[low]);
        why_line(w, "read at that very point");
        return;
    }
    tell_point(w, c, &c->points[low]);
    tell_point(w, c, &c->points[low + 1]);
    double a = c->points[low].at, b = c->points[low + 1].at;
    if (by_value) {
        a = c->points[low].value + c->shift;
        b = c->points[low + 1].value + c->shift;
    }
    double past = x < fmin(a, b) ? fmin(a, b) - x : x > fmax(a, b) ? x - fmax(a, b) : 0;
    if (past <= 0)
        why_line(w, "between them, on a straight line");
    else if (by_value)
        why_line(w, "beyond them by %.*s, on the same straight line",
                 STR_ARG(why_value(w, tag, past)));
    else
        why_line(w, "beyond them by %.*s, on the same straight line",
                 STR_ARG(condition_text(w, tag, past)));
}

/* Where the formula reads the curve; NAN and a word of it when that is missing. */
static double asked_at(Why *w, const Formula *f, uint32_t i) {
    if (f->kind == F_SLOPE || !f->b) return NAN;
    const Col *c = eval_node(w->e, f->b);
    return c->st[i] & V_MISSING ? NAN : c->v[i];
}

static void tell_headline(Why *w, const Formula *f, uint32_t i, Str curve, double x) {
    const Col *c = eval_node(w->e, f);
    TagId tag = f->a->tag;
    Str at = f->kind == F_SLOPE || isnan(x) ? str_none
             : f->kind == F_AT              ? condition_text(w, tag, x)
                                            : why_value(w, tag, x);
    Str value = c->st[i] & V_MISSING ? STR("missing")
                : f->kind == F_AT    ? why_value(w, tag, c->v[i])
                : f->kind == F_WHERE ? condition_text(w, tag, c->v[i])
                                     : (Str){0};
    Str over = w->v->tags[tag].over_name;
    if (f->kind == F_SLOPE)
        why_line(w, "slope of %.*s, end to end%s", STR_ARG(curve),
                 c->st[i] & V_MISSING ? ": missing" : "");
    else if (f->kind == F_AT)
        why_line(w, "%.*s at %.*s %.*s = %.*s%.*s", STR_ARG(curve), STR_ARG(over), STR_ARG(at),
                 STR_ARG(value), STR_ARG(why_marks(c->st[i] & V_MISSING ? 0 : c->st[i])));
    else
        why_line(w, "%.*s where %.*s is %.*s = %.*s%.*s", STR_ARG(over), STR_ARG(curve),
                 STR_ARG(at), STR_ARG(value),
                 STR_ARG(why_marks(c->st[i] & V_MISSING ? 0 : c->st[i])));
}

void why_curve(Why *w, const Formula *f, uint32_t i) {
    TagId tag = f->a->tag;
    const Tag *t = &w->v->tags[tag];
    uint32_t at = eval_related(w->e, f->a->context, t->of, i);
    if (at == UINT32_MAX) {
        why_line(w, "%.*s is missing: there is no %.*s here", STR_ARG(t->name),
                 STR_ARG(w->v->classes[t->of].name));
        return;
    }
    Str name = say_subject(w->a, w->j, tag, why_subject(w, t->of, at));
    const Curve *c = eval_curve(w->e, tag, at, f->a->kind);
    double x = asked_at(w, f, i);
    tell_headline(w, f, i, name, x);
    w->depth++;
    if (c->st & V_MISSING) {
        why_line(w, "%.*s is missing: %s", STR_ARG(name),
                 c->st & V_SUSPECT ? "its points are doubted" : "a curve needs two good points");
    } else {
        tell_origin(w, c);
        for (uint32_t k = 0; k < c->count && f->kind == F_SLOPE;
             k += c->count > 1 ? c->count - 1 : 1)
            tell_point(w, c, &c->points[k]);
        if (!isnan(x)) tell_span(w, c, tag, x, f->kind == F_WHERE);
    }
    if (f->b) why_formula(w, f->b, i);
    w->depth--;
}

static void tell_spots(Why *w, TagId tag, SubjectId id) {
    const Tag *t = &w->v->tags[tag];
    uint32_t i = state_reading(w->s, tag, id, UINT32_MAX);
    if (i == NO_READING) return;
    uint32_t entry = reading_entry(w->j, &w->j->readings[i]);
    static const char *const how[] = {
        [AGG_SUM] = "sum",         [AGG_MEAN] = "mean",         [AGG_SPREAD] = "spread",
        [AGG_LARGEST] = "largest", [AGG_SMALLEST] = "smallest", [AGG_COUNT] = "count"};
    if (t->uses_spot)
        why_line(w, "of its spots %.*s counts", STR_ARG(t->spots[t->used_spot]));
    else
        why_line(w, "the %s of its spots counts", how[t->used_aggregate]);
    for (; i != NO_READING; i = chain_prev(w->j, i)) {
        const Reading *r = &w->j->readings[i];
        if (reading_entry(w->j, r) != entry) return;
        if (!(r->flags & READ_SPOT) || (r->flags & (READ_BAD | READ_REPEATED))) continue;
        why_line(w, "%.*s = %.*s", STR_ARG(say_condition(w->a, w->j, r, w->system)),
                 STR_ARG(why_reading(w, w->j, r)));
    }
}

void why_points(Why *w, TagId tag, uint32_t i) {
    const Tag *t = &w->v->tags[tag];
    SubjectId id = why_subject(w, t->of, i);
    if (!t->has_curve) {
        tell_spots(w, tag, id);
        return;
    }
    const Curve *c = eval_curve(w->e, tag, i, F_TAG);
    Str name = say_subject(w->a, w->j, tag, id);
    if (c->st & V_MISSING) {
        why_line(w, "%.*s is missing: %s", STR_ARG(name),
                 c->st & V_SUSPECT ? "its points are doubted" : "a curve needs two good points");
        return;
    }
    why_line(w, "%.*s over %.*s", STR_ARG(name), STR_ARG(t->over_name));
    w->depth++;
    tell_origin(w, c);
    for (uint32_t k = 0; k < c->count; k++)
        tell_point(w, c, &c->points[k]);
    w->depth--;
}
