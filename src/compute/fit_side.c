/* How all places stand, before and after: the same figures, read the same way. */
#include "compute/fit_parts.h"

#include <math.h>

void side_new(FitWork *w, FitSide *out) {
    uint32_t n = w->out->places;
    Arena *a = w->arena;
    *out =
        (FitSide){.item = arena_array(a, n + 1, sizeof(SubjectId)),
                  .adjust = arena_array(a, n + 1, sizeof(double)),
                  .figure = arena_array(a, (size_t)n * w->fit->table_count + 1, sizeof(FitFigure)),
                  .margin = arena_array(a, (size_t)(n + 1) * w->out->limits + 1, sizeof(FitMargin)),
                  .aimed = arena_array(a, n + 1, sizeof(FitFigure)),
                  .steps = arena_array(a, n + 1, sizeof(int32_t)),
                  .has_steps = arena_array(a, n + 1, sizeof(bool))};
}

static FitFigure figure_of(const Col *c, uint32_t i) {
    if (c->st[i] & V_MISSING)
        return (FitFigure){.value = NAN, .st = c->st[i], .missing = (TagId)c->from[i]};
    return (FitFigure){.value = c->v[i], .st = c->st[i], .missing = TAG_NONE};
}

/* Of things that lie under a place the smallest counts; of the aim's tag the one furthest off. */
static FitFigure figure_under(const FitWork *w, Eval *e, TagId tag, uint32_t p) {
    const Col *c = eval_tag(e, tag);
    FitFigure found = {.value = NAN, .st = V_MISSING, .missing = tag};
    double aim =
        tag == w->fit->aim && !w->fit->evens ? eval_aim(e, tag, w->out->place[p], NULL) : NAN;
    for (uint32_t i = 0; i < c->n; i++) {
        SubjectId id = class_subject(e, w->v->tags[tag].of, i);
        if (place_of(w, e->state, id) != p || w->j->subjects[id].kind == SUBJECT_CARRIED) continue;
        FitFigure f = figure_of(c, i);
        if (f.st & V_MISSING) {
            if (found.st & V_MISSING) found = f;
            continue;
        }
        bool further =
            isnan(aim) ? f.value < found.value : fabs(f.value - aim) > fabs(found.value - aim);
        if ((found.st & V_MISSING) || further) found = f;
    }
    return found;
}

static FitFigure figure_at(const FitWork *w, Eval *e, TagId tag, uint32_t p) {
    ClassId of = w->v->tags[tag].of, place = w->fit->place;
    bool under = of != place && of != w->fit->item && class_under(w->v, of, place);
    if (under) return figure_under(w, e, tag, p);
    uint32_t at = eval_related(e, place, of, w->s->index[w->out->place[p]]);
    if (at == UINT32_MAX) return (FitFigure){.value = NAN, .st = V_MISSING, .missing = tag};
    return figure_of(eval_tag(e, tag), at);
}

static void read_aim(FitWork *w, Eval *e, FitSide *out, uint32_t p) {
    out->aimed[p] = figure_at(w, e, w->fit->aim, p);
    double aim = w->fit->evens ? w->out->centre : eval_aim(e, w->fit->aim, w->out->place[p], NULL);
    double off = (out->aimed[p].value - aim) / w->out->step;
    out->has_steps[p] = isfinite(off) && fabs(off) < FIT_DEVIATION_MOST;
    out->steps[p] = out->has_steps[p] ? (int32_t)llround(off + copysign(1e-7, off)) : 0;
}

static void read_margins(FitWork *w, Eval *e, FitSide *out) {
    Verdicts all = verdicts_of(e, e->arena);
    uint32_t limits = w->out->limits;
    for (size_t i = 0; i < (size_t)(w->out->places + 1) * limits; i++)
        out->margin[i] = (FitMargin){.unsure = out->margin[i].unsure};
    for (uint32_t i = 0; i < all.count; i++) {
        const Verdict *v = &all.items[i];
        uint32_t l = (uint32_t)(v->force - e->state->forces);
        uint32_t p = w->out->limit[l].whole ? w->out->places : place_of(w, e->state, v->subject);
        if (v->kind == VERDICT_UNJUDGED) {
            w->out->limit[l].missing = v->missing;
            continue;
        }
        if (p == UINT32_MAX) continue;
        FitMargin *m = &out->margin[(size_t)p * limits + l];
        if (m->there && m->margin <= v->margin) continue;
        w->out->limit[l].judged |= w->out->limit[l].whole;
        double part = fit_part(&w->v->tags[v->force->tag], &v->force->range, v->margin);
        *m = (FitMargin){.there = true,
                         .broken = v->kind == VERDICT_BROKEN && !v->accepted,
                         .value = v->value,
                         .bound = v->bound,
                         .margin = v->margin,
                         .part = part,
                         .unsure = m->unsure};
    }
}

void side_read(FitWork *w, Eval *e, FitSide *out) {
    bool adjusts = w->fit->adjust != TAG_NONE;
    for (uint32_t p = 0; p < w->out->places; p++) {
        size_t slot = (size_t)w->out->place[p] * HERE_MOST + w->slot;
        bool sits = w->fit->item != CLASS_NONE && e->state->here;
        out->item[p] = sits ? e->state->here[slot] : SUBJECT_NONE;
        out->adjust[p] = adjusts ? figure_at(w, e, w->fit->adjust, p).value : NAN;
        for (uint8_t k = 0; k < w->fit->table_count; k++) {
            FitFigure *f = &out->figure[(size_t)p * w->fit->table_count + k];
            double unsure = f->unsure;
            *f = figure_at(w, e, w->fit->table[k], p);
            f->unsure = unsure;
        }
        if (w->fit->aim != TAG_NONE) read_aim(w, e, out, p);
    }
    read_margins(w, e, out);
}
