/* From what was tried to the best choice. */
#include "compute/fit_parts.h"

#include <math.h>

bool usable(const FitWork *w, size_t place, size_t item, size_t stack) {
    const Combination *c = combination(w, place, item, stack);
    if (!c->evaluated || (c->unjudged & w->judged)) return false;
    if (w->out->has_aim && isnan(c->aimed)) return false;
    if (c->nominal && !w->place_nominal[place]) return false; /* measured ones come first */
    return w->fit->item == CLASS_NONE || w->open[place * w->columns + item];
}

static void evaluate(void *context, size_t place, size_t item, size_t stack, FitFigures *out) {
    const FitWork *w = context;
    const Combination *c = combination(w, place, item, stack);
    *out = (FitFigures){.possible = usable(w, place, item, stack),
                        .blocked = c->blocked,
                        .deviation = c->steps,
                        .let_stand = (uint8_t)__builtin_popcountll(c->let_stand),
                        .margin = c->margin};
    if (w->ask->whether) {
        out->deviation = 0;
        out->let_stand = 0;
        out->margin = INFINITY;
    } else if (w->fit->evens && out->possible) {
        double half = 2 * (c->aimed - w->lowest) / w->out->step;
        out->deviation = (int32_t)(llround(half + 1e-7) - w->middle);
    }
}

static double amount(void *context, size_t place, size_t item, size_t stack, size_t limit) {
    FitWork *w = context;
    try_misses(w);
    return miss_of(w, place, item, stack, limit);
}

static void set_problem(FitWork *w) {
    FitAnswer *out = w->out;
    w->problem = (FitProblem){.places = out->places,
                              .items = w->columns,
                              .stacks = &out->stacks,
                              .stock = w->stock,
                              .now = w->now,
                              .held = w->held,
                              .has_aim = out->has_aim && !w->ask->whether,
                              .margin_step = 1e-6,
                              .limits = w->local,
                              .evaluate = evaluate,
                              .amount = amount,
                              .context = w,
                              .work = w->ask->work};
}

/* ---- evenness ----------------------------------------------------------------------------------
 */

static bool better(const FitResult *a, const FitResult *b) {
    if (!b->choice) return a->choice != NULL;
    if (!a->choice) return false;
    if (a->worst_deviation != b->worst_deviation) return a->worst_deviation < b->worst_deviation;
    if (a->sum_squares != b->sum_squares) return a->sum_squares < b->sum_squares;
    if (a->let_stand != b->let_stand) return a->let_stand < b->let_stand;
    if (a->worst_margin != b->worst_margin) return a->worst_margin > b->worst_margin;
    if (a->adjusters != b->adjusters) return a->adjusters < b->adjusters;
    return a->moved < b->moved;
}

static int64_t span_of_values(FitWork *w) {
    double high = -INFINITY;
    w->lowest = INFINITY;
    for (size_t p = 0; p < w->out->places; p++)
        for (size_t i = 0; i < w->columns; i++)
            for (size_t k = 0; k < w->out->stacks.count; k++) {
                if (!usable(w, p, i, k) || combination(w, p, i, k)->blocked) continue;
                w->lowest = fmin(w->lowest, combination(w, p, i, k)->aimed);
                high = fmax(high, combination(w, p, i, k)->aimed);
            }
    double span = 2 * (high - w->lowest) / w->out->step;
    return span < FIT_DEVIATION_MOST ? llround(span) : span > 0 ? FIT_DEVIATION_MOST : 0;
}

/*
 * The spread of a choice is its largest deviation, in half steps, from the middle of its values; so
 * the least spread is the least over all middles. From one middle to the next the least largest
 * deviation changes by one at most: where it is over the best by more, the next ones are passed by.
 */
static bool solve_even(FitWork *w, Err *err) {
    int64_t span = span_of_values(w), best_middle = 0;
    FitResult best = {.status = FIT_NONE};
    bool proved = true;
    size_t work = 0;
    for (int64_t middle = 0; middle <= span;) {
        FitResult r;
        w->middle = middle;
        if (!fit_select(&w->problem, w->arena, &r, err)) return false;
        proved &= r.status == FIT_OPTIMAL || r.status == FIT_NONE;
        work += r.work;
        if (better(&r, &best)) {
            best = r;
            best_middle = middle;
        }
        if (r.status == FIT_NONE) break; /* limits do not hang on the middle */
        int64_t over = best.choice && r.choice ? r.worst_deviation - best.worst_deviation : 0;
        middle += over > 1 ? over : 1;
    }
    if (!proved && best.status == FIT_OPTIMAL) best.status = FIT_NOT_PROVED;
    best.work = work;
    w->middle = best_middle;
    w->out->centre = w->lowest + (double)best_middle * w->out->step / 2;
    w->out->result = best;
    return true;
}

bool solve(FitWork *w, Err *err) {
    set_problem(w);
    bool even = w->fit->evens && !w->ask->whether;
    if (even ? !solve_even(w, err) : !fit_select(&w->problem, w->arena, &w->out->result, err))
        return false;
    if (w->ask->whether || w->out->result.choice || w->out->result.status != FIT_NONE) return true;
    return fit_why(&w->problem, w->arena, &w->out->why, err);
}
