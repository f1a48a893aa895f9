/*
 * The choice of least cost within bounds, stock respected: exact.
 *
 * Without stock each pair of place and item takes its own best candidate, and the rest is an
 * assignment. Stock couples the places. Each piece of a limited thickness is therefore charged a
 * price (a Lagrange multiplier): for any prices >= 0,
 *
 *     least over assignments of (cost + price x pieces used)  -  price x stock
 *
 * is never above the cost of a choice that keeps the stock, so it is a lower bound; the prices are
 * moved along the pieces used too many or too few, by steps aimed at the cost still wanted
 * (Polyak). Where the bound passes that cost, nothing wanted is left. Every choice met on the way
 * that keeps the stock is kept if it is better. Between the best bound and the best choice a gap
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
#include "stats/fit_inner.h"
#include "stats/fit_master.h"
#include <math.h>

#define SCALE 60          /* holds halves, thirds, quarters, fifths exactly */
#define ROUNDS 60         /* price moves in one part before it is split */
#define NO_TOLL INT64_MAX /* the stack is not allowed at the place */

typedef struct Kept {
    int64_t cost; /* scaled */
    uint32_t candidate;
    uint16_t stack;
} Kept;

typedef struct Prices {
    int64_t of[FIT_THICKNESSES];
} Prices;

typedef struct Search {
    const FitTable *table;
    const FitPass *pass;
    size_t places, items, stacks;
    size_t limited; /* thicknesses whose stock can run out */
    size_t thickness[FIT_THICKNESSES];
    int64_t stock[FIT_THICKNESSES];
    uint8_t (*use)[FIT_THICKNESSES]; /* [stack][limited] */
    uint32_t *first;                 /* [pairs + 1] into kept */
    Kept *kept;
    size_t kept_count;
    uint8_t *present;      /* [place][stack] some item has it there */
    uint8_t *allowed;      /* [place][stack] present, and within this part */
    uint8_t *low, *high;   /* [place][limited] bounds of this part */
    uint8_t *least, *most; /* [place][limited] use of the stacks allowed */
    int64_t *toll;         /* [stack] of one place, during an evaluation */
    int64_t *matrix;       /* [pairs] */
    uint32_t *chosen;      /* [pairs] into kept */
    AssignWork assign;
    int64_t sum; /* of the last evaluation, with tolls */
    int64_t used[FIT_THICKNESSES];
    int64_t toll_most;
    int64_t target; /* choices up to this cost are still wanted */
    Master master;
    uint16_t *met; /* [MASTER_COLUMNS][place] the stacks of the choices in it */
    bool done, out_of_work;
    size_t *work;
    FitSolution *solution;
    bool found;
} Search;

void fit_solution_init(FitSolution *s, Arena *a, size_t places) {
    *s = (FitSolution){0};
    s->item = arena_array(a, places + 1, sizeof *s->item);
    s->candidate = arena_array(a, places + 1, sizeof *s->candidate);
}

int64_t fit_cost(const FitTable *t, const FitPass *pass, size_t pair, uint32_t candidate) {
    int64_t d = t->deviation[candidate];
    return pass->square * d * d + pass->adjuster * t->stacks->pieces[t->stack[candidate]] +
           pass->move * !t->stays[pair];
}

/* A thickness is limited if the places together could use more than there is. */
static void find_limited(Search *s, Arena *a, const size_t *stock) {
    const FitStacks *stacks = s->table->stacks;
    for (size_t t = 0; stock && t < stacks->thicknesses; t++) {
        size_t most = 0;
        for (size_t k = 0; k < stacks->count; k++)
            if (stacks->of[k][t] > most) most = stacks->of[k][t];
        if (stock[t] >= most * s->places) continue;
        s->thickness[s->limited] = t;
        s->stock[s->limited++] = (int64_t)stock[t];
    }
    s->use = arena_array(a, stacks->count, sizeof *s->use);
    for (size_t k = 0; k < stacks->count; k++)
        for (size_t t = 0; t < s->limited; t++)
            s->use[k][t] = stacks->of[k][s->thickness[t]];
}

/* Does stack a use no more than stack b of each limited thickness? */
static bool uses_no_more(const Search *s, uint16_t a, uint16_t b) {
    for (size_t t = 0; t < s->limited; t++)
        if (s->use[a][t] > s->use[b][t]) return false;
    return true;
}

/* Adds a candidate to those kept of its pair unless one is as good in all; drops the ones it beats.
 * Equal ones: the earlier stays. */
static void keep(Search *s, size_t from, Kept k) {
    size_t left = from;
    for (size_t i = from; i < s->kept_count; i++)
        if (s->kept[i].cost <= k.cost && uses_no_more(s, s->kept[i].stack, k.stack)) return;
    for (size_t i = from; i < s->kept_count; i++)
        if (s->kept[i].cost < k.cost || !uses_no_more(s, k.stack, s->kept[i].stack))
            s->kept[left++] = s->kept[i];
    s->kept[left] = k;
    s->kept_count = left + 1;
}

static void keep_all(Search *s, Arena *a) {
    const FitTable *t = s->table;
    size_t pairs = s->places * s->items;
    s->first = arena_array(a, pairs + 1, sizeof *s->first);
    s->kept = arena_array(a, (s->limited ? t->first[pairs] : pairs) + 1, sizeof *s->kept);
    s->present = arena_array(a, s->places * s->stacks + 1, 1);
    for (size_t pair = 0; pair < pairs; pair++) {
        size_t from = s->kept_count;
        s->first[pair] = (uint32_t)from;
        for (uint32_t c = t->first[pair]; c < t->first[pair + 1]; c++)
            if (fit_within(t, s->pass, c))
                keep(s, from, (Kept){SCALE * fit_cost(t, s->pass, pair, c), c, t->stack[c]});
        for (size_t i = from; i < s->kept_count; i++)
            s->present[pair / s->items * s->stacks + s->kept[i].stack] = 1;
    }
    s->first[pairs] = (uint32_t)s->kept_count;
}

static void search_init(Search *s, Arena *a, const size_t *stock) {
    s->places = s->table->places;
    s->items = s->table->items;
    s->stacks = s->table->stacks->count;
    s->target = s->pass->cost_most;
    find_limited(s, a, stock);
    keep_all(s, a);
    size_t cells = s->places * s->limited + 1;
    s->allowed = arena_array(a, s->places * s->stacks + 1, 1);
    s->low = arena_array(a, cells, 1);
    s->high = arena_array(a, cells, 1);
    s->least = arena_array(a, cells, 1);
    s->most = arena_array(a, cells, 1);
    memset(s->high, UINT8_MAX, cells);
    s->toll = arena_array(a, s->stacks, sizeof *s->toll);
    s->matrix = arena_array(a, s->places * s->items + 1, sizeof *s->matrix);
    s->chosen = arena_array(a, s->places * s->items + 1, sizeof *s->chosen);
    assign_work_init(&s->assign, a, s->places, s->items);
    s->met = arena_array(a, MASTER_COLUMNS * s->places + 1, sizeof *s->met);
    int64_t dearest = 0;
    for (size_t i = 0; i < s->kept_count; i++)
        if (s->kept[i].cost > dearest) dearest = s->kept[i].cost;
    s->toll_most = (assign_cost_most(s->places) - dearest) / (FIT_STACK_MOST * FIT_THICKNESSES);
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
    for (size_t pair = place * s->items; pair < (place + 1) * s->items; pair++) {
        int64_t least = ASSIGN_FORBIDDEN;
        for (uint32_t i = s->first[pair]; i < s->first[pair + 1]; i++) {
            int64_t toll = s->toll[s->kept[i].stack];
            if (toll == NO_TOLL || s->kept[i].cost + toll >= least) continue;
            least = s->kept[i].cost + toll;
            s->chosen[pair] = i;
        }
        s->matrix[pair] = least;
    }
}

static uint32_t chosen_at(const Search *s, size_t place) {
    return s->chosen[place * s->items + (size_t)s->assign.item_of[place]];
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
    for (size_t i = 0; i < s->places; i++)
        for (size_t t = 0; t < s->limited; t++)
            s->used[t] += s->use[s->kept[chosen_at(s, i)].stack][t];
    return true;
}

/* Keeps the choice just evaluated if it keeps the stock and is wanted. */
static void record(Search *s, const Prices *prices) {
    int64_t cost = s->sum;
    for (size_t t = 0; t < s->limited; t++) {
        if (s->used[t] > s->stock[t]) return;
        cost -= prices->of[t] * s->used[t];
    }
    cost /= SCALE;
    if (cost > s->target) return;
    s->solution->any = true;
    s->solution->cost = cost;
    for (size_t i = 0; i < s->places; i++) {
        s->solution->item[i] = s->assign.item_of[i];
        s->solution->candidate[i] = s->kept[chosen_at(s, i)].candidate;
    }
    s->found = true;
    s->target = cost - 1;
    if (cost <= s->pass->enough) s->done = true;
}

static int64_t bound(const Search *s, const Prices *prices) {
    int64_t b = s->sum;
    for (size_t t = 0; t < s->limited; t++)
        b -= prices->of[t] * s->stock[t];
    return b;
}

/* Remembers the choice just evaluated. */
static void remember(Search *s, const Prices *prices) {
    int64_t cost = s->sum;
    for (size_t t = 0; t < s->limited; t++)
        cost -= prices->of[t] * s->used[t];
    size_t at = master_add(&s->master, (double)cost, s->used);
    for (size_t i = 0; i < s->places; i++)
        s->met[at * s->places + i] = s->kept[chosen_at(s, i)].stack;
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
    master_clear(&s->master, s->limited, s->stock, penalty);
    for (size_t k = 0; k < before.count; k++) {
        uint16_t *stacks = s->met + k * s->places;
        if (!allowed_here(s, stacks)) continue;
        int64_t used[FIT_THICKNESSES];
        for (size_t t = 0; t < s->limited; t++)
            used[t] = (int64_t)before.used[k][t];
        size_t at = master_add(&s->master, before.cost[k], used);
        memmove(s->met + at * s->places, stacks, s->places * sizeof *stacks);
    }
}

static void next_prices(Search *s, Prices *prices) {
    master_solve(&s->master);
    for (size_t t = 0; t < s->limited; t++) {
        double p = round(s->master.price[t]);
        prices->of[t] = p < (double)s->toll_most ? (int64_t)p : s->toll_most;
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
        record(s, &at);
        int64_t value = bound(s, &at);
        if (s->done || value > SCALE * s->target) return true;
        if (value > best) {
            best = value;
            *prices = at;
        }
        if (s->limited == 0) return true;
        remember(s, &at);
        next_prices(s, &at);
        if ((double)best >= s->master.value - 0.5) break;
    }
    return false;
}

typedef struct Split {
    size_t place, limited;
    uint8_t at; /* one part: at most at - 1, the other: at least at */
    bool up;    /* the second part is looked at first */
    bool any;
} Split;

/* What it costs, with tolls, to keep the item at a place but use less (or more) of a thickness. */
static int64_t regret(const Search *s, size_t place, size_t t, bool more, const Prices *prices) {
    size_t pair = place * s->items + (size_t)s->assign.item_of[place];
    const Kept *now = &s->kept[chosen_at(s, place)];
    int64_t least = INT64_MAX;
    for (uint32_t i = s->first[pair]; i < s->first[pair + 1]; i++) {
        const Kept *k = &s->kept[i];
        int use = s->use[k->stack][t], had = s->use[now->stack][t];
        if (!s->allowed[place * s->stacks + k->stack]) continue;
        if (more ? use <= had : use >= had) continue;
        int64_t cost = k->cost - now->cost;
        for (size_t u = 0; u < s->limited; u++)
            cost += prices->of[u] * (s->use[k->stack][u] - s->use[now->stack][u]);
        if (cost < least) least = cost;
    }
    return least;
}

/* The place where a change in the use of thickness t costs least. */
static Split split_on(const Search *s, size_t t, bool more, const Prices *prices) {
    Split split = {.limited = t, .up = more};
    int64_t least = 0;
    for (size_t i = 0; i < s->places; i++) {
        uint8_t use = s->use[s->kept[chosen_at(s, i)].stack][t];
        size_t cell = i * s->limited + t;
        if (more ? use >= s->most[cell] : use <= s->least[cell]) continue;
        int64_t r = regret(s, i, t, more, prices);
        if (split.any && r >= least) continue;
        least = r;
        split.any = true;
        split.place = i;
        split.at = more ? use + 1 : use;
    }
    return split;
}

/* The mean use at a place over the choices the linear programme mixes. */
static double mean_use(const Search *s, size_t place, size_t t) {
    double mean = 0;
    for (size_t k = 0; k < s->master.count; k++)
        if (s->master.weight[k] > 0)
            mean += s->master.weight[k] * s->use[s->met[k * s->places + place]][t];
    return mean;
}

/* Where that mean is furthest from a whole number. */
static Split split_on_mean(const Search *s) {
    Split split = {0};
    double furthest = 1e-6;
    for (size_t i = 0; i < s->places; i++)
        for (size_t t = 0; t < s->limited; t++) {
            if (s->least[i * s->limited + t] == s->most[i * s->limited + t]) continue;
            double mean = mean_use(s, i, t), low = floor(mean);
            double away = fmin(mean - low, low + 1 - mean);
            if (away <= furthest) continue;
            furthest = away;
            split = (Split){i, t, (uint8_t)(low + 1), mean - low > 0.5, true};
        }
    return split;
}

/* Where to split: on the thickness used most above stock; else on the one whose price is paid for
 * pieces left over; else wherever the use is open. None: every use is settled. */
static Split choose_split(const Search *s, const Prices *prices) {
    int64_t worst = 0;
    Split split = {0};
    for (size_t t = 0; t < s->limited; t++) {
        int64_t over = s->used[t] - s->stock[t];
        if (over <= worst) continue;
        Split found = split_on(s, t, false, prices);
        if (found.any) split = found, worst = over;
    }
    for (size_t t = 0; t < s->limited && worst == 0; t++) {
        if (s->used[t] >= s->stock[t] || prices->of[t] == 0) continue;
        Split found = split_on(s, t, true, prices);
        if (found.any) return found;
    }
    for (size_t k = 0; k < 2 * s->limited && !split.any; k++)
        split = split_on(s, k / 2, k % 2 == 0, prices);
    return split;
}

/* Depth is at most places x limited x FIT_STACK_MOST, and each frame is small. */
static void explore(Search *s, Prices prices) {
    if (s->done || s->out_of_work || !narrow(s)) return;
    if (close_by_bound(s, &prices) || !evaluate(s, &prices)) return;
    Split split = split_on_mean(s);
    if (!split.any) split = choose_split(s, &prices);
    if (!split.any) return;
    size_t cell = split.place * s->limited + split.limited;
    uint8_t low = s->low[cell], high = s->high[cell];
    for (int part = 0; part < 2; part++) {
        if ((part == 0) == split.up)
            s->low[cell] = split.at;
        else
            s->high[cell] = split.at - 1;
        explore(s, prices);
        s->low[cell] = low;
        s->high[cell] = high;
    }
}

FitVerdict fit_search(const FitTable *t, const size_t *stock, const FitPass *pass, size_t *work,
                      FitSolution *solution) {
    Arena *a = arena_new();
    Search s = {.table = t, .pass = pass, .work = work, .solution = solution};
    Prices none = {{0}};
    search_init(&s, a, stock);
    explore(&s, none);
    arena_free(a);
    if (s.out_of_work) return FIT_OUT_OF_WORK;
    return s.found ? FIT_FOUND : FIT_NOT_THERE;
}
