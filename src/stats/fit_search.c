/*
 * The choice of least cost within bounds, stock respected: exact.
 *
 * Without stock each pair of place and item takes its own best candidate, and the rest is an
 * assignment. Stock couples the places. Each piece of a limited thickness is therefore charged a
 * price (a Lagrange multiplier): for any prices >= 0,
 *
 *     least over assignments of (cost + price x pieces used)  -  price x stock
 *
 * is never above the cost of a choice that keeps the stock, so it is a lower bound; the best prices
 * are the dual values of a small linear programme over the choices met so far (fit_master.c), which
 * grows by each choice the prices lead to. Where the bound passes the cost still wanted, nothing
 * wanted is left. Every choice met on the way is mended to keep the stock (fit_repair.c) and kept
 * if it is better; candidates whose reduced cost does not fit between bound and wanted cost are
 * struck out for good.
 * Between the best bound and the best choice a gap
 * may stay: then the search splits on how many pieces of one thickness lie at one place (at most
 * k - 1, or at least k), until no gap is left or every place's use is settled, in which case the
 * assignment itself is the optimum of that part. Both parts together hold every choice, so when
 * all parts are closed the best choice is proved.
 *
 * Before it starts, a candidate that costs no less and uses no less of any limited thickness than
 * another of its pair is dropped: exchanging it never harms, so one optimum at least is left.
 *
 * Costs are multiplied by SCALE so that prices can be fractions; everything is counted in whole
 * numbers, so no rounding can spoil a proof.
 */
#include "stats/fit_search.h"
#include <math.h>

#define ROUNDS 60 /* price moves in one part before it is split */
void fit_solution_init(FitSolution *s, Arena *a, size_t places) {
    *s = (FitSolution){0};
    s->item = arena_array(a, places + 1, sizeof *s->item);
    s->candidate = arena_array(a, places + 1, sizeof *s->candidate);
}

int64_t fit_cost(const FitTable *t, const FitPass *pass, size_t pair, uint32_t candidate) {
    int64_t d = t->deviation[candidate];
    return pass->square * d * d + pass->let_stand * t->let_stand[candidate] +
           pass->adjuster * t->stacks->pieces[t->stack[candidate]] + pass->move * !t->stays[pair];
}

static bool stack_fits(const Search *s, size_t place, size_t stack, const int64_t *room) {
    for (size_t t = 0; t < s->limited; t++) {
        size_t cell = place * s->limited + t;
        int64_t use = s->use[stack][t];
        if (use < s->low[cell] || use > s->high[cell] || use > s->least[cell] + room[t])
            return false;
    }
    return true;
}

/* The least and most use at a place over the stacks allowed there. False: none is. */
static bool range_of_use(Search *s, size_t place) {
    uint8_t *least = s->least + place * s->limited, *most = s->most + place * s->limited;
    bool any = false;
    for (size_t k = 0; k < s->stacks; k++) {
        if (!s->allowed[place * s->stacks + k]) continue;
        for (size_t t = 0; t < s->limited; t++) {
            uint8_t use = s->use[k][t];
            least[t] = !any || use < least[t] ? use : least[t];
            most[t] = !any || use > most[t] ? use : most[t];
        }
        any = true;
    }
    return any;
}

/* Strikes the stacks that this part's bounds, or the stock left beside the least the other places
 * need, do not allow; until nothing changes. False: this part is empty. */
static bool narrow(Search *s) {
    int64_t room[FIT_THICKNESSES];
    for (size_t t = 0; t < s->limited; t++)
        room[t] = INT32_MAX;
    memset(s->least, 0, s->places * s->limited);
    memcpy(s->allowed, s->present, s->places * s->stacks);
    for (bool changed = true; changed;) {
        changed = false;
        for (size_t i = 0; i < s->places; i++) {
            for (size_t k = 0; k < s->stacks; k++) {
                uint8_t *allowed = &s->allowed[i * s->stacks + k];
                if (!*allowed || stack_fits(s, i, k, room)) continue;
                *allowed = 0;
                changed = true;
            }
            if (!range_of_use(s, i)) return false;
        }
        for (size_t t = 0; t < s->limited; t++) {
            int64_t left = s->stock[t];
            for (size_t i = 0; i < s->places; i++)
                left -= s->least[i * s->limited + t];
            if (left < 0) return false;
            if (left < room[t]) room[t] = left, changed = true;
        }
    }
    return true;
}

static void fill_row(Search *s, size_t place, const Prices *prices) {
    for (size_t k = 0; k < s->stacks; k++) {
        s->toll[k] = s->allowed[place * s->stacks + k] ? 0 : NO_TOLL;
        for (size_t t = 0; s->toll[k] != NO_TOLL && t < s->limited; t++)
            s->toll[k] += prices->of[t] * s->use[k][t];
    }
    int64_t a_square = prices->of[s->limited];
    for (size_t pair = place * s->items; pair < (place + 1) * s->items; pair++) {
        int64_t least = ASSIGN_FORBIDDEN;
        for (uint32_t i = s->first[pair]; i < s->first[pair + 1]; i++) {
            int64_t toll = s->toll[s->kept[i].stack];
            if (toll == NO_TOLL) continue;
            int64_t cost = s->kept[i].cost + toll + a_square * square_of(s, &s->kept[i]);
            if (cost >= least) continue;
            least = cost;
            s->chosen[pair] = i;
        }
        s->matrix[pair] = least;
    }
}

/* The assignment of least cost with tolls. False: no complete one, or the work ran out. */
static bool evaluate(Search *s, const Prices *prices) {
    size_t effort = s->kept_count + s->places * s->items;
    if (*s->work < effort) return s->out_of_work = true, false;
    *s->work -= effort;
    for (size_t i = 0; i < s->places; i++)
        fill_row(s, i, prices);
    if (!assign_least(&s->assign, s->matrix, &s->sum)) return false;
    memset(s->used, 0, sizeof s->used);
    for (size_t i = 0; i < s->places; i++) {
        const Kept *k = &s->kept[chosen_at(s, i)];
        for (size_t t = 0; t < s->limited; t++)
            s->used[t] += s->use[k->stack][t];
        s->used[s->limited] += square_of(s, k);
    }
    return true;
}

void search_record(Search *s) {
    int64_t cost = 0, squares = 0;
    for (size_t i = 0; i < s->places; i++) {
        cost += s->kept[s->pick[i]].cost;
        squares += square_of(s, &s->kept[s->pick[i]]);
    }
    cost /= SCALE;
    if (cost > s->target || squares > s->pass->squares_most) return;
    s->solution->any = true;
    s->solution->cost = cost;
    for (size_t i = 0; i < s->places; i++) {
        s->solution->item[i] = s->assign.item_of[i];
        s->solution->candidate[i] = s->kept[s->pick[i]].candidate;
    }
    s->found = true;
    s->target = cost - 1;
    if (cost <= s->pass->enough) s->done = true;
}

/* Takes the choice just evaluated in hand; where it breaks the stock, with other stacks. */
static void try_choice(Search *s) {
    for (size_t i = 0; i < s->places; i++)
        s->pick[i] = chosen_at(s, i);
    if (search_repair(s)) search_record(s);
}

static int64_t bound(const Search *s, const Prices *prices) {
    int64_t b = s->sum;
    for (size_t t = 0; t < s->rows; t++)
        b -= prices->of[t] * s->stock[t];
    return b;
}

/* Remembers the choice just evaluated. */
static void remember(Search *s, const Prices *prices) {
    int64_t cost = s->sum;
    for (size_t t = 0; t < s->rows; t++)
        cost -= prices->of[t] * s->used[t];
    size_t at = master_add(&s->master, (double)cost, s->used);
    for (size_t i = 0; i < s->places; i++) {
        s->met[at * s->places + i] = s->kept[chosen_at(s, i)].stack;
        s->met_item[at * s->places + i] = (uint16_t)s->assign.item_of[i];
    }
}

static bool allowed_here(const Search *s, const uint16_t *stacks) {
    for (size_t i = 0; i < s->places; i++)
        if (!s->allowed[i * s->stacks + stacks[i]]) return false;
    return true;
}

/* Starts the linear programme of this part with the choices met before that lie in it. */
static void recall(Search *s) {
    static const Master empty;
    Master before = s->master;
    double penalty = 20.0 * SCALE * ((double)s->target + 1);
    s->master = empty;
    master_clear(&s->master, s->rows, s->stock, penalty);
    for (size_t k = 0; k < before.count; k++) {
        uint16_t *stacks = s->met + k * s->places;
        if (!allowed_here(s, stacks)) continue;
        int64_t used[MASTER_ROWS];
        for (size_t t = 0; t < s->rows; t++)
            used[t] = (int64_t)before.used[k][t];
        size_t at = master_add(&s->master, before.cost[k], used);
        memmove(s->met + at * s->places, stacks, s->places * sizeof *stacks);
        memmove(s->met_item + at * s->places, s->met_item + k * s->places,
                s->places * sizeof *s->met_item);
    }
}

static void next_prices(Search *s, Prices *prices) {
    master_solve(&s->master);
    for (size_t t = 0; t < s->rows; t++) {
        double p = round(s->master.price[t]);
        int64_t most = t < s->limited ? s->toll_most : s->square_toll_most;
        prices->of[t] = p < (double)most ? (int64_t)p : most;
    }
}

/* Raises the bound of this part, from *prices to the best met. True: the part is closed (nothing
 * wanted is left in it). */
static bool close_by_bound(Search *s, Prices *prices) {
    Prices at = *prices;
    int64_t best = INT64_MIN;
    recall(s);
    if (s->master.count) next_prices(s, &at);
    for (int round = 0; round < ROUNDS; round++) {
        if (!evaluate(s, &at)) return true;
        try_choice(s);
        int64_t value = bound(s, &at);
        if (s->done || value > SCALE * s->target) return true;
        if (value > best) {
            best = value;
            *prices = at;
        }
        if (s->rows == 0) return true;
        remember(s, &at);
        next_prices(s, &at);
        if ((double)best >= s->master.value - 0.5) break;
    }
    search_mix(s, prices);
    return s->done || best > SCALE * s->target;
}

/* Where the use of every place is settled no stock can be broken, and the squares, held, can simply
 * come before all else: one assignment tells. */
static void settle(Search *s) {
    Prices prices = {{0}};
    if (!s->pass->squares_held) return;
    prices.of[s->limited] = SCALE * s->pass->square;
    if (evaluate(s, &prices)) try_choice(s);
}

/* Looks through both parts of a split. Depth is at most places x limited x FIT_STACK_MOST, and each
 * frame is small. */
static void explore(Search *s, Prices prices) {
    if (s->done || s->out_of_work || !narrow(s)) return;
    if (s->limited == 0 && s->rows) {
        settle(s);
        return;
    }
    if (close_by_bound(s, &prices) || !evaluate(s, &prices)) return;
    if (s->depth == 0) search_strike(s, &prices, bound(s, &prices));
    Split split = search_split(s, &prices);
    if (!split.any) {
        settle(s);
        return;
    }
    size_t cell = split.place * s->limited + split.limited;
    uint8_t low = s->low[cell], high = s->high[cell];
    s->depth++;
    for (int part = 0; part < 2; part++) {
        if ((part == 0) == split.up)
            s->low[cell] = split.at;
        else
            s->high[cell] = split.at - 1;
        explore(s, prices);
        s->low[cell] = low;
        s->high[cell] = high;
    }
    s->depth--;
}

FitVerdict fit_search(const FitTable *t, const size_t *stock, const FitPass *pass, Arena *scratch,
                      size_t *work, FitSolution *solution) {
    Search s = {.table = t, .pass = pass, .work = work, .solution = solution};
    Prices none = {{0}};
    arena_reset(scratch);
    search_init(&s, scratch, stock);
    explore(&s, none);
    if (s.out_of_work) return FIT_OUT_OF_WORK;
    return s.found ? FIT_FOUND : FIT_NOT_THERE;
}
