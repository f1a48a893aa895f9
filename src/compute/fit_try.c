/*
 * Every item at every place over every stack, tried: all places are filled at once, each with
 * another item, so that one evaluation settles as many combinations as there are places. Stacks of
 * one thickness come to the same and are tried once.
 */
#include "compute/fit_parts.h"

#include <math.h>

double fit_part(const Tag *tag, const Range *range, double margin) {
    double over = 0;
    if (isfinite(range->low) && isfinite(range->high))
        over = (range->high - range->low) / 2;
    else
        over = fabs(isfinite(range->low) ? range->low : range->high);
    if (over == 0) over = unit_diff_to_si(tag->unit, 1); /* a bound of 0: one of its unit */
    return margin / over;
}

/* ---- which limits ------------------------------------------------------------------------------
 */

/* A card's limit holds where its part is in use, so that it comes and goes with the item. */
static bool of_chosen_part(const FitWork *w, const Force *f) {
    if (!f->card || w->fit->item == CLASS_NONE) return false;
    ClassId of = w->v->tags[f->card->tag].of;
    return of == w->fit->item || of == w->v->classes[w->fit->item].set;
}

void gather_limits(FitWork *w) {
    FitAnswer *out = w->out;
    out->limit = arena_array(w->arena, w->s->force_count + 1, sizeof *out->limit);
    w->forces = arena_array(w->arena, w->s->force_count + 1, sizeof *w->forces);
    for (int whole = 0; whole < 2; whole++) { /* those judged place by place come first */
        for (uint32_t i = 0; i < w->s->force_count; i++) {
            const Force *f = &w->s->forces[i];
            if (f->kind != EVENT_LIMIT) continue;
            bool moves = w->moves.moves[f->tag] || of_chosen_part(w, f);
            if (!moves || (int)w->moves.wide[f->tag] != whole) continue;
            if (!whole && !class_local(w->v, w->fit, w->v->tags[f->tag].of)) continue;
            w->forces[out->limits] = *f;
            out->limit[out->limits++] = (FitLimit){.force = f, .whole = whole, .missing = TAG_NONE};
        }
        if (!whole) w->local = out->limits;
    }
}

static uint32_t limit_index(const FitWork *w, const Force *f) {
    return (uint32_t)(f - w->what_if->state.forces);
}

/* ---- trying ------------------------------------------------------------------------------------
 */

static void set_adjusters(FitWork *w, const double *adjust) {
    for (uint32_t p = 0; p < w->out->places && w->out->sizes; p++)
        for (uint32_t k = w->on_first[p]; k < w->on_first[p + 1]; k++)
            what_if_set(w->what_if, k, adjust[p]);
}

void seat_all(FitWork *w, const SubjectId *item, const double *adjust) {
    uint32_t n = w->out->places;
    for (uint32_t p = 0; p < n && w->fit->item != CLASS_NONE; p++)
        what_if_seat(w->what_if, w->out->place[p], w->slot, SUBJECT_NONE);
    for (uint32_t p = 0; p < n && w->fit->item != CLASS_NONE; p++)
        if (item[p] != SUBJECT_NONE) what_if_seat(w->what_if, w->out->place[p], w->slot, item[p]);
    set_adjusters(w, adjust);
}

Round round_new(FitWork *w) {
    uint32_t n = w->out->places + 1;
    return (Round){arena_array(w->arena, n, sizeof(SubjectId)),
                   arena_array(w->arena, n, sizeof(uint32_t)),
                   arena_array(w->arena, n, sizeof(double)), 0};
}

/* Place p gets item p + shift, so that over all shifts each item comes to each place. */
void seat_round(FitWork *w, Round *r, uint32_t shift, double adjust) {
    uint32_t n = w->out->places, m = w->columns, turn = m > n ? m : n;
    for (uint32_t p = 0; p < n; p++) {
        uint32_t c = w->fit->item == CLASS_NONE ? p : (p + shift) % turn;
        r->column[p] = c < m ? c : UINT32_MAX;
        bool item = w->fit->item != CLASS_NONE && c < m;
        r->item[p] = item ? w->out->candidate[c] : SUBJECT_NONE;
        r->adjust[p] = adjust;
    }
    seat_all(w, r->item, r->adjust);
}

void adjust_round(FitWork *w, Round *r, double adjust) {
    for (uint32_t p = 0; p < w->out->places; p++)
        r->adjust[p] = adjust;
    set_adjusters(w, r->adjust);
}

static void judge(FitWork *w, const Round *r, const Verdicts *all) {
    for (uint32_t i = 0; i < all->count; i++) {
        const Verdict *v = &all->items[i];
        uint32_t p = place_of(w, &w->what_if->state, v->subject), l = limit_index(w, v->force);
        if (p == UINT32_MAX || r->column[p] == UINT32_MAX) continue;
        Combination *c = combination(w, p, r->column[p], r->stack);
        uint64_t bit = UINT64_C(1) << l;
        if (v->kind == VERDICT_UNJUDGED) {
            c->unjudged |= bit;
            w->out->limit[l].missing = v->missing;
            if (v->missing != TAG_NONE)
                w->blame_place[p] = w->blame_item[r->column[p]] = v->missing;
            continue;
        }
        w->judged |= bit;
        c->nominal |= (v->st & V_NOMINAL) != 0;
        if (v->kind == VERDICT_BROKEN) *(v->accepted ? &c->let_stand : &c->blocked) |= bit;
        if (v->accepted) continue; /* it would hide the margins of those that can hold */
        double part = fit_part(&w->v->tags[v->force->tag], &v->force->range, v->margin);
        c->margin = fmin(c->margin, part);
    }
}

/* The aim's tag may be read on several things at a place; the one furthest off counts. */
static void look_at_aim(FitWork *w, const Round *r, Eval *e) {
    const Col *col = eval_tag(e, w->fit->aim);
    for (uint32_t i = 0; i < col->n; i++) {
        SubjectId id = class_subject(e, w->v->tags[w->fit->aim].of, i);
        uint32_t p = place_of(w, &w->what_if->state, id);
        if (p == UINT32_MAX || r->column[p] == UINT32_MAX ||
            w->j->subjects[id].kind == SUBJECT_CARRIED)
            continue;
        Combination *c = combination(w, p, r->column[p], r->stack);
        double aim = w->fit->evens ? 0 : eval_aim(e, w->fit->aim, id, NULL);
        w->aim_set |= !isnan(aim);
        if (col->st[i] & V_MISSING) {
            w->blame_aim = (TagId)col->from[i];
            w->blame_place[p] = w->blame_item[r->column[p]] = (TagId)col->from[i];
            continue;
        }
        c->nominal |= (col->st[i] & V_NOMINAL) != 0;
        double off = isnan(aim) ? 0 : (col->v[i] - aim) / w->out->step;
        double rounded = fmax(-FIT_DEVIATION_MOST, fmin(off, FIT_DEVIATION_MOST));
        int32_t steps = (int32_t)llround(rounded + copysign(1e-7, rounded));
        if (!isnan(aim)) w->out->has_aim = true;
        if (isnan(c->aimed) || abs(steps) > abs(c->steps)) {
            c->aimed = col->v[i];
            c->steps = steps;
        }
    }
}

static void prepare(FitWork *w) {
    size_t count = (size_t)w->out->places * w->columns * w->out->stacks.count;
    w->all = arena_array(w->arena, count + 1, sizeof *w->all);
    for (size_t i = 0; i < count; i++)
        w->all[i] = (Combination){.margin = INFINITY, .aimed = NAN};
    w->blame_place = arena_array(w->arena, w->out->places + 1, sizeof(TagId));
    w->blame_item = arena_array(w->arena, w->columns + 1, sizeof(TagId));
    for (uint32_t p = 0; p < w->out->places; p++)
        w->blame_place[p] = TAG_NONE;
    for (uint32_t c = 0; c < w->columns; c++)
        w->blame_item[c] = TAG_NONE;
}

/* The tags that no choice changes are worked out once. */
static void share_base(FitWork *w) {
    Eval *e = what_if_eval(w->what_if, w->arena);
    for (uint32_t l = 0; l < w->out->limits; l++)
        if (!w->v->tags[w->forces[l].tag].has_curve) eval_tag(e, w->forces[l].tag);
    if (w->fit->aim != TAG_NONE) eval_tag(e, w->fit->aim);
    w->what_if->base = e;
    w->what_if->moves = w->moves.moves;
    w->what_if->adjusts = moves_of_adjuster(w->s, w->fit, w->arena);
}

uint32_t round_turns(const FitWork *w) {
    uint32_t n = w->out->places, m = w->columns;
    return w->fit->item == CLASS_NONE ? 1 : m > n ? m : n;
}

/* The shifts outside, the stacks within: what hangs on the items alone is worked out once. */
static void each_round(FitWork *w, void (*visit)(FitWork *w, const Round *r, Eval *e)) {
    uint32_t turns = round_turns(w);
    Round r = round_new(w);
    for (uint32_t shift = 0; shift < turns; shift++) {
        bool seated = false;
        for (r.stack = 0; r.stack < w->out->stacks.count; r.stack++) {
            double thick = w->thick[r.stack];
            if (w->out->stacks.pieces[r.stack] < w->fit->least || w->twin[r.stack] != r.stack)
                continue;
            if (seated)
                adjust_round(w, &r, thick);
            else
                seat_round(w, &r, shift, thick);
            if (!w->what_if->base) share_base(w);
            visit(w, &r,
                  seated ? what_if_adjusted(w->what_if, w->scratch)
                         : what_if_eval(w->what_if, w->scratch));
            seated = true;
        }
        arena_reset(w->scratch);
    }
}

static void find_twins(FitWork *w) {
    const FitStacks *s = &w->out->stacks;
    w->twin = arena_array(w->arena, s->count, sizeof *w->twin);
    for (size_t k = 0; k < s->count; k++) {
        size_t i = 0; /* the same in other pieces may differ in a number's last bit */
        while (i < k && (s->pieces[i] < w->fit->least ||
                         fabs(w->thick[i] - w->thick[k]) > 1e-12 * fabs(w->thick[k])))
            i++;
        w->twin[k] = i;
    }
}

static void copy_to_twins(FitWork *w) {
    size_t stacks = w->out->stacks.count, pairs = (size_t)w->out->places * w->columns;
    for (size_t pair = 0; pair < pairs; pair++)
        for (size_t k = 0; k < stacks; k++)
            w->all[pair * stacks + k] = w->all[pair * stacks + w->twin[k]];
}

static void try_round(FitWork *w, const Round *r, Eval *e) {
    for (uint32_t p = 0; p < w->out->places; p++)
        if (r->column[p] != UINT32_MAX) combination(w, p, r->column[p], r->stack)->evaluated = true;
    Verdicts all = verdicts_of(e, w->scratch);
    judge(w, r, &all);
    if (w->fit->aim != TAG_NONE) look_at_aim(w, r, e);
}

static void find_nominal(FitWork *w) {
    size_t per_place = (size_t)w->columns * w->out->stacks.count;
    w->place_nominal = arena_array(w->arena, w->out->places + 1, sizeof(bool));
    for (uint32_t p = 0; p < w->out->places; p++) {
        bool all = true;
        for (size_t i = 0; i < per_place; i++) {
            const Combination *c = &w->all[p * per_place + i];
            if (c->evaluated && !(c->unjudged & w->judged)) all &= c->nominal;
        }
        w->place_nominal[p] = all;
    }
}

void try_all(FitWork *w) {
    prepare(w);
    find_twins(w);
    what_if_limits(w->what_if, w->forces, w->local, w->arena);
    each_round(w, try_round);
    copy_to_twins(w);
    for (uint32_t l = 0; l < w->local; l++)
        w->out->limit[l].judged = w->judged >> l & 1;
    find_nominal(w);
}

static void miss_round(FitWork *w, const Round *r, Eval *e) {
    Verdicts all = verdicts_of(e, w->scratch);
    for (uint32_t i = 0; i < all.count; i++) {
        const Verdict *v = &all.items[i];
        uint32_t p = place_of(w, &w->what_if->state, v->subject), l = limit_index(w, v->force);
        if (p == UINT32_MAX || r->column[p] == UINT32_MAX || v->kind != VERDICT_BROKEN) continue;
        size_t at = (size_t)(combination(w, p, r->column[p], r->stack) - w->all);
        double *miss = &w->miss[at * w->local + l];
        *miss = fmax(*miss, -v->margin);
    }
}

void try_misses(FitWork *w) {
    size_t count = (size_t)w->out->places * w->columns * w->out->stacks.count;
    if (w->miss) return;
    w->miss = arena_array(w->arena, count * w->local + 1, sizeof *w->miss);
    what_if_limits(w->what_if, w->forces, w->local, w->arena);
    each_round(w, miss_round);
}

double miss_of(const FitWork *w, size_t place, size_t item, size_t stack, size_t limit) {
    size_t at = (size_t)(combination(w, place, item, w->twin[stack]) - w->all);
    return w->miss[at * w->local + limit];
}
