/* Random selective fits, the same on every machine, for the tests and the bench. */
#ifndef FIT_INSTANCE_H
#define FIT_INSTANCE_H

#include "stats/fit_select.h"
#include <math.h>

typedef struct Draw {
    uint64_t state;
} Draw;

/* xorshift64 (Marsaglia 2003) */
static inline int draw(Draw *d, int below) {
    d->state ^= d->state << 13;
    d->state ^= d->state >> 7;
    d->state ^= d->state << 17;
    return (int)(d->state % (uint64_t)below);
}

typedef struct Instance {
    FitProblem problem;
    FitStacks stacks;
    FitFigures *figures; /* [place][item][stack] */
    double *amounts;     /* the same, times limits */
    size_t *stock;
    int *now, *held;
} Instance;

static inline size_t figure_index(const Instance *in, size_t place, size_t item, size_t stack) {
    return (place * in->problem.items + item) * in->stacks.count + stack;
}

static inline void instance_evaluate(void *context, size_t place, size_t item, size_t stack,
                                     FitFigures *out) {
    const Instance *in = context;
    *out = in->figures[figure_index(in, place, item, stack)];
}

static inline double instance_amount(void *context, size_t place, size_t item, size_t stack,
                                     size_t limit) {
    const Instance *in = context;
    return in->amounts[figure_index(in, place, item, stack) * FIT_LIMITS + limit];
}

static inline void instance_init(Instance *in, Arena *a, size_t places, size_t items,
                                 size_t thicknesses, size_t stack_most) {
    *in = (Instance){0};
    fit_stacks(&in->stacks, a, thicknesses, stack_most);
    in->stock = arena_array(a, thicknesses + 1, sizeof *in->stock);
    in->now = arena_array(a, items + 1, sizeof *in->now);
    in->held = arena_array(a, places + 1, sizeof *in->held);
    for (size_t t = 0; t < thicknesses; t++)
        in->stock[t] = FIT_MANY;
    for (size_t j = 0; j < items; j++)
        in->now[j] = -1;
    for (size_t i = 0; i < places; i++)
        in->held[i] = -1;
    in->problem = (FitProblem){.places = places,
                               .items = items,
                               .stacks = &in->stacks,
                               .stock = in->stock,
                               .now = in->now,
                               .held = in->held,
                               .has_aim = true,
                               .margin_step = 0.01,
                               .evaluate = instance_evaluate};
    in->figures = arena_array(a, places * items * in->stacks.count + 1, sizeof *in->figures);
    in->problem.context = in;
}

/*
 * Figures as springs have them: thousandths of an inch and lbf. A spring of some strength and
 * solid height at a place of some bare height, over shims of .015, .030, .060 and .010 in; three
 * limits: solid clearance at least .060, seat load within a window, open load at most.
 */
static inline void instance_springs(Instance *in, Draw *d, int height_spread, int load_spread) {
    static const int thick[] = {15, 30, 60, 10, 5, 45, 20, 90};
    const size_t places = in->problem.places, items = in->problem.items;
    in->problem.limits = 3;
    for (size_t i = 0; i < places; i++) {
        int bare = 1740 + draw(d, height_spread);
        for (size_t j = 0; j < items; j++) {
            Draw own = {0x9E3779B97F4A7C15u * (j + 1) ^ d->state >> 63};
            for (int k = 0; k < 5; k++)
                draw(&own, 9);
            double load = 130 + draw(&own, load_spread), rate = .38 + draw(&own, 30) * .001;
            int solid = 1080 + draw(&own, 25);
            for (size_t s = 0; s < in->stacks.count; s++) {
                int height = bare;
                for (size_t t = 0; t < in->stacks.thicknesses; t++)
                    height -= thick[t] * in->stacks.of[s][t];
                double seat = load + rate * (1720 - height), open = seat + rate * 500;
                double clear = height - 500 - solid;
                double m = fmin((clear - 60) / 60, (25 - fabs(seat - 150)) / 25);
                FitFigures *f = &in->figures[figure_index(in, i, j, s)];
                *f = (FitFigures){.possible = true, .deviation = (int32_t)lround(seat - 150)};
                f->margin = fmin(m, (400 - open) / 400);
                f->blocked = (clear < 60) | (fabs(seat - 150) > 25) * 2u | (open > 400) * 4u;
            }
        }
    }
}

/* Any figures at all, with many ties: `one_in` of the candidates keeps its limits. */
static inline void instance_any(Instance *in, Draw *d, int one_in, int deviations, int margins) {
    size_t count = in->problem.places * in->problem.items * in->stacks.count;
    in->problem.limits = 3;
    for (size_t k = 0; k < count; k++) {
        FitFigures *f = &in->figures[k];
        f->possible = draw(d, 12) != 0;
        f->blocked = draw(d, one_in) ? 1 + (uint64_t)draw(d, 7) : 0;
        f->deviation = draw(d, 2 * deviations + 1) - deviations;
        f->margin = .01 * (draw(d, margins) + draw(d, 5) * .1);
    }
}

/* One in so many candidates breaks one to three limits that are let stand. */
static inline void instance_let_stand(Instance *in, Draw *d, int one_in) {
    size_t count = in->problem.places * in->problem.items * in->stacks.count;
    for (size_t k = 0; k < count; k++)
        in->figures[k].let_stand = (uint8_t)(draw(d, one_in) ? 0 : 1 + draw(d, 3));
}

/* Stock, seats and held places at random. */
static inline void instance_circumstances(Instance *in, Draw *d) {
    size_t places = in->problem.places, items = in->problem.items;
    for (size_t t = 0; t < in->stacks.thicknesses; t++)
        in->stock[t] = draw(d, 3) ? (size_t)draw(d, (int)places + 2) : FIT_MANY;
    for (size_t i = 0; i < places && i < items; i++) {
        size_t item = (i * 5 + 1) % items;
        if (draw(d, 2) && in->now[item] < 0) in->now[item] = (int)i;
        if (draw(d, 9) == 0 && in->held[i ? i - 1 : 0] != (int)i) in->held[i] = (int)i;
    }
    in->problem.has_aim = draw(d, 4) != 0;
}

#endif
