/*
 * Why nothing fits: the most places that can be served, and what would change if one limit, or the
 * stock of one thickness, gave way while all else stays.
 *
 * Serving the most is the search again: every place may also take an item of its own that stands
 * for "not served", at cost 1; the least cost is the number of places not served. The least amount
 * by which a single limit has to give way is a bottleneck: with the candidates that miss it by more
 * than an amount left out, a complete choice exists or not; halving over the amounts that occur.
 */
#include "stats/fit_inner.h"

typedef struct Why {
    const FitProblem *problem;
    size_t *stock;  /* a copy to change */
    Arena *scratch; /* the search's */
    size_t work;
    bool proved;
} Why;

/* The table with "not served" as further items, one for each place; deviation 1 marks them. */
static void add_not_served(FitTable *t, Arena *a, const FitTable *from) {
    size_t n = from->places, items = from->items + n, pairs = n * items;
    uint32_t total = from->first[n * from->items], at = 0;
    *t = *from;
    t->items = items;
    t->first = arena_array(a, pairs + 1, sizeof *t->first);
    t->stack = arena_array(a, total + n, sizeof *t->stack);
    t->deviation = arena_array(a, total + n, sizeof *t->deviation);
    t->margin = arena_array(a, total + n, sizeof *t->margin);
    t->let_stand = arena_array(a, total + n, 1);
    t->stays = arena_array(a, pairs + 1, 1);
    for (size_t pair = 0; pair < pairs; pair++) {
        size_t place = pair / items, item = pair % items;
        t->first[pair] = at;
        if (item >= from->items) {
            if (item - from->items == place) t->deviation[at++] = 1; /* stack 0: no adjusters */
            continue;
        }
        size_t old = place * from->items + item;
        for (uint32_t c = from->first[old]; c < from->first[old + 1]; c++)
            t->stack[at++] = from->stack[c];
    }
    t->first[pairs] = at;
}

/* The most places served with some limits dropped; item_of may be NULL. */
static size_t most_served(Why *w, uint64_t dropped, int *item_of) {
    Arena *a = arena_new();
    size_t n = w->problem->places;
    FitTable plain, table;
    FitSolution s;
    FitPass pass = {1, -FIT_MARGIN_MOST, .square = 1, .cost_most = (int64_t)n, .enough = 0};
    fit_table_fill(&plain, a, w->problem, dropped);
    for (uint32_t c = 0; c < plain.first[n * plain.items]; c++)
        plain.deviation[c] = 0;
    add_not_served(&table, a, &plain);
    fit_solution_init(&s, a, n);
    if (fit_search(&table, w->stock, &pass, w->scratch, &w->work, &s) == FIT_OUT_OF_WORK)
        w->proved = false;
    for (size_t i = 0; item_of && i < n; i++)
        item_of[i] = s.any && s.item[i] < (int)plain.items ? s.item[i] : -1;
    size_t served = s.any ? n - (size_t)s.cost : 0;
    arena_free(a);
    return served;
}

/* Is there a complete choice among the candidates with a margin of at least this? */
static bool complete(Why *w, const FitTable *t, int32_t margin_least, FitSolution *s) {
    FitPass pass = {FIT_DEVIATION_MOST, margin_least, .adjuster = 1};
    pass.cost_most = pass.enough = (int64_t)t->places * FIT_STACK_MOST;
    FitVerdict v = fit_search(t, w->stock, &pass, w->scratch, &w->work, s);
    if (v == FIT_OUT_OF_WORK) w->proved = false;
    return v == FIT_FOUND;
}

static int by_size(const void *a, const void *b) {
    double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

/* The rank of an amount among those that occur; they are in order. */
static int32_t rank_of(double amount, const double *amounts, size_t count) {
    size_t low = 0, high = count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (amounts[middle] < amount)
            low = middle + 1;
        else
            high = middle;
    }
    return (int32_t)low;
}

/* Asks by how much each candidate misses the limit and writes that into the table as margins: 0
 * for none, less the greater the amount. Returns the amounts in order. */
static double *margins_from_amounts(const FitProblem *p, FitTable *t, Arena *a, size_t limit,
                                    size_t *count) {
    uint32_t total = t->first[t->places * t->items];
    double *of = arena_array(a, total + 1, sizeof *of);
    double *sorted = arena_array(a, total + 1, sizeof *sorted);
    *count = 0;
    for (size_t pair = 0; pair < t->places * t->items; pair++)
        for (uint32_t c = t->first[pair]; c < t->first[pair + 1]; c++) {
            size_t place = pair / t->items, item = pair % t->items;
            FitFigures f = {0};
            p->evaluate(p->context, place, item, t->stack[c], &f);
            if (!f.blocked) continue;
            of[c] = p->amount(p->context, place, item, t->stack[c], limit);
            sorted[(*count)++] = of[c];
        }
    qsort(sorted, *count, sizeof *sorted, by_size);
    for (uint32_t c = 0; c < total; c++)
        t->margin[c] = of[c] > 0 ? -1 - rank_of(of[c], sorted, *count) : 0;
    return sorted;
}

static void least_amount(Why *w, size_t limit, FitBlock *b) {
    Arena *a = arena_new();
    FitTable t;
    FitSolution s;
    size_t count;
    fit_table_fill(&t, a, w->problem, UINT64_C(1) << limit);
    fit_solution_init(&s, a, t.places);
    const double *amounts = margins_from_amounts(w->problem, &t, a, limit, &count);
    size_t low = 0, high = count ? count - 1 : 0;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (complete(w, &t, -1 - (int32_t)middle, &s))
            high = middle;
        else
            low = middle + 1;
    }
    b->amount_known = count > 0;
    if (count) b->amount = amounts[low];
    arena_free(a);
}

static FitBlock without_limit(Why *w, size_t limit) {
    FitBlock b = {.served = most_served(w, UINT64_C(1) << limit, NULL)};
    b.enough = b.served == w->problem->places;
    if (b.enough && w->problem->amount) least_amount(w, limit, &b);
    return b;
}

/* The same with no end of one thickness, and the least number of further pieces that will do. */
static FitBlock with_stock(Why *w, size_t thickness) {
    size_t had = w->stock[thickness];
    size_t low = 1, high = w->problem->places * FIT_STACK_MOST;
    FitBlock b = {0};
    w->stock[thickness] = FIT_MANY;
    b.served = most_served(w, 0, NULL);
    b.enough = b.amount_known = b.served == w->problem->places && had != FIT_MANY;
    while (b.enough && low < high) {
        size_t middle = low + (high - low) / 2;
        w->stock[thickness] = had + middle;
        if (most_served(w, 0, NULL) == w->problem->places)
            high = middle;
        else
            low = middle + 1;
    }
    if (b.enough) b.amount = (double)low;
    w->stock[thickness] = had;
    return b;
}

static FitBlock with_all_stock(Why *w) {
    size_t *had = w->stock;
    w->stock = NULL;
    FitBlock b = {.served = most_served(w, 0, NULL)};
    b.enough = b.served == w->problem->places;
    w->stock = had;
    return b;
}

bool fit_why(const FitProblem *problem, Arena *a, FitWhy *out, Err *err) {
    if (!fit_problem_check(problem, err)) return false;
    size_t n = problem->places, thicknesses = problem->stacks->thicknesses;
    Why w = {.problem = problem, .scratch = arena_new(), .proved = true};
    w.work = problem->work ? problem->work : FIT_WORK;
    w.stock = arena_array(a, thicknesses + 1, sizeof *w.stock);
    for (size_t t = 0; t < thicknesses; t++)
        w.stock[t] = problem->stock ? problem->stock[t] : FIT_MANY;
    FitWhy why = {.items_short = problem->items < n ? n - problem->items : 0};
    why.item_of = arena_array(a, n + 1, sizeof *why.item_of);
    why.limit = arena_array(a, problem->limits + 1, sizeof *why.limit);
    why.stock = arena_array(a, thicknesses + 1, sizeof *why.stock);
    why.served = most_served(&w, 0, why.item_of);
    for (size_t l = 0; l < problem->limits; l++)
        why.limit[l] = without_limit(&w, l);
    for (size_t t = 0; t < thicknesses; t++)
        why.stock[t] = with_stock(&w, t);
    why.all_stock = with_all_stock(&w);
    why.proved = w.proved;
    arena_free(w.scratch);
    *out = why;
    return true;
}
