/* The candidates of a selective fit: stacks spelled out, figures asked for once and kept. */
#include "base/fatal.h"
#include "stats/fit_inner.h"
#include <math.h>

static size_t stacks_of(size_t thicknesses, size_t pieces) {
    size_t n = 1; /* multisets: binomial(thicknesses + pieces - 1, pieces) */
    for (size_t k = 1; k <= pieces; k++)
        n = n * (thicknesses + k - 1) / k;
    return n;
}

/* Adds every stack of `left` more pieces from thickness t on; the thinnest first. */
static void spell(FitStacks *s, uint8_t *now, size_t t, size_t left, size_t pieces) {
    if (left == 0) {
        memcpy(s->of[s->count], now, FIT_THICKNESSES);
        s->pieces[s->count++] = (uint8_t)pieces;
        return;
    }
    for (; t < s->thicknesses; t++) {
        now[t]++;
        spell(s, now, t, left - 1, pieces);
        now[t]--;
    }
}

void fit_stacks(FitStacks *stacks, Arena *a, size_t thicknesses, size_t most) {
    if (thicknesses > FIT_THICKNESSES || most > FIT_STACK_MOST)
        fatal("a selective fit was asked with a contradiction in it");
    size_t total = 1;
    uint8_t now[FIT_THICKNESSES] = {0};
    for (size_t k = 1; k <= most && thicknesses; k++)
        total += stacks_of(thicknesses, k);
    *stacks = (FitStacks){.thicknesses = thicknesses};
    stacks->of = arena_array(a, total, sizeof *stacks->of);
    stacks->pieces = arena_array(a, total, 1);
    for (size_t k = 0; k <= most; k++)
        spell(stacks, now, 0, k, k);
}

int32_t fit_round_margin(double margin, double step) {
    if (isnan(margin)) fatal("a selective fit was asked with a contradiction in it");
    double steps = margin / step;
    if (steps >= FIT_MARGIN_MOST) return FIT_MARGIN_MOST;
    if (steps <= -FIT_MARGIN_MOST) return -FIT_MARGIN_MOST;
    return (int32_t)lround(steps);
}

static int32_t clamp_deviation(int32_t d) {
    if (d > FIT_DEVIATION_MOST) return FIT_DEVIATION_MOST;
    return d < -FIT_DEVIATION_MOST ? -FIT_DEVIATION_MOST : d;
}

/* Held: neither another item at the place nor the item at another place. */
static bool pair_open(const FitProblem *p, const int *holder, size_t place, size_t item) {
    if (!p->held) return true;
    if (p->held[place] >= 0) return (size_t)p->held[place] == item;
    return holder[item] < 0;
}

static int *holders(const FitProblem *p, Arena *a) {
    int *holder = arena_array(a, p->items + 1, sizeof *holder);
    for (size_t j = 0; j < p->items; j++)
        holder[j] = -1;
    for (size_t i = 0; p->held && i < p->places; i++) {
        if (p->held[i] < 0) continue;
        if ((size_t)p->held[i] >= p->items || holder[p->held[i]] >= 0)
            fatal("a selective fit was asked with a contradiction in it");
        holder[p->held[i]] = (int)i;
    }
    return holder;
}

static uint32_t fill_pair(FitTable *t, const FitProblem *p, uint64_t dropped, size_t place,
                          size_t item, uint32_t at) {
    for (size_t s = 0; s < p->stacks->count; s++) {
        FitFigures f = {0};
        p->evaluate(p->context, place, item, s, &f);
        if (!f.possible || (f.blocked & ~dropped)) continue;
        t->stack[at] = (uint16_t)s;
        t->deviation[at] = p->has_aim ? clamp_deviation(f.deviation) : 0;
        t->let_stand[at] = f.let_stand;
        if (f.let_stand > t->let_stand_most) t->let_stand_most = f.let_stand;
        t->margin[at] = f.blocked ? 0 : fit_round_margin(f.margin, p->margin_step);
        at++;
    }
    return at;
}

void fit_table_fill(FitTable *t, Arena *a, const FitProblem *p, uint64_t dropped) {
    size_t pairs = p->places * p->items, room = pairs * p->stacks->count;
    uint32_t at = 0;
    const int *holder = holders(p, a);
    *t = (FitTable){p->places, p->items, p->stacks, .margin_step = p->margin_step};
    t->first = arena_array(a, pairs + 1, sizeof *t->first);
    t->stack = arena_array(a, room + 1, sizeof *t->stack);
    t->deviation = arena_array(a, room + 1, sizeof *t->deviation);
    t->margin = arena_array(a, room + 1, sizeof *t->margin);
    t->let_stand = arena_array(a, room + 1, 1);
    t->stays = arena_array(a, pairs + 1, 1);
    for (size_t pair = 0; pair < pairs; pair++) {
        size_t place = pair / p->items, item = pair % p->items;
        t->first[pair] = at;
        t->stays[pair] = p->now && p->now[item] == (int)place;
        if (pair_open(p, holder, place, item)) at = fill_pair(t, p, dropped, place, item, at);
    }
    t->first[pairs] = at;
}

bool fit_problem_check(const FitProblem *p, Err *err) {
    if (!(p->margin_step > 0) || p->stacks->count == 0 || p->limits > FIT_LIMITS)
        fatal("a selective fit was asked with a contradiction in it");
    if (p->places > 2000 || p->items > 5000)
        return err_set(err, ERR_LIMIT,
                       "a fit of %zu places and %zu items is too large; at most 2000 places and "
                       "5000 items can be fitted at once",
                       p->places, p->items);
    if (p->places && p->items > (UINT32_MAX / 2) / p->places / p->stacks->count)
        return err_set(err, ERR_LIMIT,
                       "a fit of %zu places, %zu items and %zu stacks is too large; leave out "
                       "stacks or fit fewer places at once",
                       p->places, p->items, p->stacks->count);
    return true;
}
