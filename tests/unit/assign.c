/* Assignment against published examples and against all permutations. */
#include "stats/assign.h"
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#define ITEMS_MOST 8

static uint64_t seed;

/* xorshift64 (Marsaglia 2003): the same instances on every machine. */
static int draw(int below) {
    seed ^= seed << 13;
    seed ^= seed >> 7;
    seed ^= seed << 17;
    return (int)(seed % (uint64_t)below);
}

/* The example in the manual of SciPy's linear_sum_assignment (references.md, V): sum 5 with columns
 * 1 0 2. Its bottleneck of 2 is arithmetic (C). */
static void manual_example(void **state) {
    (void)state;
    const int64_t cost[] = {4, 1, 3, 2, 0, 5, 3, 2, 2};
    int item[3];
    int64_t value;
    assert_true(assign_sum(3, 3, cost, item, &value));
    assert_int_equal(value, 5);
    assert_int_equal(item[0], 1);
    assert_int_equal(item[1], 0);
    assert_int_equal(item[2], 2);
    assert_true(assign_bottleneck(3, 3, cost, item, &value));
    assert_int_equal(value, 2);
}

static int64_t largest_of(size_t places, size_t items, const int64_t *cost, const int *item) {
    int64_t most = INT64_MIN;
    for (size_t i = 0; i < places; i++) {
        int64_t c = cost[i * items + (size_t)item[i]];
        if (c > most) most = c;
    }
    return most;
}

/* Two matrices in common use whose smallest sum and smallest largest cost are reached by different
 * assignments (references.md: data from memory, optima computed). The second has five workers and
 * four jobs: its columns are the places here. */
static void sum_and_bottleneck_differ(void **state) {
    (void)state;
    const int64_t a[] = {10, 10, 8, 9, 8, 1, 9, 7, 4};
    const int64_t b[] = {90, 35, 125, 45, 50, 80, 85, 95, 110, 100,
                         75, 55, 90,  95, 90, 70, 65, 95, 115, 100};
    int item[4];
    int64_t value;
    assert_true(assign_sum(3, 3, a, item, &value));
    assert_int_equal(value, 18);
    assert_int_equal(largest_of(3, 3, a, item), 10);
    assert_true(assign_bottleneck(3, 3, a, item, &value));
    assert_int_equal(value, 9);
    assert_true(assign_sum(4, 5, b, item, &value));
    assert_int_equal(value, 265);
    assert_int_equal(largest_of(4, 5, b, item), 95);
    assert_true(assign_bottleneck(4, 5, b, item, &value));
    assert_int_equal(value, 90);
    assert_int_equal(largest_of(4, 5, b, item), 90);
}

typedef struct Best {
    size_t places, items;
    const int64_t *cost;
    int now[ITEMS_MOST], sum_item[ITEMS_MOST], largest_item[ITEMS_MOST];
    int64_t sum, largest;
    bool any;
} Best;

/* Every assignment in lexicographic order, so the first to reach an optimum is the one wanted. */
static void try_all(Best *b, size_t place, unsigned used) {
    if (place == b->places) {
        int64_t sum = 0, largest = largest_of(b->places, b->items, b->cost, b->now);
        for (size_t i = 0; i < b->places; i++)
            sum += b->cost[i * b->items + (size_t)b->now[i]];
        if (!b->any || sum < b->sum) b->sum = sum, memcpy(b->sum_item, b->now, sizeof b->now);
        if (!b->any || largest < b->largest)
            b->largest = largest, memcpy(b->largest_item, b->now, sizeof b->now);
        b->any = true;
        return;
    }
    for (size_t j = 0; j < b->items; j++) {
        if (used >> j & 1 || b->cost[place * b->items + j] == ASSIGN_FORBIDDEN) continue;
        b->now[place] = (int)j;
        try_all(b, place + 1, used | 1u << j);
    }
}

static void check_against_all(Best *b) {
    int item[ITEMS_MOST];
    int64_t value;
    try_all(b, 0, 0);
    assert_int_equal(assign_sum(b->places, b->items, b->cost, item, &value), b->any);
    if (b->any) {
        assert_int_equal(value, b->sum);
        assert_memory_equal(item, b->sum_item, b->places * sizeof *item);
    }
    assert_int_equal(assign_bottleneck(b->places, b->items, b->cost, item, &value), b->any);
    if (b->any) {
        assert_int_equal(value, b->largest);
        assert_memory_equal(item, b->largest_item, b->places * sizeof *item);
    }
}

/* Few distinct costs make many ties; many forbidden pairs make many that cannot be completed. */
static void every_small_instance(void **state) {
    (void)state;
    seed = 20240611;
    for (int round = 0; round < 6000; round++) {
        int64_t cost[ITEMS_MOST * ITEMS_MOST];
        Best b = {.places = 1 + (size_t)draw(5), .cost = cost};
        b.items = b.places + (size_t)draw(3);
        int range = round % 3 == 0 ? 3 : round % 3 == 1 ? 12 : 1000, holes = draw(5);
        for (size_t k = 0; k < b.places * b.items; k++)
            cost[k] = draw(8) < holes ? ASSIGN_FORBIDDEN : draw(range) - range / 3;
        check_against_all(&b);
    }
}

/* At a size no permutation search reaches: the prices prove the sum, and the smallest largest cost
 * fails one step lower. */
static void proof_at_size(void **state) {
    (void)state;
    enum { PLACES = 60, ITEMS = 90 };
    seed = 77;
    Arena *a = arena_new();
    int64_t *cost = arena_array(a, PLACES * ITEMS, sizeof *cost), total, sum, largest;
    int64_t *cheaper = arena_array(a, PLACES * ITEMS, sizeof *cheaper);
    int item[PLACES];
    AssignWork w;
    assign_work_init(&w, a, PLACES, ITEMS);
    for (int round = 0; round < 40; round++) {
        for (size_t k = 0; k < PLACES * ITEMS; k++)
            cost[k] = draw(round < 20 ? 40 : 100000);
        assert_true(assign_least(&w, cost, &total));
        int64_t prices = 0;
        for (size_t i = 0; i < PLACES; i++)
            prices += w.place_price[i];
        for (size_t j = 0; j < ITEMS; j++) {
            prices += w.item_price[j];
            assert_true(w.item_price[j] <= 0);
            for (size_t i = 0; i < PLACES; i++)
                assert_true(w.place_price[i] + w.item_price[j] <= cost[i * ITEMS + j]);
        }
        assert_int_equal(prices, total);
        assert_true(assign_sum(PLACES, ITEMS, cost, item, &sum));
        assert_int_equal(sum, total);
        assert_true(assign_bottleneck(PLACES, ITEMS, cost, item, &largest));
        for (size_t k = 0; k < PLACES * ITEMS; k++)
            cheaper[k] = cost[k] < largest ? 0 : ASSIGN_FORBIDDEN;
        assert_false(assign_sum(PLACES, ITEMS, cheaper, item, &sum));
    }
    arena_free(a);
}

static void shapes_at_the_edge(void **state) {
    (void)state;
    int64_t value = 7, one = -3, two[] = {1, 2};
    int item[2] = {9, 9};
    assert_true(assign_sum(0, 0, &one, item, &value));
    assert_int_equal(value, 0);
    assert_true(assign_sum(1, 1, &one, item, &value));
    assert_int_equal(value, -3);
    value = 7;
    item[0] = 9;
    assert_false(assign_sum(2, 1, two, item, &value)); /* fewer items than places */
    assert_false(assign_bottleneck(2, 1, two, item, &value));
    one = ASSIGN_FORBIDDEN;
    assert_false(assign_sum(1, 1, &one, item, &value));
    assert_false(assign_bottleneck(1, 1, &one, item, &value));
    assert_int_equal(value, 7); /* outputs only on success */
    assert_int_equal(item[0], 9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(manual_example),       cmocka_unit_test(sum_and_bottleneck_differ),
        cmocka_unit_test(every_small_instance), cmocka_unit_test(proof_at_size),
        cmocka_unit_test(shapes_at_the_edge),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
