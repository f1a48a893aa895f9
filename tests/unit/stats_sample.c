/* Samples, quantiles and distributions, against NIST StRD and R. */
#include "stats/dist.h"
#include "stats/robust.h"
#include "stats/sample.h"
#include "stats_data.h"

/* NIST StRD univariate sets: certified mean and standard deviation (references.md, V). */
static void certified_univariate(void **state) {
    (void)state;
    static const struct {
        const char *name;
        int column;
        double mean, sd, digits;
    } rows[] = {
        {"michelso", 0, 299.8524, 0.0790105478190518, 13},
        {"mavro", 1, 2.001856, 0.000429123454003053, 12},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double y[DATA_MOST];
        Sample s;
        size_t n = data_column(rows[i].name, rows[i].column, y);
        assert_int_equal(sample_describe(y, n, &s), STATS_OK);
        assert_digits(s.mean, rows[i].mean, 15);
        assert_digits(s.sd, rows[i].sd, rows[i].digits);
    }
    /* NumAcc1: three numbers of eight digits, exact answers */
    const double numacc[] = {10000001, 10000003, 10000002};
    Sample s;
    assert_int_equal(sample_describe(numacc, 3, &s), STATS_OK);
    assert_true(s.mean == 10000002 && s.sd == 1);
    assert_true(s.least == 10000001 && s.greatest == 10000003);
}

static void sample_edges(void **state) {
    (void)state;
    const double one[] = {5}, bad[] = {1, NAN};
    Sample s = {.mean = 42};
    Interval at;
    assert_int_equal(sample_describe(one, 0, &s), STATS_TOO_FEW);
    assert_int_equal(sample_describe(bad, 2, &s), STATS_NOT_FINITE);
    assert_true(s.mean == 42);
    assert_int_equal(sample_describe(one, 1, &s), STATS_OK);
    assert_true(s.mean == 5 && s.sd == 0);
    assert_int_equal(sample_mean_interval(&s, 0.95, &at), STATS_TOO_FEW);
}

/* Student's quantiles: R 4.2.2, tests/r/reference.txt. */
static void student_quantiles(void **state) {
    (void)state;
    static const struct {
        double df, at[4];
    } rows[] = {
        {1, {3.07768353718, 12.7062047362, 63.6567411629, 3183.09875712}},
        {2, {1.88561808316, 4.30265272975, 9.92484320092, 70.700071075}},
        {3, {1.6377443537, 3.18244630528, 5.84090930973, 22.2037422732}},
        {5, {1.47588404882, 2.57058183564, 4.03214298356, 9.67756630088}},
        {8, {1.39681530974, 2.3060041352, 3.35538733133, 6.44199982102}},
        {20, {1.32534070699, 2.08596344727, 2.84533970979, 4.53852085379}},
        {34, {1.30695158713, 2.03224450932, 2.72839436707, 4.16722286989}},
        {200, {1.28579879399, 1.97189622363, 2.60063443619, 3.78912078875}},
    };
    static const double p[] = {.9, .975, .995, .9999};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        for (int j = 0; j < 4; j++) {
            assert_digits(student_quantile(p[j], rows[i].df), rows[i].at[j], 10);
            assert_digits(student_quantile(1 - p[j], rows[i].df), -rows[i].at[j], 10);
        }
    assert_near(student_quantile(.975, INFINITY), normal_quantile(.975), 1e-12);
    assert_true(student_quantile(.5, 3) == 0);
    assert_true(isnan(student_quantile(1, 3)) && isnan(student_quantile(.9, 0)));
    assert_true(isnan(student_tail(1, 0)));
}

static void f_tails_with_known_spread(void **state) {
    (void)state;
    /* F with infinite df2 is chi-square over df1: the limit agrees with a large df2 */
    assert_near(f_tail(2.5, 3, INFINITY), f_tail(2.5, 3, 1e7), 1e-6);
    assert_near(f_tail(2.5, INFINITY, 7), f_tail(2.5, 1e7, 7), 1e-6);
    assert_true(f_tail(0, 2, 2) == 1 && f_tail(INFINITY, 2, 2) == 0);
    /* F with 1 and df is t squared */
    assert_near(f_tail(9, 1, 6), 2 * student_tail(3, 6), 1e-12);
}

static void spreads(void **state) {
    (void)state;
    Spread p = spread_pool((Spread){2, 3}, (Spread){4, 1}); /* sqrt((3*4 + 16) / 4), by hand */
    assert_near(p.sd, sqrt(7), 1e-15);
    assert_true(p.df == 4);
    assert_true(spread_pool((Spread){2, INFINITY}, (Spread){4, 9}).sd == 2);
    assert_true(spread_pool((Spread){0}, (Spread){4, 9}).sd == 4);
}

static void robust(void **state) {
    (void)state;
    /* quartiles of 1..9 by the stated rule: 3 and 7; fences 1.5 times 4 beyond */
    const double nine[] = {1, 2, 3, 4, 5, 6, 7, 8, 9};
    Interval fences = tukey_fences(nine, 9, 1.5);
    assert_true(fences.low == -3 && fences.high == 13);
    assert_true(quantile_sorted(nine, 9, 0) == 1 && quantile_sorted(nine, 9, 1) == 9);
    assert_near(quantile_sorted(nine, 4, .5), 2.5, 1e-15);
    assert_near(rank_sorted(nine, 9, 2.25), 2.25, 1e-15);
}

static void sorts(void **state) {
    (void)state;
    Random random = {7};
    for (size_t n = 1; n <= 200; n += n < 20 ? 1 : 13) {
        double x[200], sum = 0, after = 0;
        for (size_t i = 0; i < n; i++)
            sum += x[i] = floor(20 * random_uniform(&random));
        double picked[200];
        memcpy(picked, x, n * sizeof *x);
        double rank = 1 + random_uniform(&random) * (double)(n - 1);
        double low = rank_select(picked, n, rank), last = rank_select(picked, n, (double)n);
        sort_values(x, n);
        assert_near(low, rank_sorted(x, n, rank), 1e-12);
        assert_true(last == x[n - 1]);
        for (size_t i = 0; i < n; i++) {
            after += x[i];
            if (i) assert_true(x[i - 1] <= x[i]);
        }
        assert_true(sum == after);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(certified_univariate),
        cmocka_unit_test(sample_edges),
        cmocka_unit_test(student_quantiles),
        cmocka_unit_test(f_tails_with_known_spread),
        cmocka_unit_test(spreads),
        cmocka_unit_test(robust),
        cmocka_unit_test(sorts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
