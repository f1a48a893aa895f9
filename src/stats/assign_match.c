/*
 * Matchings: the largest one (Hopcroft and Karp), the one with the smallest largest cost
 * (threshold search over it), and the first among equals.
 *
 * Largest: phases of a breadth-first layering from the places without an item, then vertex-disjoint
 * shortest augmenting paths along the layers; at most about sqrt(places + items) phases (Hopcroft
 * and Karp 1973). A matching without an augmenting path is largest (Berge).
 *
 * Bottleneck: with every pair dearer than a bound left out, a complete matching exists or not, and
 * a higher bound never takes one away; so the smallest bound is found by halving over the costs
 * that occur.
 *
 * First among equals: places in order; the place in hand may have any item that lies with it on an
 * alternating cycle (then, and only then, another complete matching has that pair). The items from
 * which a chain leads back to the item given up are collected by one search backwards. The items
 * left over count as held by one spare place, which may have any item that need not be used: so a
 * chain may pass through it.
 */
#include "stats/assign.h"

typedef struct Matching {
    size_t places, items;
    const uint8_t *ok;
    int *item_of, *place_of;
    int *layer, *queue;
    size_t *next; /* per place: the item to try next in this phase */
    int *path;
} Matching;

static void matching_init(Matching *m, Arena *a, size_t places, size_t items, int *item_of) {
    m->places = places;
    m->items = items;
    m->item_of = item_of;
    m->place_of = arena_array(a, items + 1, sizeof *m->place_of);
    m->layer = arena_array(a, places + 1, sizeof *m->layer);
    m->queue = arena_array(a, places + 1, sizeof *m->queue);
    m->next = arena_array(a, places + 1, sizeof *m->next);
    m->path = arena_array(a, places + 1, sizeof *m->path);
}

static void take(Matching *m, int place, int item) {
    m->item_of[place] = item;
    m->place_of[item] = place;
}

/* Each place gets the first item still free. Returns how many got one. */
static size_t take_free(Matching *m) {
    size_t served = 0;
    for (size_t j = 0; j < m->items; j++)
        m->place_of[j] = -1;
    for (size_t i = 0; i < m->places; i++) {
        m->item_of[i] = -1;
        for (size_t j = 0; j < m->items; j++) {
            if (!m->ok[i * m->items + j] || m->place_of[j] >= 0) continue;
            take(m, (int)i, (int)j);
            served++;
            break;
        }
    }
    return served;
}

/* Numbers the places by the length of the shortest alternating path from one without an item.
 * False: no free item is in reach. */
static bool layers(Matching *m) {
    size_t head = 0, tail = 0;
    bool reached = false;
    for (size_t i = 0; i < m->places; i++) {
        m->layer[i] = m->item_of[i] < 0 ? 0 : -1;
        m->next[i] = 0;
        if (m->item_of[i] < 0) m->queue[tail++] = (int)i;
    }
    while (head < tail) {
        int i = m->queue[head++];
        const uint8_t *row = m->ok + (size_t)i * m->items;
        for (size_t j = 0; j < m->items; j++) {
            if (!row[j]) continue;
            int owner = m->place_of[j];
            if (owner < 0) {
                reached = true;
            } else if (m->layer[owner] < 0) {
                m->layer[owner] = m->layer[i] + 1;
                m->queue[tail++] = owner;
            }
        }
    }
    return reached;
}

/* The next item for place i on a path along the layers; -1: none left. */
static int step(Matching *m, int i) {
    const uint8_t *row = m->ok + (size_t)i * m->items;
    for (; m->next[i] < m->items; m->next[i]++) {
        size_t j = m->next[i];
        if (!row[j]) continue;
        int owner = m->place_of[j];
        if (owner < 0 || m->layer[owner] == m->layer[i] + 1) return (int)j;
    }
    return -1;
}

/* Follows the layers from a place without an item, backing out of dead ends; no recursion, for a
 * path may be as long as there are places. */
static bool augment(Matching *m, int root) {
    size_t depth = 0;
    m->path[0] = root;
    for (;;) {
        int i = m->path[depth], j = step(m, i);
        if (j < 0) {
            m->layer[i] = -1;
            if (depth-- == 0) return false;
            m->next[m->path[depth]]++;
        } else if (m->place_of[j] >= 0) {
            m->path[++depth] = m->place_of[j];
        } else {
            for (size_t k = depth + 1; k-- > 0;) {
                int left = m->item_of[m->path[k]];
                take(m, m->path[k], j);
                j = left;
            }
            return true;
        }
    }
}

static size_t match(Matching *m) {
    size_t served = take_free(m);
    while (served < m->places && layers(m)) {
        size_t before = served;
        for (size_t i = 0; i < m->places; i++)
            if (m->item_of[i] < 0 && m->layer[i] == 0 && augment(m, (int)i)) served++;
        if (served == before) break;
    }
    return served;
}

static int by_size(const void *a, const void *b) {
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

/* The costs that occur, in order, each once. */
static size_t distinct(size_t count, const int64_t *cost, int64_t *out) {
    size_t n = 0, kept = 0;
    for (size_t k = 0; k < count; k++)
        if (cost[k] != ASSIGN_FORBIDDEN) out[n++] = cost[k];
    qsort(out, n, sizeof *out, by_size);
    for (size_t k = 0; k < n; k++)
        if (!kept || out[k] != out[kept - 1]) out[kept++] = out[k];
    return kept;
}

static bool complete_under(Matching *m, const int64_t *cost, int64_t bound, uint8_t *ok) {
    for (size_t k = 0; k < m->places * m->items; k++)
        ok[k] = cost[k] <= bound;
    return match(m) == m->places;
}

bool assign_bottleneck(size_t places, size_t items, const int64_t *cost, int *item_of,
                       int64_t *largest) {
    if (places == 0) return *largest = 0, true;
    if (places > items) return false;
    Arena *a = arena_new();
    Matching m;
    int *work = arena_array(a, places, sizeof *work);
    uint8_t *ok = arena_array(a, places * items, 1);
    int64_t *values = arena_array(a, places * items, sizeof *values);
    size_t low = 0, high = distinct(places * items, cost, values);
    matching_init(&m, a, places, items, work);
    m.ok = ok;
    bool complete = high > 0 && complete_under(&m, cost, values[high - 1], ok);
    if (complete) {
        for (high--; low < high;) {
            size_t middle = low + (high - low) / 2;
            if (complete_under(&m, cost, values[middle], ok))
                high = middle;
            else
                low = middle + 1;
        }
        complete_under(&m, cost, values[low], ok);
        assign_first(places, items, ok, NULL, work);
        memcpy(item_of, work, places * sizeof *work);
        *largest = values[low];
    }
    arena_free(a);
    return complete;
}

/* The search backwards from the item a place gives up. */
typedef struct Chain {
    size_t places, items;
    const uint8_t *ok, *must;
    int *item_of, *place_of;
    bool *good;        /* a chain leads from this item back to the one given up */
    int *onto, *queue; /* per place: the item it moves on to */
    size_t tail;
    int spill; /* the item left over instead, when the chain passes a free one; -1: none */
} Chain;

static void reach(Chain *c, int item) {
    if (c->good[item]) return;
    c->good[item] = true;
    c->queue[c->tail++] = item;
}

/* An item that need not be used can be left over, so each free one can be taken for it. */
static void reach_free(Chain *c, int item) {
    if (c->spill >= 0 || (c->must && c->must[item])) return;
    c->spill = item;
    for (size_t j = 0; j < c->items; j++)
        if (c->place_of[j] < 0) reach(c, (int)j);
}

static void search_back(Chain *c, size_t place) {
    memset(c->good, 0, c->items * sizeof *c->good);
    c->tail = 0;
    c->spill = -1;
    reach(c, c->item_of[place]);
    for (size_t head = 0; head < c->tail; head++) {
        int j = c->queue[head];
        reach_free(c, j);
        for (size_t q = place + 1; q < c->places; q++) {
            int held = c->item_of[q];
            if (c->good[held] || !c->ok[q * c->items + (size_t)j]) continue;
            c->onto[q] = j;
            reach(c, held);
        }
    }
}

/* Place takes `item`; whoever is driven out moves on along the chain. */
static void rotate(Chain *c, size_t place, int item) {
    int given_up = c->item_of[place], taker = (int)place;
    for (;;) {
        int driven = c->place_of[item];
        c->item_of[taker] = item;
        c->place_of[item] = taker;
        if (item == given_up) return;
        if (driven < 0) {
            driven = c->place_of[c->spill];
            c->place_of[c->spill] = -1;
            if (c->spill == given_up) return;
        }
        taker = driven;
        item = c->onto[taker];
    }
}

static bool could_be_smaller(const Chain *c, size_t place) {
    for (int j = 0; j < c->item_of[place]; j++)
        if (c->ok[place * c->items + (size_t)j] &&
            (c->place_of[j] < 0 || c->place_of[j] > (int)place))
            return true;
    return false;
}

void assign_first(size_t places, size_t items, const uint8_t *ok, const uint8_t *must,
                  int *item_of) {
    Arena *a = arena_new();
    Chain c = {places, items, ok, must, item_of, .spill = -1};
    c.place_of = arena_array(a, items + 1, sizeof *c.place_of);
    c.good = arena_array(a, items + 1, sizeof *c.good);
    c.onto = arena_array(a, places + 1, sizeof *c.onto);
    c.queue = arena_array(a, items + 1, sizeof *c.queue);
    for (size_t j = 0; j < items; j++)
        c.place_of[j] = -1;
    for (size_t i = 0; i < places; i++)
        c.place_of[item_of[i]] = (int)i;
    for (size_t i = 0; i < places; i++) {
        if (!could_be_smaller(&c, i)) continue;
        search_back(&c, i);
        int j = 0;
        while (!c.ok[i * items + (size_t)j] || !c.good[j])
            j++;
        if (j != c.item_of[i]) rotate(&c, i, j);
    }
    arena_free(a);
}
