/*
 * Minimum-sum assignment by shortest augmenting paths (the Hungarian method as Jonker and
 * Volgenant arranged it), for matrices with at least as many columns as rows.
 *
 * Method. Prices u (places) and v (items) are kept with u + v <= cost everywhere and equality on
 * the pairs chosen so far. Each place starts with the cheapest item, if that is still free; each
 * place left over is then added along the path of smallest reduced cost (Dijkstra over the items;
 * reduced costs are never negative), and the prices are raised by the distances, which keeps both
 * conditions. Items never chosen keep price 0 and no price rises above 0, so by complementary
 * slackness of the linear programme the result is optimal: its sum equals the sum of the prices,
 * which no other assignment can undercut.
 *
 * The first among equal optima: by the same slackness an assignment is optimal exactly when it
 * uses only pairs with u + v = cost and every item with v < 0. The lexicographically first such
 * matching is found by assign_first, whatever optimum the paths led to.
 */
#include "base/fatal.h"
#include "stats/assign.h"

void assign_work_init(AssignWork *w, Arena *a, size_t places, size_t items) {
    w->places = places;
    w->items = items;
    w->place_price = arena_array(a, places + 1, sizeof *w->place_price);
    w->item_price = arena_array(a, items + 1, sizeof *w->item_price);
    w->item_of = arena_array(a, places + 1, sizeof *w->item_of);
    w->place_of = arena_array(a, items + 1, sizeof *w->place_of);
    w->distance = arena_array(a, items + 1, sizeof *w->distance);
    w->from = arena_array(a, items + 1, sizeof *w->from);
    w->open = arena_array(a, items + 1, sizeof *w->open);
    w->closed = arena_array(a, items + 1, sizeof *w->closed);
    w->tree = arena_array(a, places + 1, sizeof *w->tree);
}

/* Each place's price is its cheapest pair; who comes first gets the item. False: a place has no
 * pair at all. */
static bool start(AssignWork *w, const int64_t *cost) {
    for (size_t j = 0; j < w->items; j++)
        w->item_price[j] = 0, w->place_of[j] = -1;
    for (size_t i = 0; i < w->places; i++) {
        const int64_t *row = cost + i * w->items;
        int64_t least = ASSIGN_FORBIDDEN;
        for (size_t j = 0; j < w->items; j++)
            if (row[j] < least) least = row[j];
        if (least == ASSIGN_FORBIDDEN) return false;
        w->place_price[i] = least;
        w->item_of[i] = -1;
        for (size_t j = 0; j < w->items; j++) {
            if (row[j] != least || w->place_of[j] >= 0) continue;
            w->item_of[i] = (int)j;
            w->place_of[j] = (int)i;
            break;
        }
    }
    return true;
}

/* Shortens the distances of the open items by way of place i, `base` away from the root. Returns
 * the position in `open` of the nearest, a free one if there is a choice; -1: none in reach. */
static int relax(AssignWork *w, const int64_t *row, int i, int64_t base, size_t open) {
    int64_t least = ASSIGN_FORBIDDEN;
    int at = -1;
    base -= w->place_price[i];
    for (size_t k = 0; k < open; k++) {
        int j = w->open[k];
        if (row[j] != ASSIGN_FORBIDDEN) {
            int64_t d = base + row[j] - w->item_price[j];
            if (d < w->distance[j]) w->distance[j] = d, w->from[j] = i;
        }
        if (w->distance[j] < least || (w->distance[j] == least && at >= 0 && w->place_of[j] < 0 &&
                                       w->place_of[w->open[at]] >= 0)) {
            least = w->distance[j];
            at = (int)k;
        }
    }
    return at;
}

/* Raises the prices by the distances found; `tree` are the places reached, root first. */
static void raise_prices(AssignWork *w, size_t reached, size_t closed, int64_t length) {
    w->place_price[w->tree[0]] += length;
    for (size_t k = 1; k < reached; k++) {
        int i = w->tree[k];
        w->place_price[i] += length - w->distance[w->item_of[i]];
    }
    for (size_t k = 0; k < closed; k++) {
        int j = w->closed[k];
        w->item_price[j] -= length - w->distance[j];
    }
}

static bool add_place(AssignWork *w, const int64_t *cost, int root) {
    size_t open = w->items, reached = 0, closed = 0;
    int64_t length = 0;
    int i = root, sink = -1;
    for (size_t j = 0; j < w->items; j++)
        w->open[j] = (int)j, w->distance[j] = ASSIGN_FORBIDDEN;
    while (sink < 0) {
        w->tree[reached++] = i;
        int at = relax(w, cost + (size_t)i * w->items, i, length, open);
        if (at < 0) return false;
        int j = w->open[at];
        length = w->distance[j];
        w->open[at] = w->open[--open];
        if (w->place_of[j] < 0) {
            sink = j;
        } else {
            w->closed[closed++] = j;
            i = w->place_of[j];
        }
    }
    raise_prices(w, reached, closed, length);
    for (int j = sink;;) {
        int taker = w->from[j], left = w->item_of[taker];
        w->item_of[taker] = j;
        w->place_of[j] = taker;
        if (taker == root) return true;
        j = left;
    }
}

bool assign_least(AssignWork *w, const int64_t *cost, int64_t *total) {
    if (w->places > w->items || !start(w, cost)) return false;
    for (size_t i = 0; i < w->places; i++)
        if (w->item_of[i] < 0 && !add_place(w, cost, (int)i)) return false;
    int64_t sum = 0;
    for (size_t i = 0; i < w->places; i++)
        sum += cost[i * w->items + (size_t)w->item_of[i]];
    *total = sum;
    return true;
}

static void check_costs(size_t places, size_t items, const int64_t *cost) {
    int64_t most = assign_cost_most(places);
    for (size_t k = 0; k < places * items; k++)
        if (cost[k] != ASSIGN_FORBIDDEN && (cost[k] > most || cost[k] < -most))
            fatal("an assignment was asked with a cost beyond what sums can hold");
}

bool assign_sum(size_t places, size_t items, const int64_t *cost, int *item_of, int64_t *total) {
    Arena *a = arena_new();
    AssignWork w;
    int64_t sum;
    check_costs(places, items, cost);
    assign_work_init(&w, a, places, items);
    bool complete = assign_least(&w, cost, &sum);
    if (complete) {
        uint8_t *tight = arena_array(a, places * items + 1, 1);
        uint8_t *must = arena_array(a, items + 1, 1);
        for (size_t i = 0; i < places; i++)
            for (size_t j = 0; j < items; j++)
                tight[i * items + j] = cost[i * items + j] != ASSIGN_FORBIDDEN &&
                                       cost[i * items + j] == w.place_price[i] + w.item_price[j];
        for (size_t j = 0; j < items; j++)
            must[j] = w.item_price[j] < 0;
        assign_first(places, items, tight, must, w.item_of);
        for (size_t i = 0; i < places; i++)
            item_of[i] = w.item_of[i];
        *total = sum;
    }
    arena_free(a);
    return complete;
}
