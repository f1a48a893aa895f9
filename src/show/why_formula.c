/* The inputs of a formula, in the order they stand in it, each with its own tree. */
#include "show/why_parts.h"

#include "compute/fitted.h"
#include "compute/lost.h"

#include <math.h>

enum { MEMBERS_WORKED = 4 }; /* an aggregate of so few members shows the working of each */

static uint32_t position(Why *w, const Formula *f, ClassId to, uint32_t i) {
    return eval_related(w->e, f->context, to, i);
}

static void nowhere(Why *w, TagId tag) {
    const Class *k = &w->v->classes[w->v->tags[tag].of];
    why_line(w, "%.*s is missing: there is no %.*s here", STR_ARG(w->v->tags[tag].name),
             STR_ARG(k->name));
}

static void tell_tag(Why *w, const Formula *f, uint32_t i) {
    uint32_t at = position(w, f, w->v->tags[f->tag].of, i);
    if (at == UINT32_MAX)
        nowhere(w, f->tag);
    else
        why_tag(w, f->tag, at);
}

/* ---- the past
 * ---------------------------------------------------------------------------------------- */

static const char *past_word(FormulaKind kind) {
    switch (kind) {
    case F_FIRST: return "first ";
    case F_PREVIOUS: return "previous ";
    case F_READ: return "last read ";
    default: return "";
    }
}

/* The reading a value of the past was: of the same value, the latest. */
static const Reading *reading_of(const Why *w, TagId tag, SubjectId id, double value) {
    for (SubjectId at = id; at != SUBJECT_NONE; at = state_up(w->s, at)) {
        for (uint32_t i = chain_last(w->j, tag, at); i != NO_READING; i = chain_prev(w->j, i)) {
            const Reading *r = &w->j->readings[i];
            if (r->value == value && !(r->flags & READ_BAD) && reading_counts(w->s, r)) return r;
        }
        if (at == SUBJECT_ENGINE) break;
    }
    return NULL;
}

static void tell_past(Why *w, const Formula *f, uint32_t i) {
    const Tag *t = &w->v->tags[f->tag];
    const Col *c = eval_node(w->e, f);
    uint32_t at = position(w, f, t->of, i);
    if (at == UINT32_MAX) {
        nowhere(w, f->tag);
        return;
    }
    SubjectId id = why_subject(w, t->of, at);
    Str name = say_subject(w->a, w->j, f->tag, id), then = {0};
    if (f->kind == F_WHEN)
        then = arena_printf(w->a, " when %.*s was read", STR_ARG(w->v->tags[f->tag2].name));
    if (c->st[i] & V_MISSING) {
        why_line(w, "%s%.*s%.*s is missing: no such reading", past_word(f->kind), STR_ARG(name),
                 STR_ARG(then));
        return;
    }
    const Reading *r = reading_of(w, f->tag, id, c->v[i]);
    Str value = r ? why_reading(w, w->j, r) : why_value(w, f->tag, c->v[i]);
    why_line(w, "%s%.*s%.*s = %.*s", past_word(f->kind), STR_ARG(name), STR_ARG(then),
             STR_ARG(value));
}

static void tell_one(Why *w, const char *what, uint32_t reading) {
    if (reading == NO_READING) return;
    const Reading *r = &w->j->readings[reading];
    Str name = say_subject(w->a, w->j, r->tag, r->subject);
    Str value = r->flags & READ_WORDS ? reading_text(w->j, r) : why_reading(w, w->j, r);
    why_line(w, "%s %.*s = %.*s", what, STR_ARG(name), STR_ARG(value));
}

static void tell_lost(Why *w, const Formula *f, uint32_t i) {
    Lost lost = eval_lost(w->e, f, i);
    if (lost.why != LOST_KNOWN)
        why_line(w, "%.*s is missing: %s", STR_ARG(why_source(w, f->span)), lost_text(lost.why));
    tell_one(w, "before:", lost.before);
    tell_one(w, "the work:", lost.work);
    tell_one(w, "after:", lost.after);
    tell_one(w, "also:", lost.other);
}

static void tell_fitted(Why *w, const Formula *f, uint32_t i) {
    const Col *c = eval_node(w->e, f);
    Str name = w->v->tags[f->tag].name;
    Str item = subject_name(w->j, why_subject(w, f->context, i), w->a);
    if (!(c->st[i] & V_MISSING)) {
        why_line(w, "%.*s while %.*s was fitted = %.*s", STR_ARG(name), STR_ARG(item),
                 STR_ARG(why_value(w, f->tag, c->v[i])));
        return;
    }
    why_line(w, "%.*s while %.*s was fitted is missing: not known for all of that time",
             STR_ARG(name), STR_ARG(item));
    if (!w->j->entry_count || w->j->chain->row[f->tag] == CHAIN_NO_ROW) return;
    Fitted *times = fitted_start(w->s, f->tag, w->a);
    fitted_to(times, w->s->last_entry);
    uint32_t entry;
    FittedWhy why = fitted_why(times, why_subject(w, f->context, i), &entry);
    const Entry *e = &w->j->entries[entry];
    why_line(w, "%.*s %s (%.*s)", STR_ARG(name), fitted_text(why),
             STR_ARG(say_place(w->a, w->j->sources[e->source], e->span.off)));
}

static void tell_aim(Why *w, const Formula *f, uint32_t i) {
    const Tag *t = &w->v->tags[f->tag];
    uint32_t at = position(w, f, t->of, i);
    const Force *whose = NULL;
    double aim = at == UINT32_MAX ? NAN : eval_aim(w->e, f->tag, why_subject(w, t->of, at), &whose);
    if (isnan(aim) || !whose)
        why_line(w, "aim %.*s is missing: none is stated", STR_ARG(t->name));
    else
        why_line(w, "aim %.*s = %.*s (%.*s)", STR_ARG(t->name), STR_ARG(why_value(w, f->tag, aim)),
                 STR_ARG(why_force(w, whose)));
}

static void tell_spot(Why *w, const Formula *f, uint32_t i) {
    const Tag *t = &w->v->tags[f->tag];
    const Col *c = eval_node(w->e, f);
    Str spot = t->spots[(size_t)f->number];
    uint32_t at = position(w, f, t->of, i);
    Str name =
        at == UINT32_MAX ? t->name : say_subject(w->a, w->j, f->tag, why_subject(w, t->of, at));
    if (at == UINT32_MAX || (c->st[i] & V_MISSING)) {
        why_line(w, "%.*s @ %.*s is missing%s", STR_ARG(name), STR_ARG(spot),
                 c->st[i] & V_SUSPECT ? ": it is doubted" : "");
        return;
    }
    const Reading *r = reading_of(w, f->tag, why_subject(w, t->of, at), c->v[i]);
    Str value = r ? why_reading(w, w->j, r) : why_value(w, f->tag, c->v[i]);
    why_line(w, "%.*s @ %.*s = %.*s", STR_ARG(name), STR_ARG(spot), STR_ARG(value));
}

/* ---- aggregates
 * ---------------------------------------------------------------------------------------- */

typedef struct Members {
    const Col *c;
    uint32_t *at; /* positions */
    uint32_t count, there;
    uint32_t largest, smallest; /* positions; UINT32_MAX */
} Members;

static Members members_of(Why *w, const Formula *f, uint32_t i) {
    Members m = {.c = eval_node(w->e, f->a), .largest = UINT32_MAX, .smallest = UINT32_MAX};
    SubjectId id = why_subject(w, f->context, i);
    m.at = arena_array(w->a, m.c->n + 1, sizeof *m.at);
    for (uint32_t k = 0; k < m.c->n; k++) {
        SubjectId member = why_subject(w, f->over, k);
        if (w->j->subjects[member].kind == SUBJECT_CARRIED) continue;
        if ((f->here || id != SUBJECT_ENGINE) && !state_under(w->s, member, id)) continue;
        if (w->j->subjects[member].kind == SUBJECT_ITEM && !f->here && w->s->sits_at &&
            w->s->sits_at[member] == SUBJECT_NONE && (m.c->st[k] & V_MISSING))
            continue;
        m.at[m.count++] = k;
        if (m.c->st[k] & V_MISSING) continue;
        m.there++;
        if (m.largest == UINT32_MAX || m.c->v[k] > m.c->v[m.largest]) m.largest = k;
        if (m.smallest == UINT32_MAX || m.c->v[k] < m.c->v[m.smallest]) m.smallest = k;
    }
    return m;
}

static bool marks_ends(const Formula *f) {
    return f->aggregate == AGG_SPREAD || f->aggregate == AGG_LARGEST ||
           f->aggregate == AGG_SMALLEST;
}

static bool decides(const Formula *f, const Members *m, uint32_t k) {
    return (k == m->largest && f->aggregate != AGG_SMALLEST && marks_ends(f)) ||
           (k == m->smallest && f->aggregate != AGG_LARGEST && marks_ends(f));
}

/* A member in a line: its value, and where it was read when it is a reading itself. */
static void tell_member(Why *w, const Formula *f, const Members *m, uint32_t k) {
    Str name = subject_name(w->j, why_subject(w, f->over, k), w->a);
    const char *end = !decides(f, m, k) ? "" : k == m->largest ? ", largest" : ", smallest";
    if (m->count == 1) end = "";
    TagId tag = f->a->kind == F_TAG ? f->a->tag : TAG_NONE;
    if (m->c->st[k] & V_MISSING) {
        why_line(w, "%.*s: missing", STR_ARG(name));
        return;
    }
    bool own = tag != TAG_NONE && w->v->tags[tag].of == f->over;
    const Col *c = own ? eval_tag(w->e, tag) : NULL;
    Str value;
    if (c && (c->st[k] & V_READ) && !(c->st[k] & V_NOMINAL))
        value = why_reading(w, w->j, &w->j->readings[c->from[k]]);
    else if (tag != TAG_NONE)
        value = why_value(w, tag, m->c->v[k]);
    else if (w->v->tags[w->tag].dim == f->a->dim)
        value = why_value(w, w->tag, m->c->v[k]);
    else
        value = STR("worked out below");
    why_line(w, "%.*s: %.*s%.*s%s", STR_ARG(name), STR_ARG(value), STR_ARG(why_marks(m->c->st[k])),
             end);
}

static void tell_aggregate(Why *w, const Formula *f, uint32_t i) {
    Members m = members_of(w, f, i);
    const Class *k = &w->v->classes[f->over];
    why_line(w, "over %u %.*s%s", m.count, STR_ARG(m.count == 1 ? k->name : k->plural),
             m.there < m.count ? ", some missing" : "");
    w->depth++;
    bool all = m.count <= MEMBERS_WORKED;
    for (uint32_t n = 0; n < m.count; n++) {
        uint32_t at = m.at[n];
        bool read = f->a->kind == F_TAG && w->v->tags[f->a->tag].of == f->over &&
                    (eval_tag(w->e, f->a->tag)->st[at] & V_READ);
        tell_member(w, f, &m, at);
        bool says_why = m.there == 0 && n == 0; /* of none the first tells why */
        if (read || (!all && !says_why && !decides(f, &m, at)) || (w->brief && m.count > 1))
            continue;
        w->depth++;
        why_formula(w, f->a, at);
        w->depth--;
    }
    w->depth--;
}

/* ---- the rest
 * -------------------------------------------------------------------------------------------- */

static void tell_else(Why *w, const Formula *f, uint32_t i) {
    const Col *a = eval_node(w->e, f->a);
    if (!(a->st[i] & V_MISSING) || (a->st[i] & V_SUSPECT)) {
        why_formula(w, f->a, i);
        return;
    }
    const Col *b = eval_node(w->e, f->b);
    if (b->st[i] & V_MISSING) {
        why_formula(w, f->a, i);
        why_line(w, "else");
    } else {
        why_line(w, "no %.*s, so %.*s", STR_ARG(why_source(w, f->a->span)),
                 STR_ARG(why_source(w, f->b->span)));
    }
    why_formula(w, f->b, i);
}

void why_formula(Why *w, const Formula *f, uint32_t i) {
    switch (f->kind) {
    case F_NUMBER: return;
    case F_TAG: tell_tag(w, f, i); return;
    case F_FIRST:
    case F_PREVIOUS:
    case F_READ:
    case F_WHEN: tell_past(w, f, i); return;
    case F_LOST: tell_lost(w, f, i); return;
    case F_FITTED: tell_fitted(w, f, i); return;
    case F_AIM: tell_aim(w, f, i); return;
    case F_SPOT: tell_spot(w, f, i); return;
    case F_AT:
    case F_SLOPE:
    case F_WHERE: why_curve(w, f, i); return;
    case F_AGGREGATE: tell_aggregate(w, f, i); return;
    case F_ELSE: tell_else(w, f, i); return;
    case F_NEGATE:
    case F_ADD:
    case F_SUBTRACT:
    case F_MULTIPLY:
    case F_DIVIDE:
    case F_POWER:
    case F_SQRT:
    case F_SIN:
    case F_COS:
    case F_TAN:
    case F_ASIN:
    case F_ACOS:
    case F_ATAN:
    case F_ABS:
    case F_MIN:
    case F_MAX:
    case F_IN: break;
    }
    if (f->a) why_formula(w, f->a, i);
    if (f->b) why_formula(w, f->b, i);
}
