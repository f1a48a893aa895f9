/*
 * A quick way from choices met to better ones: two choices differ in chains of places, each of
 * which can go over to the other choice by itself. Near the best prices all of them cost about the
 * same, so some mixture nearly always keeps the stock at next to no cost. Nothing is proved by it.
 */
#include "stats/fit_search.h"

typedef struct Chains {
    size_t count;
    size_t *of;                      /* [places] */
    int64_t (*use)[FIT_THICKNESSES]; /* [chains] what going over adds */
    int64_t *cost;                   /* [chains] the same */
    bool *over;                      /* [chains] it has gone over */
    int *item, *owner;               /* [places] of the other choice; [items] of the one in hand */
    uint32_t *pick;                  /* [places] of the other choice */
    int64_t used[FIT_THICKNESSES];   /* of the choice in hand */
    int64_t penalty;                 /* of a piece beyond the stock */
} Chains;

/* The candidates of a choice met, if all of them are still kept. */
static bool find_picks(const Search *s, size_t met, int *item, uint32_t *pick) {
    for (size_t i = 0; i < s->places; i++) {
        size_t at = met * s->places + i, pair = i * s->items + s->met_item[at];
        uint32_t k = s->first[pair];
        while (k < s->first[pair + 1] && s->kept[k].stack != s->met[at])
            k++;
        if (k == s->first[pair + 1]) return false;
        item[i] = s->met_item[at];
        pick[i] = k;
    }
    return true;
}

static size_t root_of(size_t *of, size_t i) {
    while (of[i] != i)
        i = of[i] = of[of[i]];
    return i;
}

/* Places are of one chain when one would take the item the other has. */
static void find_chains(const Search *s, Chains *c) {
    for (size_t j = 0; j < s->items; j++)
        c->owner[j] = -1;
    for (size_t i = 0; i < s->places; i++) {
        c->owner[s->assign.item_of[i]] = (int)i;
        c->of[i] = i;
    }
    for (size_t i = 0; i < s->places; i++)
        if (c->owner[c->item[i]] >= 0)
            c->of[root_of(c->of, i)] = root_of(c->of, (size_t)c->owner[c->item[i]]);
    memset(c->use, 0, s->places * sizeof *c->use);
    memset(c->cost, 0, s->places * sizeof *c->cost);
    memset(c->over, 0, s->places * sizeof *c->over);
    memset(c->used, 0, sizeof c->used);
    for (size_t i = 0; i < s->places; i++) {
        size_t chain = c->of[i] = root_of(c->of, i);
        const Kept *now = &s->kept[s->pick[i]], *then = &s->kept[c->pick[i]];
        c->cost[chain] += full_cost(s, then) - full_cost(s, now);
        for (size_t t = 0; t < s->limited; t++) {
            c->use[chain][t] += s->use[then->stack][t] - s->use[now->stack][t];
            c->used[t] += s->use[now->stack][t];
        }
    }
}

/* What it comes to, with pieces beyond the stock at their penalty, when two chains (or one, twice
 * the same) change sides. */
static int64_t change(const Search *s, const Chains *c, size_t a, size_t b) {
    int64_t sum = c->over[a] ? -c->cost[a] : c->cost[a];
    if (b != a) sum += c->over[b] ? -c->cost[b] : c->cost[b];
    for (size_t t = 0; t < s->limited; t++) {
        int64_t before = c->used[t] - s->stock[t], after = before;
        after += c->over[a] ? -c->use[a][t] : c->use[a][t];
        if (b != a) after += c->over[b] ? -c->use[b][t] : c->use[b][t];
        sum += c->penalty * ((after > 0 ? after : 0) - (before > 0 ? before : 0));
    }
    return sum;
}

static void turn(const Search *s, Chains *c, size_t chain) {
    for (size_t t = 0; t < s->limited; t++)
        c->used[t] += c->over[chain] ? -c->use[chain][t] : c->use[chain][t];
    c->over[chain] = !c->over[chain];
}

/* Turns the one or two chains that save most. False: none do, or the work ran out. */
static bool turn_best(const Search *s, Chains *c) {
    int64_t least = 0;
    size_t a = 0, b = 0, weighed = s->places * s->places / 2;
    if (*s->work < weighed) return false;
    *s->work -= weighed;
    for (size_t i = 0; i < s->places; i++) {
        if (c->of[i] != i) continue;
        for (size_t k = i; k < s->places; k++) {
            if (c->of[k] != k) continue;
            int64_t saved = change(s, c, i, k);
            if (saved < least) least = saved, a = i, b = k;
        }
    }
    if (least == 0) return false;
    turn(s, c, a);
    if (b != a) turn(s, c, b);
    return true;
}

/* Mixes the choice in hand with the other until no one or two chains save any more. */
static void mix(Search *s, Chains *c) {
    find_chains(s, c);
    for (size_t turns = 0; turns < s->places && turn_best(s, c); turns++) {
    }
    for (size_t i = 0; i < s->places; i++) {
        if (!c->over[c->of[i]]) continue;
        s->assign.item_of[i] = c->item[i];
        s->pick[i] = c->pick[i];
    }
}

static Chains chains_new(const Search *s, Arena *a, const Prices *prices) {
    Chains c = {.penalty = 10 * SCALE};
    c.of = arena_array(a, s->places + 1, sizeof *c.of);
    c.use = arena_array(a, s->places + 1, sizeof *c.use);
    c.cost = arena_array(a, s->places + 1, sizeof *c.cost);
    c.over = arena_array(a, s->places + 1, sizeof *c.over);
    c.item = arena_array(a, s->places + 1, sizeof *c.item);
    c.owner = arena_array(a, s->items + 1, sizeof *c.owner);
    c.pick = arena_array(a, s->places + 1, sizeof *c.pick);
    for (size_t t = 0; t < s->limited; t++)
        c.penalty += 2 * prices->of[t];
    return c;
}

void search_mix(Search *s, const Prices *prices) {
    Arena *a = arena_new();
    Chains c = chains_new(s, a, prices);
    for (size_t from = 0; from < s->master.count && !s->done; from++) {
        if (s->master.weight[from] < 1e-6) continue;
        if (!find_picks(s, from, s->assign.item_of, s->pick)) continue;
        for (size_t to = 0; to < s->master.count; to++) {
            if (s->master.weight[to] < 1e-6 || to == from) continue;
            if (find_picks(s, to, c.item, c.pick)) mix(s, &c);
        }
        if (search_repair(s)) search_record(s);
    }
    arena_free(a);
}
