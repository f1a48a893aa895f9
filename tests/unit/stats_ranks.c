/* Mann-Kendall and Theil-Sen, against EPA's worked example, R, and counting by hand. */
#include "stats/kendall.h"
#include "stats/theilsen.h"
#include "stats_data.h"

/* EPA, Unified Guidance (2009), Example 17-6, sulfate (references.md, V). */
static void epa_example(void **state) {
    (void)state;
    double x[DATA_MOST], y[DATA_MOST];
    size_t n = data_column("sulfate", 3, x);
    data_column("sulfate", 4, y);
    assert_int_equal(n, 23);
    Kendall k;
    assert_int_equal(kendall_test(x, y, n, &k), STATS_OK);
    assert_int_equal(k.s, 194);
    assert_near(k.tau_a, 0.7667984, 5e-8);
    assert_near(k.z, 5.107322, 5e-7);
    assert_false(k.exact);
    assert_true(k.p < 1e-6 && k.tau_b > k.tau_a);
    double *scratch = calloc(theil_sen_scratch(n), sizeof *scratch);
    TheilSen t;
    assert_int_equal(theil_sen(x, y, n, .95, scratch, &t), STATS_OK);
    assert_near(t.slope, 26.6666667, 5e-8);
    assert_near(t.intercept, -1909.3333, 5e-5);
    assert_true(t.has_interval);
    assert_near(t.interval.low, 20.0, 1e-6);
    assert_near(t.interval.high, 35.71182, 5e-6);
    free(scratch);
}

/* All orders of n values, counted one by one: the chance of |S| of s or more. */
static double chance_by_counting(const double *y, size_t n, long s) {
    size_t order[7], count[7] = {0};
    double x[7], v[7];
    long all = 0, beyond = 0;
    for (size_t i = 0; i < n; i++) {
        order[i] = i;
        x[i] = (double)i;
    }
    for (size_t i = 0;;) { /* Heap's way of going through all orders */
        if (i == 0) {
            for (size_t j = 0; j < n; j++)
                v[j] = y[order[j]];
            Kendall k;
            assert_int_equal(kendall_test(x, v, n, &k), STATS_OK);
            all++;
            beyond += labs(k.s) >= s;
        }
        if (count[i] < i) {
            size_t j = i % 2 ? count[i] : 0, held = order[j];
            order[j] = order[i];
            order[i] = held;
            count[i]++;
            i = 0;
        } else {
            count[i++] = 0;
            if (i >= n) break;
        }
    }
    return (double)beyond / (double)all;
}

static void exact_chances(void **state) {
    (void)state;
    static const double sets[][6] = {
        {1, 2, 3, 4, 5, 6}, {1, 2, 2, 3, 4, 5}, {1, 1, 1, 2, 3, 3}, {2, 2, 2, 2, 2, 1}};
    const double x[] = {1, 2, 3, 4, 5, 6};
    for (size_t i = 0; i < 4; i++)
        for (size_t n = 4; n <= 6; n++) {
            Kendall k, mirror;
            assert_int_equal(kendall_test(x, sets[i], n, &k), STATS_OK);
            assert_true(k.exact);
            assert_near(k.p, chance_by_counting(sets[i], n, labs(k.s)), 1e-12);
            if (sets[i][0] == sets[i][n - 2]) continue; /* all the same as x: no slope */
            /* ties in x instead of y: the same */
            assert_int_equal(kendall_test(sets[i], x, n, &mirror), STATS_OK);
            assert_near(mirror.p, k.p, 1e-12);
        }
}

/* R 4.2.2, cor.test(method = "kendall", exact = TRUE): tests/r/reference.txt. */
static void against_r(void **state) {
    (void)state;
    const double x[] = {1, 2, 3, 4, 5, 6, 7}, y[] = {98, 97.2, 97.5, 96.1, 96.4, 95, 94.2};
    Kendall k;
    assert_int_equal(kendall_test(x, y, 7, &k), STATS_OK);
    assert_digits(k.tau_b, -0.809523809524, 11);
    assert_digits(k.p, 0.0107142857143, 11);
}

static void variance_with_ties_on_both_sides(void **state) {
    (void)state;
    const double x[] = {1, 1, 2, 3}, y[] = {1, 2, 2, 3};
    Kendall k;
    assert_int_equal(kendall_test(x, y, 4, &k), STATS_OK);
    /* by hand, Kendall's formula: (156 - 18 - 18) / 18 + 0 + 4 * 1 * 1 / (2 * 12) */
    assert_near(k.variance, 120 / 18. + 4 / 24., 1e-12);
    assert_int_equal(k.s, 4);
    assert_near(k.tau_b, 4 / 5., 1e-12);
    assert_false(k.exact);
    /* and counted: every order of y against this x */
    double sum = 0;
    size_t count = 0;
    for (size_t a = 0; a < 4; a++)
        for (size_t b = 0; b < 4; b++)
            for (size_t c = 0; c < 4; c++) {
                size_t d = 6 - a - b - c;
                if (a == b || a == c || b == c || d > 3 || d == a || d == b || d == c) continue;
                const double v[] = {y[a], y[b], y[c], y[d]};
                assert_int_equal(kendall_test(x, v, 4, &k), STATS_OK);
                sum += (double)(k.s * k.s);
                count++;
            }
    assert_int_equal(count, 24);
    assert_near(k.variance, sum / 24, 1e-12);
}

/* What three to nine readings can and cannot say, from the counts of orders: 2/6, 2/24, 2/120, and
 * for six (5 + 1) * 2 / 720. */
static void few_readings(void **state) {
    (void)state;
    static const struct {
        size_t n;
        bool has;
        double held;
    } rows[] = {
        {2, false, 0},
        {3, false, 0},
        {4, false, 0},
        {5, true, 1 - 2 / 120.},
        {6, true, 1 - 12 / 720.},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const double x[] = {0, 1, 2, 4, 7, 8}, y[] = {9, 8, 7.5, 5, 3, 2.5};
        double scratch[32];
        TheilSen t;
        assert_int_equal(theil_sen(x, y, rows[i].n, .95, scratch, &t), STATS_OK);
        assert_int_equal(t.has_interval, rows[i].has);
        if (rows[i].has) assert_near(t.level_held, rows[i].held, 1e-12);
    }
}

/* Five readings: the interval is the least and the greatest slope of any pair. */
static void five_readings(void **state) {
    (void)state;
    const double x[] = {0, 1, 2, 3, 4}, y[] = {10, 9, 7, 7, 5};
    double scratch[32];
    TheilSen t;
    assert_int_equal(theil_sen(x, y, 5, .95, scratch, &t), STATS_OK);
    /* slopes by hand: -1 -1.5 -1 -1.25, -2 -1 -4/3, 0 -1, -2 */
    assert_true(t.slope == -1.125 && t.interval.low == -2 && t.interval.high == 0);
    assert_near(t.intercept, 7 + 1.125 * 2, 1e-14);
    /* at 90 % the next level: S = 8 is passed by 5 orders of 120 on a side, 91.7 % */
    assert_int_equal(theil_sen(x, y, 5, .90, scratch, &t), STATS_OK);
    assert_near(t.level_held, 1 - 10 / 120., 1e-12);
    assert_true(t.interval.low == -2 && t.interval.high == -1);
}

static void a_bad_reading_does_not_move_it(void **state) {
    (void)state;
    double x[20], y[20], scratch[220];
    for (int i = 0; i < 20; i++) {
        x[i] = i;
        y[i] = 100 - 0.5 * i;
    }
    y[3] = 9.85; /* a decimal point gone astray */
    y[17] = 915;
    TheilSen t;
    assert_int_equal(theil_sen(x, y, 20, .95, scratch, &t), STATS_OK);
    assert_near(t.slope, -.5, 1e-12);
    assert_true(t.interval.high < 0);
}

static void rank_edges(void **state) {
    (void)state;
    const double x[] = {1, 1, 1}, y[] = {1, 2, 3}, bad[] = {1, NAN, 2};
    double scratch[8];
    TheilSen t;
    Kendall k;
    assert_int_equal(theil_sen(x, y, 3, .95, scratch, &t), STATS_NO_SPREAD);
    assert_int_equal(theil_sen(y, bad, 3, .95, scratch, &t), STATS_NOT_FINITE);
    assert_int_equal(theil_sen(y, y, 1, .95, scratch, &t), STATS_TOO_FEW);
    assert_int_equal(theil_sen(y, y, THEIL_SEN_MOST + 1, .95, scratch, &t), STATS_TOO_MANY);
    assert_int_equal(kendall_test(x, y, 2, &k), STATS_TOO_FEW);
    assert_int_equal(kendall_test(x, y, 3, &k), STATS_NO_SPREAD);
    assert_int_equal(kendall_test(y, x, 3, &k), STATS_OK); /* all y the same: no trend */
    assert_true(k.s == 0 && k.p == 1 && k.tau_b == 0);
}

static void at_the_bound(void **state) {
    (void)state;
    size_t n = THEIL_SEN_MOST;
    double *x = calloc(n, sizeof *x), *y = calloc(n, sizeof *y);
    double *scratch = calloc(theil_sen_scratch(n), sizeof *scratch);
    Random random = {11};
    for (size_t i = 0; i < n; i++) {
        x[i] = (double)i;
        y[i] = 3 - 0.01 * (double)i + random_normal(&random);
    }
    TheilSen t;
    assert_int_equal(theil_sen(x, y, n, .95, scratch, &t), STATS_OK);
    assert_true(t.interval.low < -.01 && -.01 < t.interval.high);
    assert_near(t.slope, -.01, 1e-4);
    free(x);
    free(y);
    free(scratch);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(epa_example),
        cmocka_unit_test(exact_chances),
        cmocka_unit_test(against_r),
        cmocka_unit_test(variance_with_ties_on_both_sides),
        cmocka_unit_test(few_readings),
        cmocka_unit_test(five_readings),
        cmocka_unit_test(a_bad_reading_does_not_move_it),
        cmocka_unit_test(rank_edges),
        cmocka_unit_test(at_the_bound),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
