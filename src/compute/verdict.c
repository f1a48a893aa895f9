#include "compute/verdict.h"

#include "compute/eval_parts.h"
#include <math.h>

double equal_within(const Tag *tag) {
    return unit_step(tag->unit, tag->places) / 1000;
}

double range_margin(const Tag *tag, const Range *range, double value, double *bound) {
    double below = value - range->low, above = range->high - value;
    double margin = below <= above ? below : above;
    *bound = below <= above ? range->low : range->high;
    return fabs(margin) < equal_within(tag) ? 0 : margin;
}

static const Force *acceptance(const Eval *e, TagId tag, SubjectId id) {
    for (uint32_t i = 0; i < e->state->force_count; i++) {
        const Force *f = &e->state->forces[i];
        if (f->kind == EVENT_ACCEPT && f->tag == tag && state_under(e->state, id, f->subject))
            return f;
    }
    return NULL;
}

static void judge(Eval *e, Arena *a, Verdicts *out, const Force *f, SubjectId id, double value,
                  uint8_t st, TagId missing) {
    bool missing_here = st & V_MISSING;
    if (missing_here && (f->card || f->shop) && !e->judges_all) return;
    arena_grow(a, out->items, out->count, out->room);
    Verdict *v = &out->items[out->count++];
    *v = (Verdict){.force = f, .subject = id, .value = value, .st = st, .missing = missing};
    if (missing_here) {
        v->kind = VERDICT_UNJUDGED;
        v->value = NAN;
        return;
    }
    v->margin = range_margin(&e->v->tags[f->tag], &f->range, value, &v->bound);
    v->kind = v->margin < 0    ? VERDICT_BROKEN
              : st & V_NOMINAL ? VERDICT_NOMINAL
              : st & V_PARTIAL ? VERDICT_SO_FAR
                               : VERDICT_HOLDS;
    if (v->kind == VERDICT_BROKEN) v->accepted = acceptance(e, f->tag, id);
}

/* Of a curve: the value at the limit's condition, or every point of the newest curve. */
static void judge_curve(Eval *e, Arena *a, Verdicts *out, const Force *f, uint32_t i,
                        SubjectId id) {
    const Tag *tag = &e->v->tags[f->tag];
    const Curve *c = eval_curve(e, f->tag, i, F_TAG);
    uint8_t st = 0;
    if (f->has_at) {
        double v = curve_at(c, f->at, tag->reach, &st);
        judge(e, a, out, f, id, v, st, f->tag);
        return;
    }
    if (c->count == 0 || (c->st & V_MISSING)) {
        judge(e, a, out, f, id, NAN, V_MISSING, f->tag);
        return;
    }
    uint32_t worst = 0;
    double least = INFINITY, bound;
    for (uint32_t p = 0; p < c->count; p++) {
        double margin = range_margin(tag, &f->range, c->points[p].value + c->shift, &bound);
        if (margin < least) worst = p;
        least = fmin(least, margin);
    }
    judge(e, a, out, f, id, c->points[worst].value + c->shift, c->st, f->tag);
}

static bool takes_over(const Eval *e, const Force *own, const Force *f, SubjectId id) {
    if (own->tag != f->tag || own->kind != EVENT_LIMIT || own->shop || own->card) return false;
    return own->has_at == f->has_at && (!f->has_at || same_condition(own->at, f->at)) &&
           str_ieq(own->by, f->by) && state_under(e->state, id, own->subject);
}

bool force_restated(const Eval *e, const Force *f, SubjectId id) {
    const State *s = e->state;
    if (!f->shop || f->kind != EVENT_LIMIT) return false;
    for (uint32_t i = 0; i < s->force_count; i++) {
        if (takes_over(e, &s->forces[i], f, id)) return true;
    }
    for (uint32_t i = 0; i < s->lifted_count; i++) {
        if (takes_over(e, &s->lifted[i], f, id)) return true;
    }
    return false;
}

bool force_applies(const Eval *e, const Force *f, SubjectId id) {
    const Subject *s = &e->job->subjects[id];
    if (f->letter && s->letter != f->letter) return false;
    if (f->subject != SUBJECT_ENGINE && !state_under(e->state, id, f->subject)) return false;
    if (f->shop && force_restated(e, f, id)) return false;
    return !f->card || f->everywhere || state_card_applies(e->state, f->card, id);
}

/* A place on a head that is fitted is judged as the place it came to sit at. */
static bool judged_elsewhere(const Eval *e, SubjectId id) {
    return e->job->subjects[id].kind == SUBJECT_CARRIED && e->state->carried &&
           e->state->carried[id] != SUBJECT_NONE;
}

/* A part that sits nowhere (a spare, a scrapped one) breaks no limit of the engine. */
static bool spare(const Eval *e, SubjectId id) {
    if (e->job->subjects[id].kind != SUBJECT_ITEM) return false;
    return !e->state->sits_at || e->state->sits_at[id] == SUBJECT_NONE;
}

static bool anything_sits(const Eval *e, ClassId item_class) {
    for (uint32_t i = 0; i < class_count(e, item_class); i++) {
        if (!spare(e, class_subject(e, item_class, i))) return true;
    }
    return false;
}

static void judge_force(Eval *e, Arena *a, Verdicts *out, const Force *f) {
    if (force_restated(e, f, SUBJECT_ENGINE)) return; /* and so for all that is on it */
    const Tag *tag = &e->v->tags[f->tag];
    uint32_t n = class_count(e, tag->of), before = out->count;
    const Col *col = tag->has_curve ? NULL : eval_tag(e, f->tag);
    bool fitted = e->v->classes[tag->of].kind == CLASS_ITEM && anything_sits(e, tag->of);
    for (uint32_t i = 0; i < n; i++) {
        SubjectId id = class_subject(e, tag->of, i);
        if (!force_applies(e, f, id) || judged_elsewhere(e, id) || (fitted && spare(e, id)))
            continue;
        if (e->job->subjects[id].kind == SUBJECT_CARRIED && col && (col->st[i] & V_MISSING))
            continue;
        if (col)
            judge(e, a, out, f, id, col->v[i], col->st[i], (TagId)col->from[i]);
        else
            judge_curve(e, a, out, f, i, id);
    }
    if (out->count > before || f->card || f->shop) return;
    judge(e, a, out, f, f->subject, NAN, V_MISSING, f->tag); /* nothing there to judge */
}

typedef struct Alone { /* the values with only the items of a card's part where several share */
    const CardUse *card;
    Eval *values; /* NULL: nothing is shared with another part */
} Alone;

/* A card speaks of its own part: an outer spring's seat load is not that of the pair. */
static Eval *values_for(Eval *e, const Force *f, Alone *known) {
    if (!f->card || e->v->classes[e->v->tags[f->tag].of].kind == CLASS_ITEM) return e;
    if (known->card != f->card) {
        const State *own = state_of_part(e->state, f->card, e->arena);
        *known = (Alone){f->card, own ? eval_new(own, e->arena) : NULL};
        if (own) known->values->judges_all = e->judges_all;
    }
    return known->values ? known->values : e;
}

Verdicts verdicts_of(Eval *e, Arena *a) {
    enum { ROOM_USUAL = 64 };
    Verdicts out = {.items = arena_bare_array(a, ROOM_USUAL, sizeof *out.items),
                    .room = ROOM_USUAL};
    Alone known = {0};
    for (uint32_t i = 0; i < e->state->force_count; i++) {
        const Force *f = &e->state->forces[i];
        if (f->kind != EVENT_LIMIT) continue;
        Eval *values = values_for(e, f, &known);
        uint32_t before = out.count;
        judge_force(values, a, &out, f);
        for (uint32_t k = before; k < out.count; k++)
            out.items[k].alone = values != e;
    }
    return out;
}
