/*
 * Where nothing serves a place: which thickness of adjusters would, with an item that is free. The
 * thicknesses are tried in steps of five of the adjuster's last shown place, over all that is
 * plausible.
 */
#include "compute/fit_parts.h"

#include <math.h>

typedef struct NearMiss {
    FitWork *w;
    Round round;
    bool *broken; /* per place */
    double *off;  /* per place: best so far, in steps from the aim */
} NearMiss;

static bool taken(const FitWork *w, uint32_t column) {
    for (uint32_t p = 0; p < w->out->places; p++)
        if (w->out->why.item_of[p] == (int)column) return true;
    return false;
}

static double off_aim(NearMiss *n, Eval *e, uint32_t p) {
    const FitWork *w = n->w;
    if (!w->out->has_aim || w->fit->evens || w->v->tags[w->fit->aim].of != w->fit->place) return 0;
    const Col *c = eval_tag(e, w->fit->aim);
    uint32_t i = w->s->index[w->out->place[p]];
    if (c->st[i] & V_MISSING) return INFINITY;
    double off = fabs(c->v[i] - eval_aim(e, w->fit->aim, w->out->place[p], NULL));
    return isnan(off) ? 0 : off / w->out->step;
}

static void look(NearMiss *n, Eval *e) {
    FitWork *w = n->w;
    Verdicts all = verdicts_of(e, w->scratch);
    memset(n->broken, 0, w->out->places);
    for (uint32_t i = 0; i < all.count; i++) {
        const Verdict *v = &all.items[i];
        uint32_t p = place_of(w, &w->what_if->state, v->subject);
        uint64_t bit = UINT64_C(1) << (v->force - w->what_if->state.forces);
        bool bad = v->kind == VERDICT_BROKEN && !v->accepted;
        bool unknown = v->kind == VERDICT_UNJUDGED && (w->judged & bit);
        if (p != UINT32_MAX) n->broken[p] |= bad || unknown;
    }
    for (uint32_t p = 0; p < w->out->places; p++) {
        uint32_t c = n->round.column[p];
        if (w->out->why.item_of[p] >= 0 || c == UINT32_MAX || n->broken[p]) continue;
        bool item = w->fit->item != CLASS_NONE;
        if (item && (!w->open[(size_t)p * w->columns + c] || taken(w, c))) continue;
        double off = off_aim(n, e, p);
        bool thinner = off == n->off[p] && n->round.adjust[p] < w->out->near[p].adjust;
        if (!(off < n->off[p]) && !thinner) continue;
        n->off[p] = off;
        w->out->near[p] =
            (FitNear){true, n->round.adjust[p], item ? w->out->candidate[c] : SUBJECT_NONE};
    }
}

void find_near(FitWork *w) {
    enum { TRIES_MOST = 200 };
    if (!w->out->sizes) return;
    const Tag *tag = &w->v->tags[w->fit->adjust];
    double step = 5 * unit_step(tag->unit, tag->places);
    double most = tag->has_plausible ? tag->plausible.high : TRIES_MOST * step;
    NearMiss n = {.w = w, .round = round_new(w)};
    n.broken = arena_array(w->arena, w->out->places + 1, sizeof *n.broken);
    n.off = arena_array(w->arena, w->out->places + 1, sizeof *n.off);
    w->out->near = arena_array(w->arena, w->out->places + 1, sizeof *w->out->near);
    for (uint32_t p = 0; p < w->out->places; p++)
        n.off[p] = INFINITY;
    what_if_limits(w->what_if, w->forces, w->local, w->arena);
    for (uint32_t shift = 0; shift < round_turns(w); shift++) {
        seat_round(w, &n.round, shift, 0);
        look(&n, what_if_eval(w->what_if, w->scratch));
        for (int k = 1; k < TRIES_MOST && k * step <= most * (1 + 1e-9); k++) {
            adjust_round(w, &n.round, k * step);
            look(&n, what_if_adjusted(w->what_if, w->scratch));
        }
        arena_reset(w->scratch);
    }
}
