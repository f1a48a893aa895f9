/*
 * Where a search splits a part in two: on how many pieces of one thickness lie at one place.
 */
#include "stats/fit_search.h"
#include <math.h>

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
        int64_t cost = cost_with_tolls(s, k, prices) - cost_with_tolls(s, now, prices);
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
static Split split_on_stock(const Search *s, const Prices *prices) {
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

Split search_split(const Search *s, const Prices *prices) {
    Split split = split_on_mean(s);
    return split.any ? split : split_on_stock(s, prices);
}
