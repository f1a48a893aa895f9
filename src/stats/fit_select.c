/*
 * The stages of a selective fit, each a question to the search, each narrowing the next.
 *
 * Largest deviation: a choice within d steps exists or not, and a larger d never takes one away.
 * From a lower bound (the pairs' own best, as a bottleneck assignment without stock) d is widened
 * until there is one, then the gap halved. Each answer moves the bounds to a deviation a choice
 * really has. Squares: least cost within d. Limits that are let stand: with the sum of squares held
 * at its least, the cost is how many are broken. Worst margin: of the choices with that least sum
 * and number, one with every margin at m or above exists or not; halving again. The candidates with
 * a smaller margin are left out first and the least sum is asked for second, so a pair may change
 * its stack to save its margin as long as the sum of squares stays what it is. Adjusters and moves:
 * within d and m and with the sum of squares held at its least, the cost is adjusters x (more than
 * all moves) + moves, and before them what is broken, so the least cost is the least in that order.
 * First: where stock does not bind, the first assignment among those of least cost.
 */
#include "stats/fit_inner.h"
#include <math.h>

typedef struct Fit {
    const FitProblem *problem;
    FitTable table;
    FitPass pass;
    FitSolution best; /* the best choice in hand; obeys `pass` once any is found */
    int64_t *matrix;  /* [pairs], for the bottlenecks */
    int *item_of;
    Arena *scratch; /* the search's */
    size_t work;
} Fit;

static int32_t size_of(int32_t d) {
    return d < 0 ? -d : d;
}

static int32_t worst_deviation(const Fit *f) {
    int32_t worst = 0;
    for (size_t i = 0; i < f->table.places; i++) {
        int32_t d = size_of(f->table.deviation[f->best.candidate[i]]);
        if (d > worst) worst = d;
    }
    return worst;
}

static int32_t worst_margin(const Fit *f) {
    int32_t worst = FIT_MARGIN_MOST;
    for (size_t i = 0; i < f->table.places; i++) {
        int32_t m = f->table.margin[f->best.candidate[i]];
        if (m < worst) worst = m;
    }
    return worst;
}

/* The largest of any candidate. */
static int32_t largest_deviation(const Fit *f) {
    const FitTable *t = &f->table;
    int32_t largest = 0;
    for (uint32_t c = 0; c < t->first[t->places * t->items]; c++)
        if (size_of(t->deviation[c]) > largest) largest = size_of(t->deviation[c]);
    return largest;
}

static int64_t best_cost(const Fit *f, const FitPass *pass) {
    int64_t sum = 0;
    for (size_t i = 0; i < f->table.places; i++) {
        size_t pair = i * f->table.items + (size_t)f->best.item[i];
        sum += fit_cost(&f->table, pass, pair, f->best.candidate[i]);
    }
    return sum;
}

/* The least d (or, of margins, the largest m) that a choice without stock can have. False: there
 * is no complete choice at all. */
static bool relaxed(Fit *f, bool margins, int32_t *out) {
    const FitTable *t = &f->table;
    int64_t bound = 0;
    for (size_t pair = 0; pair < t->places * t->items; pair++) {
        f->matrix[pair] = ASSIGN_FORBIDDEN;
        for (uint32_t c = t->first[pair]; c < t->first[pair + 1]; c++) {
            int64_t v = margins ? -(int64_t)t->margin[c] : size_of(t->deviation[c]);
            if (v < f->matrix[pair] && fit_within(t, &f->pass, c)) f->matrix[pair] = v;
        }
    }
    if (!assign_bottleneck(t->places, t->items, f->matrix, f->item_of, &bound)) return false;
    *out = (int32_t)(margins ? (t->places ? -bound : FIT_MARGIN_MOST) : bound);
    return true;
}

static FitVerdict ask(Fit *f, const FitPass *pass) {
    return fit_search(&f->table, f->problem->stock, pass, f->scratch, &f->work, &f->best);
}

/* Is there a choice within these bounds at all? Any will do, yet a cost is asked with it that no
 * choice can pass: its prices lead the search to choices that keep the stock. */
static FitVerdict find_any(Fit *f, int32_t deviation_most) {
    FitPass pass = f->pass;
    int64_t n = (int64_t)f->table.places, d = deviation_most;
    pass.deviation_most = deviation_most;
    pass.square = f->problem->has_aim;
    pass.adjuster = !f->problem->has_aim;
    pass.cost_most = pass.enough = f->problem->has_aim ? n * d * d : n * FIT_STACK_MOST;
    return ask(f, &pass);
}

/* The first choice, looked for from the least deviation on, in widening steps: small deviations
 * leave few candidates, so a question that fails there is cheap. *low: none below it. */
static FitVerdict find_first(Fit *f, int32_t *low) {
    int32_t largest = largest_deviation(f);
    FitVerdict v = find_any(f, *low);
    for (int32_t step = 1, d = *low; v == FIT_NOT_THERE && d < largest; step *= 2) {
        *low = d + 1;
        d = largest - d > step ? d + step : largest;
        v = find_any(f, d);
    }
    return v;
}

static bool least_deviation(Fit *f, int32_t low) {
    int32_t high = worst_deviation(f);
    while (low < high) {
        int32_t middle = low + (high - low) / 2;
        FitVerdict v = find_any(f, middle);
        if (v == FIT_OUT_OF_WORK) return false;
        if (v == FIT_FOUND)
            high = worst_deviation(f);
        else
            low = middle + 1;
    }
    f->pass.deviation_most = high;
    return true;
}

/* Improves on the choice in hand by the cost of f->pass, from now on never to be exceeded. */
static bool least_cost(Fit *f) {
    FitPass pass = f->pass;
    int64_t cost = best_cost(f, &pass);
    pass.cost_most = cost - 1;
    pass.enough = INT64_MIN;
    if (cost > 0 && ask(f, &pass) == FIT_OUT_OF_WORK) return false;
    f->pass.cost_most = f->pass.enough = best_cost(f, &pass);
    return true;
}

/* The least of what is weighed beside the squares, with their sum held at its least. Squares as a
 * part of the cost would come to the same, but a bound on such a cost hides a shim behind a part of
 * a square. */
static bool least_beside_squares(Fit *f) {
    FitPass pass = f->pass, squares = {.square = pass.square};
    pass.squares_held = f->problem->has_aim;
    pass.squares_most = pass.squares_held ? best_cost(f, &squares) / pass.square : 0;
    int64_t cost = best_cost(f, &pass) - best_cost(f, &squares);
    pass.cost_most = cost - 1;
    pass.enough = INT64_MIN;
    if (cost > 0 && ask(f, &pass) == FIT_OUT_OF_WORK) return false;
    f->pass.cost_most = f->pass.enough = best_cost(f, &f->pass);
    return true;
}

static bool largest_margin(Fit *f) {
    int32_t low = worst_margin(f), high = low;
    relaxed(f, true, &high);
    while (low < high) {
        FitPass pass = f->pass;
        pass.margin_least = (int32_t)(high - ((int64_t)high - low) / 2);
        FitVerdict v = ask(f, &pass);
        if (v == FIT_OUT_OF_WORK) return false;
        if (v == FIT_FOUND)
            low = worst_margin(f);
        else
            high = pass.margin_least - 1;
    }
    f->pass.margin_least = low;
    return true;
}

/* Settles squares before all else, which comes to `below` at most. False: that fits no number. */
static bool weigh_squares(Fit *f, int64_t below) {
    double d = f->pass.deviation_most;
    f->pass.square = f->problem->has_aim ? below + 1 : 0;
    /* 64: SCALE of the search; 4: room for sums of prices */
    return d * d * (double)(below + 1) + (double)below <
           (double)assign_cost_most(f->table.places) / (64 * 4);
}

static bool weigh_let_stand(Fit *f) {
    f->pass.let_stand = 1;
    return weigh_squares(f, (int64_t)f->table.places * f->table.let_stand_most);
}

/* Squares before limits that are let stand before adjusters before moves. */
static bool weigh_all(Fit *f) {
    int64_t n = (int64_t)f->table.places;
    f->pass.move = 1;
    f->pass.adjuster = n + 1;
    int64_t below = n + n * FIT_STACK_MOST * f->pass.adjuster;
    f->pass.let_stand = below + 1;
    return weigh_squares(f, below + n * f->table.let_stand_most * f->pass.let_stand);
}

static bool stock_kept(const Fit *f) {
    for (size_t t = 0; f->problem->stock && t < f->table.stacks->thicknesses; t++) {
        size_t used = 0;
        for (size_t i = 0; i < f->table.places; i++)
            used += f->table.stacks->of[f->table.stack[f->best.candidate[i]]][t];
        if (used > f->problem->stock[t]) return false;
    }
    return true;
}

/* The first choice of the least cost, when it keeps the stock; else the choice in hand stays. */
static void first_of_equals(Fit *f, Arena *a) {
    const FitTable *t = &f->table;
    FitSolution found = f->best;
    uint32_t *candidate = arena_array(a, t->places * t->items + 1, sizeof *candidate);
    int64_t cost;
    for (size_t pair = 0; pair < t->places * t->items; pair++) {
        f->matrix[pair] = ASSIGN_FORBIDDEN;
        for (uint32_t c = t->first[pair]; c < t->first[pair + 1]; c++) {
            if (!fit_within(t, &f->pass, c)) continue;
            int64_t one = fit_cost(t, &f->pass, pair, c);
            if (one < f->matrix[pair]) f->matrix[pair] = one, candidate[pair] = c;
        }
    }
    if (!assign_sum(t->places, t->items, f->matrix, f->item_of, &cost)) return;
    if (cost != best_cost(f, &f->pass)) return;
    fit_solution_init(&f->best, a, t->places);
    f->best.any = true;
    for (size_t i = 0; i < t->places; i++) {
        f->best.item[i] = f->item_of[i];
        f->best.candidate[i] = candidate[i * t->items + (size_t)f->item_of[i]];
    }
    if (!stock_kept(f)) f->best = found;
}

/* Goes through the stages; returns the first that could not be proved. *status is set. */
static FitStage run(Fit *f, Arena *a, FitStatus *status, bool *fits_number) {
    int32_t low = 0;
    if (!relaxed(f, false, &low)) return *status = FIT_NONE, FIT_LIMITS_HOLD;
    FitVerdict v = find_first(f, &low);
    *status = v == FIT_NOT_THERE ? FIT_NONE : FIT_GAVE_UP;
    if (v != FIT_FOUND) return FIT_LIMITS_HOLD;
    *status = FIT_NOT_PROVED;
    if (!least_deviation(f, low)) return FIT_WORST_DEVIATION;
    f->pass.square = f->problem->has_aim;
    if (!least_cost(f)) return FIT_SQUARES;
    if (f->table.let_stand_most) {
        *fits_number = weigh_let_stand(f);
        if (!*fits_number || !least_beside_squares(f)) return FIT_FEWEST_BROKEN;
    }
    if (!largest_margin(f)) return FIT_WORST_MARGIN;
    *fits_number = weigh_all(f);
    if (!*fits_number || !least_beside_squares(f)) return FIT_ADJUSTERS_MOVES;
    first_of_equals(f, a);
    *status = FIT_OPTIMAL;
    return FIT_DONE;
}

static double margin_in_units(const FitTable *t, int32_t margin) {
    return margin >= FIT_MARGIN_MOST ? (double)INFINITY : margin * t->margin_step;
}

static void fill_result(const Fit *f, Arena *a, FitResult *r) {
    const FitTable *t = &f->table;
    size_t seated = 0, stay = 0;
    r->choice = arena_array(a, t->places + 1, sizeof *r->choice);
    r->worst_deviation = worst_deviation(f);
    r->worst_margin = margin_in_units(t, worst_margin(f));
    for (size_t i = 0; i < t->places; i++) {
        uint32_t c = f->best.candidate[i];
        int64_t d = t->deviation[c];
        r->choice[i] = (FitChoice){(size_t)f->best.item[i], t->stack[c], t->deviation[c],
                                   margin_in_units(t, t->margin[c])};
        r->sum_squares += d * d;
        r->let_stand += t->let_stand[c];
        r->adjusters += t->stacks->pieces[t->stack[c]];
        stay += t->stays[i * t->items + (size_t)f->best.item[i]];
    }
    for (size_t j = 0; j < t->items; j++)
        seated += f->problem->now && f->problem->now[j] >= 0;
    r->moved = seated - stay;
}

bool fit_select(const FitProblem *problem, Arena *a, FitResult *out, Err *err) {
    if (!fit_problem_check(problem, err)) return false;
    Arena *scratch = arena_new();
    bool fits_number = true;
    FitResult r = {0};
    Fit f = {.problem = problem, .work = problem->work ? problem->work : FIT_WORK};
    size_t work = f.work;
    f.scratch = arena_new();
    f.pass = (FitPass){FIT_DEVIATION_MOST, -FIT_MARGIN_MOST, .cost_most = 0, .enough = 0};
    fit_table_fill(&f.table, scratch, problem, 0);
    fit_solution_init(&f.best, scratch, problem->places);
    f.matrix = arena_array(scratch, problem->places * problem->items + 1, sizeof *f.matrix);
    f.item_of = arena_array(scratch, problem->places + 1, sizeof *f.item_of);
    r.reached = run(&f, scratch, &r.status, &fits_number);
    if (fits_number) {
        if (f.best.any) fill_result(&f, a, &r);
        r.work = work - f.work;
        *out = r;
    } else {
        err_set(err, ERR_LIMIT,
                "the deviations are up to %d steps from the aim, too far for an exact fit of %zu "
                "places; look at the aim, or take a coarser step",
                f.pass.deviation_most, problem->places);
    }
    arena_free(f.scratch);
    arena_free(scratch);
    return fits_number;
}
