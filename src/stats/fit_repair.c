/*
 * A quick way from a choice that breaks the stock to one that keeps it: the items stay, single
 * places change their stacks. First whatever takes most pieces off for the least cost, until the
 * stock is kept; then whatever saves cost within the stock. It finds good choices early; nothing is
 * proved by it.
 */
#include "stats/fit_search.h"

typedef struct Change {
    size_t place;
    uint32_t to; /* into kept */
    int64_t cost, gain;
    bool any;
} Change;

/* By how many pieces the stock is broken when one place goes from a stack to another. */
static int64_t broken(const Search *s, const int64_t *used, uint16_t from, uint16_t to) {
    int64_t sum = 0;
    for (size_t t = 0; t < s->limited; t++) {
        int64_t over = used[t] - s->use[from][t] + s->use[to][t] - s->stock[t];
        if (over > 0) sum += over;
    }
    return sum;
}

static bool better(const Change *a, const Change *b) {
    if (!b->any) return true;
    return (double)a->cost * (double)b->gain < (double)b->cost * (double)a->gain;
}

/* The change that mends most for its cost or, when nothing is broken, that saves most. */
static Change best_change(const Search *s, const int64_t *used, int64_t over) {
    Change best = {0};
    for (size_t i = 0; i < s->places; i++) {
        size_t pair = i * s->items + (size_t)s->assign.item_of[i];
        const Kept *now = &s->kept[s->pick[i]];
        for (uint32_t k = s->first[pair]; k < s->first[pair + 1]; k++) {
            Change c = {i, k, full_cost(s, &s->kept[k]) - full_cost(s, now), 1, true};
            if (over == 0 && c.cost >= 0) continue;
            if (!s->allowed[i * s->stacks + s->kept[k].stack]) continue;
            int64_t left = broken(s, used, now->stack, s->kept[k].stack);
            if (over > 0) c.gain = over - left;
            if (over > 0 ? c.gain <= 0 : left > 0) continue;
            if (better(&c, &best)) best = c;
        }
    }
    return best;
}

bool search_repair(Search *s) {
    int64_t used[FIT_THICKNESSES] = {0};
    for (size_t i = 0; i < s->places; i++)
        for (size_t t = 0; t < s->limited; t++)
            used[t] += s->use[s->kept[s->pick[i]].stack][t];
    for (;;) {
        int64_t over = broken(s, used, 0, 0);
        Change c = best_change(s, used, over);
        if (!c.any) return over == 0;
        for (size_t t = 0; t < s->limited; t++)
            used[t] += s->use[s->kept[c.to].stack][t] - s->use[s->kept[s->pick[c.place]].stack][t];
        s->pick[c.place] = c.to;
    }
}
