/* What a search starts from: the limited thicknesses, and of each pair the candidates worth
 * keeping. */
#include "stats/fit_search.h"

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
    s->rows = s->limited + s->pass->squares_held;
    s->stock[s->limited] = s->pass->squares_most;
    s->use = arena_array(a, stacks->count, sizeof *s->use);
    for (size_t k = 0; k < stacks->count; k++)
        for (size_t t = 0; t < s->limited; t++)
            s->use[k][t] = stacks->of[k][s->thickness[t]];
}

/* Does candidate a use no more than b of each limited thickness, and of the squares? */
static bool uses_no_more(const Search *s, const Kept *a, const Kept *b) {
    for (size_t t = 0; t < s->limited; t++)
        if (s->use[a->stack][t] > s->use[b->stack][t]) return false;
    return square_of(s, a) <= square_of(s, b);
}

/* Adds a candidate to those kept of its pair unless one is as good in all; drops the ones it beats.
 * Equal ones: the earlier stays. */
static void keep(Search *s, Arena *a, size_t from, Kept k) {
    size_t left = from;
    for (size_t i = from; i < s->kept_count; i++)
        if (s->kept[i].cost <= k.cost && uses_no_more(s, &s->kept[i], &k)) return;
    for (size_t i = from; i < s->kept_count; i++)
        if (s->kept[i].cost < k.cost || !uses_no_more(s, &k, &s->kept[i]))
            s->kept[left++] = s->kept[i];
    if (left == s->kept_room) {
        s->kept_count = left;
        arena_grow(a, s->kept, s->kept_count, s->kept_room);
    }
    s->kept[left] = k;
    s->kept_count = left + 1;
}

/* The squares are no part of it where their sum is held. */
static int64_t search_cost(const Search *s, size_t pair, uint32_t candidate) {
    int64_t cost = fit_cost(s->table, s->pass, pair, candidate);
    Kept k = {.candidate = candidate};
    return cost - s->pass->square * square_of(s, &k);
}

static void keep_all(Search *s, Arena *a) {
    const FitTable *t = s->table;
    size_t pairs = s->places * s->items;
    s->first = arena_array(a, pairs + 1, sizeof *s->first);
    s->present = arena_array(a, s->places * s->stacks + 1, 1);
    for (size_t pair = 0; pair < pairs; pair++) {
        size_t from = s->kept_count;
        s->first[pair] = (uint32_t)from;
        for (uint32_t c = t->first[pair]; c < t->first[pair + 1]; c++)
            if (fit_within(t, s->pass, c))
                keep(s, a, from, (Kept){SCALE * search_cost(s, pair, c), c, t->stack[c]});
        for (size_t i = from; i < s->kept_count; i++)
            s->present[pair / s->items * s->stacks + s->kept[i].stack] = 1;
    }
    s->first[pairs] = (uint32_t)s->kept_count;
}

static int64_t largest_square(const Search *s) {
    int64_t largest = 0;
    for (size_t i = 0; i < s->kept_count; i++)
        if (square_of(s, &s->kept[i]) > largest) largest = square_of(s, &s->kept[i]);
    return largest;
}

void search_init(Search *s, Arena *a, const size_t *stock) {
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
    s->pick = arena_array(a, s->places + 1, sizeof *s->pick);
    assign_work_init(&s->assign, a, s->places, s->items);
    s->met_item = arena_array(a, MASTER_COLUMNS * s->places + 1, sizeof *s->met_item);
    s->met = arena_array(a, MASTER_COLUMNS * s->places + 1, sizeof *s->met);
    int64_t dearest = 0;
    for (size_t i = 0; i < s->kept_count; i++)
        if (s->kept[i].cost > dearest) dearest = s->kept[i].cost;
    int64_t room = (assign_cost_most(s->places) - dearest) / 2;
    s->toll_most = room / (FIT_STACK_MOST * FIT_THICKNESSES);
    s->square_toll_most = room / (1 + largest_square(s));
}

/*
 * Drops the candidates that no choice still wanted can have. With the item and place prices of the
 * assignment just evaluated at these prices of stock, whose bound is `bound`, a choice with the
 * candidate costs at least the bound and the candidate's reduced cost.
 */
void search_strike(Search *s, const Prices *prices, int64_t bound) {
    int64_t room = SCALE * s->target - bound;
    uint32_t left = 0, from = 0;
    memset(s->present, 0, s->places * s->stacks);
    for (size_t pair = 0; pair < s->places * s->items; pair++) {
        size_t place = pair / s->items;
        int64_t paid = s->assign.place_price[place] + s->assign.item_price[pair % s->items];
        uint32_t end = s->first[pair + 1];
        s->first[pair] = left;
        for (; from < end; from++) {
            Kept k = s->kept[from];
            if (cost_with_tolls(s, &k, prices) - paid > room) continue;
            s->kept[left++] = k;
            s->present[place * s->stacks + k.stack] = 1;
        }
    }
    s->first[s->places * s->items] = left;
    s->kept_count = left;
}
